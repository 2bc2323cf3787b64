# SPDX-License-Identifier: GPL-3.0-or-later
"""One mouse step of shaping as the handler does it, beside the host's own modifiers on the same cage and push.

The host's version: Subdivision Surface, Shrinkwrap about a mesh of the tire that is as fine as our solid (its facets within
0.02 mm), and, as our step also measures the clearance for the map, Vertex Weight Proximity to the same mesh. The keep-outs
of the job, which our step minds too, are left out there.
"""

import math
import statistics
import time
from pathlib import Path
from typing import Any, NamedTuple

import bpy  # first: it brings the host's modules
import numpy as np

import addon
from addon.core.base.arrays import Array, Index
from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.revolved import revolved
from addon.core.shaping.shaper import Hold
from addon.core.skin.stencil_rows import StencilRows
from addon.host.cage.cage_mesh import read_points
from addon.host.envelope_object import NAME as ENVELOPE
from addon.ui.shape import map_overlay
from addon.ui.state import session
from addon.ui.state.scene_settings import settings_of
from addon.ui.watch.live import live_step
from addon.ui.watch.readout import readout, views
from bench_row import BenchRow, seconds, sized

import bmesh  # isort: skip
import gpu  # isort: skip

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"
STATIONS, COLUMNS = 16, 9
MOUSE_STEP_MM, STEPS = 3.0, sized(30, 2)
PUSH_MM = 12.0
"""How far the smoothness is judged past the first contact."""
LIVE_GOAL_MS, LIVE_P95_MS, LARGE_GOAL_MS = 16.0, 33.0, 60.0
SHARE_OF_HOST = 1.0 / 3.0
ANGLE_GOAL = 1.1


class HostStep(NamedTuple):
    """ms, median, of the host's skin: with Shrinkwrap and distances, with Shrinkwrap, and alone."""

    with_both: float
    with_wrap: float
    alone: float


class Bench:
    """The front fender of the demo sheet with 16 x 9 cage points on its half; 50 of them at the crown are pushed down."""

    def __init__(self, level: int) -> None:
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        self.scene = bpy.context.scene
        operators: Any = bpy.ops
        operators.fenderwright.load_sheet(filepath=str(SHEET))
        cage = settings_of(self.scene).cage
        cage.stations, cage.columns, cage.level = STATIONS, COLUMNS, level
        settings_of(self.scene).hold_seat = False
        operators.fenderwright.seed_cage()
        self.ob = settings_of(self.scene).cage_object
        self.rest = read_points(self.ob)
        near_crown = np.argsort(np.abs(self.rest[:, 0]) + 0.4 * np.abs(self.rest[:, 1]), kind="stable")
        self.moved = near_crown[:50]
        self.points = len(self.shaped.skin)

    @property
    def state(self) -> session.SceneState:
        return session.of_scene(self.scene)

    @property
    def shaped(self) -> Any:
        return self.state.shaped

    def pushed(self, depth: float) -> Array:
        points = self.rest.copy()
        points[self.moved, 2] -= depth
        return points

    def ask(self, points: Array) -> None:
        """Leave the edited mesh as a transform of the host would."""
        verts = bmesh.from_edit_mesh(self.ob.data).verts
        verts.ensure_lookup_table()
        for index in self.moved.tolist():
            verts[index].co = points[index]

    def drag(self, hold: Hold) -> Array:
        """ms of each of the mouse steps, 3 mm each, from the seed through the tire: read, skin, distance, guard, write, buffers.

        What a step has no time for is left to the next, as in a window, where a timer goes on with it when the mouse rests.
        """
        bpy.context.view_layer.objects.active = self.ob
        bpy.ops.object.mode_set(mode="EDIT")
        taken = []
        with session.OwnChange():
            for step in range(STEPS):
                self.ask(self.pushed(MOUSE_STEP_MM * step))
                start = time.perf_counter()
                live_step(self.scene, hold=hold, to_rest=False, looked=True)
                map_buffers(self.shaped)
                taken.append(time.perf_counter() - start)
            assert self.shaped.clear
            self.ask(self.rest)
            live_step(self.scene)
        bpy.ops.object.mode_set(mode="OBJECT")
        return 1000.0 * np.array(taken)

    def shrinkwrap(self) -> HostStep:
        """The host's half skin on the same mouse steps."""
        target = self._fine_tire()
        self.ob.modifiers[0].show_viewport = False
        wrap, distances = self._wrap(self.ob, target), self._distances(self.ob, target)
        with_both = self._host_ms()
        distances.show_viewport = False
        with_wrap = self._host_ms()
        wrap.show_viewport = False
        without = self._host_ms()
        self.ob.modifiers.remove(wrap)
        self.ob.modifiers.remove(distances)
        self.ob.modifiers[0].show_viewport = True
        self._place(self.rest)
        return HostStep(with_both, with_wrap, without)

    def _host_ms(self) -> float:
        taken = []
        with session.OwnChange():
            for step in range(STEPS):
                self._place(self.pushed(MOUSE_STEP_MM * step))
                start = time.perf_counter()
                evaluated = self.ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
                evaluated.to_mesh()  # without it the last Subdivision Surface is left to the drawing code
                taken.append(time.perf_counter() - start)
                evaluated.to_mesh_clear()
        return 1000.0 * statistics.median(taken)

    def _place(self, points: Array) -> None:
        self.ob.data.attributes["position"].data.foreach_set("vector", points.astype(np.float32).ravel())
        self.ob.data.update()

    def angles(self) -> tuple[float, float, float]:
        """Largest angle between neighboring facets, degrees, after the same push: held, not held, and wrapped by the host."""
        room = float(self.shaped.excess[np.abs(self.shaped.skin[:, 0]) < 1.0].min())
        target = self.pushed(room + PUSH_MM)
        quads = self.shaped.stencil.quads
        stencil: StencilRows = self.shaped.stencil.position
        bpy.context.view_layer.objects.active = self.ob
        bpy.ops.object.mode_set(mode="EDIT")
        with session.OwnChange():
            for share in np.linspace(0.0, 1.0, 10):
                self.ask(self.rest + share * (target - self.rest))
                held = live_step(self.scene, budget_s=None, looked=True).shaped
        bpy.ops.object.mode_set(mode="OBJECT")
        loose = stencil.apply(target)
        return largest_angle(held.skin, quads), largest_angle(loose, quads), largest_angle(self._wrapped(loose, quads), quads)

    def _fine_tire(self) -> bpy.types.Object:
        """The tire at its largest as a mesh whose facets are within the chord of the solid."""
        profile = self.state.facts.envelope.profile
        steps = math.ceil(math.pi / math.acos(1.0 - TOLERANCES.chord / profile[:, 1].max()))
        points, quads, _ = revolved(profile, steps)
        mesh = bpy.data.meshes.new("fine tire")
        mesh.from_pydata(points.astype(np.float32), [], quads)
        target = bpy.data.objects.new("fine tire", mesh)
        self.scene.collection.objects.link(target)
        return target

    def _distances(self, ob: bpy.types.Object, target: bpy.types.Object) -> Any:
        """A Vertex Weight Proximity modifier that measures each point's way to the tire."""
        group = ob.vertex_groups.new(name="clearance")
        group.add(range(len(self.rest)), 1.0, "REPLACE")
        distances: Any = ob.modifiers.new("Clearance", "VERTEX_WEIGHT_PROXIMITY")
        distances.vertex_group, distances.target = group.name, target
        distances.proximity_mode, distances.proximity_geometry = "GEOMETRY", {"FACE"}
        distances.max_dist = 40.0
        return distances

    def _wrap(self, ob: bpy.types.Object, target: bpy.types.Object) -> Any:
        """A Shrinkwrap modifier that keeps what is required from the tire."""
        wrap: Any = ob.modifiers.new("Shrinkwrap", "SHRINKWRAP")
        wrap.target = target
        wrap.wrap_method, wrap.wrap_mode = "NEAREST_SURFACEPOINT", "OUTSIDE"
        wrap.offset = self.state.facts.budget.skin_required_mm
        return wrap

    def _wrapped(self, skin: Array, quads: Index) -> Array:
        """A skin after the host's Shrinkwrap modifier."""
        mesh = bpy.data.meshes.new("skin")
        mesh.from_pydata(skin.tolist(), [], quads.tolist())
        ob = bpy.data.objects.new("skin", mesh)
        self.scene.collection.objects.link(ob)
        self._wrap(ob, bpy.data.objects[ENVELOPE])
        with session.OwnChange():
            evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
        flat = np.zeros(3 * len(skin), np.float32)
        mesh_seen: Any = evaluated.data
        mesh_seen.vertices.foreach_get("co", flat)
        return flat.reshape(-1, 3).astype(np.float64)

    def redraw(self) -> float:
        """ms, median, of finding out that nothing has changed, as each redraw does."""
        state = self.state
        return 1000.0 * statistics.median(seconds(lambda: self._look(state), 200))

    def _look(self, state: session.SceneState) -> None:
        state.readout = readout(state, "HOLD", state.readout)
        state.views = views(state, 0.0, state.views)

    def new_views(self) -> float:
        """ms, median, of readout, section and side view after a step."""
        state = self.state

        def after_step() -> None:
            state.version += 1
            self._look(state)

        return 1000.0 * statistics.median(seconds(after_step, 15))


def map_buffers(shaped: Any) -> None:
    """What is handed to the graphics processor; on hosts that draw without a window, handed over."""
    if hasattr(gpu, "init"):
        map_overlay.map_batch(shaped, None)
    else:
        shaped.skin.astype(np.float32), shaped.excess.astype(np.float32)


def largest_angle(points: Array, quads: Index) -> float:
    """Largest angle between neighboring quads, degrees."""
    a, b, c, d = (points[quads[:, corner]] for corner in range(4))
    normals = np.cross(c - a, d - b)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    edges = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(quads)), 4)
    order = np.lexsort(edges.T)
    edges, owner = edges[order], owner[order]
    same = np.flatnonzero((edges[1:] == edges[:-1]).all(axis=1))
    cosine = np.einsum("ij,ij->i", normals[owner[same]], normals[owner[same + 1]])
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))).max())


def rows() -> list[BenchRow]:
    if hasattr(gpu, "init"):
        gpu.init()
    addon.register()
    try:
        return [*usual_rows(), *large_rows()]
    finally:
        addon.unregister()


def usual_rows() -> list[BenchRow]:
    bench = Bench(level=sized(4, 3))
    steps = bench.drag(Hold.HOLD)
    host = bench.shrinkwrap()
    size = f"{bench.points:,} skin points, {len(bench.moved)} cage points moved"
    redraw, new_views = bench.redraw(), bench.new_views()
    held, loose, by_host = bench.angles()
    goal = min(LIVE_GOAL_MS, SHARE_OF_HOST * host.with_both)
    return [
        BenchRow(
            f"live step, {size} (ms); reference: host's skin, Shrinkwrap, distances",
            float(np.median(steps)),
            host.with_both,
            goal,
        ),
        BenchRow("live step, the same (ms); reference: host's skin, Shrinkwrap", float(np.median(steps)), host.with_wrap),
        BenchRow(
            "live step, the same, 95th percentile (ms); reference: Shrinkwrap alone",
            float(np.percentile(steps, 95)),
            host.with_wrap - host.alone,
            LIVE_P95_MS,
        ),
        BenchRow("readout, section and side view after a step (ms)", new_views),
        BenchRow("redraw with nothing moving: finding out so, drawing left out (ms)", redraw),
        BenchRow("largest angle of facets after a push, held (deg); reference: not held", held, loose, ANGLE_GOAL * loose),
        BenchRow("largest angle of facets after the same push by Shrinkwrap (deg); ref.: not held", by_host, loose),
    ]


def large_rows() -> list[BenchRow]:
    bench = Bench(level=sized(5, 3))
    name = f"live step, {bench.points:,} skin points, {len(bench.moved)} cage points moved (ms)"
    return [BenchRow(name, float(np.median(bench.drag(Hold.HOLD))), None, LARGE_GOAL_MS)]
