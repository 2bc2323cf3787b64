# SPDX-License-Identifier: GPL-3.0-or-later
"""A scene that is ready for shaping: units, cage, envelope, job."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
from mathutils import Euler

from ...core.clearance.envelope import envelope
from ...core.job.job_sheet import Job
from ...core.shaping.seed import Seed
from ...host.cage.cage_mesh import make_cage_object
from ...host.envelope_object import make_envelope_object
from ...host.pictures.quiet_host import quiet_host
from ..base.scene_units import set_units
from ..state import session
from ..state.job_values import write_job
from ..state.scene_settings import settings_of

CAGE_NAME = "Fender Cage"


def place_cage(scene: bpy.types.Scene, job: Job, seed: Seed) -> bpy.types.Object:
    """Put a new cage and the envelope into a scene, and make the cage the one that is shaped; a former cage stays, hidden."""
    settings = settings_of(scene)
    former = settings.cage_object
    with session.OwnChange():
        set_units(scene)
        make_envelope_object(envelope(job).profile, scene.collection)
        cage = make_cage_object(seed.cage, CAGE_NAME, scene.collection, level=job.cage.level, seat=seed.seat)
        if former is not None:
            former.hide_viewport = True
        settings.cage_object = cage
    return cage


def save_scene(path: Path, job: Job, seed: Seed) -> None:
    """Write a .blend with the job, its cage and its envelope, ready for shaping, from an empty file.

    What is open in the host is given up: this is for work without a window.
    """
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    scene = bpy.context.scene
    write_job(settings_of(scene), job)
    cage = place_cage(scene, job, seed)
    cage.select_set(True)
    bpy.context.view_layer.objects.active = cage
    look_in_all_views()
    with quiet_host():
        bpy.ops.wm.save_as_mainfile(filepath=str(path), copy=True, compress=True)


def look_in_all_views() -> None:
    """Turn every 3D view to the fender; there is none without a window but those of the file."""
    for screen in bpy.data.screens:
        for area in screen.areas:
            if area.type == "VIEW_3D":
                look_at_fender(area.spaces.active)


def look_at_fender(space: Any) -> None:
    """Turn a 3D view to the fender from the front left, with the sidebar open and room enough before and behind."""
    space.clip_start, space.clip_end = 1.0, 10_000.0
    space.show_region_ui = True
    space.shading.color_type = "OBJECT"
    view = space.region_3d
    view.view_perspective = "PERSP"
    view.view_rotation = Euler((1.15, 0.0, 0.6)).to_quaternion()
    view.view_location = (0.0, 0.0, 180.0)
    view.view_distance = 1400.0
