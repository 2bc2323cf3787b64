# SPDX-License-Identifier: GPL-3.0-or-later
"""The edge of a surface without dents that are too small for its rim."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..base.arrays import Array, Mask
from ..base.row_vectors import unit_rows
from .open_surface import Boundary, Surface
from .triangle_mesh import connected_components

FARTHEST = 0.15
"""No point is moved farther than this, mm; what is deeper was drawn and is told of."""

MOST_PASSES = 60
_ROOM = 1.3
"""How much more of its width a rim gets in a hollow than it needs at least."""

_LEAST_LEFT = 0.3
"""Triangles at the edge keep this share of their area."""


def smooth_boundary(surface: Surface, width: float) -> Surface:
    """The surface with its outer edge drawn smooth about hollows that a rim of this width, mm, would not go round.

    Where lines cross a skin at a slant, or two fields meet, the edge has steps of some hundredths of a mm. Points near those
    are moved along the skin, most of all FARTHEST; nothing else changes, and an edge without such hollows stays as it is. A
    surface that is its own mirror image about x = 0 stays one.
    """
    boundary = surface.boundary
    normals = surface.normals[boundary.vertex]
    start = points = surface.points[boundary.vertex]
    on_plane = start[:, 0] == 0.0
    outer = _outer_ring(boundary, start)
    for _ in range(MOST_PASSES):
        tight = outer & _too_tight(points, normals, boundary, width)
        if not tight.any():
            break
        points = _drawn_smooth(points, normals, boundary, _near(points, boundary, tight, width))
        step = points - start
        step[on_plane, 0] = 0.0
        length = np.linalg.norm(step, axis=1, keepdims=True)
        points = start + step * np.minimum(1.0, FARTHEST / np.maximum(length, FARTHEST))
    if points is start:
        return surface
    moved = surface.points.copy()
    moved[boundary.vertex] = points
    return _with_triangles_kept(surface, replace(surface, points=moved))


def _outer_ring(boundary: Boundary, points: Array) -> Mask:
    """(b,) points of the longest ring; openings keep the form that was typed."""
    around = connected_components(len(points), np.stack([np.arange(len(points)), boundary.after], axis=1))
    length = np.bincount(around, weights=np.linalg.norm(points[boundary.after] - points, axis=1), minlength=len(points))
    return np.asarray(around == np.argmax(length))


def _too_tight(points: Array, normals: Array, boundary: Boundary, width: float) -> Mask:
    """(b,) whether the step ahead of each point is shorter than what a rim loses along it by the hollows at its ends."""
    ahead, behind = points[boundary.after] - points, points - points[boundary.before]
    turn = np.arctan2((normals * np.cross(behind, ahead)).sum(axis=1), (ahead * behind).sum(axis=1))
    hollow = np.maximum(-turn, 0.0)
    return np.asarray(np.linalg.norm(ahead, axis=1) < _ROOM * width * 0.5 * (hollow + hollow[boundary.after]))


def _near(points: Array, boundary: Boundary, tight: Mask, width: float) -> Mask:
    """(b,) points up to a width along the edge from the ends of tight steps."""
    length = np.linalg.norm(points[boundary.after] - points, axis=1)
    away = np.where(tight | tight[boundary.before], 0.0, np.inf)
    while True:
        nearer = np.minimum(away[boundary.before] + length[boundary.before], away[boundary.after] + length)
        nearer = np.where(nearer <= width, np.minimum(away, nearer), away)
        if (nearer == away).all():
            return np.asarray(away <= width)
        away = nearer


def _drawn_smooth(points: Array, normals: Array, boundary: Boundary, near: Mask) -> Array:
    """Points moved half way to the chord of their neighbors, along the skin."""
    before, after = points[boundary.before], points[boundary.after]
    behind, ahead = np.linalg.norm(points - before, axis=1)[:, None], np.linalg.norm(after - points, axis=1)[:, None]
    step = 0.5 * ((ahead * before + behind * after) / (ahead + behind) - points)
    step -= (step * normals).sum(axis=1, keepdims=True) * normals
    return np.where(near[:, None], points + step, points)


def _with_triangles_kept(former: Surface, made: Surface) -> Surface:
    """The made surface with points put back where they would turn a triangle over or take most of it."""
    while True:
        one, other = (np.cross(*np.diff(surface.points[surface.triangles], axis=1).swapaxes(0, 1)) for surface in (former, made))
        lost = (unit_rows(one) * other).sum(axis=1) <= _LEAST_LEFT * np.linalg.norm(one, axis=1)
        if not lost.any():
            return made
        back = np.unique(former.triangles[lost])
        points = made.points.copy()
        points[back] = former.points[back]
        made = replace(former, points=points)
