# SPDX-License-Identifier: GPL-3.0-or-later
"""What the job of a scene depends on: each thing has one place that notices its change, and invalidates what hangs on it.

A stamp is how a thing stands: as long as it is equal to the one before, nothing of the thing has changed. DEVELOPERS.md has
the table of things, changes and what follows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, cast

import bpy

from ...host.cage.cage_copies import cages_in_hand
from ...host.cage.cage_object_problems import is_in_scene
from ...host.envelope_object import envelope_object, redraw_envelope
from ...host.part_objects import parts_are_shown, show_skin_or_solid
from ..state import session
from ..state.bike_pose import tire_placement
from ..state.scene_settings import settings_of
from ..state.trim_curves import linked_uids
from . import rest_timer


@dataclass(frozen=True, eq=False)
class Change:
    """What the host says has changed.

    graph : of the scene, worked out; every : anything may have changed, as after undo, or where an operator begins
    touched, reshaped : session numbers of what was changed in any way, and of objects and meshes with new geometry
    """

    graph: bpy.types.Depsgraph
    every: bool
    touched: frozenset[int]
    reshaped: frozenset[int]


class Thing(NamedTuple):
    """stamp : how the thing stands, given how it stood; follow : invalidates what hangs on it, given how it stood

    steps : the cage is to be looked at anew
    """

    name: str
    stamp: Callable[[bpy.types.Scene, Change, object], object]
    follow: Callable[[bpy.types.Scene, object], None]
    steps: bool


def change_of(graph: bpy.types.Depsgraph, every: bool) -> Change:
    """What a depsgraph reports."""
    touched: set[int] = set()
    reshaped: set[int] = set()
    for update in graph.updates:
        number = update.id.original.session_uid
        touched.add(number)
        if update.is_updated_geometry:
            reshaped.add(number)
    return Change(graph, every, frozenset(touched), frozenset(reshaped))


def notice(scene: bpy.types.Scene, change: Change) -> bool:
    """Look at all things of a scene and follow those that changed; True if the cage is to be looked at anew."""
    state = session.of_scene(scene)
    change = change if not state.stale else Change(change.graph, True, change.touched, change.reshaped)
    state.stale = False
    step = False
    for thing in THINGS:
        before = state.stamps.get(thing.name)
        stamp = thing.stamp(scene, change, before)
        if thing.name not in state.stamps or stamp != before:
            state.stamps[thing.name] = stamp
            thing.follow(scene, before)
            step = step or thing.steps
    return step


def look(scene: bpy.types.Scene) -> session.SceneState:
    """The state of a scene after all that its job depends on was looked at; for operators, which may come before any handler."""
    if bpy.context.scene == scene:
        graph = bpy.context.evaluated_depsgraph_get()
        notice(scene, Change(graph, True, frozenset(), frozenset()))
    return session.of_scene(scene)


def _mark(key: object, touched: bool, before: object) -> object:
    """A stamp that differs from the one before if its key does, or the host reports a change."""
    same = isinstance(before, tuple) and before[0] == key and not touched
    return before if same else (key, object())


def _names(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """What the keep-outs' objects are called; one that has appeared under the name that the sheet states is followed."""
    for keepout in settings_of(scene).keepouts:
        if keepout.kind == "mesh" and keepout.mesh_object is None and keepout.object in scene.objects:
            keepout.mesh_object = scene.objects[keepout.object]
    return tuple(keepout.mesh_object.name for keepout in settings_of(scene).keepouts if keepout.mesh_object is not None)


def _read_job(scene: bpy.types.Scene, before: object) -> None:
    session.read_job_anew(scene)


def _keepouts(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """How the keep-outs' meshes stand, as their owner counts it."""
    state = session.of_scene(scene)
    session.look_at_keepouts(scene, None if change.every else change.reshaped, change.graph)
    return state.keepouts.version


def _read_by_next(scene: bpy.types.Scene, before: object) -> None:
    """The next who asks for the state of the scene gets it anew."""


def _cage(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """Which object is the cage, and whether it is there; what the host reports of object and mesh."""
    ob = settings_of(scene).cage_object
    if ob is None or not is_in_scene(ob, scene):
        return (None if ob is None else ob.session_uid, ob is not None)
    numbers = {ob.session_uid, 0 if ob.data is None else ob.data.session_uid}
    return _mark((ob.session_uid, ob.name), change.every or bool(numbers & change.touched), before)


def _tire(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """The drawn tire, and the profile that it is to show; None where it need not be shown."""
    state, cage = session.of_scene(scene), settings_of(scene).cage_object
    if state.facts is None or cage is None or not is_in_scene(cage, scene):
        return None
    ob = envelope_object(scene)
    numbers = (0, 0) if ob is None or ob.data is None else (ob.session_uid, ob.data.session_uid)
    touched = change.every or bool(change.touched & set(numbers))
    return _mark((*numbers, state.facts.envelope.profile.tobytes()), touched, before)


def _redraw_tire(scene: bpy.types.Scene, before: object) -> None:
    state = session.of_scene(scene)
    if state.facts is not None and state.stamps["tire"] is not None:
        with session.OwnChange():
            redraw_envelope(scene, state.facts.envelope.profile, tire_placement(scene, state.facts))


def _curves(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """The curves that trim lines take their points from."""
    linked = linked_uids(scene)
    return _mark(tuple(sorted(linked)), change.every or bool(linked & change.touched), before)


def _take_curves(scene: bpy.types.Scene, before: object) -> None:
    if linked_uids(scene):
        rest_timer.start(scene)


def _copies(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """Cages that are active or edited, and are not the one that is watched."""
    return cages_in_hand(change.graph.view_layer, settings_of(scene).cage_object)


def _name_copies(scene: bpy.types.Scene, before: object) -> None:
    state = session.of_scene(scene)
    state.unwatched = cast(tuple[str, ...], state.stamps["copies"])
    state.version += 1


def _shown(scene: bpy.types.Scene, change: Change, before: object) -> object:
    """Whether skin and solid are seen."""
    cage = settings_of(scene).cage_object
    return (cage is not None and is_in_scene(cage, scene) and cage.visible_get(), parts_are_shown(scene))


def _show_one(scene: bpy.types.Scene, before: object) -> None:
    """Skin and solid lie in the same place: what came last is shown, and the skin while it is edited."""
    state, cage = session.of_scene(scene), settings_of(scene).cage_object
    if state.stamps["shown"] == (True, True):
        skin = before == (False, True) or cage.mode != "OBJECT"
        with session.OwnChange():
            show_skin_or_solid(scene, cage, "skin" if skin else "solid")
        state.stamps["shown"] = (skin, not skin)


THINGS: tuple[Thing, ...] = (
    Thing("names", _names, _read_job, True),
    Thing("keep-outs", _keepouts, _read_by_next, True),
    Thing("cage", _cage, _read_by_next, True),
    Thing("tire", _tire, _redraw_tire, False),
    Thing("curves", _curves, _take_curves, False),
    Thing("copies", _copies, _name_copies, False),
    Thing("shown", _shown, _show_one, False),
)
