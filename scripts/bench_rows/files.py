# SPDX-License-Identifier: GPL-3.0-or-later
"""Writing 150,000 triangles, beside the host's exporter."""

import tempfile
from pathlib import Path

import bpy
import numpy as np
import trimesh

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.host.triangle_mesh_data import mesh_data
from addon.output.stl_file import write_stl
from addon.output.three_mf_file import PrintPart, write_three_mf
from bench_row import BenchRow, median_ms, sized


def rows() -> list[BenchRow]:
    outside = trimesh.creation.torus(300, 60, major_sections=sized(300, 30), minor_sections=sized(250, 25))
    mesh = TriangleMesh(outside.vertices, outside.faces)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        bpy.context.collection.objects.link(bpy.data.objects.new("torus", mesh_data("torus", mesh)))
        ours = median_ms(lambda: write_stl(folder / "ours.stl", mesh))
        hosts = median_ms(lambda: bpy.ops.wm.stl_export(filepath=str(folder / "host.stl")))
        three_mf = median_ms(lambda: write_three_mf(folder / "ours.3mf", [PrintPart("torus", mesh, np.eye(4))]))
    return [
        BenchRow(f"write STL, {len(mesh.triangles):,} triangles (ms); reference: the host's exporter", ours, hosts),
        BenchRow(f"write 3MF, {len(mesh.triangles):,} triangles (ms)", three_mf),
    ]
