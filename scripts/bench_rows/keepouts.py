# SPDX-License-Identifier: GPL-3.0-or-later
"""A mesh keep-out that is moved while the fender is looked at, and moved into it while it is held.

The reference is what a plain script would do after each move: a tree of the host over the moved mesh, asked for the nearest place
to each point of the skin.
"""

import statistics
import time
from pathlib import Path
from typing import Any

import bpy  # first: it brings the host's modules
import numpy as np

import addon
from addon.core.base.arrays import Array
from addon.ui.state import session
from addon.ui.state.scene_settings import settings_of
from addon.ui.watch.live import live_step
from addon.ui.watch.readout import readout
from addon.ui.watch.things import Change, notice
from bench_row import BenchRow, sized

import bmesh  # isort: skip
from mathutils.bvhtree import BVHTree  # isort: skip

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"
READOUT_GOAL_MS, GUARD_GOAL_MS = 50.0, 33.0
RADIUS_MM, MOVES, STEP_MM = 40.0, 12, 1.0
PLACE = np.array([40.0, 153.0, 306.0])
"""Of the seeded skin, behind the mount."""


class Bench:
    """The front fender of the demo sheet, and a ball over its flank."""

    def __init__(self) -> None:
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        self.scene: Any = bpy.context.scene
        operators: Any = bpy.ops
        operators.fenderwright.load_sheet(filepath=str(SHEET))
        operators.fenderwright.seed_cage()
        segments = sized(142, 40)
        mesh: Any = bpy.data.meshes.new("ball")
        bm = bmesh.new()
        bmesh.ops.create_uvsphere(bm, u_segments=segments, v_segments=segments // 2, radius=RADIUS_MM)
        bm.to_mesh(mesh)
        bm.free()
        self.ball: Any = bpy.data.objects.new("ball", mesh)
        self.scene.collection.objects.link(self.ball)
        mesh.calc_loop_triangles()
        self.triangles = len(mesh.loop_triangles)
        self.out = np.array([0.0, *PLACE[1:]]) / np.linalg.norm(PLACE[1:])
        self.place(100.0)
        entry = settings_of(self.scene).keepouts.add()
        entry.name, entry.kind, entry.gap, entry.mesh_object = "ball", "mesh", 5.0, self.ball
        bpy.context.view_layer.update()

    @property
    def state(self) -> session.SceneState:
        return session.of_scene(self.scene)

    @property
    def skin(self) -> Array:
        shaped = self.state.shaped
        assert shaped is not None
        return shaped.skin

    def place(self, over: float) -> None:
        """Set the ball with its near side so many mm over the skin."""
        self.ball.location = (PLACE + (RADIUS_MM + over) * self.out).tolist()

    def moves(self, hold: str, first: float) -> list[float]:
        """ms of each move toward the wheel, from noticing it to the readout."""
        settings_of(self.scene).hold = hold
        self.place(first)
        bpy.context.view_layer.update()
        taken = []
        for number in range(1, MOVES + 1):
            self.place(first - STEP_MM * number)
            with session.OwnChange():
                graph = bpy.context.evaluated_depsgraph_get()
            self.state.stale = False
            start = time.perf_counter()
            if notice(self.scene, Change(graph, False, frozenset([self.ball.session_uid]), frozenset())):
                live_step(self.scene, looked=True)
            self.state.readout = readout(self.state, hold, None)
            taken.append(1000.0 * (time.perf_counter() - start))
        return taken

    def plain(self) -> float:
        """ms, median, of a tree over the ball and the nearest place to each point of the skin."""
        mesh, taken = self.ball.data, []
        triangles = [tuple(each.vertices) for each in mesh.loop_triangles]
        for _ in range(3):
            start = time.perf_counter()
            tree: Any = BVHTree.FromPolygons([self.ball.matrix_world @ vertex.co for vertex in mesh.vertices], triangles)
            for point in self.skin.tolist():
                tree.find_nearest(point)
            taken.append(1000.0 * (time.perf_counter() - start))
        return statistics.median(taken)


def rows() -> list[BenchRow]:
    addon.register()
    try:
        bench = Bench()
        size = f"{bench.triangles:,} triangles, {len(bench.skin):,} skin points"
        seen = statistics.median(bench.moves("WARN", 30.0))
        plain = bench.plain()
        held = statistics.median(bench.moves("HOLD", 17.0))
        return [
            BenchRow(f"moved mesh keep-out, {size}: noticed and in the readout (ms)", seen, plain, READOUT_GOAL_MS),
            BenchRow("the same, moved into the fender: guard and readout (ms)", held, plain, GUARD_GOAL_MS),
        ]
    finally:
        addon.unregister()
