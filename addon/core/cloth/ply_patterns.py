# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat patterns of the plies, to cut cloth by: gores with their seams, center line, front and plies marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import radius_of, station_of
from ..drawing.flat_part import FlatPart, Label
from ..job.job_sheet import Laminate
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.laminates import PLIES
from ..tables.mold_rules import LAY_ON_MM
from .gores import Along, Gore, gores

_ARROW_MM = 18.0
_LETTER_MM = 5.0
_SMALL_MM = 2.6


@dataclass(frozen=True, eq=False)
class PatternSet:
    """The gores of some of the plies. name : "A" or "B"; plies : their numbers, from 1"""

    name: str
    plies: tuple[int, ...]
    gores: tuple[Gore, ...]


@dataclass(frozen=True, eq=False)
class PlyPatterns:
    """sets : two where there are two plies or more, so that seams do not lie on each other; surface_area : mm2, of what is covered"""

    sets: tuple[PatternSet, ...]
    surface_area: float

    @property
    def strain(self) -> float:
        """The most that any gore is strained."""
        return max(gore.strain for each in self.sets for gore in each.gores)


def ply_patterns(surface: Surface, laminate: Laminate) -> PlyPatterns:
    """The patterns of the plies over a surface, as strips along its longer side, which are the fewest.

    surface : a few thousand points, wheel axes, mm. Raises ShapeError where it bends both ways too tightly.
    """
    lengthwise, crosswise = _across(surface.points), _toward_front(surface.points)
    spans = [float(np.ptp(way(surface.points))) for way in (lengthwise, crosswise)]
    along = lengthwise if spans[0] < spans[1] else crosswise
    overlap = laminate.overlap
    count = len(laminate.plies)
    sets = [
        PatternSet("A", tuple(range(1, count + 1, 2)), gores(surface, along, strain=laminate.strain / 100.0, overlap=overlap))
    ]
    if count > 1:
        # with one seam more than the gores that they are shifted by
        least = max(1, len({gore.number for gore in sets[0].gores}) - 1)
        found = gores(surface, along, strain=laminate.strain / 100.0, overlap=overlap, shift=0.5, least=least)
        sets.append(PatternSet("B", tuple(range(2, count + 1, 2)), found))
    return PlyPatterns(tuple(sets), TriangleMesh(surface.points, surface.triangles).area)


def _toward_front(points: Array) -> Along:
    """mm toward the front at the least radius, from the middle of the fender: strips across it, overlaps nowhere under the stated."""
    middle, radius = float(np.median(station_of(points))), float(radius_of(points).min())
    return lambda at: np.asarray(radius * np.radians(np.mod(station_of(at) - middle + 180.0, 360.0) - 180.0))


def _across(points: Array) -> Along:
    """mm to the left about a line round the wheel under the crown: strips along the fender."""
    rho = radius_of(points)
    under = float(rho.min()) - _UNDER * float(np.abs(points[:, 0]).max())
    reach = float(np.hypot(points[:, 0], rho - under).min())
    return lambda at: np.asarray(reach * np.arctan2(at[:, 0], radius_of(at) - under))


_UNDER = 0.25
"""Of the half width: how far that line lies under the edges of the fender."""


def pattern_parts(patterns: PlyPatterns, laminate: Laminate) -> tuple[FlatPart, ...]:
    """The patterns as parts to cut, 1:1, in mm."""
    return tuple(_part(each, gore, laminate) for each in patterns.sets for gore in each.gores)


def patterns_report(patterns: PlyPatterns, laminate: Laminate) -> dict[str, Any]:
    """The report's part on the patterns; areas hold the overlaps."""
    return {
        "strain": round(patterns.strain, 5),
        "strain_allowed": round(laminate.strain / 100.0, 5),
        "overlap_mm": laminate.overlap,
        "surface_cm2": round(patterns.surface_area / 100.0, 2),
        "sets": [
            {
                "name": each.name,
                "plies": list(each.plies),
                "gores": len(each.gores),
                "surface_cm2": round(sum(gore.surface_area for gore in each.gores) / 100.0, 2),
                "flat_cm2": round(sum(gore.flat_area for gore in each.gores) / 100.0, 2),
            }
            for each in patterns.sets
        ],
    }


def _part(each: PatternSet, gore: Gore, laminate: Laminate) -> FlatPart:
    name = f"{each.name}{gore.number}" + ("abcdefghij"[gore.piece - 1] if gore.piece else "")
    numbers = ", ".join(str(number) for number in each.plies)
    count = max(other.number for other in each.gores)
    kinds = sorted({laminate.plies[number - 1] for number in each.plies}, key=list(PLIES).index)
    rings = tuple(_turned(ring[:-1], outer=i == 0) for i, ring in enumerate(gore.outlines))
    lines = [*_seam(gore), *_center(gore)]
    front = _front(gore)
    side = np.array([-front[1], front[0]])
    size = float(np.ptp(gore.flat @ side))
    # beside the middle, where seam and center line run
    middle = gore.flat.mean(axis=0) - 0.25 * size * side
    letter = min(_LETTER_MM, 0.2 * size)
    labels = [
        Label(name, (float(middle[0]), float(middle[1] + 0.5 * letter)), letter),
        Label(f"plies {numbers}: {', '.join(kinds)}", (float(middle[0]), float(middle[1] - 1.6 * _SMALL_MM)), _SMALL_MM),
    ]
    arrow = _arrow(middle + _ARROW_MM * 1.8 * front, front)
    labels.append(Label("front", tuple((arrow[0][1] + 6.0 * front).tolist()), _SMALL_MM))
    overlap = "It is the last." if gore.high == gore.seam else "What is beyond the dashed seam lies under the next gore."
    return FlatPart(
        name,
        f"gore {gore.number} of {count}, for plies {numbers}",
        rings,
        (*lines, *arrow),
        tuple(labels),
        (
            f"Seen side up. {overlap} Along the fender's own edges cut {LAY_ON_MM:g} mm outside of the line: it is the trim line.",
            f"The cloth is stretched or squeezed by {100.0 * gore.strain:.1f} % at most; warp along the arrow, biaxial plies at 45 deg to it.",
        ),
    )


def _turned(ring: Array, outer: bool) -> Array:
    """Outer rings counterclockwise, holes clockwise."""
    x, y = ring.T
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return ring if (area > 0.0) == outer else ring[::-1]


def _front(gore: Gore) -> Array:
    """(2,) unit: the way on the flat piece that points to the front of the bike."""
    station = station_of(gore.sheet.points)
    off = np.mod(station - np.median(station) + 180.0, 360.0) - 180.0
    slope = np.linalg.lstsq(gore.flat - gore.flat.mean(axis=0), off - off.mean(), rcond=None)[0]
    return np.asarray(slope / np.linalg.norm(slope))


def _seam(gore: Gore) -> list[Array]:
    """Where the next gore begins, as one line."""
    if gore.high == gore.seam:
        return []
    return _chained(gore.line(gore.along - gore.seam))


def _center(gore: Gore) -> list[Array]:
    """The center plane of the bike."""
    return _chained(gore.line(gore.sheet.points[:, 0]))


def _chained(stretches: Array) -> list[Array]:
    """Stretches (k, 2, 2) that follow one another along a nearly straight line, as one polyline."""
    if not len(stretches):
        return []
    points = stretches.reshape(-1, 2)
    way = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]
    points = points[np.argsort(points @ way, kind="stable")]
    kept = np.concatenate([[True], np.linalg.norm(np.diff(points, axis=0), axis=1) > _LEAST_STEP_MM])
    return [points[kept]]


_LEAST_STEP_MM = 0.05


def _arrow(foot: Array, way: Array) -> Sequence[Array]:
    tip, side = foot + _ARROW_MM * way, np.array([-way[1], way[0]])
    back = tip - 0.2 * _ARROW_MM * way
    return [np.array([foot, tip]), np.array([back + 0.08 * _ARROW_MM * side, tip, back - 0.08 * _ARROW_MM * side])]
