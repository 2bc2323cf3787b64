# SPDX-License-Identifier: GPL-3.0-or-later
"""What the 3D view shows of the trim: worked out at rest, carried along with the skin while the cage moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...core.base.arrays import Array, Index, Mask
from ...core.base.errors import JobError, ShapeError
from ...core.clearance.keepout import MeshBodyMaker
from ...core.job.job_sheet import Job
from ...core.mesh.open_surface import surface_of_quads
from ...core.shaping.shaper import Shaped
from ...core.skin.skin import full_skin, skin
from ...core.trim.trim_preview import trim_preview


@dataclass(frozen=True, eq=False)
class TrimView:
    """The field of the trim over the whole skin of one topology.

    values : (n,) float, mm, negative where it is cut away; quads : (q, 4) int
    half_point : (n,) int, the point of the shaped skin that each is or mirrors; image : (n,) bool, those that are mirrored
    topology, level : of the stencil that it goes with
    """

    values: Array
    quads: Index
    half_point: Index
    image: Mask
    topology: object
    level: int

    def fits(self, shaped: Shaped) -> bool:
        """True if it goes with a shaped skin, wherever that has moved since."""
        return self.topology == shaped.stencil.topology.key and self.level == shaped.stencil.level

    def points(self, shaped: Shaped) -> Array:
        """(n, 3) float, mm: the whole skin where it is now."""
        points = shaped.skin[self.half_point]
        points[self.image, 0] *= -1.0
        return points


def trim_view(job: Job, shaped: Shaped, mesh_body: MeshBodyMaker | None) -> tuple[TrimView | None, JobError | ShapeError | None]:
    """What a job's trim takes from a shaped skin, and what speaks against it."""
    whole = full_skin(skin(shaped.cage, shaped.stencil))
    preview = trim_preview(job, surface_of_quads(whole.points, whole.normals, whole.quads), mesh_body)
    if preview is None or preview.values is None:
        return None, None if preview is None else preview.trouble
    image = np.arange(len(whole.points)) >= len(shaped.skin)
    key = shaped.stencil.topology.key
    return TrimView(preview.values, whole.quads, whole.half_point, image, key, shaped.stencil.level), preview.trouble
