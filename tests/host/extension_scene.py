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

import addon
from addon.core.arrays import Array
from addon.ui import handlers, session
from addon.ui.settings import settings_of

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
