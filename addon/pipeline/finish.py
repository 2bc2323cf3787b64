# SPDX-License-Identifier: GPL-3.0-or-later
"""From the skin to the finished pieces: wall, seat, rim, holes, split."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.job.job_sheet import Job
from ..core.mesh.boolean import Solid, difference, file_body, file_mesh, solid
from ..core.mesh.open_surface import Surface
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.pieces.bolt_remarks import uneven_remarks
from ..core.pieces.cutters import piece_cuts
from ..core.pieces.dowel_pins import Pin
from ..core.pieces.edge_remarks import edge_remarks
from ..core.pieces.holes import hole_cutter, mouth_break
from ..core.pieces.joint import Joint, check_beside_joint, planned_joint
from ..core.pieces.locators import Locators, locators
from ..core.pieces.tool_access import Cylinder, check_tool_access, reach_cylinders
from ..core.seat.mount import MountFrame
from ..core.seat.placed_seat import PlacedSeat, placed_seats
from ..core.wall.closed_wall import ClosedWall
from ..core.wall.job_wall import wall_at_cut
from ..core.wall.rim_check import RimStats, rim_stats
from ..core.wall.wall_check import WallStats, wall_stats
from .cage_wall import seated_wall
from .further_pieces import CutHalf, further_piece_steps
from .piece import Part, cut_piece, finished_part, single_body
from .steps import Steps, run_steps


@dataclass(frozen=True, eq=False)
class Finished:
    """The finished fender.

    whole : with its holes, before the split; parts : the pieces, the whole as one where nothing is split; body : the wall without holes
    wall, rim : measured; joint : None where nothing is split
    seats : the mount's first; reach : what must be free for screws and tools
    mouth_breaks : mm, how far the mouths of the bores of each seat are broken at 45 degrees; 0 where they are left as cut
    pins : dowel pins through the laps of all joints; keys : number of keys in all of them
    remarks : what the builder must be told of bolts and joints
    """

    whole: TriangleMesh
    parts: tuple[Part, ...]
    body: ClosedWall
    wall: WallStats
    rim: RimStats
    joint: Joint | None
    seats: tuple[PlacedSeat, ...]
    reach: tuple[Cylinder, ...]
    mouth_breaks: tuple[float, ...]
    pins: tuple[Pin, ...]
    keys: int
    remarks: tuple[str, ...]

    @property
    def hole_diameter(self) -> float:
        """Of the mount's holes, mm, by the table."""
        return self.seats[0].bore.hole


def finish(job: Job, sheet: Surface, frame: MountFrame) -> Finished:
    """The closed pieces of a fender, at once; see finish_steps."""
    return run_steps(finish_steps(job, sheet, frame))


def finish_steps(job: Job, sheet: Surface, frame: MountFrame) -> Steps[Finished]:
    """The closed pieces of a fender.

    sheet : the whole skin (not its half), wheel axes, mm; frame : the mount of the job
    Raises JobError or ShapeError with a sentence where the job cannot be made from this skin.
    """
    placed = placed_seats(job, frame, sheet)
    mount = placed[0]
    joint = planned_joint(
        job.split,
        mount.seat,
        wall_at_cut(job),
        mount.edge_distance,
        job.printer.nozzle,
        mount.bore.slots,
        mount.bore.least_edge_distance,
    )
    wall = seated_wall(job, sheet, placed)
    close = edge_remarks(wall, placed, joint, job.split.joint == "full_lap")
    stats, rim = wall_stats(wall), rim_stats(wall)
    yield "Bolt holes"
    cutters = [hole_cutter(wall, each.seat, each.bore, _lap_fit(job, joint, each)) for each in placed]
    extras = Locators() if joint is None else locators(job.split, wall, joint, placed)
    cutters += [pin.hole for pin in extras.pins]
    drilled = difference(wall.body, [solid(cutter, "bolt holes") for cutter in cutters], "bolt holes")
    # the pieces are cut out of the whole as it is written
    written = file_body(drilled)
    whole = file_mesh(written)
    reach = tuple(cylinder for each in placed for cylinder in reach_cylinders(wall, each.seat, each.bore))
    check_tool_access(whole, reach)
    breaks = tuple(mouth_break(wall, each.seat, each.bore) for each in placed)
    remarks = (*close, *(remark for each in placed for remark in uneven_remarks(wall, each.seat, each.bore)))
    halves: tuple[CutHalf, ...]
    if joint is None:
        halves = (CutHalf((finished_part("whole", written),)),)
    else:
        halves = yield from _half_steps(written, wall, joint, placed, extras, job)
    pieces = tuple(piece for half in halves for piece in half.pieces)
    pins = (*extras.pins, *(pin for half in halves for pin in half.pins))
    keys = len(extras.keys) + sum(half.keys for half in halves)
    remarks += tuple(half.remark for half in halves if half.remark)
    return Finished(whole, pieces, wall, stats, rim, joint, placed, reach, breaks, pins, keys, remarks)


def _lap_fit(job: Job, joint: Joint | None, placed: PlacedSeat) -> float | None:
    """The fit of a lap that halves the wall under the bolts of a seat; None if there is none. Raises JobError at a cut."""
    if joint is None:
        return None
    full_lap = job.split.joint == "full_lap"
    if placed.seat.key != "mount":
        full_lap = check_beside_joint(
            joint, placed.seat, placed.bore.slots, placed.edge_distance, full_lap, placed.bore.least_edge_distance
        )
    return joint.fit if full_lap else None


def _half_steps(
    whole: Solid, wall: ClosedWall, joint: Joint, seats: tuple[PlacedSeat, ...], extras: Locators, job: Job
) -> Steps[tuple[CutHalf, ...]]:
    """Both halves, cut again where the bed and the sheet ask for it."""
    halves: list[CutHalf] = []
    for cut in piece_cuts(wall, joint, extras.keys):
        yield f"The {cut.name} piece"
        half = single_body(cut.name, cut_piece(whole, cut))
        first = cut.name == joint.names[0]
        halves.append((yield from further_piece_steps(cut.name, half, first, wall, joint, seats, extras.places, job)))
    return tuple(halves)
