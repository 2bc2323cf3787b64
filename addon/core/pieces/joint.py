# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the wall is cut in two and how the halves meet; what speaks against it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, frozen
from ..base.errors import JobError
from ..base.format_place import format_place
from ..job.job_sheet import Split
from ..seat.seat import Seat
from ..tables.printed_wall import least_wall

PIECES = {"across": ("front", "rear"), "along": ("left", "right")}
"""Names of the pieces on the positive and the negative side of the cut, by split.plane. The first lies on top in a lap, so
that the wind of the ride does not get under its lip."""

LEAST_KEY_FIT = 0.1
"""mm; our choice: what is printed does not slide with less."""

KEY_REACH = 2.0
"""How far a key goes under the other piece, in walls; our choice: as far as it is thick four times."""

_AXIS = {"across": "ahead", "along": "x"}


@dataclass(frozen=True, eq=False)
class Joint:
    """A cut and its joint.

    point, normal : (3,) float, the cut's plane, normal toward the first piece
    half_length : half of the lap, mm; 0 for a butt joint. fit : gap between mating faces, mm
    reach : how far keys go past the end of the lap, mm; 0 where there are none
    names : of the first and the second piece
    """

    point: Array
    normal: Array
    half_length: float
    fit: float
    names: tuple[str, str]
    reach: float = 0.0

    @property
    def is_across(self) -> bool:
        """Whether it parts what is ahead from what is behind, and not left from right."""
        return bool(abs(self.normal[0]) < 0.5)

    def along(self, points: Array) -> Array:
        """(n,) signed distance of points from the cut's plane, mm."""
        return np.asarray((points - self.point) @ self.normal)


def planned_joint(
    split: Split,
    seat: Seat,
    thickness: float,
    edge_distance: float,
    nozzle: float,
    slots: Array | None = None,
    least: float | None = None,
) -> Joint | None:
    """The joint through the middle of the bolt pattern; None where nothing is to be cut.

    thickness : of the wall; edge_distance : least distance of a hole's center from an edge; nozzle : width of a printed line
    slots : (b, 2) float, half of the way that each bolt may move in the plane of the seat; None for round holes
    least : of a hole's center from a cut, under which it is refused, None for the edge distance itself; a full lap keeps that
    Raises JobError where a hole comes too close to a cut or half a wall is too thin to print.
    """
    if split.plane == "none":
        return None
    column = 1 if split.plane == "across" else 0
    bolts = seat.bolts[:, column]
    middle = 0.5 * (bolts.min() + bolts.max()) if split.plane == "across" else 0.0
    way = np.zeros(len(bolts)) if slots is None else np.abs(slots[:, column])
    normal = seat.forward if split.plane == "across" else seat.x
    point = seat.origin + middle * normal
    half_length = _half_length(
        split, np.abs(bolts - middle), way, edge_distance, edge_distance if least is None else least, point
    )
    if half_length > 0 or split.locate == "keys":
        _check_half_wall(split, thickness, nozzle)
    if split.locate == "keys":
        _check_keys(split)
    if split.locate == "pins":
        _check_pins(split, half_length)
    return Joint(
        point=frozen(point),
        normal=normal,
        half_length=half_length,
        fit=split.fit,
        names=PIECES[split.plane],
        reach=key_reach(thickness) if split.locate == "keys" else 0.0,
    )


def key_reach(thickness: float) -> float:
    """How far a key goes under the wall of the other piece, mm. thickness : of the wall"""
    return KEY_REACH * thickness


def check_beside_joint(
    joint: Joint, seat: Seat, slots: Array, edge_distance: float, full_lap: bool, least: float | None = None
) -> bool:
    """Whether the bolts of a further seat lie in the lap, so that each holds both pieces; else they are clear of it.

    slots : (b, 2) float, half of the way that each bolt may move; edge_distance, least : as in planned_joint; full_lap : a lap that bolts
    may lie in
    Raises JobError with the place of a hole that is too near to a cut.
    """
    ways = slots[:, :1] * seat.x + slots[:, 1:] * seat.forward
    places = seat.place(seat.bolts)
    away, way = np.abs(joint.along(places)), np.abs(ways @ joint.normal)
    end = joint.half_length + 0.5 * joint.fit
    if full_lap and (away + way + edge_distance <= joint.half_length - 0.5 * joint.fit).all():
        return True
    room = away - way - end
    worst = int(np.argmin(room))
    least = edge_distance if least is None else least
    if room[worst] < least:
        raise JobError(
            f"{seat.key}.center",
            f"bolt {worst + 1} of the seat {format_place(places[worst])} is {room[worst]:.1f} mm from the joint (negative: in it), at least "
            f"{least:.1f} mm is needed; move the seat, or choose another split.joint or split.plane",
            places[worst],
        )
    return False


def lap_remarks(joint: Joint | None, thickness: float) -> tuple[str, ...]:
    """Advice for a lap, which thins the wall. thickness : of the wall at the cut, mm"""
    if joint is None or joint.half_length == 0.0:
        return ()
    half = 0.5 * (thickness - joint.fit)
    return (
        (
            f"The lap leaves {half:.1f} mm of the wall on each piece: bond it with epoxy and lay a strip of glass cloth over it inside, or it "
            "is the weakest place of the fender (common practice)."
        ),
    )


def _half_length(split: Split, offsets: Array, way: Array, edge_distance: float, least: float, place: Array) -> float:
    """way : (b,) float, how far each bolt may move either way, square to the cut; place : (3,) float, of the cut"""
    if split.joint == "full_lap":
        return float((offsets + way).max()) + edge_distance + 0.5 * split.fit
    half_length = 0.5 * split.lap if split.joint == "lap" else 0.0
    needed = half_length + 0.5 * split.fit + least
    nearest = float((offsets - way).min())
    if nearest < needed:
        other = "along" if split.plane == "across" else "across"
        ways = f'split.joint = "full_lap" or split.plane = "{other}"'
        if split.joint == "lap" and nearest - least - 0.5 * split.fit > 1.0:
            ways = f"a split.lap of at most {2.0 * (nearest - least - 0.5 * split.fit):.1f} mm, " + ways
        raise JobError(
            "split.joint",
            f'"{split.joint}" with the cut "{split.plane}" leaves {nearest - needed + least:.1f} mm from a bolt to the '
            f"end of the joint ({_AXIS[split.plane]}), at least {least:.1f} mm is needed; use {ways}",
            place,
        )
    return half_length


def _check_half_wall(split: Split, thickness: float, nozzle: float) -> None:
    half, least = 0.5 * (thickness - split.fit), least_wall(nozzle)
    if half < least - 1e-9:
        keyed = split.joint == "butt"
        other = '"bolts"' if keyed else 'a "butt" joint'
        raise JobError(
            "split.locate" if keyed else "split.joint",
            f"{'a key' if keyed else 'a lap'} halves the wall to {half:.2f} mm ({thickness:g} mm less the fit of {split.fit:g} mm), at "
            f"least {least:.2f} mm can be printed with a nozzle of {nozzle:g} mm; use a wall.thickness of "
            f"{2 * least + split.fit:.1f} mm or {other}",
        )


def _check_keys(split: Split) -> None:
    if split.joint == "full_lap":
        raise JobError(
            "split.locate",
            '"keys" are pushed in along the wall, which a "full_lap" is too long for; allowed are "bolts" and "pins", or a split.joint '
            'of "butt" or "lap"',
        )
    if split.fit < LEAST_KEY_FIT:
        raise JobError("split.fit", f'{split.fit:g} is too tight for "keys" to go in; allowed is {LEAST_KEY_FIT:g} or more')


def _check_pins(split: Split, half_length: float) -> None:
    if half_length == 0.0:
        raise JobError(
            "split.locate",
            f'"pins" have nothing to go through in a "{split.joint}" joint; allowed are "bolts" and "keys", or a split.joint of '
            '"lap" or "full_lap"',
        )
    if split.pin == 0.0:
        raise JobError("split.pin", '0 is no pin, and split.locate is "pins"; allowed is a diameter over 0, or "bolts" or "keys"')
