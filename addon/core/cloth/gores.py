# SPDX-License-Identifier: GPL-3.0-or-later
"""A surface cut into gores that lie flat within a stated strain."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import ShapeError
from ..base.row_vectors import dot_rows
from ..mesh.cut_surface import cut_surface
from ..mesh.open_surface import Surface
from ..mesh.triangle_mesh import TriangleMesh, connected_components
from .flatten import FlatPiece, flatten

Along = Callable[[Array], Array]
"""(n,) mm at points (n, 3): how far along the surface they lie; gores are cut where it is constant."""

MOST_GORES = 60
_CUT_CHORD = 0.2
_SMALLEST_MM2 = 1.0


@dataclass(frozen=True, eq=False)
class Gore:
    """A flat piece of cloth.

    sheet : the piece on the surface; along : (n,) float, mm, of its points
    flat : (n, 2) float, mm, its points laid flat, what is along pointing up, y
    number : from 1, in the order of `along`; piece : 0, or from 1 where a gore falls into several
    low, seam, high : mm along; from seam to high it lies under the next gore
    strain : the most of it; surface_area, flat_area : mm2
    """

    sheet: Surface
    along: Array
    flat: Array
    number: int
    piece: int
    low: float
    seam: float
    high: float
    strain: float
    surface_area: float
    flat_area: float

    @property
    def outlines(self) -> tuple[Array, ...]:
        """Closed polylines (k, 2), mm, its first point repeated at the end; the longest first."""
        boundary = self.sheet.boundary
        rings = [self.flat[boundary.vertex[np.append(ring, ring[0])]] for ring in boundary.rings]
        return tuple(sorted(rings, key=lambda ring: -float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())))

    def line(self, values: Array) -> Array:
        """(k, 2, 2) float, mm: stretches of the line where values (n,) at the points are zero, on the flat piece."""
        return zero_line(values, self.sheet.triangles, self.flat)


def gores(
    surface: Surface, along: Along, *, strain: float, overlap: float, shift: float = 0.0, least: int = 1
) -> tuple[Gore, ...]:
    """The fewest gores of equal length along a surface of which none is strained more than stated.

    surface : a few thousand points, mm; strain : share, > 0; overlap : mm that each lies under the next one
    shift : share of a gore by which all seams are moved, 0 to under 1, so that those of two plies do not lie on each other
    least : count of them to begin with
    Raises ShapeError if more than MOST_GORES were needed.
    """
    at = along(surface.points)
    low, high = float(at.min()), float(at.max())
    bend = _gauss_curvature(surface)
    # a strip of half width b is strained by about K b^2 / 3
    wide = 2.0 * np.sqrt(3.0 * strain / bend) if bend > 0.0 else np.inf
    count = _count(high - low, _GUESS * wide, overlap) if wide * _GUESS > overlap else 1
    count = max(count, least)
    while count <= MOST_GORES:
        found: list[Gore] = []
        worst = 0.0
        for gore in _cut(surface, along, _seams(low, high, count, shift), overlap):
            found.append(gore)
            worst = max(worst, gore.strain)
            if worst > strain:
                break
        if worst <= strain:
            return tuple(found)
        wide = ((high - low) / count + overlap) * float(np.sqrt(strain / worst))
        count = max(count + 1, _count(high - low, 1.1 * wide, overlap))
    raise ShapeError(
        f"the surface bends both ways too tightly for gores that are strained {100.0 * strain:g} % at most; allow more, or shape it "
        "smoother"
    )


_GUESS = 1.4
"""Begin with gores wider than expected, so that none are cut for nothing."""


def _count(length: float, wide: float, overlap: float) -> int:
    """Gores of a width with overlap that a length takes, rounded down; more than are allowed if only the overlap is left."""
    return max(1, int(length / (wide - overlap))) if wide > overlap else MOST_GORES + 1


def _seams(low: float, high: float, count: int, shift: float) -> list[float]:
    step = (high - low) / count
    inner = [low + (i + shift) * step for i in range(0 if shift else 1, count)]
    return [low, *inner, high]


def _cut(surface: Surface, along: Along, seams: list[float], overlap: float) -> Iterator[Gore]:
    for number in range(1, len(seams)):
        low, seam = seams[number - 1], seams[number]
        last = number == len(seams) - 1
        high = seam if last else min(seam + overlap, seams[-1])
        piece = surface
        if number > 1:
            piece = cut_surface(piece, lambda points, _, low=low: along(points) - low, _CUT_CHORD)  # type: ignore[misc]
        if high < seams[-1]:
            piece = cut_surface(piece, lambda points, _, high=high: high - along(points), _CUT_CHORD)  # type: ignore[misc]
        parts = _parts(piece)
        for index, part in enumerate(parts, start=1):
            flat = flatten(part.points, part.triangles)
            yield _gore(part, flat, along, number, index if len(parts) > 1 else 0, (low, seam, high))


def _gore(part: Surface, flat: FlatPiece, along: Along, number: int, piece: int, span: tuple[float, float, float]) -> Gore:
    at = along(part.points)
    points = _upright(flat.points, at)
    return Gore(
        part,
        at,
        points,
        number,
        piece,
        *span,
        float(flat.strain.max()),
        TriangleMesh(part.points, part.triangles).area,
        TriangleMesh(np.column_stack([points, np.zeros(len(points))]), part.triangles).area,
    )


def _parts(sheet: Surface) -> list[Surface]:
    """The connected parts of a sheet, the largest first; specks are left out."""
    labels = connected_components(len(sheet.points), sheet.triangles)
    parts = []
    for label in np.unique(labels[sheet.triangles[:, 0]]):
        chosen = labels == label
        rows = np.cumsum(chosen) - 1
        triangles = rows[sheet.triangles[chosen[sheet.triangles[:, 0]]]]
        part = Surface(sheet.points[chosen], sheet.normals[chosen], triangles)
        area = TriangleMesh(part.points, part.triangles).area
        if area > _SMALLEST_MM2:
            parts.append((area, part))
    return [part for _, part in sorted(parts, key=lambda pair: -pair[0])]


def _upright(flat: Array, along: Array) -> Array:
    """The points turned so that what is along grows upward, in the least squares, their middle at 0."""
    centered = flat - flat.mean(axis=0)
    slope = np.linalg.lstsq(centered, along - along.mean(), rcond=None)[0]
    up = slope / np.linalg.norm(slope)
    return np.asarray(centered @ np.array([[up[1], up[0]], [-up[0], up[1]]]))


def _gauss_curvature(surface: Surface) -> float:
    """What nine in ten inner points of a surface stay under, 1/mm2: the defect of the angles about a point over a third of its area."""
    corners = surface.points[surface.triangles]
    count = len(surface.points)
    around, area = np.zeros(count), np.zeros(count)
    third = TriangleMesh(surface.points, surface.triangles).area_vectors
    for k in range(3):
        one, two = corners[:, (k + 1) % 3] - corners[:, k], corners[:, (k + 2) % 3] - corners[:, k]
        cross = np.linalg.norm(np.cross(one, two), axis=1)
        np.add.at(around, surface.triangles[:, k], np.arctan2(cross, dot_rows(one, two)))
        np.add.at(area, surface.triangles[:, k], np.linalg.norm(third, axis=1) / 3.0)
    inner = np.ones(count, bool)
    inner[surface.boundary.vertex] = False
    bend = np.abs(2.0 * np.pi - around[inner]) / area[inner]
    found = float(np.percentile(bend, 90.0)) if len(bend) else 0.0
    return found if found > _FLAT else 0.0


_FLAT = 1e-8


def zero_line(values: Array, triangles: Index, flat: Array) -> Array:
    """(k, 2, 2) float: stretches of the line where values (n,) at points (n, 2) are zero, one a triangle that it crosses."""
    at = values[triangles]
    over = at > 0.0
    crossed = over.any(axis=1) & ~over.all(axis=1)
    at, corners, over = at[crossed], flat[triangles[crossed]], over[crossed]
    lone = np.where(over.sum(axis=1) == 1, np.argmax(over, axis=1), np.argmin(over, axis=1))
    rows = np.arange(len(at))
    ends = []
    for step in (1, 2):
        other = (lone + step) % 3
        share = at[rows, lone] / (at[rows, lone] - at[rows, other])
        ends.append(corners[rows, lone] + share[:, None] * (corners[rows, other] - corners[rows, lone]))
    return np.stack(ends, axis=1)
