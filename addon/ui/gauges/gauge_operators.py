# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that write gauges, compare the gaps read against them, and take the corrections over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import bpy
from bpy_extras.io_utils import ImportHelper

from ...core.base.errors import CageError, JobError
from ...core.base.tolerances import TOLERANCES
from ...core.gauges.gauge_record import determined
from ...core.skin.skin import Skin, skin
from ...core.skin.skin_stencil import skin_stencil
from ...host.cage.cage_mesh import read_cage
from ...host.cage.cage_object_problems import cage_object_problems
from ...host.mesh_collection import show_meshes
from ...output.gauge_files import POINTS_FILE, GaugeFiles, gauge_steps
from ...pipeline.steps import Steps
from ..base.cage_operator import CageOperator
from ..base.folder_operator import FolderOperator
from ..properties.gauge_properties import fill_gaps, parse_record
from ..state import session
from ..state.job_values import plain
from ..state.scene_settings import settings_of
from ..state.shown import Comparison
from .gap_comparison import compare_gaps

COLLECTION = "Fender Gauges"
_SKIN_LEVEL = 4


class FENDERWRIGHT_OT_add_station(bpy.types.Operator):
    """Add a station for a crown strip"""

    bl_idname = "fenderwright.add_station"
    bl_label = "Add Angle"
    bl_options = {"REGISTER", "UNDO", "INTERNAL"}

    def execute(self, context: bpy.types.Context) -> set[Any]:
        gauges = settings_of(context.scene).gauges
        gauges.stations.add()
        gauges.use_stations = True
        return {"FINISHED"}


class FENDERWRIGHT_OT_remove_station(bpy.types.Operator):
    """Remove this station"""

    bl_idname = "fenderwright.remove_station"
    bl_label = "Remove Angle"
    bl_options = {"REGISTER", "UNDO", "INTERNAL"}

    index: bpy.props.IntProperty(min=0, options={"HIDDEN"})  # type: ignore[valid-type]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        stations = settings_of(context.scene).gauges.stations
        if self.index >= len(stations):
            self.report({"ERROR"}, f"There is no angle {self.index + 1}")
            return {"CANCELLED"}
        stations.remove(self.index)
        return {"FINISHED"}


class FENDERWRIGHT_OT_write_gauges(FolderOperator, CageOperator, bpy.types.Operator):
    """Write tire comb, crown strips and drilling gauge, to print and on paper, into a folder, and show them"""

    bl_idname = "fenderwright.write_gauges"
    bl_label = "Write Gauges"
    step_count = 12

    def steps(self, context: bpy.types.Context) -> Steps[str]:
        scene, folder = context.scene, self.folder
        state, gauges = session.of_scene(scene), settings_of(scene).gauges
        if state.facts is None:
            raise JobError("Job", state.problem)
        stations = [plain(station.value) for station in gauges.stations] if gauges.use_stations else None
        if stations == []:
            raise JobError("Angles", "are none; add one, or switch Own Angles off")
        yield "Skin of the cage"
        shape = _skin(scene)
        missing = -float(state.facts.field.excess(shape.points).min())
        written = yield from gauge_steps(state.facts.job, shape, folder, stations=stations, width=plain(gauges.width))
        with session.OwnChange():
            show_meshes(scene, "gauges", COLLECTION, written.meshes)
        fill_gaps(gauges, written.record)
        state.comparison = None
        state.gauge_lines = _lines(written, folder, missing)
        return f"Wrote {len(written.meshes)} gauges into {folder}"


def _skin(scene: bpy.types.Scene) -> Skin:
    cage = settings_of(scene).cage_object
    stops = [problem.sentence for problem in cage_object_problems(cage) if problem.stops]
    if stops:
        raise CageError("; ".join(stops))
    shape = read_cage(cage)
    return skin(shape, skin_stencil(shape.topology, _SKIN_LEVEL))


def _lines(written: GaugeFiles, folder: Path, missing_mm: float) -> tuple[str, ...]:
    unclear = (f"The skin breaks the clearance by {missing_mm:.2f} mm: restore it before you print.",)
    return (f"Files are in {folder}", *(unclear if missing_mm > TOLERANCES.chord else ()), *written.cautions)


class FENDERWRIGHT_OT_load_points(bpy.types.Operator, ImportHelper):
    """List the points of gauges that were printed before, from the record beside their files"""

    bl_idname = "fenderwright.load_points"
    bl_label = "Load Points"
    bl_options = {"REGISTER", "UNDO"}

    filter_glob: bpy.props.StringProperty(default=POINTS_FILE, options={"HIDDEN"})  # type: ignore[valid-type]
    if TYPE_CHECKING:
        filepath: str

    def execute(self, context: bpy.types.Context) -> set[Any]:
        path = Path(self.filepath)
        try:
            record = parse_record(path.read_text(encoding="utf-8"))
        except (JobError, OSError, UnicodeDecodeError) as error:
            self.report({"ERROR"}, f"{path.name}: {error}")
            return {"CANCELLED"}
        fill_gaps(settings_of(context.scene).gauges, record)
        session.of_scene(context.scene).comparison = None
        self.report({"INFO"}, f"Listed {len(record['points'])} points of the gauges of {record.get('job', 'a job')}")
        return {"FINISHED"}


class _GapOperator:
    """Operators on the gaps that were read."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if context.scene is not None and any(entry.is_read for entry in settings_of(context.scene).gauges.gaps):
            return True
        cls.poll_message_set("No gap is read yet, type one beside its point")  # type: ignore[attr-defined]
        return False

    def compared(self, context: bpy.types.Context) -> Comparison:
        """The comparison with the sheet as it is now, kept for the panel. Raises JobError with a sentence."""
        state = session.of_scene(context.scene)
        state.comparison = None
        if state.facts is None:
            raise JobError("Job", state.problem)
        state.comparison = compare_gaps(state.facts.job, settings_of(context.scene))
        return state.comparison


class FENDERWRIGHT_OT_compare_gaps(_GapOperator, bpy.types.Operator):
    """Find the corrections of the job sheet that explain the gaps best"""

    bl_idname = "fenderwright.compare_gaps"
    bl_label = "Compare Gaps"
    bl_options = {"REGISTER"}  # type: ignore[assignment]

    def execute(self, context: bpy.types.Context) -> set[Any]:
        try:
            made = self.compared(context)
        except JobError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        found = len(determined(made.result))
        self.report({"INFO"}, f"{found} of {len(made.rows)} quantities are told by the readings")
        return {"FINISHED"}


class FENDERWRIGHT_OT_take_over_corrections(_GapOperator, bpy.types.Operator):
    """Put the corrections that the readings determine into the job sheet"""

    bl_idname = "fenderwright.take_over_corrections"
    bl_label = "Use Corrections"

    def execute(self, context: bpy.types.Context) -> set[Any]:
        settings = settings_of(context.scene)
        try:
            made = self.compared(context)
        except JobError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        values = determined(made.result)
        if not values:
            self.report({"ERROR"}, "The readings determine nothing: " + "; ".join(made.refusals))
            return {"CANCELLED"}
        _put(settings, made, values)
        session.mark_job_changed(context.scene)
        problem = session.of_scene(context.scene).problem
        if problem:
            self.report({"WARNING"}, f"Took over {len(values)} corrections; {problem}")
        else:
            self.report({"INFO"}, f"Took over {len(values)} corrections, write new gauges and read the gaps once more")
        return {"FINISHED"}


def _put(settings: Any, made: Comparison, values: dict[str, float]) -> None:
    for name in ("height", "ahead", "tilt"):
        if name in values:
            setattr(settings.mount, name, values[name])
    if "lateral" in values:
        for entry, (x, ahead) in zip(settings.mount.bolts, made.since.job.mount.bolts, strict=True):
            entry.value = (round(x + values["lateral"], 2), ahead)
    if "crown_radius" in values:
        settings.tire.use_measured_radius, settings.tire.measured_radius = True, values["crown_radius"]


CLASSES = (
    FENDERWRIGHT_OT_add_station,
    FENDERWRIGHT_OT_remove_station,
    FENDERWRIGHT_OT_write_gauges,
    FENDERWRIGHT_OT_load_points,
    FENDERWRIGHT_OT_compare_gaps,
    FENDERWRIGHT_OT_take_over_corrections,
)
