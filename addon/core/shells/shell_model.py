# SPDX-License-Identifier: GPL-3.0-or-later
"""A shell that is held somewhere: how it gives way to forces, and how it swings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, Mask
from .block_solver import BlockSolver, NotHeldError
from .block_stiffness import block_stiffness, free_rows
from .elastic import Elastic
from .shell_elements import point_mass
from .shell_mesh import ShellMesh

_MOST_ROUNDS = 60
_SETTLED = 1e-9
"""Rounds of the subspace iteration, and the change of the squared frequencies at which it ends."""


class UnheldShellError(ValueError):
    """A shell, or a part of it, that nothing holds. point : (3,) float, mm, one of those that can move freely"""

    def __init__(self, point: Array) -> None:
        super().__init__("part of the shell is not held by any support")
        self.point = point


@dataclass(frozen=True, eq=False)
class Modes:
    """frequencies_hz : (k,) float, ascending; shapes : (k, n, 6) float, each with its largest movement 1 mm"""

    frequencies_hz: Array
    shapes: Array


class ShellModel:
    """Stiffness of a shell, factored once.

    fixed : (n, 6) bool, freedoms that are held: movement in x, y, z, rotation about x, y, z
    Raises ValueError if fixed is not (n, 6), UnheldShellError if the shell can move freely.
    """

    def __init__(self, mesh: ShellMesh, material: Elastic, fixed: Mask) -> None:
        if fixed.shape != (len(mesh.points), 6):
            raise ValueError(f"fixed: shape {fixed.shape}, expected ({len(mesh.points)}, 6)")
        self.mesh, self.material = mesh, material
        self._rows = free_rows(mesh, fixed)
        if not self._rows:
            raise ValueError("fixed: nothing is left to move")
        self._order: Index = np.concatenate(self._rows)
        try:
            self._solver = BlockSolver(*block_stiffness(mesh, material, self._rows))
        except NotHeldError as error:
            raise UnheldShellError(mesh.points[self._rows[error.row][0] // 6]) from error

    def movement(self, loads: Array) -> Array:
        """Movement under loads.

        loads : (n, 6) or (k, n, 6) float, N and N mm; what acts on held freedoms goes into the supports
        Returns the same shape: mm and radians.
        """
        cases = np.asarray(loads, dtype=np.float64).reshape(-1, 6 * len(self.mesh.points))
        moved = np.zeros(cases.shape)
        moved[:, self._order] = self._solver.solve(cases[:, self._order].T).T
        return moved.reshape(np.shape(loads))

    def modes(self, count: int) -> Modes:
        """The lowest natural frequencies and their shapes. count : 1 up to the number of free freedoms

        Subspace iteration: K.-J. Bathe, Finite Element Procedures, 11.6; lumped mass.
        """
        mass = self._mass
        if not 1 <= count <= len(mass):
            raise ValueError(f"count {count}; allowed is 1 to {len(mass)}")
        width = min(len(mass), max(2 * count, count + 8))
        vectors = np.random.default_rng(0).standard_normal((len(mass), width))
        squared = np.zeros(width)
        for _ in range(_MOST_ROUNDS):
            pulled = mass[:, None] * vectors
            answers = self._solver.solve(pulled)
            vectors, found = _ritz(answers, answers.T @ pulled, answers.T @ (mass[:, None] * answers))
            settled = np.abs(found - squared)[:count] <= _SETTLED * found[:count]
            squared = found
            if settled.all():
                break
        shapes = np.zeros((count, 6 * len(self.mesh.points)))
        shapes[:, self._order] = vectors[:, :count].T
        return Modes(np.sqrt(squared[:count]) / (2.0 * np.pi), _scaled(shapes.reshape(count, -1, 6)))

    @cached_property
    def _mass(self) -> Array:
        return point_mass(self.mesh, self.material).ravel()[self._order]


def _ritz(answers: Array, stiffness: Array, mass: Array) -> tuple[Array, Array]:
    """Vectors of a subspace that are mode shapes within it, and their squared circular frequencies, ascending."""
    factor = np.linalg.cholesky(0.5 * (stiffness + stiffness.T))
    inverse = np.linalg.inv(factor)
    shares, turned = np.linalg.eigh(inverse @ mass @ inverse.T)
    shares, turned = shares[::-1], turned[:, ::-1]
    return answers @ (inverse.T @ turned), 1.0 / np.maximum(shares, 1e-300)


def _scaled(shapes: Array) -> Array:
    """Shapes (k, n, 6) with the largest movement of each 1 mm, toward the side of its largest part."""
    moved = shapes[..., :3].reshape(len(shapes), -1)
    largest = moved[np.arange(len(shapes)), np.argmax(np.abs(moved), axis=1)]
    length = np.linalg.norm(shapes[..., :3], axis=2).max(axis=1)
    return np.asarray(shapes * (np.sign(largest) / length)[:, None, None])
