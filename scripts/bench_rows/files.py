# SPDX-License-Identifier: GPL-3.0-or-later
"""Writing 150,000 triangles, beside the host's exporter."""

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import bpy
import numpy as np
import trimesh

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.host.triangle_mesh_data import mesh_data
from addon.output.stl_file import write_stl
from addon.output.three_mf_file import PrintPart, write_three_mf
from bench_row import BenchRow


def rows() -> list[BenchRow]:
    outside = trimesh.creation.torus(300, 60, major_sections=300, minor_sections=250)
    mesh = TriangleMesh(outside.vertices, outside.faces)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        bpy.context.collection.objects.link(bpy.data.objects.new("torus", mesh_data("torus", mesh)))
        ours = median_ms(lambda: write_stl(folder / "ours.stl", mesh))
        hosts = median_ms(lambda: bpy.ops.wm.stl_export(filepath=str(folder / "host.stl")))
        three_mf = median_ms(lambda: write_three_mf(folder / "ours.3mf", [PrintPart("torus", mesh, np.eye(4))]))
    return [
        BenchRow("write STL, 150,000 triangles (ms); reference: the host's exporter", ours, hosts),
        BenchRow("write 3MF, 150,000 triangles (ms)", three_mf),
    ]


def median_ms(run: Callable[[], object]) -> float:
    times = []
    for _ in range(5):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)
