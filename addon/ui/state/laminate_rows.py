# SPDX-License-Identifier: GPL-3.0-or-later
"""What the panel tells of a laminate."""

from __future__ import annotations

from ...core.job.job_sheet import Laminate
from ...core.plies.schedule import laminate_schedule, laminate_thickness
from ...core.tables.laminates import RESINS
from ...core.wall.job_laminate import laminate_mix
from ...pipeline.laminated import Laminated

_MM2_PER_M2 = 1e6


def laminate_rows(laminate: Laminate, laminated: Laminated | None) -> tuple[tuple[str, str], ...]:
    """Labels and values; of a square meter until the part is built. laminated : None before that"""
    mix = laminate_mix(laminate)
    thickness = ("Thickness", f"{laminate_thickness(laminate.plies, mix):.2f} mm")
    if laminated is None:
        areas = [_MM2_PER_M2] * len(laminate.plies)
        meter = laminate_schedule(laminate.plies, mix, areas, _MM2_PER_M2)
        return (thickness, ("Weight of a Square Meter", f"{meter.mass:.0f} g"))
    schedule, tire = laminated.schedule, laminated.tire
    rows = [
        thickness,
        ("Weight", f"{schedule.mass:.0f} g"),
        ("Resin to Mix", f"{schedule.resin:.0f} g"),
        (
            f"{RESINS[laminate.resin].hardener_name[:1].upper()}{RESINS[laminate.resin].hardener_name[1:]}",
            f"{schedule.hardener:.1f} g",
        ),
        ("Least Clearance", f"{tire.proof.min_mm:.1f} mm"),
        ("To Spare", f"{tire.proof.min_mm - tire.required_mm:.1f} mm"),
    ]
    for piece in laminated.drafts:
        name = "" if piece.name == "whole" else f", {piece.name[0].upper()}{piece.name[1:]}"
        rows.append((f"Least Draft{name}", f"{piece.draft.least:.1f} deg"))
        rows.append((f"Undercut{name}", f"{piece.draft.undercut / 100.0:.1f} cm2"))
    if schedule.gel_coat_mm > 0.0:
        rows.insert(4, ("Gel Coat", f"{schedule.gel_coat:.0f} g"))
    return tuple(rows)
