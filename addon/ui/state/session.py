# SPDX-License-Identifier: GPL-3.0-or-later
"""The only state besides the file: what was computed from each scene, to be thrown away at any time.

Scenes are known by their session number, never by a reference, since undo and loading replace them.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import bpy

from ...core.base.errors import JobError, ShapeError
from ...core.clearance.budget import budget
from ...core.clearance.budget_options import budget_options
from ...core.clearance.clearance_field import clearance_field, moved_field
from ...core.clearance.envelope import envelope
from ...core.clearance.hardware_clearance import hardware_clearances, stated_hardware
from ...core.clearance.keepout import MeshBodyMaker
from ...core.clearance.room import room
from ...core.job.job_sheet import Job
from ...core.report.check_job import check_job
from ...core.seat.mount import mount_frame
from ...core.shaping.point_freedom import SeatRows
from ...pipeline.laminated import Laminated
from .job_values import read_job
from .laminate_rows import laminate_rows
from .scene_state import JobFacts, SceneState, Trouble


@dataclass(eq=False)
class _Session:
    states: dict[int, SceneState] = field(default_factory=dict)
    busy: bool = False


_SESSION = _Session()


def of_scene(scene: bpy.types.Scene) -> SceneState:
    """The state of a scene, with the job read anew if a property or a keep-out has changed."""
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    if state.job_changed or state.keepouts_read != state.keepouts.version:
        _read(state, scene)
    return state


def mark_job_changed(scene: bpy.types.Scene) -> None:
    """A property of the job was set."""
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    state.job_changed = True
    mark_view_changed(scene)


def read_job_anew(scene: bpy.types.Scene) -> None:
    """The job may say something else than it did, though none of its properties was set."""
    _SESSION.states.setdefault(scene.session_uid, SceneState()).job_changed = True


def mark_stale(scene: bpy.types.Scene) -> None:
    """Something may have changed that nobody looked at."""
    _SESSION.states.setdefault(scene.session_uid, SceneState()).stale = True


def mark_view_changed(scene: bpy.types.Scene) -> None:
    """What the views show of a scene is no longer true; the next update of the scene makes it anew."""
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    state.version += 1
    cage = scene.fenderwright.cage_object  # type: ignore[attr-defined]
    if cage is not None:
        cage.update_tag()


def mark_trouble(scene: bpy.types.Scene, error: Exception) -> None:
    """Show where a refusal applies, if it has a place, until something changes."""
    state = of_scene(scene)
    state.trouble = _trouble(error)


def _trouble(error: Exception) -> Trouble | None:
    if isinstance(error, JobError | ShapeError) and error.place is not None:
        return Trouble(str(error), error.place)
    return None


def mark_undone() -> None:
    """Undo or redo brought other values back."""
    for state in _SESSION.states.values():
        state.job_changed = state.stale = True
        state.shown_pose = None
        state.version += 1
        if state.shaper is not None:
            state.shaper.recall()


def forget_all() -> None:
    """Another file is loaded, or the extension is taken out."""
    _SESSION.states.clear()
    _SESSION.busy = False


class OwnChange:
    """While it is entered, handlers stand down: the change is ours."""

    def __enter__(self) -> None:
        self._before = _SESSION.busy
        _SESSION.busy = True

    def __exit__(self, *_: object) -> None:
        _SESSION.busy = self._before


def redraw_views() -> None:
    """Have the 3D views drawn anew."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()


def is_own_change() -> bool:
    """True while an operator or handler of ours changes the cage."""
    return _SESSION.busy


def seat_rows(state: SceneState, seat: Any) -> SeatRows | None:
    """The seat points as the guard takes them; None if there are none."""
    if state.facts is None or not seat.any():
        return None
    return SeatRows(seat, state.facts.frame.up)


def sheet_folder(scene: bpy.types.Scene) -> Path:
    """Folder that file names of keep-outs are relative to: that of the .blend."""
    return Path(bpy.path.abspath("//")) if bpy.data.filepath else Path.home()


def _read(state: SceneState, scene: bpy.types.Scene) -> None:
    job_changed, before = state.job_changed, state.facts
    state.job_changed, state.trouble = False, None
    state.version += 1
    try:
        job = _read_sections(state, scene) if job_changed or before is None else before.job
        meshes_changed = state.keepouts_read != state.keepouts.version
        state.keepouts_read = state.keepouts.version
        if before is not None and job == before.job:  # as after most undo steps
            if meshes_changed:
                state.facts = _moved_facts(state, before, scene)
            return
        check_job(job)
        state.facts = _facts(job, state.keepouts.maker(sheet_folder(scene)))
        state.problem = ""
    except (JobError, ValueError) as error:
        state.facts, state.problem, state.trouble = None, str(error), _trouble(error)
    state.budget_rows = () if state.facts is None else _budget_rows(state.facts)
    show_laminate(state, None)


def _read_sections(state: SceneState, scene: bpy.types.Scene) -> Job:
    """The job of a scene's properties, with its mesh keep-outs looked at."""
    state.sections = ()
    job = read_job(scene.fenderwright)  # type: ignore[attr-defined]
    state.sections = job.keepouts
    look_at_keepouts(scene, frozenset())
    return job


def look_at_keepouts(scene: bpy.types.Scene, changed: Collection[int] | None, graph: bpy.types.Depsgraph | None = None) -> None:
    """Find out how the mesh keep-outs of a scene's job stand. changed : see KeepoutObjects.look; graph : None where no handler has one

    The host has worked out the objects of the scene that is shown only: those of another are looked at when it is.
    """
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    if bpy.context.scene == scene and any(section.kind == "mesh" for section in state.sections):
        graph = graph or bpy.context.evaluated_depsgraph_get()
        state.keepouts.look(graph, state.sections, sheet_folder(scene), changed)


def mesh_bodies(scene: bpy.types.Scene) -> MeshBodyMaker:
    """The bodies of a scene's mesh keep-outs as the field of its facts has them."""
    return of_scene(scene).keepouts.maker(sheet_folder(scene))


def _moved_facts(state: SceneState, facts: JobFacts, scene: bpy.types.Scene) -> JobFacts:
    """What follows from the same job with its mesh keep-outs elsewhere."""
    maker, moved_mm = state.keepouts.maker(sheet_folder(scene)), state.keepouts.moved_mm
    field = moved_field(facts.field, facts.job, maker, moved_mm)
    of_part = moved_field(facts.of_part, facts.job, maker, dict(moved_mm))
    hardware = hardware_clearances([each.hardware for each in facts.hardware], of_part.limits)
    return replace(facts, field=field, of_part=of_part, hardware=hardware)


def show_laminate(state: SceneState, laminated: Laminated | None) -> None:
    """Tell in the panel what a laminated part comes to, or its plies alone if there is none yet."""
    laminate = None if state.facts is None else state.facts.job.laminate
    state.laminated = None if laminate is None else laminated
    state.laminate_rows = () if laminate is None else laminate_rows(laminate, state.laminated)


def _facts(job: Job, mesh_body: MeshBodyMaker) -> JobFacts:
    of_part = clearance_field(job, "part", mesh_body=mesh_body)
    frame, field = mount_frame(job), clearance_field(job, mesh_body=mesh_body)
    return JobFacts(
        job=job,
        budget=budget(job),
        envelope=envelope(job),
        frame=frame,
        room=room(job),
        field=field,
        part_required_mm=dict.fromkeys((limit.name for limit in field.limits), 0.0)
        | {limit.name: limit.required_mm for limit in of_part.limits},
        of_part=of_part,
        hardware=hardware_clearances(stated_hardware(job, frame), of_part.limits),
    )


def _budget_rows(facts: JobFacts) -> tuple[tuple[str, str], ...]:
    sums = facts.budget
    rows = [(f"{line.name[0].upper()}{line.name[1:]} ({line.basis})", f"{line.mm:.1f}") for line in sums.lines]
    rows.append(("Radial sum, worst case", f"{sums.worst_case_mm:.1f}"))
    rows.append(("Radial sum, by squares", f"{sums.root_sum_square_mm:.1f}"))
    rows.append((f"Part to tire at its largest, {sums.used} (used)", f"{sums.required_mm:.1f}"))
    rows += [(f"Would save: {option.name}", f"{option.saves_mm:.1f}") for option in budget_options(facts.job)]
    rows.append(("Room left under the mount", f"{-facts.room.missing_mm:.1f}"))
    return tuple(rows)
