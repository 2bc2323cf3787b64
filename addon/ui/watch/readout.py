# SPDX-License-Identifier: GPL-3.0-or-later
"""What the view tells of a shaped cage, prepared outside of drawing: rows of text, section and side view, value under the cursor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ...core.base.arrays import Array
from ...core.base.tolerances import TOLERANCES
from ...core.base.wheel_axes import station_of
from ...core.clearance.hardware_clearance import HardwareClearance
from ...core.clearance.motion import Pose
from ...core.clearance.proof import proven_clearance
from ...core.clearance.worst_pose import limit_pose, pose_words
from ...core.mesh.skin_ray import longest_diagonal, skin_ray
from ...core.seat.hardware import HEAD, NUT
from ...core.shaping.seat_gaps import SeatGap, mount_gap, seat_gaps
from ...core.shaping.shaper import Shaped
from ...core.skin.hole_places import hole_places
from ...core.skin.skin import full_skin, skin, skin_paint
from ...core.tire.job_tire import static_radius
from ...core.tire.tire_profile import tire_profile
from ...core.views.section_view import WheelSection, section_view, wheel_section
from ...core.views.side_view import side_view, side_wheel
from ...core.views.view_lines import ViewLine
from ...core.wall.skin_measures import printed_mass_g, wall_volume, widest
from ...core.wall.skin_wall import Shares, skin_wall
from ..state.scene_state import JobFacts, SceneState
from ..state.shown import AtRest, Readout, Views, said_place

MODES = {"HOLD": "on", "WARN": "warn only", "OFF": "off"}


def readout(state: SceneState, hold: str, before: Readout | None) -> Readout | None:
    """The readout of a scene's state; the one before if nothing has changed, None if no cage is watched."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    key = (state.version, hold, state.at_rest)
    if before is not None and before.key == key:
        return before
    rest = state.at_rest
    least = _least(facts, shaped)
    station = said_place(least.place)
    whole = full_skin(skin(shaped.cage, shaped.stencil))
    seats = (mount_gap(facts.job, facts.frame, whole), *seat_gaps(facts.job, whole))
    holes = hole_places(shaped.skin, shaped.stencil.boundary_edges)
    rows = (
        *(("Not Watched", f"{name}, another cage") for name in state.unwatched),
        ("Least Clearance", f"{least.mm:.2f} mm to the {least.name}"),
        ("To Spare", f"{least.excess_mm:+.2f} mm, {station}"),
        *([] if least.pose is None else [("At Pose", pose_words(least.pose))]),
        ("Proven to Tire", "when at rest" if rest is None else f"no point under {rest.proven_mm:.2f} mm"),
        ("Room Under Mount", f"{-facts.room.missing_mm:.1f} mm left"),
        *_hardware_rows(facts.hardware),
        ("Widest", f"{widest(shaped.skin):.0f} mm"),
        ("Mass", "when at rest" if rest is None else f"about {rest.mass_g:.0f} g of {facts.job.printer.material}"),
        *map(_seat_row, seats),
        *(("Hole in the Skin", said_place(hole)) for hole in holes),
        ("Hold", MODES[hold] + (", moved back" if shaped.moved_back else "")),
        ("Cage", state.watched_name),
    )
    broken = not shaped.clear or least.excess_mm < -TOLERANCES.proof or bool(state.unwatched)
    return Readout(key, rows, broken, least.place, f"{least.mm:.1f} mm, {station}", seats, holes)


def _seat_row(gap: SeatGap) -> tuple[str, str]:
    """How far the skin is from the plane of a seat, and whether the blend can take it up."""
    if gap.off_mm is None:
        return gap.name, "no skin under it"
    said = "" if gap.fits else f", too far: {gap.allowed_mm:.1f} mm allowed"
    return gap.name, f"{gap.off_mm:.1f} mm off its plane{said}"


@dataclass(frozen=True, eq=False)
class _Least:
    """The least clearance of skin and hardware: what to, mm, mm over what is required, where (3,), and at which pose of the bike."""

    name: str
    mm: float
    excess_mm: float
    place: Array
    pose: Pose | None


def _least(facts: JobFacts, shaped: Shaped) -> _Least:
    worst, place = shaped.worst, shaped.skin[shaped.worst.index]
    part = facts.part_required_mm[worst.name] + worst.excess_mm
    found = [_Least(worst.name, part, worst.excess_mm, place, limit_pose(place, facts.field.limits[worst.limit]))]
    found += [_Least(each.name, each.proof.min_mm, each.excess_mm, each.proof.point, each.pose) for each in facts.hardware]
    return min(found, key=lambda one: one.excess_mm)


_SCREWS = {HEAD: "Screw Heads", NUT: "Lock Nuts"}


def _hardware_rows(hardware: tuple[HardwareClearance, ...]) -> Iterator[tuple[str, str]]:
    """The head or nut that has the least to spare."""
    if hardware:
        least = min(hardware, key=lambda each: each.excess_mm)
        yield (
            _SCREWS[least.hardware.what],
            f"{least.proof.min_mm:.1f} mm to the {least.limit.name}, {least.excess_mm:+.1f}",
        )


def views(state: SceneState, station_deg: float, before: Views | None) -> Views | None:
    """Section at a station and side view; those before if nothing has changed, None if no cage is watched."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    station_deg = round(station_deg, 1)
    key = (state.version, station_deg)
    if before is not None and before.key == key:
        return before
    quads, on_plane, mirrored = shaped.stencil.quads, shaped.stencil.on_plane, shaped.cage.topology.mirrored
    shares = _shares(facts, shaped)
    return Views(
        key=key,
        section=section_view(_wheel(facts, station_deg), shaped.skin, quads, on_plane, mirrored, shares),
        side=side_view(_side(facts), shaped.skin, quads, on_plane, shares, station_deg),
    )


def at_rest(state: SceneState) -> AtRest | None:
    """The proven bound of the clearance to the tire and the mass, for when nothing moves; None if no cage is watched.

    The bound is that of the part's inner face over the skin's facets: the skin's less what the skin must keep more.
    """
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    tire = facts.field.limits[0]
    quads = shaped.stencil.quads
    proof = proven_clearance(shaped.skin, quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3), tire.body)
    sides = 2.0 if shaped.cage.topology.mirrored else 1.0
    return AtRest(
        proven_mm=proof.proven_min_mm - tire.required_mm + facts.part_required_mm[tire.name],
        mass_g=printed_mass_g(sides * wall_volume(shaped.skin, quads, _shares(facts, shaped)), facts.job),
    )


def under_cursor(state: SceneState, origin: Array, direction: Array) -> tuple[tuple[str, ...], float] | None:
    """What the skin has under a ray (origin, unit direction, each (3,)): lines of text, and station; None beside the skin."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    flip = np.array([-1.0, 1.0, 1.0])
    quads, reach = shaped.stencil.quads, _reach(shaped)
    hits = [skin_ray(origin, direction, shaped.skin, quads, reach)]
    if shaped.cage.topology.mirrored:
        image = skin_ray(origin * flip, direction * flip, shaped.skin, quads, reach)
        hits.append(None if image is None else replace(image, point=image.point * flip))
    found = [hit for hit in hits if hit is not None]
    if not found:
        return None
    hit = min(found, key=lambda hit: hit.along)
    excess = float(hit.weights @ shaped.excess[hit.corners])
    name = facts.field.limits[int(shaped.limit[hit.corners[int(hit.weights.argmax())]])].name
    part = facts.part_required_mm[name] + excess
    station = float(station_of(hit.point))
    return (f"{part:.1f} mm to the {name}, {excess:+.1f}", said_place(hit.point)), station


def _shares(facts: JobFacts, shaped: Shaped) -> Shares:
    return skin_wall(facts.job, shaped.skin, skin_paint(shaped.cage, shaped.stencil))


@lru_cache(maxsize=1)
def _reach(shaped: Shaped) -> float:
    return longest_diagonal(shaped.skin, shaped.stencil.quads)


@lru_cache(maxsize=8)
def _wheel(facts: JobFacts, station_deg: float) -> WheelSection:
    profile = tire_profile(facts.job).static
    return wheel_section(profile, facts.envelope.body, facts.budget.required_mm, station_deg)


@lru_cache(maxsize=2)
def _side(facts: JobFacts) -> tuple[ViewLine, ...]:
    return side_wheel(static_radius(facts.job), facts.envelope.body, facts.budget.required_mm, facts.frame)
