# SPDX-License-Identifier: GPL-3.0-or-later
"""A registered extension in an empty file, for tests that use it as its operators and properties are used."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import bmesh
import bpy
import numpy as np
from numpy.testing import assert_allclose
from scipy.spatial import KDTree

import addon
from addon.core.base.arrays import Array
from addon.ui.state import session
from addon.ui.state.scene_settings import settings_of
from addon.ui.watch import handlers

FLOAT_MM = 0.0015
"""The guard's tolerance of 0.001 mm, and 32 bits of the host's coordinates at 400 mm."""
DEMO = Path(__file__).resolve().parents[2] / "blend_demo"


@contextmanager
def extension() -> Iterator[list[str]]:
    """The extension registered in an empty file; the list collects tracebacks of its handlers, which the host only prints."""
    troubles: list[str] = []

    def watched(handler: Callable[..., None]) -> Callable[..., None]:
        def call(*arguments: Any) -> None:
            try:
                handler(*arguments)
            except Exception:
                troubles.append(traceback.format_exc())
                raise

        return bpy.app.handlers.persistent(call)

    kept = handlers.HANDLERS
    handlers.HANDLERS = tuple((name, watched(handler)) for name, handler in kept)
    addon.register()
    try:
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        yield troubles
    finally:
        addon.unregister()
        handlers.HANDLERS = kept


def settings() -> Any:
    """The panels' values of the present scene."""
    return settings_of(bpy.context.scene)


def seeded(sheet: str = "front_17", level: int | None = None) -> bpy.types.Object:
    """The cage of a demo sheet, seeded in the present scene."""
    bpy.ops.fenderwright.load_sheet(filepath=str(DEMO / f"{sheet}.toml"))
    if level is not None:
        settings_of(bpy.context.scene).cage.level = level
    assert bpy.ops.fenderwright.seed_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    return cage()


def cage() -> bpy.types.Object:
    return settings_of(bpy.context.scene).cage_object


def state() -> session.SceneState:
    return session.of_scene(bpy.context.scene)


def shown_skin() -> Array:
    """Points (n, 3) of the skin as the host evaluates it; what hangs on no face is no skin."""
    evaluated = cage().evaluated_get(bpy.context.evaluated_depsgraph_get())
    mesh = evaluated.to_mesh()
    try:
        flat = np.zeros(3 * len(mesh.vertices), np.float32)
        mesh.vertices.foreach_get("co", flat)
        corners = np.zeros(len(mesh.loops), np.int32)
        mesh.loops.foreach_get("vertex_index", corners)
    finally:
        evaluated.to_mesh_clear()
    return flat.reshape(-1, 3)[np.unique(corners)].astype(np.float64)


def room() -> float:
    """Least room of the shown skin over what is required, mm."""
    return float(state().facts.field.excess(shown_skin()).min())


def select(chosen: Callable[[Any], bool]) -> int:
    """Select the points of the edited mesh that are chosen, and what hangs on them; returns how many."""
    bm = bmesh.from_edit_mesh(cage().data)
    bm.select_mode = {"VERT"}
    for kind in (bm.faces, bm.edges, bm.verts):
        for item in kind:
            item.select = False
    for vert in bm.verts:
        vert.select = chosen(vert)
    bm.select_flush_mode()
    bmesh.update_edit_mesh(cage().data)
    return sum(vert.select for vert in bm.verts)


def in_edit_mode(level: int = 3) -> bpy.types.Object:
    """A seeded cage, being edited."""
    ob = seeded(level=level)
    bpy.ops.object.mode_set(mode="EDIT")
    return ob


def run(operator: Callable[..., set[str]], **properties: object) -> bool:
    """Run an operator with undo; False if the host found nothing to do."""
    try:
        return operator("EXEC_DEFAULT", True, **properties) == {"FINISHED"}
    except RuntimeError:  # what a builder sees as a message: nothing selected, no such face
        return False


def update() -> None:
    """What a host with a window does by itself: update until handlers have no more to write."""
    for _ in range(40):
        bpy.context.view_layer.update()
        shaped = state().shaped
        if shaped is None or not shaped.moved_back:
            return


def stops() -> list[str]:
    """Sentences of what keeps the cage from having a skin."""
    return [problem.sentence for problem in state().problems if problem.stops]


def check(when: str = "") -> None:
    """The skin that the host shows is clear and symmetric, and nothing is wrong with the cage."""
    assert not stops(), f"{when}: {stops()}"
    shaped = state().shaped
    assert shaped is not None and shaped.clear, when
    assert room() >= -FLOAT_MM, f"{when}: {room()} mm"
    skin = shown_skin()
    assert_allclose(KDTree(skin).query(skin * [-1.0, 1.0, 1.0])[0], 0.0, atol=2e-4, err_msg=when)
