# SPDX-License-Identifier: GPL-3.0-or-later
"""A random session over cage, keep-outs, job values, modifiers, undo, copies, deletions and modes: after each step the readout is
what libigl and closed forms find in the scene as the host evaluates it, or says that it is not watched, and why.

FENDERWRIGHT_TRUTH_STEPS runs a longer one.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import bmesh
import bpy
import numpy as np

from addon.core.base.errors import JobError
from addon.host.cage.cage_mesh import read_points
from addon.host.cage.cage_object_problems import cage_object_problems
from addon.ui.state.job_values import read_job
from addon.ui.watch.readout import readout
from tests.host.extension_scene import cage, extension, run, seeded, select, settings, state
from tests.host.scene_truth import keep_out, mesh_object, true_excess

STEPS = int(os.environ.get("FENDERWRIGHT_TRUTH_STEPS", "500"))
SEED = 11
TRUE_MM = 0.01
LEVEL = 2
MOST_POINTS = 80
MOST_KEEPOUTS = 3

Move = Callable[[np.random.Generator], object]


def in_object_mode() -> None:
    if bpy.context.mode != "OBJECT":
        bpy.ops.object.mode_set(mode="OBJECT")


def picked(rng: np.random.Generator) -> bpy.types.Object | None:
    """A keep-out's object of the scene, made if there are few."""
    found = [entry.mesh_object for entry in settings().keepouts if entry.kind == "mesh" and entry.mesh_object is not None]
    found = [ob for ob in found if ob.name in bpy.context.scene.objects]
    if len(found) < MOST_KEEPOUTS and (not found or rng.random() < 0.1):
        angle, x = rng.uniform(-0.8, 0.8), rng.uniform(-80.0, 80.0)
        radius = rng.uniform(350.0, 430.0)
        place = (x, radius * np.sin(angle), radius * np.cos(angle))
        ob = mesh_object(f"thing {len(bpy.data.objects)}", place, rng.uniform(20.0, 60.0), int(rng.choice([0, 12])))
        keep_out(ob, float(rng.uniform(0.0, 10.0)))
        return ob
    return found[int(rng.integers(len(found)))]


def move_cage(rng: np.random.Generator) -> None:
    ob = cage()
    if ob is None or ob.name not in bpy.context.view_layer.objects or not ob.visible_get():
        return
    if ob.mode != "EDIT":
        in_object_mode()
        bpy.context.view_layer.objects.active = ob
        bpy.ops.object.mode_set(mode="EDIT")
    center, reach = rng.choice(read_points(ob)), rng.uniform(20.0, 100.0)
    select(lambda vert: bool(np.linalg.norm(np.array(vert.co) - center) < reach))
    kind = rng.random()
    if kind < 0.75:
        run(bpy.ops.transform.translate, value=tuple(rng.normal(0.0, 12.0, 3)))
    elif kind < 0.85 and len(read_points(ob)) < MOST_POINTS:
        run(bpy.ops.mesh.extrude_region_move, TRANSFORM_OT_translate={"value": tuple(rng.normal(0.0, 15.0, 3))})
    else:
        run(bpy.ops.mesh.delete, type="FACE")


def cage_object(rng: np.random.Generator) -> None:
    ob, kind = cage(), rng.random()
    if ob is None:
        return
    if kind < 0.2:
        ob.location.z = float(rng.choice([0.0, 0.0, 5.0]))
    elif kind < 0.4:
        ob.name = f"cage {rng.integers(9)}"
    elif kind < 0.7 and ob.name in bpy.context.view_layer.objects and bpy.context.mode == "OBJECT":
        run(bpy.ops.fenderwright.repair_cage)
    elif ob.name in bpy.context.view_layer.objects and bpy.context.mode == "OBJECT":
        ob.hide_set(bool(rng.random() < 0.3))


def modifier(rng: np.random.Generator) -> None:
    ob = cage()
    if ob is None:
        return
    extra = ob.modifiers.get("Extra")
    if extra is None:
        ob.modifiers.new("Extra", str(rng.choice(["DISPLACE", "SOLIDIFY", "WEIGHTED_NORMAL"])))
    elif rng.random() < 0.5:
        extra.show_viewport = not extra.show_viewport
    else:
        ob.modifiers.remove(extra)


def move_thing(rng: np.random.Generator) -> None:
    ob = picked(rng)
    if ob is not None:
        ob.location = np.array(ob.location) + rng.normal(0.0, 12.0, 3)


def shape_thing(rng: np.random.Generator) -> None:
    ob, kind = picked(rng), rng.random()
    if ob is None:
        return
    if kind < 0.25:
        ob.scale = tuple(rng.uniform(0.6, 1.4, 3)) if rng.random() < 0.5 else (float(rng.uniform(0.6, 1.4)),) * 3
    elif kind < 0.45:
        ob.rotation_euler = tuple(rng.normal(0.0, 1.0, 3))
    elif kind < 0.65 and not ob.data.is_editmode:
        bm = bmesh.new()
        bm.from_mesh(ob.data)
        bmesh.ops.translate(bm, vec=tuple(rng.normal(0.0, 5.0, 3)), verts=bm.verts[:])
        bm.to_mesh(ob.data)
        bm.free()
        ob.data.update()
    elif kind < 0.8:
        ob.hide_set(not ob.hide_get())
    elif kind < 0.9 and len(ob.modifiers) == 0:
        ob.modifiers.new("Displace", "DISPLACE").strength = float(rng.uniform(1.0, 5.0))
    else:
        ob.name = f"renamed {rng.integers(9)}"


def open_thing(rng: np.random.Generator) -> None:
    """Disabled in the viewport, or opened, until the next time."""
    ob = picked(rng)
    if ob is not None:
        ob.hide_viewport = not ob.hide_viewport


def remove_thing(rng: np.random.Generator) -> None:
    in_object_mode()
    ob = picked(rng)
    if ob is None:
        return
    if rng.random() < 0.5:
        settings().keepouts.remove(len(settings().keepouts) - 1)
        cage().update_tag()
    elif ob.visible_get():
        bpy.ops.object.select_all(action="DESELECT")
        ob.select_set(True)
        run(bpy.ops.object.delete)


def job_value(rng: np.random.Generator) -> None:
    kind, job = rng.random(), settings()
    if kind < 0.3:
        job.clearance.gap = float(rng.uniform(8.0, 14.0))
    elif kind < 0.5:
        job.wall.thickness = float(rng.uniform(2.0, 4.0))
    elif kind < 0.7 and len(job.keepouts):
        job.keepouts[-1].gap = float(rng.uniform(0.0, 10.0))
    elif kind < 0.8:
        job.wall.thickness = float(rng.choice([-1.0, 3.0]))
    else:
        job.hold = str(rng.choice(["HOLD", "WARN"] if rng.random() < 0.9 else ["OFF"]))


def copy_cage(rng: np.random.Generator) -> None:
    in_object_mode()
    ob = cage()
    if ob is None or ob.name not in bpy.context.view_layer.objects or not ob.visible_get():
        return
    bpy.ops.object.select_all(action="DESELECT")
    ob.select_set(True)
    bpy.context.view_layer.objects.active = ob
    run(bpy.ops.object.duplicate, linked=bool(rng.random() < 0.3))
    if rng.random() < 0.3:
        settings().cage_object = bpy.context.view_layer.objects.active


def delete_active(rng: np.random.Generator) -> None:
    in_object_mode()
    ob = bpy.context.view_layer.objects.active
    if ob is not None and ob.visible_get():
        bpy.ops.object.select_all(action="DESELECT")
        ob.select_set(True)
        run(bpy.ops.object.delete)


def change_mode(rng: np.random.Generator) -> None:
    ob = bpy.context.view_layer.objects.active
    if ob is not None and ob.type == "MESH" and ob.visible_get():
        run(bpy.ops.object.mode_set, mode=str(rng.choice(["OBJECT", "EDIT"])))


def history(rng: np.random.Generator) -> None:
    if rng.random() < 0.75:
        run(bpy.ops.ed.undo)
    elif bpy.ops.ed.redo.poll():
        run(bpy.ops.ed.redo)


MOVES: tuple[tuple[float, Move], ...] = (
    (4.0, move_cage),
    (1.0, cage_object),
    (1.0, modifier),
    (4.0, move_thing),
    (2.0, shape_thing),
    (0.7, open_thing),
    (0.7, remove_thing),
    (2.5, job_value),
    (0.7, copy_cage),
    (0.5, delete_active),
    (1.0, change_mode),
    (2.0, history),
)


def settle() -> None:
    for _ in range(6):
        bpy.context.view_layer.update()
        shaped = state().shaped
        if shaped is None or not shaped.moved_back:
            return


def may_be_unwatched() -> bool:
    """True if there is a reason not to watch, found in the scene itself."""
    ob = cage()
    if ob is None or settings().hold == "OFF" or ob.name not in bpy.context.scene.objects:
        return True
    if any(problem.stops for problem in cage_object_problems(ob)):
        return True
    try:
        job = read_job(settings())
    except JobError:
        return True
    for keepout in job.keepouts:
        if keepout.kind == "mesh":
            thing = bpy.context.scene.objects.get(keepout.object or "")
            if thing is None or (thing.hide_viewport and len(thing.modifiers) > 0):
                return True
    return bool(state().problem)  # such as a job without room, whose sentences have tests of their own


def check_step(when: str) -> str:
    """What the view says is so; returns what it says."""
    made = readout(state(), settings().hold, None) if settings().hold != "OFF" else None
    if made is None:
        said = [state().problem, settings().hold == "OFF", *(problem.sentence for problem in state().problems)]
        assert any(said), f"{when}: not watched, and no reason is told"
        assert may_be_unwatched(), f"{when}: not watched without need: {said}"
        return "not watched"
    told, true = state().shaped.worst.excess_mm, true_excess()
    assert abs(told - true) <= TRUE_MM, f"{when}: told {told}, true {true}, worst to the {state().shaped.worst.name}"
    assert dict(made.rows)["Cage"] == cage().name, when
    active = bpy.context.view_layer.objects.active
    in_hand = {ob.name for ob in bpy.context.view_layer.objects if ob == active or ob.mode != "OBJECT"} - {cage().name}
    copies = {name for name in in_hand if is_cage(bpy.data.objects[name])}
    assert copies == set(state().unwatched), when
    return "clear" if state().shaped.clear else "broken"


def is_cage(ob: bpy.types.Object) -> bool:
    return ob.type == "MESH" and "fenderwright_seat" in ob.data.attributes and ob.visible_get()


def start_anew(file: str) -> None:
    in_object_mode()
    bpy.ops.wm.open_mainfile(filepath=file)
    settle()
    bpy.ops.ed.undo_push(message="start")


def test_the_readout_is_true_after_every_step_of_a_random_session(tmp_path: Path) -> None:
    rng = np.random.default_rng(SEED)
    weights = np.array([weight for weight, _ in MOVES])
    seen: Counter[str] = Counter()
    idle = 0
    with extension() as troubles:
        seeded(level=LEVEL)
        file = str(tmp_path / "start.blend")
        bpy.ops.wm.save_as_mainfile(filepath=file, copy=True)
        start_anew(file)
        for number in range(STEPS):
            move = MOVES[int(rng.choice(len(MOVES), p=weights / weights.sum()))][1]
            move(rng)
            if move is not history:
                bpy.ops.ed.undo_push(message=move.__name__)
            settle()
            when = f"step {number}, {move.__name__}"
            assert not troubles, f"{when}:\n" + "\n".join(troubles)
            said = check_step(when)
            seen[said] += 1
            idle = idle + 1 if said == "not watched" else 0
            if idle > 3:
                start_anew(file)
                idle = 0
    assert min(seen["clear"], seen["broken"], seen["not watched"]) > 0.05 * STEPS, seen
