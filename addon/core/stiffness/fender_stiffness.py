# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a fender gives way, what it swings at, and how its layers are pulled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..shells.elastic import Elastic
from ..shells.shell_mesh import ShellMesh
from ..shells.shell_model import Modes, ShellModel, UnheldShellError
from ..shells.stresses import face_stresses
from ..wall.closed_wall import ClosedWall
from .loads import drag_force, tip_pushes, toward_axle
from .support import Support
from .wall_shell import WallShell, wall_shells

ELEMENTS = 2000
"""Triangles of the shell, about; half as many tell how far it is from where finer ones lead."""
MODE_COUNT = 5

UpAt = Callable[[Array], Array]
"""Upward direction of the print, (m, 3) float, unit, at points (m, 3) of the fender; wheel axes."""


@dataclass(frozen=True, eq=False)
class TipDeflection:
    """A push on a tip. place : (3,) float, mm, wheel axes; mm : how far the tip gives way; movement : (n, 6) float, of the shell"""

    name: str
    place: Array
    mm: float
    movement: Array


@dataclass(frozen=True, eq=False)
class LayerStress:
    """The greatest stress across layers under a push on a tip. mpa : at place (3,) float, mm; strength_mpa : what they bear"""

    mpa: float
    place: Array
    strength_mpa: float


@dataclass(frozen=True, eq=False)
class FenderStiffness:
    """What the shell of a fender does.

    mesh : its middle; tips : front and rear; drag : (n, 6) float, movement at a speed, None without one; drag_n : its force
    modes : the lowest ones; stress : the worst under a push; change : largest share that a tip's deflection or a frequency changed
    by since half as many triangles
    """

    mesh: ShellMesh
    material: Elastic
    tips: tuple[TipDeflection, ...]
    drag: Array | None
    drag_n: float
    modes: Modes
    stress: LayerStress
    change: float

    @property
    def drag_mm(self) -> float | None:
        """How far the wind moves what it moves most, mm."""
        return None if self.drag is None else float(np.linalg.norm(self.drag[:, :3], axis=1).max())

    @property
    def flex_mm(self) -> float:
        """The most that any place comes toward the axle, under a push or by the wind, mm."""
        moved = [tip.movement for tip in self.tips] + ([] if self.drag is None else [self.drag])
        return max(0.0, *(float(toward_axle(self.mesh, each).max()) for each in moved))


def fender_stiffness(
    wall: ClosedWall,
    supports: tuple[Support, ...],
    material: Elastic,
    strength: tuple[float, UpAt | None],
    speed_kmh: float | None,
) -> FenderStiffness:
    """The stiffness of a wall that is held by bolts.

    strength : MPa, and the upward direction of the print that it is across; None where it holds in all directions
    Raises ShapeError, with the place, if part of the wall is held by no bolt.
    """
    fine, coarse = wall_shells(wall, supports, ELEMENTS, ELEMENTS // 2)
    result, rough = (_solved(shell, material, strength, speed_kmh) for shell in (fine, coarse))
    pairs = [(one.mm, other.mm) for one, other in zip(result.tips, rough.tips, strict=True)]
    pairs += zip(result.modes.frequencies_hz, rough.modes.frequencies_hz, strict=True)
    change = max(abs(other / one - 1.0) for one, other in pairs)
    return FenderStiffness(
        result.mesh, material, result.tips, result.drag, result.drag_n, result.modes, result.stress, float(change)
    )


def wall_flex(wall: ClosedWall, supports: tuple[Support, ...], material: Elastic, speed_kmh: float | None) -> float:
    """The most that any place of a wall comes toward the axle, mm, as FenderStiffness.flex_mm, with half as many triangles.

    Raises ShapeError, with the place, if part of the wall is held by no bolt.
    """
    (shell,) = wall_shells(wall, supports, ELEMENTS // 2)
    loads = [push.loads for push in tip_pushes(shell.mesh)]
    if speed_kmh is not None:
        loads.append(drag_force(shell.mesh, speed_kmh))
    moved = _model(shell, material).movement(np.stack(loads))
    return max(0.0, *(float(toward_axle(shell.mesh, each).max()) for each in moved))


def _model(shell: WallShell, material: Elastic) -> ShellModel:
    try:
        return ShellModel(shell.mesh, material, shell.fixed)
    except UnheldShellError as error:
        raise ShapeError("part of the fender is held by no bolt; join it with the rest", error.point) from error


@dataclass(frozen=True, eq=False)
class _Solved:
    """See FenderStiffness."""

    mesh: ShellMesh
    tips: tuple[TipDeflection, ...]
    drag: Array | None
    drag_n: float
    modes: Modes
    stress: LayerStress


def _solved(shell: WallShell, material: Elastic, strength: tuple[float, UpAt | None], speed_kmh: float | None) -> _Solved:
    mesh, model = shell.mesh, _model(shell, material)
    pushes = tip_pushes(mesh)
    wind = np.zeros((len(mesh.points), 6)) if speed_kmh is None else drag_force(mesh, speed_kmh)
    *moved, drag = model.movement(np.stack([*(push.loads for push in pushes), wind]))
    tips = tuple(
        TipDeflection(push.name, push.place, push.deflection(movement), movement)
        for push, movement in zip(pushes, moved, strict=True)
    )
    free = ~shell.fixed[mesh.triangles, 0].any(axis=1)
    stress = max((_layer_stress(mesh, material, each, strength, free) for each in moved), key=lambda worst: worst.mpa)
    return _Solved(
        mesh,
        tips,
        None if speed_kmh is None else drag,
        float(np.linalg.norm(wind[:, :3].sum(axis=0))),
        model.modes(min(MODE_COUNT, int((~shell.fixed).sum()))),
        stress,
    )


def _layer_stress(
    mesh: ShellMesh, material: Elastic, movement: Array, strength: tuple[float, UpAt | None], free: Array
) -> LayerStress:
    """The greatest pull across layers, or in any direction; a push the other way pulls where this one presses.

    free : (m,) bool, triangles that count: what touches a washer is left out, for its stress hangs on how sharp the washer is.
    """
    mpa, up_at = strength
    stress = face_stresses(mesh, material, movement)
    if up_at is None:
        pull = np.abs(np.linalg.eigvalsh(stress)).max(axis=2)
    else:
        up = up_at(mesh.centers)
        pull = np.abs(np.einsum("mi,fmij,mj->fm", up, stress, up))
    most = np.where(free, pull.max(axis=0), 0.0)
    worst = int(np.argmax(most))
    return LayerStress(float(most[worst]), mesh.centers[worst], mpa)
