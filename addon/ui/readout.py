# SPDX-License-Identifier: GPL-3.0-or-later
"""What the view tells of a shaped cage, prepared outside of drawing: lines of text, section, side view, place of the least room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ..core.arrays import Array
from ..core.job_tire import static_radius
from ..core.proof import proven_clearance
from ..core.seat import wall_shares
from ..core.section_view import SectionView, WheelSection, section_view, wheel_section
from ..core.side_view import side_view, side_wheel
from ..core.skin_measures import printed_mass_g, skin_area, widest
from ..core.skin_ray import longest_diagonal, skin_ray
from ..core.tire_profile import tire_profile
from ..core.view_lines import ViewLine
from ..core.wheel_axes import station_of

if TYPE_CHECKING:
    from .session import JobFacts, SceneState

MODES = {"HOLD": "Hold is on", "WARN": "Warn only", "OFF": "Hold is off"}


@dataclass(frozen=True, eq=False)
class Readout:
    """key : what it was made from; lines : text, the first one most important; broken : the clearance is broken

    least_place : (3,) float, mm, where the least room is; least_text : what is told there
    section, side : views in mm; reach : longest diagonal of the skin's quads, mm
    """

    key: object
    lines: tuple[str, ...]
    broken: bool
    least_place: Array
    least_text: str
    section: SectionView
    side: tuple[ViewLine, ...]
    reach: float


def readout(state: SceneState, hold: str, station_deg: float, before: Readout | None) -> Readout | None:
    """The readout of a scene's state; the one before if nothing has changed, None if no cage is watched."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    key = (state.version, hold, round(station_deg, 2), state.proven_mm)
    if before is not None and before.key == key:
        return before
    place = shaped.skin[shaped.worst.index]
    excess = shaped.worst.excess_mm
    quads, on_plane, mirrored = shaped.stencil.quads, shaped.stencil.on_plane, shaped.cage.topology.mirrored
    shares = wall_shares(facts.job.wall)
    wheel = _wheel(facts, round(station_deg, 2))
    sides = 2.0 if mirrored else 1.0
    mass = printed_mass_g(sides * skin_area(shaped.skin, quads), facts.job)
    least = f"{excess:+.1f} mm to the {shaped.worst.name} at station {station_of(place):.0f}"
    lines = (
        f"Room over what is required: {least}",
        "Proven: " + ("at rest" if state.proven_mm is None else f"no point has less than {state.proven_mm:+.2f} mm to the tire"),
        f"Required from part to tire: {facts.budget.required_mm:.1f} mm; room left under the mount: {-facts.room.missing_mm:.1f} mm",
        f"Widest {widest(shaped.skin):.0f} mm, about {mass:.0f} g in {facts.job.printer.material}",
        MODES[hold] + (", moved back" if shaped.moved_back else ""),
    )
    return Readout(
        key=key,
        lines=lines,
        broken=not shaped.clear,
        least_place=place,
        least_text=f"{excess:+.1f} mm",
        section=section_view(wheel, shaped.skin, quads, on_plane, mirrored, shares),
        side=side_view(_side(facts), shaped.skin, quads, on_plane, shares, station_deg),
        reach=longest_diagonal(shaped.skin, quads),
    )


def prove(state: SceneState) -> None:
    """Take up the proven lower bound of the skin's room to the tire; for when nothing moves."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return
    tire = facts.field.limits[0]
    triangles = shaped.stencil.quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)
    proof = proven_clearance(shaped.skin, triangles, tire.body)
    state.proven_mm = proof.proven_min_mm - tire.required_mm


def under_cursor(state: SceneState, made: Readout, origin: Array, direction: Array) -> tuple[str, float] | None:
    """What the skin has under a ray (origin, unit direction, each (3,)): text and station; None beside the skin."""
    shaped, facts = state.shaped, state.facts
    if shaped is None or facts is None:
        return None
    flip = np.array([-1.0, 1.0, 1.0])
    hits = [skin_ray(origin, direction, shaped.skin, shaped.stencil.quads, made.reach)]
    if shaped.cage.topology.mirrored:
        image = skin_ray(origin * flip, direction * flip, shaped.skin, shaped.stencil.quads, made.reach)
        hits.append(None if image is None else replace(image, point=image.point * flip))
    found = [hit for hit in hits if hit is not None]
    if not found:
        return None
    hit = min(found, key=lambda hit: hit.along)
    excess = float(hit.weights @ shaped.excess[hit.corners])
    limit = facts.field.limits[int(shaped.limit[hit.corners[int(hit.weights.argmax())]])]
    part = facts.part_required_mm[limit.name] + excess
    station = float(station_of(hit.point))
    return f"{part:.1f} mm to the {limit.name} ({excess:+.1f}), station {station:.0f}, x {hit.point[0]:+.0f}", station


@lru_cache(maxsize=8)
def _wheel(facts: JobFacts, station_deg: float) -> WheelSection:
    profile = tire_profile(facts.job).static
    return wheel_section(profile, facts.envelope.body, facts.budget.required_mm, station_deg)


@lru_cache(maxsize=2)
def _side(facts: JobFacts) -> tuple[ViewLine, ...]:
    return side_wheel(static_radius(facts.job), facts.envelope.body, facts.budget.required_mm, facts.frame)
