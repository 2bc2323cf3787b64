# SPDX-License-Identifier: GPL-3.0-or-later
"""The boards of a station buck: halved into each other, never proud of the metal's inner face."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from manifold3d import CrossSection

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.tolerances import TOLERANCES
from ..base.wheel_axes import point_at
from ..drawing.flat_part import FlatPart, Label
from ..job.job_sections import Metal
from ..tables.shop.sheet_metal import BEAD_PLAY_MM
from .buck_plan import BuckPlan
from .metal_faces import Bead, MetalFaces, bead_spheres
from .region import common, discs, region, rings_of, strip, without
from .section_lines import across_line, along_line, line_height

_BEAD_STEP_MM = 1.0
_PAST_MM = 5.0
_ARC_STEP_DEG = 0.5


def buck_boards(metal: Metal, plan: BuckPlan, faces: MetalFaces, bead: Bead | None) -> tuple[FlatPart, ...]:
    """The boards across, rear to front, then those along, right to left, each in its own plane.

    Across: seen from the front, (x, height over the axle); along: seen from the rider's right, (forward, height over the axle).
    A board is what lies under the sections at both of its sides and at its middle, so that no part of it stands proud. Across
    boards have their slots toward the axle, along boards outward; each is half as deep as the wood there.
    Raises ShapeError, with the place, where a board falls into pieces.
    """
    balls = np.zeros((0, 3)) if bead is None else bead_spheres(bead, _BEAD_STEP_MM)
    lines = [across_line(faces.inner, faces.triangles, station) for station in plan.stations_deg]
    across = [
        _across_board(metal, plan, faces, balls, bead, number, line)
        for number, line in enumerate(lines, start=1)
        if line is not None
    ]
    along = [_along_board(metal, plan, faces, balls, bead, number, lines) for number in range(1, len(plan.offsets) + 1)]
    return (*across, *along)


def across_name(number: int) -> str:
    """Name of a board across, from the rear."""
    return f"A{number}"


def along_name(number: int) -> str:
    """Name of a board along, from the rider's right."""
    return f"L{number}"


def _across_board(
    metal: Metal, plan: BuckPlan, faces: MetalFaces, balls: Array, bead: Bead | None, number: int, middle: Array
) -> FlatPart:
    station, inner = plan.stations_deg[number - 1], plan.inner_radius
    half = 0.5 * metal.plywood
    found = [across_line(faces.inner, faces.triangles, station, ahead) for ahead in (-half, half)]
    body = common([_under_across(line, inner) for line in (middle, *found) if line is not None])
    ahead = np.array([0.0, -np.cos(np.radians(station)), -np.sin(np.radians(station))])
    out = point_at(1.0, station)
    cuts = _bead_cuts(balls, bead, balls @ ahead, np.column_stack([balls[:, 0], balls @ out]), half)
    slots = [(x, 0.5 * (inner + height), name) for name, x, height in _crossings(metal, plan, middle)]
    cuts += [strip(np.array([x, inner - _PAST_MM]), np.array([x, depth]), metal.plywood + metal.fit) for x, depth, _ in slots]
    name, top = across_name(number), line_height(middle, 0.0)
    labels = [Label(name, (0.5 * plan.offsets[-1] / max(len(plan.offsets) // 2, 1), inner + 0.55 * (top - inner)), 7.0)]
    labels += [Label(each, (x + 0.5 * metal.plywood + 3.0, inner + 3.0), 3.0, "left") for x, _, each in slots]
    return FlatPart(
        name,
        f"board across, {station:+.1f} deg",
        _whole(without(body, cuts), name, top * out),
        (np.array([[0.0, inner + 2.0], [0.0, top - 2.0]]),),
        tuple(labels),
        (f"Plywood of {metal.plywood:g} mm, seen from the front. The lower edge is {inner:.1f} mm from the axle.",),
    )


def _along_board(
    metal: Metal, plan: BuckPlan, faces: MetalFaces, balls: Array, bead: Bead | None, number: int, lines: list[Array | None]
) -> FlatPart:
    x, inner = plan.offsets[number - 1], plan.inner_radius
    half = 0.5 * metal.plywood
    found = [along_line(faces.inner, faces.triangles, x + aside) for aside in (0.0, -half, half)]
    body = common([_under_along(line, inner) for line in found if line is not None])
    cuts = _bead_cuts(balls, bead, balls[:, 0] - x, np.column_stack([-balls[:, 1], balls[:, 2]]), half)
    name, labels, marks = along_name(number), [], []
    for place, (station, line) in enumerate(zip(plan.stations_deg, lines, strict=True), start=1):
        height = float("nan") if line is None else _height_over(line, x, half)
        if np.isnan(height):
            continue
        ray = np.array([np.sin(np.radians(station)), np.cos(np.radians(station))])
        begin = 0.5 * (inner + height) - 0.5 * metal.fit
        cuts.append(strip(begin * ray, (height + 10.0 * _PAST_MM) * ray, metal.plywood + metal.fit))
        marks.append(np.array([(inner + 2.0) * ray, (begin - 2.0) * ray]))
        at = 0.5 * (inner + begin) * ray + np.array([2.0, 0.0])
        labels.append(Label(f"{across_name(place)} {station:+.1f}", (float(at[0]), float(at[1])), 3.0, "left"))
    first = 0.5 * np.radians(plan.stations_deg[0] + plan.stations_deg[1])
    at = (inner + 0.4 * metal.foot) * np.array([np.sin(first), np.cos(first)])
    labels.append(Label(f"{name} X {x:+g}", (float(at[0]), float(at[1])), 6.0))
    return FlatPart(
        name,
        f"board along, x {x:+g} mm",
        _whole(without(body, cuts), name, np.array([x, 0.0, inner])),
        tuple(marks),
        tuple(labels),
        (
            f"Plywood of {metal.plywood:g} mm, the front of the bike on the right. The lower edge is {inner:.1f} mm from the axle.",
        ),
    )


def _crossings(metal: Metal, plan: BuckPlan, line: Array) -> Iterable[tuple[str, float, float]]:
    """Name, offset and height of each board along that a board across with this section meets."""
    for number, x in enumerate(plan.offsets, start=1):
        height = _height_over(line, x, 0.5 * metal.plywood)
        if not np.isnan(height):
            yield along_name(number), x, height


def _height_over(line: Array, x: float, half: float) -> float:
    """Height of a section across over a board along; NaN where it ends before the board's far side."""
    return line_height(line, x) if not np.isnan(line_height(line, x - half) + line_height(line, x + half)) else float("nan")


def _under_across(line: Array, inner: float) -> CrossSection:
    return region([np.vstack([line, [[line[-1, 0], inner], [line[0, 0], inner]]])])


def _under_along(line: Array, inner: float) -> CrossSection:
    """Between a section and the circle of the inner radius; the circle's polygon lies outside of it, so that it has that radius at least."""
    rear, front = (np.degrees(np.arctan2(*line[end])) for end in (0, -1))
    steps = max(int(np.ceil((front - rear) / _ARC_STEP_DEG)), 1)
    turn = np.radians(np.linspace(front, rear, steps + 1))
    return region([np.vstack([line, inner * np.column_stack([np.sin(turn), np.cos(turn)])])])


def _bead_cuts(balls: Array, bead: Bead | None, beside: Array, flat: Array, half: float) -> list[CrossSection]:
    """What the bead takes from a board: the widest section of its balls between the board's sides. beside : (n,) mm from its middle"""
    if bead is None:
        return []
    radius, away = bead.radius + BEAD_PLAY_MM, np.maximum(np.abs(beside) - half, 0.0)
    near = away < radius
    return [discs(flat[near], np.sqrt(np.square(radius) - np.square(away[near])))]


def _whole(board: CrossSection, name: str, place: Array) -> tuple[Array, ...]:
    rings = rings_of(board, 0.5 * TOLERANCES.chord)
    parts = [part for part in board.decompose() if part.area() > _SPECK_MM2]
    if len(parts) != 1:
        raise ShapeError(
            f"the board {name} of the buck falls into {len(parts)} pieces; take thinner plywood or a longer metal.foot", place
        )
    return rings_of(parts[0], 0.5 * TOLERANCES.chord) if len(rings) > 1 else rings


_SPECK_MM2 = 1.0
"""Smaller pieces are sawdust."""
