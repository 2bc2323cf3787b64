# SPDX-License-Identifier: GPL-3.0-or-later
"""Fender, wheel and view of a scenario, asked of the host while a person shapes.

The clearance is computed by brute force from the evaluated mesh that is shown, with none of the extension's distance code.
"""

from __future__ import annotations

import functools
from typing import Any

from tests.gui.window import TURNS, Window

BROKEN_MM = 0.01
"""The evaluated mesh holds float32: 3e-5 mm at 350 mm; the guard's own tolerance is 0.001 mm."""
HELPERS = """
import importlib
import bmesh
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d
from mathutils import Vector

EXTENSION = "bl_ext.user_default.fenderwright"

def facts():
    return importlib.import_module(EXTENSION + ".ui.state.session").of_scene(bpy.context.scene).facts

def cage():
    return bpy.context.scene.fenderwright.cage_object

def shown_skin():
    # the graph as it is shown: evaluated_depsgraph_get() would evaluate what waits for it, past the host's handlers
    evaluated = cage().evaluated_get(bpy.context.view_layer.depsgraph)
    mesh = evaluated.to_mesh()
    try:
        flat = np.empty(3 * len(mesh.vertices), np.float32)
        mesh.vertices.foreach_get("co", flat)
    finally:
        evaluated.to_mesh_clear()
    return flat.reshape(-1, 3).astype(np.float64)

def distance_to_wheel(points):
    # signed distance to the profile, filled to the axle, in the half plane (|x|, radius): all segments, one after the other
    profile = np.asarray(facts().envelope.profile)
    at = np.stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])], axis=1)
    least = np.full(len(at), np.inf)
    inside = np.ones(len(at), bool)
    for a, b in zip(profile[:-1], profile[1:]):
        along = b - a
        share = np.clip((at - a) @ along / (along @ along), 0, 1)
        least = np.minimum(least, np.linalg.norm(at - a - share[:, None] * along, axis=1))
        inside &= (at - a) @ np.array([-along[1], along[0]]) <= 0
    side = profile[-1]
    below = at[:, 1] < side[1]
    least = np.where(below, np.minimum(least, np.abs(at[:, 0] - side[0])), least)
    inside = np.where(below, at[:, 0] < side[0], inside)
    return np.where(inside, -least, least)

def clearance():
    # room to spare, mm: what the skin that is shown keeps over what it has to keep from the tire
    return float(distance_to_wheel(shown_skin()).min() - facts().budget.skin_required_mm)

def view():
    window = bpy.context.window_manager.windows[0]
    area = next(area for area in window.screen.areas if area.type == "VIEW_3D")
    return area, next(region for region in area.regions if region.type == "WINDOW")

def on_screen(point):
    area, region = view()
    place = location_3d_to_region_2d(region, area.spaces.active.region_3d, Vector(point))
    return None if place is None else [region.x + place.x, region.y + place.y]

def look():
    area, _ = view()
    importlib.import_module(EXTENSION + ".ui.shape.scene_setup").look_at_fender(area.spaces.active)
    area.spaces.active.region_3d.view_distance = 900.0

def face_centers():
    if cage().mode == "EDIT":
        return [tuple(face.calc_center_median()) for face in bmesh.from_edit_mesh(cage().data).faces]
    return [tuple(face.center) for face in cage().data.polygons]

def selected_centers():
    return [tuple(face.calc_center_median()) for face in bmesh.from_edit_mesh(cage().data).faces if face.select]
"""


class Shaping:
    """A fender cage in a real window."""

    def __init__(self, window: Window) -> None:
        self.window = window
        self.ask = functools.partial(window.ask, turns=TURNS)
        self.ask(HELPERS + "\nbefore = None\nresult = 1")

    def clearance(self) -> float:
        """Least room to spare of the skin that is shown, mm; negative where the clearance is broken."""
        return float(self.ask("result = clearance()"))

    def said(self) -> str:
        """What the extension itself says of the cage."""
        return str(
            self.ask(
                'state = importlib.import_module(EXTENSION + ".ui.state.session").of_scene(bpy.context.scene)\n'
                "shaped = state.shaped\n"
                "result = [state.problem, [problem.sentence for problem in state.problems], shaped and [shaped.clear, shaped.worst.excess_mm, shaped.worst.name]]"
            )
        )

    def largest_way(self) -> float:
        """Longest way of a skin point since the last call, mm; 0 at the first call and when the number of points changed."""
        return float(
            self.ask(
                "now = shown_skin()\n"
                "same = before is not None and before.shape == now.shape\n"
                "result = float(np.linalg.norm(now - before, axis=1).max()) if same else 0.0\n"
                "before = now"
            )
        )

    def place_of(self, point: list[float]) -> tuple[float, float]:
        """Where a point of the scene is in the window."""
        x, y = self.ask(f"result = on_screen({point})")
        return float(x), float(y)

    def crown_face(self, behind_mm: float) -> list[float]:
        """Center of the face of the cage beside the middle plane that is nearest to a distance behind the axle."""
        centers: list[list[float]] = self.ask("result = face_centers()")
        middle = min(abs(center[0]) for center in centers)
        return min((center for center in centers if abs(center[0]) < middle + 5.0), key=lambda center: abs(center[1] - behind_mm))

    def middle_of_view(self) -> tuple[float, float]:
        x, y = self.ask("_, region = view()\nresult = region.x + region.width / 2, region.y + region.height / 2")
        return float(x), float(y)

    def choose_file(self, path: Any) -> None:
        """Fill the host's file browser, which is open, and confirm it with Return. path : a file, or a folder that is there"""
        self.window.wait_for("any(a.type == 'FILE_BROWSER' for w in bpy.context.window_manager.windows for a in w.screen.areas)")
        x, y = self.ask(
            "area = next(a for w in bpy.context.window_manager.windows for a in w.screen.areas if a.type == 'FILE_BROWSER')\n"
            f"area.spaces.active.params.directory = {str(path if path.is_dir() else path.parent)!r}.encode() + b'/'\n"
            + ("" if path.is_dir() else f"area.spaces.active.params.filename = {path.name!r}\n")
            + "result = area.x + area.width / 2, area.y + area.height / 2"
        )
        self.window.move(x, y)
        self.window.settle()
        self.window.keys("Return")
        self.window.wait_for(
            "not any(a.type == 'FILE_BROWSER' for w in bpy.context.window_manager.windows for a in w.screen.areas)"
        )


def check_clear(shaping: Shaping, when: str) -> None:
    """Raises AssertionError if the skin that is shown is nearer to the tire than it may be."""
    room = shaping.clearance()
    assert room > -BROKEN_MM, f"{when}: {room} mm; the extension says {shaping.said()}"
