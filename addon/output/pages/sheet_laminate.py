# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminate on the build sheet: what it takes, in which order it is laid, and what not to breathe."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...core.job.job_sheet import Laminate
from ...core.laminate.laminate_cautions import air_limits, laminate_cautions
from ...core.laminate.work_order import work_order
from ...core.mesh.triangle_mesh import joined
from ...core.tables.exposure_limits import PROTECTION
from ...core.tables.laminates import PLIES, RESINS
from ...core.views.line_view import line_view
from ...pipeline.job_result import JobResult
from ...pipeline.laminated import Laminated
from .sheet_flow import GRAY, MARGIN, SMALL, WIDTH, Column, SheetFlow

_FIELD = (100.0, 58.0)
_A, _B = np.radians(35.0), np.radians(28.0)
_EYE = np.array(
    [
        [np.cos(_A), np.sin(_A), 0.0],
        [-np.sin(_A) * np.sin(_B), np.cos(_A) * np.sin(_B), np.cos(_B)],
        [np.sin(_A) * np.cos(_B), -np.cos(_A) * np.cos(_B), np.sin(_B)],
    ]
)
"""Plug or buck seen from the front left and above: rows right, up, toward the eye."""


def draw_laminate(
    flow: SheetFlow, result: JobResult, laminate: Laminate, laminated: Laminated, report: Mapping[str, Any]
) -> None:
    """report : of the whole job, with "laminate" """
    found = report["laminate"]
    _facts(flow, laminate, found, report)
    _plies(flow, laminated, found)
    _mix(flow, laminate, found)
    _solids(flow, laminate, laminated, found)
    _edge_and_sleeves(flow, laminate, found)
    flow.heading("Order of work")
    flow.numbered(work_order(laminate, laminated.schedule, result.job.printer.material))
    flow.paragraph("Times are from memory, for about 18 C; the can comes first.", color=GRAY)
    _safety(flow, result, laminate)


def _facts(flow: SheetFlow, laminate: Laminate, found: Mapping[str, Any], report: Mapping[str, Any]) -> None:
    route = (
        "the print is the plug, a mold is taken off it" if laminate.route == "mold" else "laid over the print, which is the buck"
    )
    clear = found["final_clearance"]
    printed = sum(piece["mass_g"] for piece in report["halves"])
    rows = [
        ("route", f"{laminate.route}: {route}"),
        ("part", f"{found['thickness_mm']:.2f} mm thick, {found['fiber_mass_fraction'] * 100.0:.0f} % fiber by mass, no voids assumed"),
        ("weight", f"{found['mass_g']:.0f} g laminated, {printed:.0f} g printed ({report['job']['printer']['material']}, full), without bolts and paint"),
        (
            "clearance",
            (f"{clear['min_mm']:.1f} mm from the laminated part to the tire at its largest, proven over {clear['proven_min_mm']:.1f}; "
            f"required {clear['required_mm']:.1f}"),
        ),
    ]  # fmt: skip
    flow.table((Column("", 22.0), Column("", WIDTH - 22.0)), rows)


def _plies(flow: SheetFlow, laminated: Laminated, found: Mapping[str, Any]) -> None:
    flow.heading("Plies, from the face that is seen inward", 20.0)
    rows = [
        (
            str(number),
            layer.name,
            PLIES[layer.name].fiber,
            f"{layer.area / 100.0:.0f}",
            f"{layer.fiber:.0f}",
            f"{layer.resin:.0f}",
            f"{layer.thickness:.2f}",
            f"{100.0 * layer.volume:.0f}",
        )
        for number, layer in enumerate(laminated.schedule.layers, start=1)
    ]
    fiber, resin = (sum(getattr(layer, name) for layer in laminated.schedule.layers) for name in ("fiber", "resin"))
    rows.append(
        ("", "all plies", "", "", f"{fiber:.0f}", f"{resin:.0f}", f"{found['thickness_mm'] - found['gel_coat_mm']:.2f}", "")
    )
    columns = (
        Column("", 8.0),
        Column("ply, g/m2", 44.0),
        Column("fiber", 22.0),
        Column("area cm2", 22.0, "right"),
        Column("fiber g", 22.0, "right"),
        Column("resin g", 22.0, "right"),
        Column("thick mm", 21.0, "right"),
        Column("fiber % vol", 21.0, "right"),
    )
    flow.table(columns, rows, bold_from=len(rows) - 1)


def _mix(flow: SheetFlow, laminate: Laminate, found: Mapping[str, Any]) -> None:
    flow.heading(f"To weigh out, with {100.0 * found['waste']:.0f} % for waste", 18.0)
    hardener = RESINS[laminate.resin].hardener_name
    percent = 100.0 * found["hardener_g"] / found["resin_g"]
    rows = [
        (laminate.resin, f"{found['resin_g']:.0f} g", f"{found['hardener_g']:.1f} g of {hardener}, {percent:.1f} % ({found['hardener_basis']})")
    ]  # fmt: skip
    if found["gel_coat_mm"] > 0.0:
        rows.append(
            (
                "gel coat",
                f"{found['gel_coat_g']:.0f} g",
                f"{found['gel_coat_hardener_g']:.1f} g of {hardener}, {found['gel_coat_mm']:g} mm thick",
            )
        )
    flow.table((Column("what", 40.0), Column("mass", 30.0, "right"), Column("with", WIDTH - 70.0)), rows)


def _solids(flow: SheetFlow, laminate: Laminate, laminated: Laminated, found: Mapping[str, Any]) -> None:
    """What is printed for it, as a picture and a table, and how it comes off."""
    flow.heading(f"The {laminated.solids[0].body}: files in laminate/", _FIELD[1] + 10.0)
    bottom = flow.room(_FIELD[1] + 2.0)
    whole = joined([solid.part.mesh for solid in laminated.solids if solid.body == laminated.solids[0].body])
    lines = line_view(whole, _EYE)
    flat = (whole.vertices @ _EYE.T)[:, :2]
    low, size = flat.min(axis=0), np.ptp(flat, axis=0)
    scale = float(np.min(np.array(_FIELD) / size))
    flow.page.stretches(scale * lines + np.array([MARGIN, bottom]) - scale * low, 0.2)
    rows = [
        (piece["file"].split("/")[-1], " x ".join(f"{side:.0f}" for side in piece["print_size_mm"]), f"{piece['mass_g']:.0f} g")
        for piece in found["pieces"]
    ]
    x = MARGIN + _FIELD[0] + 6.0
    for number, (name, print_size, mass) in enumerate(rows):
        y = bottom + _FIELD[1] - 4.0 - 4.2 * number
        flow.page.text(name, (x, y), SMALL)
        flow.page.text(f"{print_size} mm, {mass}", (x + 32.0, y), SMALL)
    draft = found["draft"]
    pull = ", ".join(f"{round(value, 2) + 0.0:.2f}" for value in draft["pull"])
    said = (
        f"Pulled along ({pull}) in wheel axes ({draft['pull_basis']}), it has {draft['least_deg']:.1f} deg of draft at least and "
    )
    said += f"{draft['undercut_cm2']:.1f} cm2 of undercut."
    if laminate.pieces == 2:
        said = "The left piece of the mold, and its mirror image the right one: " + said[0].lower() + said[1:]
    if laminate.route == "mold":
        said += f" It is {100.0 * found['shrink']:.2g} % larger than the part, which shrinks."
    flow.paragraph(said)
    if "patterns" in found:
        sets = "; ".join(
            f"{each['name']}: {each['gores']} for plies {', '.join(map(str, each['plies']))}"
            for each in found["patterns"]["sets"]
        )
        flow.paragraph(
            f"Patterns of the plies, 1:1 in plies_A4.pdf, plies_Letter.pdf and plies.svg: {sets}. They are strained by "
            f"{100.0 * found['patterns']['strain']:.1f} % at most and overlap by {found['patterns']['overlap_mm']:g} mm."
        )


def _edge_and_sleeves(flow: SheetFlow, laminate: Laminate, found: Mapping[str, Any]) -> None:
    edges = {
        "trim": "The edge is cut at the scribed line, sanded round and sealed with resin.",
        "return": f"The edge is turned out into a flange of {laminate.edge_size:g} mm past its bend, cut at the scribed line.",
        "roll": "The edge is rolled out in a bend and cut at the scribed line at its end.",
    }
    flow.heading("Edge and bolts of the part", 18.0)
    flow.paragraph(edges[laminate.edge])
    rows = [
        (
            each["name"],
            f"{each['count']} x {each['thread']}",
            f"{each['outer']:g} / {each['inner']:g}",
            f"{each['length']:.1f}",
            f"{each['outer']:g}",
            f"{2 * each['count']} x {each['washer']:g}",
        )
        for each in found["sleeves"]
    ]
    columns = (
        Column("seat", 40.0),
        Column("screws", 24.0),
        Column("sleeve, outer / inner mm", 40.0, "right"),
        Column("length mm", 24.0, "right"),
        Column("drill mm", 20.0, "right"),
        Column("large washers, ISO 7093", 34.0, "right"),
    )
    flow.table(columns, rows)


def _safety(flow: SheetFlow, result: JobResult, laminate: Laminate) -> None:
    flow.heading("Before resin is poured")
    flow.bullets([*PROTECTION, *laminate_cautions(result.job)[2:]])
    flow.heading("What may be in the air", 20.0)
    rows = [(limit.substance, limit.limit, limit.source, limit.basis) for limit in air_limits(laminate)]
    flow.table((Column("substance", 24.0), Column("limit", 78.0), Column("from", 56.0), Column("basis", 24.0)), rows)
    flow.paragraph("Limits differ by country and change: the data sheet of the can and local rules come first.", color=GRAY)
