# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages of several topologies over a tire, for the tests of the guard."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from addon.core.base.arrays import Array, Index, Mask
from addon.core.base.wheel_axes import point_at
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.clearance.clearance_field import ClearanceField, Limit
from addon.core.skin.cage import CageTopology, topology_of_faces
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.skin.stencil_rows import StencilRows

CROWN_RADIUS = 305.0
HALF_WIDTH = 60.0
GAP = 10.0


@dataclass(frozen=True)
class Scene:
    """A cage whose skin is clear by some mm, its faces, its stencil, and which points lie on the mirror plane."""

    points: Array
    faces: list[list[int]]
    topology: CageTopology
    stencil: StencilRows
    on_plane: Mask


def tire() -> MeridianBody:
    """A tire-like body: crown radius 75 mm across, width 120 mm, radius 305 mm."""
    x = np.linspace(0.0, HALF_WIDTH, 40)
    return MeridianBody(np.stack([x, CROWN_RADIUS - 75.0 + np.sqrt(75.0**2 - x**2)], axis=1))


def tire_field() -> ClearanceField:
    return ClearanceField([Limit("tire", tire(), GAP)])


def leg_field() -> ClearanceField:
    """The tire and a fork leg beside it."""
    leg = Capsule(np.array([112.0, -100.0, 0.0]), np.array([112.0, -60.0, 500.0]), 20.0)
    return ClearanceField([Limit("tire", tire(), GAP), Limit("fork leg", leg, 5.0)])


def scene(faces: list[list[int]], points: Array, level: int, on_plane: Mask | None) -> Scene:
    topology = topology_of_faces(len(points), faces, on_plane=on_plane)
    plane = np.zeros(len(points), bool) if on_plane is None else on_plane
    return Scene(points, faces, topology, skin_stencil(topology, level).position, plane)


def sheet(along: int, across: int, mirrored: bool) -> tuple[Array, list[list[int]], Index]:
    """Points, quads facing outward and the grid of numbers of a fender-like sheet, along stations and offsets."""
    stations = np.linspace(-80.0, 45.0, along)
    offsets = np.linspace(0.0 if mirrored else -70.0, 70.0, across)
    station, x = np.meshgrid(stations, offsets, indexing="ij")
    points = point_at((CROWN_RADIUS + GAP + 30.0 - x**2 / 150.0).ravel(), station.ravel(), x.ravel())
    grid = np.arange(along * across).reshape(along, across)
    quads = np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]], axis=-1).reshape(-1, 4)
    return points, quads.tolist(), grid


def mirrored_grid(level: int = 3, along: int = 7, across: int = 4) -> Scene:
    points, faces, grid = sheet(along, across, mirrored=True)
    on_plane = np.zeros(len(points), bool)
    on_plane[grid[:, 0]] = True
    return scene(faces, points, level, on_plane)


def whole_grid(level: int = 3) -> Scene:
    points, faces, _ = sheet(7, 6, mirrored=False)
    return scene(faces, points, level, None)


def triangles(level: int = 2) -> Scene:
    points, faces, _ = sheet(7, 6, mirrored=False)
    halves = [half for a, b, c, d in faces for half in ([a, b, c], [a, c, d])]
    return scene(halves, points, level, None)


def poles(level: int = 3) -> Scene:
    """A sheet with one quad cut into four triangles about a new point, and its neighbor into a fan of a pentagon."""
    points, faces, _ = sheet(6, 5, mirrored=False)
    middle = faces[9]
    center = points[middle].mean(axis=0)
    points = np.concatenate([points, center[None]])
    new = len(points) - 1
    fan = [[middle[i], middle[(i + 1) % 4], new] for i in range(4)]
    return scene([face for face in faces if face is not middle] + fan, points, level, None)


def extruded(level: int = 3) -> Scene:
    """A sheet with one edge quad extruded outward: the faces of a box on it."""
    points, faces, _ = sheet(6, 5, mirrored=False)
    return extrude(scene(faces, points, level, None), 10, 12.0, level)


def extrude(base: Scene, face: int, height: float, level: int) -> Scene:
    """The scene with one face lifted along its normal and side faces put between, as an extrusion does."""
    ring = base.faces[face]
    corners = base.points[ring]
    normal = np.cross(corners[2] - corners[0], corners[-1] - corners[1])
    lifted = corners + height * normal / np.linalg.norm(normal)
    first = len(base.points)
    top = list(range(first, first + len(ring)))
    following = [*range(1, len(ring)), 0]
    sides = [[ring[i], ring[j], top[j], top[i]] for i, j in enumerate(following)]
    faces = [other for number, other in enumerate(base.faces) if number != face] + [top, *sides]
    # An edge that lies on the mirror plane would get a wall within the plane: it must stay open.
    on_plane = np.concatenate([base.on_plane, base.on_plane[ring]])
    if base.topology.mirrored:
        faces = [other for other in faces if not on_plane[other].all()]
        lifted[base.on_plane[ring], 0] = 0.0
    points = np.concatenate([base.points, lifted])
    return scene(faces, points, level, on_plane if base.topology.mirrored else None)


KINDS: dict[str, Callable[[], Scene]] = {
    "mirrored grid": mirrored_grid,
    "whole grid": whole_grid,
    "triangles": triangles,
    "poles": poles,
    "extruded": extruded,
}
