# SPDX-License-Identifier: GPL-3.0-or-later
"""How thick the wall really is, measured on the mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import ShapeError
from ..base.format_place import format_place
from ..mesh.triangle_mesh import TriangleMesh
from .closed_wall import ClosedWall

SAMPLES = 4000
REACHES = (1.5, 20.0)
"""Rays are this many walls long, and those that meet nothing the longer one."""
_CHUNK = 8192


@dataclass(frozen=True, eq=False)
class WallStats:
    """Measured wall, mm. p1, p99 : away from seats and ribs; min, max : everywhere but the rim; thinnest : (3,) where the least is

    asked_min : least that was asked; off : 99th percentile of how far the wall is from what was asked there, share, away from seats and ribs
    """

    nominal: float
    p1: float
    p99: float
    min: float
    max: float
    thinnest: Array
    asked_min: float
    off: float


def wall_stats(wall: ClosedWall, seed: int = 1) -> WallStats:
    """The wall's thickness by rays from the middles of facets of both faces, square to them, to the next facet of the mesh.

    SAMPLES facets, drawn by their area, half on either face. Raises ShapeError if a ray does not leave the part.
    """
    count = len(wall.triangles)
    areas = np.linalg.norm(wall.mesh.area_vectors[: 2 * count], axis=1)
    rng = np.random.default_rng(seed)
    chosen = np.concatenate(
        [
            first + rng.choice(count, size=SAMPLES // 2, p=areas[first : first + count] / areas[first : first + count].sum())
            for first in (0, count)
        ]
    )
    starts = wall.mesh.corners[chosen].mean(axis=1)
    inward = -wall.mesh.area_vectors[chosen] / areas[chosen, None]
    thickness = np.full(len(chosen), np.inf)
    for reach in REACHES:
        left = np.isinf(thickness)
        if left.any():
            thickness[left] = ray_lengths(wall.mesh, starts[left], inward[left], reach * wall.thickest, chosen[left])
    if np.isinf(thickness).any():
        place = starts[np.argmax(thickness)]
        raise ShapeError(
            f"the part is more than {REACHES[-1]:g} walls thick {format_place(place)}; use a seat of constant wall", place
        )
    apart = (wall.seat_weight == 0.0) & (wall.rib == 0.0)
    plain = apart[wall.triangles[chosen % count]].all(axis=1)
    low, high = np.percentile(thickness[plain], [1.0, 99.0])
    least = int(np.argmin(thickness))
    asked = wall.asked[wall.triangles[chosen % count]].mean(axis=1)
    off = float(np.percentile(np.abs(thickness / asked - 1.0)[plain], 99.0))
    return WallStats(
        nominal=wall.thickness,
        p1=float(low),
        p99=float(high),
        min=float(thickness.min()),
        max=float(thickness.max()),
        thinnest=starts[least],
        asked_min=float(wall.asked.min()),
        off=off,
    )


def ray_lengths(mesh: TriangleMesh, starts: Array, directions: Array, longest: float, own: Index) -> Array:
    """Length of rays to the first triangle they meet, infinite if there is none within `longest`.

    starts, directions : (n, 3) float, directions unit; own : (n,) int, triangle that each ray leaves from and does not meet
    Triangles are found through a grid of cells, then met by Moller and Trumbore, Fast, minimum storage ray/triangle
    intersection, 1997. Rays are taken by the thousand, so that they find room in memory.
    """
    chunks = [slice(first, first + _CHUNK) for first in range(0, len(starts), _CHUNK)]
    return np.concatenate([np.zeros(0), *(_lengths(mesh, starts[rows], directions[rows], longest, own[rows]) for rows in chunks)])


def _lengths(mesh: TriangleMesh, starts: Array, directions: Array, longest: float, own: Index) -> Array:
    ray, triangle = _candidates(mesh, starts, directions, longest)
    other = triangle != own[ray]
    ray, triangle = ray[other], triangle[other]
    a, b, c = np.moveaxis(mesh.vertices[mesh.triangles[triangle]], 1, 0)
    e1, e2, d, s = b - a, c - a, directions[ray], starts[ray] - a
    p = np.cross(d, e2)
    scale = np.einsum("ij,ij->i", e1, p)
    q = np.cross(s, e1)
    with np.errstate(divide="ignore", invalid="ignore"):
        u, v = np.einsum("ij,ij->i", s, p) / scale, np.einsum("ij,ij->i", d, q) / scale
        t = np.einsum("ij,ij->i", e2, q) / scale
    slack = 1e-9
    met = (scale != 0) & (u >= -slack) & (v >= -slack) & (u + v <= 1 + slack) & (t > slack)
    lengths = np.full(len(starts), np.inf)
    np.minimum.at(lengths, ray[met], t[met])
    lengths[lengths > longest] = np.inf
    return lengths


def _candidates(mesh: TriangleMesh, starts: Array, directions: Array, longest: float) -> tuple[Index, Index]:
    """Pairs of ray and triangle whose cells meet; a pair may come more than once."""
    corners = mesh.corners
    a, b, c = np.moveaxis(corners, 1, 0)
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    size = max(float(np.percentile((high - low).max(axis=1), 90)), longest / 12.0)
    origin = np.minimum(low.min(axis=0), np.minimum(starts, starts + longest * directions).min(axis=0)) - size
    steps = np.arange(0.0, longest + 0.5 * size, 0.5 * size)
    cells = np.floor((starts[:, None, :] + steps[None, :, None] * directions[:, None, :] - origin) / size).astype(np.int64)
    shape = np.maximum(cells.reshape(-1, 3).max(axis=0), np.floor((high.max(axis=0) - origin) / size).astype(np.int64)) + 2

    def key(cell: Index) -> Index:
        return np.asarray((cell[..., 0] * shape[1] + cell[..., 1]) * shape[2] + cell[..., 2])

    ray_keys = np.unique(key(cells) * len(starts) + np.arange(len(starts))[:, None])
    ray_cell, ray = ray_keys // len(starts), ray_keys % len(starts)
    # half a cell is added all round: a ray may pass a corner of a cell between two of its steps
    first = np.floor((low - 0.25 * size - origin) / size).astype(np.int64)
    span = np.floor((high + 0.25 * size - origin) / size).astype(np.int64) - first + 1
    total = span.prod(axis=1)
    triangle = np.repeat(np.arange(len(low)), total)
    rest = np.arange(len(triangle)) - np.repeat(np.cumsum(total) - total, total)
    in_z, rest = rest % span[triangle, 2], rest // span[triangle, 2]
    in_y, in_x = rest % span[triangle, 1], rest // span[triangle, 1]
    cell_of = key(first[triangle] + np.stack([in_x, in_y, in_z], axis=1))
    wanted = np.isin(cell_of, ray_cell)
    cell_of, triangle = cell_of[wanted], triangle[wanted]
    order = np.argsort(cell_of, kind="stable")
    cell_of, triangle = cell_of[order], triangle[order]
    begin, end = np.searchsorted(cell_of, ray_cell, "left"), np.searchsorted(cell_of, ray_cell, "right")
    number = end - begin
    rays = np.repeat(ray, number)
    within = np.arange(len(rays)) - np.repeat(np.cumsum(number) - number, number)
    return rays, triangle[np.repeat(begin, number) + within]
