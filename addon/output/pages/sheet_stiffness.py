# SPDX-License-Identifier: GPL-3.0-or-later
"""Stiffness on the build sheet: how far the part gives way, what it swings at and what shakes it, how its layers are pulled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...core.base.arrays import Array, Index
from ...core.shells.shell_mesh import ShellMesh
from ...core.stiffness.bend_shapes import BendShape, bend_shapes
from ...core.stiffness.stiffness_report import JobStiffness
from .sheet_flow import GRAY, MARGIN, SMALL, WIDTH, Column, SheetFlow

_FIELD = (88.0, 30.0)
_SHOWN = 6
_NOTE = 1.6
_LABEL = 4.0


def draw_stiffness(flow: SheetFlow, made: JobStiffness, stiffness: Mapping[str, Any]) -> None:
    """made : of the job; stiffness : the report's part on it"""
    for name in ("print", "laminate"):
        if name in stiffness:
            counted = "what a budget without a stated flex counts" if name == "laminate" or "laminate" not in stiffness else ""
            _tables(flow, name, stiffness, counted)
    what = "laminated part" if made.laminated is not None else "print"
    flow.heading(f"Shapes of the {what}, from the left and from ahead, enlarged", _FIELD[1] + 4.0)
    shapes = bend_shapes(made.final, stiffness["speed_kmh"])[:_SHOWN]
    for first in range(0, len(shapes), 2):
        low = flow.room(_FIELD[1] + 2.0)
        for place, shape in enumerate(shapes[first : first + 2]):
            _picture(flow, made.final.mesh, shape, MARGIN + place * (WIDTH - _FIELD[0]), low)
    flow.paragraph(
        f"Shell of {stiffness['print']['elements']} triangles (discrete Kirchhoff-Mindlin plate, Katili 1993; optimal membrane, "
        "Felippa 2003), held at the bolts under washer or head, joints and glued cuts taken as solid, rims left out. Push: "
        f"{stiffness['push_basis']}. Wind: {stiffness['drag_basis']}. Wheel: {stiffness['wheel_basis']}. Engine: "
        f"{stiffness['engine_basis']}.",
        capital=_NOTE,
        color=GRAY,
    )


def _tables(flow: SheetFlow, name: str, stiffness: Mapping[str, Any], counted: str) -> None:
    part = stiffness[name]
    flow.heading(f"How far the {name} gives way", 30.0)
    rows = [
        (f"{tip['push_n']:g} N on the {tip['name']} tip", f"{tip['deflection_mm']:.1f} mm", _place(tip["at"]))
        for tip in part["tips"]
    ]
    if part["drag_mm"] is not None:
        rows.append(
            (f"wind at {stiffness['speed_kmh']:g} km/h, {part['drag_n']:.0f} N", f"{part['drag_mm']:.1f} mm", "where it is most")
        )
    rows.append(
        ("most that it comes nearer to the wheel", f"{part['flex_mm']:.1f} mm", "what a budget without a stated flex counts")
    )
    bears = "across its layers" if name == "print" else "in any direction"
    stress = f"{part['layer_stress_mpa']:.1f} of {part['layer_strength_mpa']:.0f} MPa"
    rows.append((f"stress {bears}, of what it bears", stress, _place(part["layer_stress_at"])))
    flow.table((Column("load", 66.0), Column("result", 34.0, "right"), Column("place", WIDTH - 100.0)), rows)
    material = ", ".join(
        f"{key.replace('_', ' ')} {figure['value']:g} ({figure['basis']})"
        for key, figure in part["material"].items()
        if isinstance(figure, Mapping)
    )
    flow.paragraph(
        f"Material: {part['material'].get('name', 'laminate')}, {material}. With half as many triangles the figures differ by up to "
        f"{100.0 * part['change_from_half']:.0f} %.",
        capital=_NOTE,
        color=GRAY,
    )
    turning = stiffness["wheel_hz"]
    swings = [
        (str(number), f"{hertz:.1f} Hz", f"{60.0 * hertz:,.0f}", "-" if turning is None else f"{hertz / turning:.2f}")
        for number, hertz in enumerate(part["frequencies_hz"], start=1)
    ]
    columns = (
        Column("natural frequency", 30.0),
        Column("swings", 30.0, "right"),
        Column("engine that shakes it, turns a minute", 60.0, "right"),
        Column("over what the wheel turns at top speed", WIDTH - 120.0, "right"),
    )
    flow.table(columns, swings)


def _place(at: Mapping[str, float]) -> str:
    return f"station {at['station_deg']:+.0f} deg, x {at['x_mm']:+.0f} mm"


def _picture(flow: SheetFlow, mesh: ShellMesh, shape: BendShape, x: float, y: float) -> None:
    """Outline of the shell at rest in gray, and bent in black; side view on the left, front view on the right."""
    edges = _outline(mesh.triangles)
    bent = mesh.points + shape.times * shape.movement
    both = np.concatenate([mesh.points, bent])
    side, front = both[:, [1, 2]], both[:, [0, 2]]
    room = np.array([_FIELD[0] - 4.0, _FIELD[1] - 2.0 * _LABEL])
    wide = np.ptp(side[:, 0]) + np.ptp(front[:, 0])
    scale = float(min(room[0] / wide, room[1] / np.ptp(both[:, 2])))
    count, left = len(mesh.points), x
    for view in (side, front):
        placed = scale * (view - view.min(axis=0)) + [left, y + _LABEL]
        flow.page.stretches(placed[:count][edges], 0.15, GRAY)
        flow.page.stretches(placed[count:][edges], 0.3)
        left += scale * float(np.ptp(view[:, 0])) + 4.0
    flow.page.text(f"{shape.name}: {shape.figure}, shown {shape.times:.0f} times", (x, y + 0.6), SMALL)


def _outline(triangles: Index) -> Array:
    """(e, 2) int, edges in one triangle only."""
    sides = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    pairs, count = np.unique(sides, axis=0, return_counts=True)
    return np.asarray(pairs[count == 1])
