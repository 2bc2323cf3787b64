# SPDX-License-Identifier: GPL-3.0-or-later
"""How the pieces are printed, on the build sheet: a picture of each on the bed, its options, settings and material."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...core.base.arrays import Array
from ...core.mesh.prism import box
from ...core.mesh.triangle_mesh import TriangleMesh, joined
from ...core.printing.print_plan import PrintPlan
from ...core.views.line_view import line_view
from ...pipeline.job_result import JobResult
from .sheet_flow import GRAY, MARGIN, SMALL, TEXT, WIDTH, Column, SheetFlow

_FIELD = (86.0, 56.0)
_PLATE = 3.0
_NOTE = 1.6
_SHOWN = 6
_A, _B = np.radians(30.0), np.radians(24.0)
_EYE = np.array(
    [
        [np.cos(_A), np.sin(_A), 0.0],
        [-np.sin(_A) * np.sin(_B), np.cos(_A) * np.sin(_B), np.cos(_B)],
        [np.sin(_A) * np.cos(_B), -np.cos(_A) * np.cos(_B), np.sin(_B)],
    ]
)
"""Printer seen from its front, turned and from above: rows right, up, toward the eye."""


def draw_print(flow: SheetFlow, result: JobResult, printing: Mapping[str, Any]) -> None:
    """printing : the report's part on printing"""
    _settings(flow, result, printing)
    flow.heading("How the pieces lie on the bed", _FIELD[1] + 6.0)
    for first in range(0, len(result.plans), 2):
        bottom = flow.room(_FIELD[1] + 8.0)
        for place, plan in enumerate(result.plans[first : first + 2]):
            part = result.finished.parts[first + place]
            _picture(flow, result, part.mesh, plan, MARGIN + place * (WIDTH - _FIELD[0]), bottom)
    for plan, piece in zip(result.plans, printing["pieces"], strict=True):
        _options(flow, plan, piece)
    flow.paragraph(
        f"Ranked by {printing['rank_rule']}. Grams: {printing['grams_formula']}. Hours: {printing['hours_formula']}; "
        f"{printing['flow_basis']}. Support: {100 * printing['support_density']:.0f} %, {printing['support_basis']}. "
        f"Overhangs: {printing['overhang_basis']}.",
        capital=_NOTE,
        color=GRAY,
    )


def _settings(flow: SheetFlow, result: JobResult, printing: Mapping[str, Any]) -> None:
    printer, wall = result.job.printer, result.job.wall
    material = printing["material"]
    lines = max(1, int(wall.thickness / printer.nozzle + 1e-9))
    rows = [
        ("material", f"{material['name']}, {material['density_g_cm3']['value']:g} g/cm3 ({material['density_g_cm3']['basis']})"),
        ("nozzle, layer", f"{printer.nozzle:g} mm, {printing['layer_height_mm']:g} mm; flow {printing['flow_mm3_s']:.1f} mm3/s"),
        ("wall", f"{wall.thickness:g} mm as {lines} lines of {wall.thickness / lines:.2f} mm, no infill in the wall; 100 % elsewhere"),
        ("support", "under every face that leans over more than 45 deg; none inside of the holes"),
        ("scale", f"{100.0 * material['print_scale']:.2f} % for {100.0 * material['shrink']['value']:.2g} % shrinkage ({material['shrink']['basis']}); " + _scaled(printing)),
        ("heat", f"holds its shape up to about {material['heat_limit_c']['value']:.0f} C ({material['heat_limit_c']['basis']})" + _too_hot(material)),
        ("layers", f"strength across the layers {material['layer_strength_ratio']['value']:g} of that along them ({material['layer_strength_ratio']['basis']}); E about {material['modulus_mpa']['value']:.0f} MPa"),
    ]  # fmt: skip
    flow.table((Column("setting", 26.0), Column("value", WIDTH - 26.0)), rows)


def _scaled(printing: Mapping[str, Any]) -> str:
    return "fender.3mf has it, STL true size" if printing["scale_3mf"] != 1.0 else "files have true size"


def _too_hot(material: Mapping[str, Any]) -> str:
    places = [f"{place['place']} {place['c']:.0f} C" for place in material["too_hot"]]
    return f"; too hot: {', '.join(places)}" if places else ""


def _picture(flow: SheetFlow, result: JobResult, mesh: TriangleMesh, plan: PrintPlan, x: float, y: float) -> None:
    """The piece in print position in the middle of the bed."""
    bed = result.job.printer.bed
    turned = mesh.vertices @ plan.option.fit.rotation.T
    low, high = turned.min(axis=0), turned.max(axis=0)
    middle = 0.5 * (low + high)
    lying = TriangleMesh(turned - [middle[0] - 0.5 * bed[0], middle[1] - 0.5 * bed[1], low[2]], mesh.triangles)
    plate = box(np.zeros(3), np.eye(3), np.array([0.0, 0.0, -_PLATE]), np.array([bed[0], bed[1], 0.0]))
    everything = np.concatenate([_seen(plate.vertices), _seen(lying.vertices)])
    least, size = everything.min(axis=0), np.ptp(everything, axis=0)
    scale = float(np.min(np.array([_FIELD[0], _FIELD[1] - 2.0]) / size))
    shift = np.array([x + 0.5 * (_FIELD[0] - scale * size[0]), y + 8.0]) - scale * least
    flow.page.stretches(scale * line_view(joined([plate, lying]), _EYE) + shift, 0.25)
    option = plan.option
    size_said = " x ".join(f"{side:.0f}" for side in option.fit.size)
    fits = "fits" if option.fit.fits else "DOES NOT FIT"
    flow.page.text(f"{plan.piece}: {option.name}", (x, y + 4.0), TEXT, bold=True)
    flow.page.text(f"{size_said} mm, {fits} the bed of {bed[0]:g} x {bed[1]:g} x {bed[2]:g}", (x, y + 0.6), SMALL, color=GRAY)


def _seen(points: Array) -> Array:
    return np.asarray((points @ _EYE.T)[:, :2])


def _options(flow: SheetFlow, plan: PrintPlan, piece: Mapping[str, Any]) -> None:
    flow.heading(f"Options for the {plan.piece} piece", 24.0)
    rows = [
        (
            ("> " if index == piece["picked"] else "") + option["name"],
            f"{option['size_mm'][2]:.0f}",
            f"{min(option['room_left_mm']):+.0f}",
            f"{option['overhang_mm2'] / 100.0:.0f}",
            f"{option['support_room_mm3'] / 1000.0:.0f}",
            f"{option['first_layer_mm2']:.0f}" + (", brim" if option["brim"] else ""),
            f"{100.0 * option['strength_kept']:.0f} %, {option['layer_angle_deg']:.0f} deg",
            f"{option['grams']:.0f}",
            f"{option['hours']:.1f}",
        )
        for index, option in enumerate(piece["options"])
        if index < _SHOWN or index == piece["picked"]
    ]
    columns = (
        Column("orientation", 50.0),
        Column("height mm", 14.0, "right"),
        Column("room left mm", 15.0, "right"),
        Column("overhang cm2", 18.0, "right"),
        Column("room under it cm3", 18.0, "right"),
        Column("first layer mm2", 20.0, "right"),
        Column("strength kept, layer to pull", 23.0, "right"),
        Column("grams", 12.0, "right"),
        Column("hours", 12.0, "right"),
    )
    flow.table(columns, rows)
    flow.paragraph(f"Picked: {piece['options'][piece['picked']]['reason']}.", capital=_NOTE)
