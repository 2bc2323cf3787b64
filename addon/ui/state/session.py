# SPDX-License-Identifier: GPL-3.0-or-later
"""The only state besides the file: what was computed from each scene, to be thrown away at any time.

Scenes are known by their session number, never by a reference, since undo and loading replace them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bpy

from ...core.base.errors import JobError, ShapeError
from ...core.clearance.budget import budget
from ...core.clearance.clearance_field import clearance_field
from ...core.clearance.envelope import envelope
from ...core.clearance.hardware_clearance import hardware_clearances, stated_hardware
from ...core.clearance.room import room
from ...core.job.job_sheet import Job
from ...core.report.check_job import check_job
from ...core.seat.mount import mount_frame
from ...core.shaping.point_freedom import SeatRows
from ...host.keepout_mesh import mesh_body_maker
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
    """The state of a scene, with the job read anew if a property has changed."""
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    if state.job_changed:
        _read(state, scene)
    return state


def mark_job_changed(scene: bpy.types.Scene) -> None:
    """A property of the job was set."""
    state = _SESSION.states.setdefault(scene.session_uid, SceneState())
    state.job_changed = True
    mark_view_changed(scene)


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
        state.job_changed = True
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
    state.job_changed, state.trouble = False, None
    state.version += 1
    try:
        job = read_job(scene.fenderwright)  # type: ignore[attr-defined]
        if state.facts is not None and job == state.facts.job and not any(keepout.kind == "mesh" for keepout in job.keepouts):
            return  # as after most undo steps; a mesh may be another under the same name
        check_job(job)
        state.facts = _facts(job, scene)
        state.problem = ""
    except (JobError, ValueError) as error:
        state.facts, state.problem, state.trouble = None, str(error), _trouble(error)
    state.budget_rows = () if state.facts is None else _budget_rows(state.facts)
    show_laminate(state, None)


def show_laminate(state: SceneState, laminated: Laminated | None) -> None:
    """Tell in the panel what a laminated part comes to, or its plies alone if there is none yet."""
    laminate = None if state.facts is None else state.facts.job.laminate
    state.laminated = None if laminate is None else laminated
    state.laminate_rows = () if laminate is None else laminate_rows(laminate, state.laminated)


def _facts(job: Job, scene: bpy.types.Scene) -> JobFacts:
    mesh_body = mesh_body_maker(sheet_folder(scene))
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
        hardware=hardware_clearances(stated_hardware(job, frame), of_part.limits),
    )


def _budget_rows(facts: JobFacts) -> tuple[tuple[str, str], ...]:
    sums = facts.budget
    rows = [(f"{line.name[0].upper()}{line.name[1:]} ({line.basis})", f"{line.mm:.1f}") for line in sums.lines]
    rows.append(("Radial sum, worst case (used)", f"{sums.worst_case_mm:.1f}"))
    rows.append(("Radial sum, root sum square", f"{sums.root_sum_square_mm:.1f}"))
    rows.append(("Part to tire at its largest", f"{sums.required_mm:.1f}"))
    rows.append(("Room left under the mount", f"{-facts.room.missing_mm:.1f}"))
    return tuple(rows)
