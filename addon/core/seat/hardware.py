# SPDX-License-Identifier: GPL-3.0-or-later
"""Heads, washers and nuts that stand on the fender and on its brackets, as bodies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..base.convex_polygon import convex_hull
from ..mesh.prism import slab
from ..mesh.triangle_mesh import TriangleMesh, joined
from ..tables.fasteners import BUTTON_HEAD, NOMINAL_DIAMETER, PLAIN_WASHER, Washer
from ..tables.nuts import LOCK_NUT_ACROSS_CORNERS, LOCK_NUT_HEIGHT
from .bore import Bolted, head_of, washer_under_head
from .placed_seat import PlacedSeat, called
from .screw_length import past_nut

HEAD, NUT = "screw head", "lock nut"

_SIDES = 64
"""Corners of a disc, around its circle: it stands out by no more than 0.12 % of the radius."""


@dataclass(frozen=True)
class Disc:
    """A round body on a bolt's axis, mm. start, end : over the face that the stack lies on"""

    radius: float
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Hardware:
    """What stands on one side of one bolt, by its largest table sizes.

    what : HEAD or NUT; name : the same with the bolt's number and seat; key : section of the seat, such as "mount"
    bolt : number of the bolt in its seat, from 1
    on_fender : True on the fender's face, False on the bracket
    mesh : closed discs in wheel axes, mm, moved through the bolt's slot; axis : (3,) float, unit, away from the face
    """

    what: str
    name: str
    key: str
    bolt: int
    on_fender: bool
    mesh: TriangleMesh
    axis: Array


def fender_stack(key: str, bolted: Bolted, depth: float, grip: float, plate: float | None) -> tuple[Disc, ...]:
    """What stands out of the fender's face away from the bracket; empty where all is sunk, or on the bracket.

    key : section of the seat; depth : of the recess under that face; grip : of the print, plate : of the bracket, None if not
    stated; mm
    """
    if bolted.hardware in ("countersink", "insert"):
        return ()
    washer = washer_under_head(key, bolted)
    if bolted.nut_on_fender:
        stack = _nut_discs(bolted.thread, washer, past_nut(bolted.thread, washer, grip, plate))
    else:
        head = head_of(bolted)
        stack = _piled(washer, (0.5 * head.diameter, head.height))
    lifted = [Disc(disc.radius, max(disc.start - depth, 0.0), disc.end - depth) for disc in stack]
    return tuple(disc for disc in lifted if disc.end > 0.0)


def bracket_stack(key: str, bolted: Bolted, grip: float, plate: float | None) -> tuple[Disc, ...]:
    """What stands on the bracket's face away from the fender: a plain washer, and the nut or the head."""
    washer = PLAIN_WASHER[bolted.thread]
    if bolted.hardware == "insert" or bolted.nut_on_fender:
        head = BUTTON_HEAD[bolted.thread]
        return _piled(washer, (0.5 * head.diameter, head.height))
    return _nut_discs(bolted.thread, washer, past_nut(bolted.thread, washer_under_head(key, bolted), grip, plate))


def seat_hardware(placed: PlacedSeat, faces: Sequence[float], grip: float) -> tuple[Hardware, ...]:
    """All that stands at the bolts of a seat, on the fender first.

    faces : for each bolt how deep the fender's free face lies under the seat's plane, mm; grip : of the print, mm
    A bracket of unknown thickness counts as none: its hardware is no nearer to the fender than that.
    """
    key, bolted = placed.seat.key, placed.bolted
    of = "" if key == "mount" else f" of {called(placed)}"
    away = -placed.seat.bracket_side
    on_fender = fender_stack(key, bolted, placed.bore.depth if placed.bore.recess else 0.0, grip, placed.bracket)
    on_bracket = bracket_stack(key, bolted, grip, placed.bracket)
    nut_on_bracket = bolted.hardware != "insert" and not bolted.nut_on_fender
    found = []
    for number, face in enumerate(faces, start=1):
        if on_fender:
            what = NUT if bolted.nut_on_fender else HEAD
            mesh = stack_mesh(placed, number - 1, on_fender, away, face)
            found.append(Hardware(what, f"{what} of bolt {number}{of}", key, number, True, mesh, away))
        what = NUT if nut_on_bracket else HEAD
        mesh = stack_mesh(placed, number - 1, on_bracket, -away, placed.bracket or 0.0)
        found.append(Hardware(what, f"{what} of bolt {number}{of}", key, number, False, mesh, -away))
    return tuple(found)


def stack_mesh(placed: PlacedSeat, bolt: int, stack: Sequence[Disc], axis: Array, face: float) -> TriangleMesh:
    """Discs as closed bodies at all places of a bolt in its slot. axis : (3,) unit; face : mm along it from the seat's plane"""
    seat, way = placed.seat, placed.bore.slots[bolt]
    turn = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) / np.cos(np.pi / _SIDES)
    bodies = []
    for disc in stack:
        outline = convex_hull(np.concatenate([seat.bolts[bolt] + share * way + disc.radius * ring for share in (-1.0, 1.0)]))
        flat = seat.place(outline)
        fan = np.arange(1, len(outline) - 1)
        triangles = np.stack([np.zeros_like(fan), fan, fan + 1], axis=1)
        bodies.append(
            slab(flat + (face + disc.start) * axis, flat + (face + disc.end) * axis, triangles, np.arange(len(outline)))
        )
    return joined(bodies)


def _piled(washer: Washer | None, *discs: tuple[float, float]) -> tuple[Disc, ...]:
    """Discs of (radius, height) one over the other, on a washer."""
    under = [(0.5 * washer.outer, washer.thickness)] if washer else []
    pile, height = [], 0.0
    for radius, thickness in (*under, *discs):
        pile.append(Disc(radius, height, height + thickness))
        height += thickness
    return tuple(pile)


def _nut_discs(thread: str, washer: Washer | None, end: float) -> tuple[Disc, ...]:
    """Washer, lock nut by its corners, and the end of the screw past it, mm."""
    nut = (0.5 * LOCK_NUT_ACROSS_CORNERS[thread], LOCK_NUT_HEIGHT[thread])
    return _piled(washer, nut, (0.5 * NOMINAL_DIAMETER[thread], end))
