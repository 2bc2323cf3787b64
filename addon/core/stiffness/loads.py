# SPDX-License-Identifier: GPL-3.0-or-later
"""Forces on the shell of a fender: a hand on its tips, and the wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.row_vectors import dot_rows, unit_rows
from ..base.wheel_axes import station_of
from ..shells.shell_mesh import ShellMesh
from ..tables.strength.stiffness_rules import AIR_KG_M3, DRAG_COEFFICIENT, HAND_PATCH_MM, HAND_PUSH_N

_TO_MIDDLE = 0.02
"""Degrees that a tip may lie behind for each mm that it lies nearer to the middle."""
_FORWARD = np.array([0.0, -1.0, 0.0])


@dataclass(frozen=True, eq=False)
class TipPush:
    """A push of HAND_PUSH_N toward the axle. name : "front" or "rear"; place : (3,) float, mm; loads : (n, 6) float, N"""

    name: str
    place: Array
    loads: Array

    def deflection(self, movement: Array) -> float:
        """How far what is pushed gives way, mm. movement : (n, 6) float"""
        return float(np.sum(self.loads * movement) / HAND_PUSH_N)


def tip_pushes(mesh: ShellMesh) -> tuple[TipPush, TipPush]:
    """A hand on the middle of the front tip, and on that of the rear one."""
    front, rear = mesh.points[tip_points(mesh.points)]
    return _push(mesh, "front", front), _push(mesh, "rear", rear)


def tip_points(points: Array) -> Index:
    """(2,) numbers of the points (n, 3) at the front and at the rear tip: of those along an end the one in the middle."""
    station, x = station_of(points), np.abs(points[:, 0])
    return np.array([np.argmax(sign * station - _TO_MIDDLE * x) for sign in (1.0, -1.0)])


def drag_force(mesh: ShellMesh, speed_kmh: float) -> Array:
    """(n, 6) force of the wind on what looks forward of the outer face, N. speed_kmh : of the bike; DRAG_SOURCE says how"""
    pressure = 0.5 * AIR_KG_M3 * (speed_kmh / 3.6) ** 2 * 1e-6  # N/mm2
    facing = np.maximum(mesh.frames[:, 2] @ _FORWARD, 0.0)
    force = DRAG_COEFFICIENT * pressure * facing * mesh.areas
    loads = np.zeros((len(mesh.points), 6))
    at_points = np.bincount(mesh.triangles.ravel(), np.repeat(force / 3.0, 3), len(mesh.points))
    loads[:, :3] = -at_points[:, None] * _FORWARD
    return loads


def toward_axle(mesh: ShellMesh, movement: Array) -> Array:
    """(n,) how far points move toward the axle, mm. movement : (n, 6) float"""
    return np.asarray(-dot_rows(movement[:, 1:3], unit_rows(mesh.points[:, 1:3])))


def _push(mesh: ShellMesh, name: str, place: Array) -> TipPush:
    """The push is shared by the points under the hand as their parts of the wall ask, less toward the rim of the hand."""
    area = np.bincount(mesh.triangles.ravel(), np.repeat(mesh.areas / 3.0, 3), len(mesh.points))
    away = np.linalg.norm(mesh.points - place, axis=1)
    share = area * np.maximum(1.0 - (away / HAND_PATCH_MM) ** 2, 0.0)
    share /= share.sum()
    inward = -place * [0.0, 1.0, 1.0]
    loads = np.zeros((len(mesh.points), 6))
    loads[:, :3] = HAND_PUSH_N * np.outer(share, inward / np.linalg.norm(inward))
    return TipPush(name, place, loads)
