# SPDX-License-Identifier: GPL-3.0-or-later
"""A skin with a value at its points, on the graphics processor."""

from __future__ import annotations

from typing import Any

import gpu
import numpy as np

from ...core.base.arrays import Array, Index

_TYPES: Any = gpu.types


def skin_index(quads: Index) -> Any:
    """Index buffer of a skin's quads (q, 4), two triangles each."""
    return triangle_index(quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3))


def triangle_index(triangles: Index) -> Any:
    """Index buffer of triangles (t, 3)."""
    return _TYPES.GPUIndexBuf(type="TRIS", seq=np.ascontiguousarray(triangles, dtype=np.uint32))


def skin_batch(points: Array, name: str, values: Array, index: Any) -> Any:
    """Batch of points (n, 3), "pos" to the shader, with values (n,) of a name, drawn by an index buffer."""
    form = _TYPES.GPUVertFormat()
    form.attr_add(id="pos", comp_type="F32", len=3, fetch_mode="FLOAT")
    form.attr_add(id=name, comp_type="F32", len=1, fetch_mode="FLOAT")
    vertices = _TYPES.GPUVertBuf(form, len(points))
    vertices.attr_fill("pos", np.ascontiguousarray(points, dtype=np.float32))
    vertices.attr_fill(name, np.ascontiguousarray(values, dtype=np.float32))
    return _TYPES.GPUBatch(type="TRIS", buf=vertices, elem=index)
