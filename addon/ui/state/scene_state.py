# SPDX-License-Identifier: GPL-3.0-or-later
"""What is known of one scene, as values."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...core.base.arrays import Array
from ...core.clearance.budget import Budget
from ...core.clearance.clearance_field import ClearanceField
from ...core.clearance.envelope import Envelope
from ...core.clearance.hardware_clearance import HardwareClearance
from ...core.clearance.motion import Pose
from ...core.clearance.pose_clearance import PoseClearance
from ...core.clearance.room import Room
from ...core.colors.clearance_map import LegendStep
from ...core.job.job_sheet import Job, Keepout
from ...core.printing.print_plan import PrintPlan
from ...core.seat.mount import MountFrame
from ...core.shaping.shaper import Shaped, Shaper
from ...core.stiffness.stiffness_report import JobStiffness
from ...core.wall.closed_wall import ClosedWall
from ...host.cage.cage_object_problems import CageObjectProblem
from ...host.keepouts.keepout_objects import KeepoutObjects
from ...pipeline.job_result import JobResult
from ...pipeline.laminated import Laminated
from .shown import AtRest, Comparison, CursorReading, ReadingView, Readout, Views
from .trim_view import TrimView


@dataclass(frozen=True, eq=False)
class JobFacts:
    """What follows from a job that is complete."""

    job: Job
    budget: Budget
    envelope: Envelope
    frame: MountFrame
    room: Room
    field: ClearanceField
    part_required_mm: dict[str, float]
    """What the part's own surface keeps, by the name of the limit."""
    of_part: ClearanceField
    hardware: tuple[HardwareClearance, ...]
    """Of each head and nut, where the sheet puts it."""


@dataclass(frozen=True, eq=False)
class Trouble:
    """A refusal that has a place (3,) float, mm, wheel axes."""

    sentence: str
    place: Array


@dataclass(eq=False)
class SceneState:
    """What is known of one scene.

    facts : None while the sheet is not complete; problem : why
    shaper, shaped : the cage that is watched and its last step; watched : session number of its object
    problems : of the cage object; version : counts every change that a view shows
    line_lines : what the last comparison told of lines of the bike
    coverage_lines, metal_lines : what the last build told of coverage and of the sheet metal
    result_lines, plans, body : what the last build told, the ways to print its pieces, and its wall
    laminated : the laminated part of the last build; laminate_rows : what the panel tells of it, or of the plies before there is one
    built : the last build; stiffness : of it, once that is computed
    map_shown : "wall", "draft" or a bent shape while that is shown, "" else; map_legend, map_title : what its colors mean
    pose : the clearance at the pose of the bike that was last shown
    at_rest : what was worked out while nothing moved; readout, views, cursor : what the 3D views tell
    trim_view : what the trim takes, as last worked out at rest; trouble : the last refusal with a place, until something changes
    shown_pose : of the bike, at which tire and stand-ins stand; None for that of the sliders
    keepouts : bodies of the mesh keep-outs; sections : of the keep-outs as last read
    keepouts_read : version of them that facts hold
    stamps : by name of each thing that the job depends on, how it stood when it was looked at; stale : all are to be looked at
    watched_name : of the object that was shaped last
    unwatched : names of cages that are being edited and are not the watched one
    readings : hand readings as panel and overlay tell them; comparison : of gaps with the sheet; gauge_lines : of those written
    """

    facts: JobFacts | None = None
    problem: str = ""
    budget_rows: tuple[tuple[str, str], ...] = ()
    shaper: Shaper | None = None
    shaped: Shaped | None = None
    watched: int = 0
    problems: tuple[CageObjectProblem, ...] = ()
    result_lines: tuple[str, ...] = ()
    coverage_lines: tuple[str, ...] = ()
    metal_lines: tuple[str, ...] = ()
    line_lines: tuple[str, ...] = ()
    plans: tuple[PrintPlan, ...] = ()
    body: ClosedWall | None = None
    laminated: Laminated | None = None
    laminate_rows: tuple[tuple[str, str], ...] = ()
    built: JobResult | None = None
    stiffness: JobStiffness | None = None
    map_shown: str = ""
    map_legend: tuple[LegendStep, ...] = ()
    map_title: tuple[str, ...] = ()
    version: int = 0
    pose: PoseClearance | None = None
    at_rest: AtRest | None = None
    readout: Readout | None = None
    views: Views | None = None
    cursor: CursorReading | None = None
    trim_view: TrimView | None = None
    trouble: Trouble | None = None
    readings: ReadingView | None = None
    comparison: Comparison | None = None
    gauge_lines: tuple[str, ...] = ()
    job_changed: bool = True
    shown_pose: Pose | None = None
    keepouts: KeepoutObjects = field(default_factory=KeepoutObjects)
    sections: tuple[Keepout, ...] = ()
    keepouts_read: int = 0
    stamps: dict[str, object] = field(default_factory=dict)
    stale: bool = True
    watched_name: str = ""
    unwatched: tuple[str, ...] = ()
