# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells for tests: grids of triangles laid over a surface."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from addon.core.base.arrays import Array, Mask
from addon.core.shells.shell_mesh import ShellMesh


def grid_shell(along: int, across: int, place: Callable[[Array, Array], tuple[Array, ...]], thickness: float) -> ShellMesh:
    """A grid of quads, each cut along one diagonal, turn about; place : from u, v in 0 to 1 to x, y, z"""
    u, v = (each.ravel() for each in np.meshgrid(np.linspace(0, 1, along + 1), np.linspace(0, 1, across + 1), indexing="ij"))
    points = np.stack([np.broadcast_to(each, u.shape) for each in place(u, v)], axis=1)
    corner = (np.arange(along)[:, None] * (across + 1) + np.arange(across)).ravel()
    a, b, c, d = corner, corner + across + 1, corner + across + 2, corner + 1
    even = ((corner // (across + 1) + corner % (across + 1)) % 2 == 0)[:, None]
    one = np.where(even, np.stack([a, b, c], axis=1), np.stack([a, b, d], axis=1))
    two = np.where(even, np.stack([a, c, d], axis=1), np.stack([b, c, d], axis=1))
    return ShellMesh(points, np.concatenate([one, two]), np.full(len(points), thickness))


def held(mesh: ShellMesh, where: Mask) -> Mask:
    """(n, 6) True at points that are clamped."""
    return np.repeat(where[:, None], 6, axis=1)


def edge_force(mesh: ShellMesh, where: Mask, direction: int, total: float = 1.0) -> Array:
    """(n, 6) a force along an axis, shared by the points of an edge as their lengths of it ask."""
    share = where.astype(float)
    ends = np.flatnonzero(where)[[0, -1]]
    share[ends] = 0.5
    loads = np.zeros((len(mesh.points), 6))
    loads[:, direction] = total * share / share.sum()
    return loads


def pressed(mesh: ShellMesh, pressure: float, direction: int) -> Array:
    """(n, 6) a dead load on all triangles along an axis, N/mm2."""
    loads = np.zeros((len(mesh.points), 6))
    np.add.at(loads[:, direction], mesh.triangles.ravel(), np.repeat(pressure * mesh.areas / 3.0, 3))
    return loads
