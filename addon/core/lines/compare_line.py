# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a line of the fender matches a line of the bike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import JobError
from ..base.row_vectors import dot_rows
from ..job.job_sections import BikeLine
from .line_shape import LineShape, line_shape

_ENDS_MM = 0.5
"""A nearest place so close to an end of the bike's line may lie past it."""


@dataclass(frozen=True, eq=False)
class LineMatch:
    """Where the fender's line runs along the bike's.

    rows : (k,) int, points of the fender's line; places : (k, 2) float, mm, nearest ones on the bike's
    offset : (k,) float, mm, of these places from the fender's line, to the left of the bike's line's way positive
    normals : (k, 2) float, unit, to that left; angle_deg : (k,) float, between the tangents, 0 to 90
    own_curvature, line_curvature : (k,) float, 1/mm, signed alike
    """

    rows: Index
    places: Array
    offset: Array
    normals: Array
    angle_deg: Array
    own_curvature: Array
    line_curvature: Array


def compare_line(key: str, line: BikeLine, own: Array) -> LineMatch:
    """The match of a line of the fender, own (n, 2) float, mm, in the line's view. key : of the line in messages, such as "bike_line[0]"

    A point takes part if its nearest place is within line.reach and not past an end of the bike's line.
    Raises JobError if none does.
    """
    shape, mine = line_shape(np.array(line.points)), line_shape(own)
    place, along = _nearest(own, shape)
    away = np.linalg.norm(place - own, axis=1)
    inside = (along > _ENDS_MM) & (along < shape.along[-1] - _ENDS_MM)
    rows = np.flatnonzero(inside & (away <= line.reach))
    if not len(rows):
        nearest = float(away.min())
        why = f"the nearest place is {nearest:.0f} mm away" if nearest > line.reach else "it runs past its ends only"
        raise JobError(
            f"{key}.points",
            f'the line "{line.name}" never comes along the {line.part} within {line.reach:g} mm in {line.view} view; {why}, draw it nearer '
            "or longer",
        )
    tangents = np.column_stack([np.interp(along[rows], shape.along, shape.tangents[:, axis]) for axis in (0, 1)])
    tangents /= np.linalg.norm(tangents, axis=1, keepdims=True)
    cosine = dot_rows(tangents, mine.tangents[rows])
    normals = np.column_stack([-tangents[:, 1], tangents[:, 0]])
    return LineMatch(
        rows,
        place[rows],
        dot_rows(own[rows] - place[rows], normals),
        normals,
        np.degrees(np.arccos(np.clip(np.abs(cosine), 0.0, 1.0))),
        np.sign(cosine) * mine.curvature[rows],
        np.interp(along[rows], shape.along, shape.curvature),
    )


def _nearest(points: Array, line: LineShape) -> tuple[Array, Array]:
    """Nearest places (n, 2) on a line to points (n, 2), and how far along it they are, (n,)."""
    start, way = line.points[:-1], np.diff(line.points, axis=0)
    squared = dot_rows(way, way)
    share = np.einsum("nsj,sj->ns", points[:, None] - start, way) / np.where(squared > 0.0, squared, 1.0)
    share = np.clip(share, 0.0, 1.0)
    places = start + share[..., None] * way
    best = np.square(places - points[:, None]).sum(axis=2).argmin(axis=1)
    row = np.arange(len(points))
    return places[row, best], line.along[best] + share[row, best] * np.sqrt(squared[best])
