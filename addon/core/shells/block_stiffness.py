# SPDX-License-Identifier: GPL-3.0-or-later
"""The stiffness of a shell as blocks along it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ..base.arrays import Array, Index, Mask
from .elastic import Elastic
from .levels import point_levels
from .shell_elements import element_stiffness
from .shell_mesh import ShellMesh


def free_rows(mesh: ShellMesh, fixed: Mask) -> list[Index]:
    """Freedoms that are not held, 6 point + freedom, in rows each of which touches only the rows beside it. fixed : (n, 6) bool"""
    rows = (_freedoms(row).ravel() for row in point_levels(mesh.triangles, len(mesh.points)))
    free = (row[~fixed.ravel()[row]] for row in rows)
    return [row for row in free if len(row)]


def block_stiffness(mesh: ShellMesh, material: Elastic, rows: Sequence[Index]) -> tuple[list[Array], list[Array]]:
    """Diagonal blocks of the stiffness, one a row of freedoms, and the blocks between each row and the next; N and mm."""
    sizes = np.array([len(row) for row in rows])
    starts = np.cumsum([0, *sizes])
    row_of = np.repeat(np.arange(len(sizes)), sizes)
    line, column, value = _entries(mesh, material, np.concatenate(rows))
    kept = row_of[column] >= row_of[line]
    line, column, value = line[kept], column[kept], value[kept]
    row, further = row_of[line], row_of[column]
    areas = np.stack([sizes**2, sizes * np.append(sizes[1:], 0)], axis=1).ravel()
    offsets = np.cumsum([0, *areas])
    place = offsets[2 * row + (further - row)] + (line - starts[row]) * sizes[further] + column - starts[further]
    values = np.asarray(np.bincount(place, value, offsets[-1]), dtype=np.float64)
    blocks = [values[start:end] for start, end in pairwise(offsets)]
    diagonal = [block.reshape(size, size) for block, size in zip(blocks[::2], sizes, strict=True)]
    upper = [block.reshape(shape) for block, shape in zip(blocks[1:-1:2], pairwise(sizes), strict=True)]
    return diagonal, upper


def _entries(mesh: ShellMesh, material: Elastic, order: Index) -> tuple[Index, Index, Array]:
    """Lines, columns and values of all entries that the triangles bring, for freedoms in an order."""
    place = np.full(6 * len(mesh.points), -1)
    place[order] = np.arange(len(order))
    freedoms = place[_freedoms(mesh.triangles).reshape(-1, 18)]
    stiffness = element_stiffness(mesh, material)
    line, column = (np.broadcast_to(each, stiffness.shape) for each in (freedoms[:, :, None], freedoms[:, None, :]))
    kept = (line >= 0) & (column >= 0)
    return line[kept], column[kept], stiffness[kept]


def _freedoms(points: Index) -> Index:
    return np.asarray(6 * points[..., None] + np.arange(6))
