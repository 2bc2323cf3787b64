# SPDX-License-Identifier: GPL-3.0-or-later
"""Jobs with a trim, and skins to trim, for the tests of the trim."""

from functools import cache
from typing import Any

import numpy as np

from addon.core.base.arrays import Array
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, parse_job
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil

BASE: dict[str, Any] = {
    "tire": {"size": "120/70R17", "measured_radius": 300.0},
    "mount": {"height": 20.0, "bolts": [[20, 28], [-20, 28], [20, -28], [-20, -28]], "thread": "M6", "pad": 14.0, "blend": 25.0},
    "clearance": {"gap": 5.0},
    "wall": {"thickness": 3.0, "edge": "square", "edge_size": 0.0, "side": "middle"},
    "split": {"joint": "butt"},
}
"""The seat lies on the plane z = 320, the crown of torus_sheet(). A sharp square edge has no reach: lines are where the skin is cut."""

SEEDED: dict[str, Any] = {
    "tire": {"size": "90/90-21 M/C 54H", "measured_radius": 346.5, "measured_width": 91.0},
    "mount": {"height": 48.0, "ahead": -20.0, "tilt": 6.0, "bolts": [[0, 32], [0, -32]], "thread": "M8",
              "pad": 20.0, "blend": 14.0},
    "clearance": {"gap": 12.0},
    "cage": {"front": 30, "rear": -45, "half_width": 60, "side_drop": 24},
    "wall": {"thickness": 3.0},
    "split": {"plane": "none", "joint": "butt"},
}  # fmt: skip


def job_of(base: dict[str, Any] | None = None, **sections: Any) -> Job:
    """The base with sections replaced or added."""
    return parse_job({**(base or BASE), **sections})


@cache
def seeded_surface(half_width: float = 60.0) -> Surface:
    """The whole skin of the seeded cage of SEEDED, its own mirror image to the last bit."""
    job = job_of(SEEDED, cage={**SEEDED["cage"], "half_width": half_width})
    cage = seed_cage(job, clearance_field(job)).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    return surface_of_quads(whole.points, whole.normals, whole.quads)


def area_of(sheet: Surface) -> float:
    """mm2."""
    return TriangleMesh(sheet.points, sheet.triangles).area


def turns(points: Array) -> Array:
    """Angle of a closed polyline at each of its points, degrees."""
    behind, ahead = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turned: Array = np.degrees(np.arctan2(np.linalg.norm(np.cross(behind, ahead), axis=1), (ahead * behind).sum(axis=1)))
    return turned
