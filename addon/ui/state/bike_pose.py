# SPDX-License-Identifier: GPL-3.0-or-later
"""The pose of the bike that the view shows: tire and keep-outs where they then are, and the clearance there."""

from __future__ import annotations

import bpy
import numpy as np

from ...core.base.arrays import Array
from ...core.clearance.motion import Pose
from ...core.clearance.pose_clearance import PoseClearance, pose_clearance
from ...host.stand_ins import place_stand_ins, show_stand_ins
from . import session
from .scene_settings import settings_of
from .scene_state import JobFacts, SceneState

NOTHING_MOVES = "Nothing moves against the fender: set Carried By and Travel and Steering first"


def ranges_of(facts: JobFacts) -> tuple[tuple[float, float], tuple[float, float]]:
    """Travel, mm, and steering, degrees, least and most, of all that moves against the fender."""
    motions = [limit.motion for limit in facts.field.limits if limit.motion is not None]
    travel = [motion.travel_mm for motion in motions if motion.slides]
    lock = [motion.lock_deg for motion in motions if motion.steers]
    return (travel[0] if travel else (0.0, 0.0)), (lock[0] if lock else (0.0, 0.0))


def anything_moves(state: SceneState) -> bool:
    """True if a limit of the scene's job has more than one place."""
    return state.facts is not None and any(limit.moves for limit in state.facts.field.limits)


def pose_of(scene: bpy.types.Scene, facts: JobFacts) -> Pose:
    """The pose that the sliders of a scene stand for."""
    settings = settings_of(scene)
    (rebound, bump), (right, left) = ranges_of(facts)
    travel = 0.01 * (settings.pose_travel * bump + settings.pose_rebound * rebound)
    return Pose(travel, 0.01 * abs(settings.pose_steering) * (left if settings.pose_steering > 0.0 else right))


def show_pose(scene: bpy.types.Scene, pose: Pose | None = None) -> PoseClearance | None:
    """Move the stand-ins of a scene to a pose, that of its sliders if None; returns the clearance there, None if no cage is watched."""
    state = session.of_scene(scene)
    facts, shaped = state.facts, state.shaped
    if facts is None:
        return None
    pose = pose_of(scene, facts) if pose is None else pose
    state.shown_pose = pose
    limits = facts.field.limits
    bodies = {limit.name: limit.still for limit in limits[1:] if limit.still is not None}
    with session.OwnChange():
        show_stand_ins(scene, bodies)
        place_stand_ins(
            scene,
            _placement(facts, 0, pose),
            {limit.name: _placement(facts, number, pose) for number, limit in enumerate(limits) if limit.name in bodies},
        )
    if shaped is None:
        return None
    flip = np.array([-1.0, 1.0, 1.0])
    skin = np.concatenate([shaped.skin, shaped.skin * flip]) if shaped.cage.topology.mirrored else shaped.skin
    state.pose = pose_clearance(skin, limits, facts.part_required_mm, pose)
    return state.pose


def tire_placement(scene: bpy.types.Scene, facts: JobFacts) -> Array:
    """Matrix (4, 4) that the drawn tire is to stand at, mm."""
    pose = session.of_scene(scene).shown_pose
    return _placement(facts, 0, pose_of(scene, facts) if pose is None else pose)


def _placement(facts: JobFacts, number: int, pose: Pose) -> Array:
    motion = facts.field.limits[number].motion
    return np.eye(4) if motion is None else motion.placement(pose)
