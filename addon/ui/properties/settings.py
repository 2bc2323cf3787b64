# SPDX-License-Identifier: GPL-3.0-or-later
"""What the extension keeps in a scene: the job, the cage, and how shaping is watched."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.job.job_sheet import SECTIONS, TABLES
from ...host.part_objects import pull_apart
from ..state import session
from ..state.bike_pose import show_pose
from ..state.trim_curves import follow_curves
from .gauge_properties import FENDERWRIGHT_PG_Gauges
from .job_labels import LABELS
from .job_properties import section_class
from .reading_properties import FENDERWRIGHT_PG_Readings
from .variant_properties import FENDERWRIGHT_PG_Variant

HOLD_MODES = (
    ("HOLD", "Hold", "Move the cage back, by as little as possible, wherever the skin would break the clearance"),
    ("WARN", "Warn Only", "Show where the clearance is broken and leave the cage alone"),
    ("OFF", "Off", "Neither watch nor change the cage"),
)


def _job_changed(settings: Any, context: bpy.types.Context) -> None:
    session.mark_job_changed(settings.id_data)


def _view_changed(settings: Any, context: bpy.types.Context) -> None:
    session.mark_view_changed(settings.id_data)


def _apart_changed(settings: Any, context: bpy.types.Context) -> None:
    with session.OwnChange():
        pull_apart(settings.id_data, settings.apart)


def _pose_changed(settings: Any, context: bpy.types.Context) -> None:
    show_pose(settings.id_data)


def _is_mesh(settings: bpy.types.PropertyGroup, ob: bpy.types.Object) -> bool:
    return ob.type == "MESH"


def _is_curve(settings: bpy.types.PropertyGroup, ob: bpy.types.Object) -> bool:
    return ob.type == "CURVE"


def _keepout_named(keepout: Any, context: bpy.types.Context) -> None:
    """The object is followed from here on, whatever it will be called."""
    named = keepout.id_data.objects.get(keepout.object)
    if named != keepout.mesh_object:
        keepout.mesh_object = named
    session.mark_job_changed(keepout.id_data)


def _keepout_picked(keepout: Any, context: bpy.types.Context) -> None:
    picked = keepout.mesh_object
    if picked is not None and keepout.object != picked.name:
        keepout.object = picked.name
    elif picked is None and keepout.object in keepout.id_data.objects:
        keepout.object = ""
    session.mark_job_changed(keepout.id_data)


def _curve_changed(line: Any, context: bpy.types.Context) -> None:
    follow_curves(line.id_data)


SECTION_CLASSES: dict[str, type[bpy.types.PropertyGroup]] = {
    section: section_class(section, owner, _job_changed) for section, owner in SECTIONS.items()
}
TABLE_CLASSES: dict[str, type[bpy.types.PropertyGroup]] = {
    table: section_class(table, owner, _job_changed) for table, owner in TABLES.items()
}


TABLE_CLASSES["keepout"].__annotations__["object"] = bpy.props.StringProperty(
    name=LABELS["keepout.object"][0], description=LABELS["keepout.object"][1], update=_keepout_named
)
TABLE_CLASSES["keepout"].__annotations__["mesh_object"] = bpy.props.PointerProperty(
    name="Mesh Object",
    description="Closed mesh object of this scene that is kept away from, wherever it moves",
    type=bpy.types.Object,
    poll=_is_mesh,
    update=_keepout_picked,
)
TABLE_CLASSES["trim_line"].__annotations__["curve"] = bpy.props.PointerProperty(
    name="Curve",
    description="Curve object that the line is drawn as; its points follow it",
    type=bpy.types.Object,
    poll=_is_curve,
    update=_curve_changed,
)


class FENDERWRIGHT_PG_Settings(bpy.types.PropertyGroup):
    """The job sheet of the scene and the state of its shaping."""

    name_of_job: bpy.props.StringProperty(  # type: ignore[valid-type]
        name="Job", description="Name of the job, which the files carry", default="fender", update=_job_changed
    )
    use_laminate: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Use Laminate", description="A fiberglass part is planned from this print", update=_job_changed
    )
    use_metal: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Use Sheet Metal",
        description="A buck and templates are wanted for the same shape in sheet metal",
        update=_job_changed,
    )
    targets: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Targets", description="What spray is to keep off", type=TABLE_CLASSES["target"]
    )
    active_target: bpy.props.IntProperty(name="Active Target", description="Target that is shown", min=0)  # type: ignore[valid-type]
    seats: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Seats", description="Seats beside the mount", type=TABLE_CLASSES["seat"]
    )
    active_seat: bpy.props.IntProperty(name="Active Seat", description="Seat that is shown", min=0)  # type: ignore[valid-type]
    keepouts: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Keep-Outs", description="Further bodies to stay away from", type=TABLE_CLASSES["keepout"]
    )
    active_keepout: bpy.props.IntProperty(name="Active Keep-Out", description="Keep-out that is shown", min=0)  # type: ignore[valid-type]
    trim_lines: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Trim Lines", description="Lines that the edge is trimmed to", type=TABLE_CLASSES["trim_line"]
    )
    active_trim_line: bpy.props.IntProperty(name="Active Line", description="Line that is shown", min=0)  # type: ignore[valid-type]
    openings: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Openings", description="Slots and round openings", type=TABLE_CLASSES["opening"]
    )
    active_opening: bpy.props.IntProperty(name="Active Opening", description="Opening that is shown", min=0)  # type: ignore[valid-type]
    ribs: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Ribs", description="Stiffening ribs along the fender", type=TABLE_CLASSES["rib"]
    )
    active_rib: bpy.props.IntProperty(name="Active Rib", description="Rib that is shown", min=0)  # type: ignore[valid-type]
    lays: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Picked Orientations", description="Print orientations that were picked", type=TABLE_CLASSES["lay"]
    )
    bike_lines: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Lines of the Bike", description="Lines that the fender is to go with", type=TABLE_CLASSES["bike_line"]
    )
    active_bike_line: bpy.props.IntProperty(name="Active Line", description="Line that is shown", min=0)  # type: ignore[valid-type]
    variants: bpy.props.CollectionProperty(  # type: ignore[valid-type]
        name="Variants", description="Shapes that are kept for this job", type=FENDERWRIGHT_PG_Variant
    )
    active_variant: bpy.props.IntProperty(name="Active Variant", description="Variant that is shown", min=0)  # type: ignore[valid-type]
    apart: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Explode",
        description="How far the pieces that are shown stand away from where they belong, in mm",
        min=0.0,
        max=500.0,
        precision=0,
        step=500,
        update=_apart_changed,
    )
    computed_flex: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Computed Flex",
        description="How far the fender gives way, as computed when it was last built, in mm; counts where no flex is stated",
        min=0.0,
        max=50.0,
        update=_job_changed,
    )
    cage_object: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Cage Object",
        description="Mesh object that is the cage of this job",
        type=bpy.types.Object,
        poll=_is_mesh,
        update=_view_changed,
    )
    hold: bpy.props.EnumProperty(  # type: ignore[valid-type]
        name="Hold",
        description="What happens where the skin would break the clearance",
        items=HOLD_MODES,
        default="HOLD",
        update=_view_changed,
    )
    hold_seat: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Hold Seat", description="Keep the seat points of the cage on the mount plane", default=True, update=_view_changed
    )
    show_map: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Clearance Map", description="Color the skin by its clearance", default=True, update=_view_changed
    )
    pose_travel: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Travel",
        description="Share of the bump travel at which tire and keep-outs are shown",
        subtype="PERCENTAGE",
        min=0.0,
        max=100.0,
        precision=0,
        update=_pose_changed,
    )
    pose_rebound: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Rebound",
        description="Share of the rebound at which tire and keep-outs are shown",
        subtype="PERCENTAGE",
        min=0.0,
        max=100.0,
        precision=0,
        update=_pose_changed,
    )
    pose_steering: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Steering",
        description="Share of the steering lock at which tire and keep-outs are shown, left positive",
        subtype="PERCENTAGE",
        min=-100.0,
        max=100.0,
        precision=0,
        update=_pose_changed,
    )
    show_section: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Section",
        description="Draw a section with tire, envelope, wall and gaps in the corner of the view",
        default=True,
        update=_view_changed,
    )
    section_follows: bpy.props.BoolProperty(  # type: ignore[valid-type]
        name="Follow Cursor", description="Take the section at the angle under the mouse cursor", update=_view_changed
    )
    section_station: bpy.props.FloatProperty(  # type: ignore[valid-type]
        name="Angle",
        description="Angle about the axle of the section, from the top, forward positive, in degrees",
        min=-180.0,
        max=180.0,
        precision=1,
        step=100,
        update=_view_changed,
    )
    readings: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Readings", description="What was read by hand", type=FENDERWRIGHT_PG_Readings
    )
    gauges: bpy.props.PointerProperty(  # type: ignore[valid-type]
        name="Gauges", description="Gauges and the gaps read against them", type=FENDERWRIGHT_PG_Gauges
    )


FENDERWRIGHT_PG_Settings.__annotations__.update(
    {
        section: bpy.props.PointerProperty(name=section.title(), description=f"Section {section} of the job sheet", type=cls)
        for section, cls in SECTION_CLASSES.items()
    }
)
