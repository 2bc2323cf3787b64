# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the boards of a buck stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError, ShapeError
from ..base.wheel_axes import radius_of
from ..job.job_sections import Metal
from ..mesh.section import side_profile
from ..tables.shop.sheet_metal import LEAST_BETWEEN_BOARDS_MM
from .metal_faces import MetalFaces
from .section_lines import across_line


@dataclass(frozen=True)
class BuckPlan:
    """stations_deg : of the boards across, rear to front; offsets : x of the boards along, mm, right to left

    inner_radius : of the edge of all boards that faces the axle, mm
    """

    stations_deg: tuple[float, ...]
    offsets: tuple[float, ...]
    inner_radius: float


def check_metal(metal: Metal) -> None:
    """Raise JobError where the boards of a buck cannot stand as close as the sheet asks, whatever the shape."""
    for key, spacing in (("along", metal.along), ("across", metal.across)):
        if metal.plywood + metal.fit + LEAST_BETWEEN_BOARDS_MM > spacing:
            raise JobError(
                "metal.plywood",
                f"{metal.plywood:g} mm is too thick for boards every {spacing:g} mm; allowed with metal.{key} = {spacing:g} is at most "
                f"{max(spacing - metal.fit - LEAST_BETWEEN_BOARDS_MM, 0.0):g} mm",
            )


def buck_plan(metal: Metal, faces: MetalFaces, edge_room: float) -> BuckPlan:
    """Boards at the spacing that the sheet asks, or a little closer, evenly from tip to tip.

    edge_room : mm that the outermost boards keep from the edge, such as for its bead
    Raises JobError where the boards would stand too close for a hand, along or toward the axle; ShapeError without a crown line.
    """
    crown = side_profile(faces.inner, faces.triangles)
    if not crown:
        raise ShapeError("the fender does not reach the center plane; a buck needs its crown line")
    line = np.concatenate(sorted(crown, key=lambda piece: piece[0, 0]))
    station = np.degrees(np.arctan2(line[:, 0], line[:, 1]))
    radius = float(np.hypot(*line.T).mean())
    inset = np.degrees((0.5 * metal.plywood + edge_room) / radius)
    rear, front = float(station.min() + inset), float(station.max() - inset)
    count = int(np.ceil(np.radians(front - rear) * radius / metal.across)) if front > rear else 0
    if count < 1:
        raise JobError("metal.plywood", f"boards of {metal.plywood:g} mm find no room between the tips of the fender")
    inner = float(radius_of(faces.inner).min()) - metal.foot
    if inner <= 0.0:
        raise JobError("metal.foot", f"{metal.foot:g} mm reaches past the axle; allowed is less than {metal.foot + inner:.0f}")
    between = 2.0 * inner * np.sin(0.5 * np.radians((front - rear) / count))
    if between < metal.plywood + LEAST_BETWEEN_BOARDS_MM:
        raise JobError(
            "metal.plywood",
            f"{metal.plywood:g} mm is too thick: toward the axle the boards across are only {between:.1f} mm apart; take a wider metal.across",
        )
    stations = np.linspace(rear, front, count + 1)
    offsets = _offsets(metal, faces, stations, 0.5 * metal.plywood + edge_room)
    return BuckPlan(tuple(stations.tolist()), tuple(offsets.tolist()), inner)


def _offsets(metal: Metal, faces: MetalFaces, stations: Array, inset: float) -> Array:
    """Boards along, evenly from side to side: the outermost have wood on both sides at half of the stations at least."""
    lines = [across_line(faces.inner, faces.triangles, float(station)) for station in stations]
    reach = float(np.median([np.abs(line[[0, -1], 0]).min() for line in lines if line is not None])) - inset
    each_side = max(int(np.ceil(reach / metal.along)), 1)
    between = reach / each_side - metal.plywood - metal.fit
    if between < LEAST_BETWEEN_BOARDS_MM:
        raise JobError(
            "metal.plywood",
            f"{metal.plywood:g} mm is too thick for this fender: only {max(between, 0.0):.1f} mm would be left between the boards along",
        )
    return np.linspace(-reach, reach, 2 * each_side + 1)
