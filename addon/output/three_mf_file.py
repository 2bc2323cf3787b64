# SPDX-License-Identifier: GPL-3.0-or-later
"""3MF, written by lib3mf, the reference implementation of the 3MF Consortium."""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..core.base.arrays import Array
from ..core.mesh.triangle_mesh import TriangleMesh


class ThreeMfUnavailableError(RuntimeError):
    """lib3mf cannot be loaded here; the sentence says why there is no 3MF."""


@dataclass(frozen=True, eq=False)
class PrintPart:
    """A part with a name and its place on the printer.

    mesh : closed, in wheel axes, mm
    placement : (4, 4) float, rigid or evenly scaled, takes points (as columns) from wheel axes to the printer's axes, mm
    """

    name: str
    mesh: TriangleMesh
    placement: Array


def write_three_mf(path: Path, parts: Sequence[PrintPart]) -> None:
    """Write a 3MF core package in millimeters: one object and one build item for each part, in print position.

    Raises ValueError if there is no part or a mesh is not closed and oriented, ThreeMfUnavailableError if lib3mf cannot be
    loaded, OSError if the file cannot be written. 3MF Core 1.4.0, 3.3 (transforms), 4.1 (meshes).
    """
    if not parts:
        raise ValueError("a 3MF needs at least one part")
    library = _library()
    wrapper = library.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(library.ModelUnit.MilliMeter)
    for part in parts:
        model.AddBuildItem(_mesh_object(library, model, part), _transform(library, part.placement))
    writer = model.QueryWriter("3mf")
    writer.SetStrictModeActive(True)
    # lib3mf has only its own error for a file that it cannot write; Python's own says what is wrong
    content = bytes(bytearray(writer.WriteToBuffer()))
    path.write_bytes(content)


def _library() -> Any:
    """lib3mf, imported at use, so that all else works on a platform that it has no wheel for."""
    try:
        import lib3mf

        lib3mf.get_wrapper()
    except Exception as error:  # its own errors, ImportError or OSError, as the platform has it
        raise ThreeMfUnavailableError(f"No 3MF was written: lib3mf cannot be loaded here ({error})") from error
    return lib3mf


def _mesh_object(library: Any, model: Any, part: PrintPart) -> Any:
    vertices = np.ascontiguousarray(part.mesh.vertices, np.float32)
    triangles = np.ascontiguousarray(part.mesh.triangles, np.uint32)
    mesh_object = model.AddMeshObject()
    mesh_object.SetName(part.name)
    mesh_object.SetGeometry(_structures(library.Position, vertices), _structures(library.Triangle, triangles))
    if not mesh_object.IsManifoldAndOriented():
        raise ValueError(f"{part.name} is not a closed mesh")
    return mesh_object


def _structures(kind: Any, rows: np.ndarray[Any, Any]) -> Any:
    """The rows of an array as an array of C structures of three 4-byte values."""
    return (kind * len(rows)).from_buffer_copy(rows.tobytes())


def _transform(library: Any, placement: Array) -> Any:
    """3MF multiplies row vectors from the left: the 4 rows of 3 values are the transposed columns of the placement."""
    rows = np.ascontiguousarray(placement[:3].T, np.float32)
    transform = library.Transform()
    ctypes.memmove(ctypes.addressof(transform), rows.tobytes(), rows.nbytes)
    return transform
