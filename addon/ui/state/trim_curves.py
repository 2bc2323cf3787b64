# SPDX-License-Identifier: GPL-3.0-or-later
"""Trim lines that are drawn as curve objects follow them."""

from __future__ import annotations

from typing import Any

import bpy
import numpy as np

from ...core.base.errors import JobError
from ...host.cage.cage_object_problems import is_in_scene
from ...host.drawn_line import drawn_line
from . import session
from .scene_settings import settings_of


def is_drawn(line: Any) -> bool:
    """True if a line takes its points from a curve."""
    return line.curve is not None and line.view != "drop"


def linked_uids(scene: bpy.types.Scene) -> set[int]:
    """Session numbers of the curves that lines take their points from, and of their data."""
    curves = [line.curve for line in settings_of(scene).trim_lines if is_drawn(line)]
    return {number for ob in curves for number in (ob.session_uid, ob.data.session_uid)}


def follow_curves(scene: bpy.types.Scene) -> bool:
    """Bring lines up to date with their curves; True if one has changed. A curve that is no line is marked in the view.

    It makes data for a moment, so it is not for handlers. A curve that left the scene leaves its line as it was.
    """
    changed = False
    for line in settings_of(scene).trim_lines:
        if not is_drawn(line) or not is_in_scene(line.curve, scene):
            continue
        try:
            points = drawn_line(line.curve, line.view)
        except JobError as error:
            session.mark_trouble(scene, JobError(error.key, error.sentence, np.array(line.curve.matrix_world.translation)))
            continue
        if [tuple(point.value) for point in line.points] != [tuple(row) for row in points.astype(np.float32).tolist()]:
            line.points.clear()
            for point in points.tolist():
                line.points.add().value = point
            changed = True
    if changed:
        session.mark_job_changed(scene)
    return changed
