# SPDX-License-Identifier: GPL-3.0-or-later
"""What the report says of printing: the options of each piece, and the material."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..job.job_sheet import Job
from ..tables.materials import DENSITY, HEAT_LIMIT, HOT_PLACES, LAYER_STRENGTH, MODULUS_MPA, SHRINK, print_scale
from ..tables.printing_rules import OVERHANG_SOURCE, SPEED_SOURCE, SUPPORT_DENSITY, SUPPORT_SOURCE, flow_mm3_s, layer_height
from .print_plan import GRAMS_FORMULA, HOURS_FORMULA, RANK_RULES, PrintOption, PrintPlan
from .print_scale import scale_3mf


def print_report(job: Job, plans: Sequence[PrintPlan]) -> dict[str, Any]:
    """Settings, rules with their sources, material, and each piece's options, as JSON holds them."""
    return {
        "layer_height_mm": round(layer_height(job.printer.nozzle), 3),
        "flow_mm3_s": round(flow_mm3_s(job.printer.nozzle), 3),
        "flow_basis": SPEED_SOURCE,
        "overhang_basis": OVERHANG_SOURCE,
        "support_density": SUPPORT_DENSITY,
        "support_basis": SUPPORT_SOURCE,
        "grams_formula": GRAMS_FORMULA,
        "hours_formula": HOURS_FORMULA,
        "purpose": job.printer.purpose,
        "rank_rule": RANK_RULES[job.printer.purpose],
        "material": material_report(job.printer.material),
        "scale_3mf": round(scale_3mf(job), 6),
        "pieces": [
            {"piece": plan.piece, "picked": plan.picked, "options": [_option(option) for option in plan.options]}
            for plan in plans
        ],
    }


def material_report(material: str) -> dict[str, Any]:
    """Figures of a material, each with its basis; the scale that makes up for shrinkage; the places that are too hot for it."""
    figures = {
        "density_g_cm3": DENSITY,
        "heat_limit_c": HEAT_LIMIT,
        "shrink": SHRINK,
        "layer_strength_ratio": LAYER_STRENGTH,
        "modulus_mpa": MODULUS_MPA,
    }
    limit = HEAT_LIMIT[material][0]
    return {
        "name": material,
        **{name: {"value": table[material][0], "basis": table[material][1]} for name, table in figures.items()},
        "print_scale": round(print_scale(SHRINK[material][0]), 6),
        "too_hot": [{"place": place, "c": heat, "basis": basis} for place, heat, basis in HOT_PLACES if heat > limit],
    }


def print_cautions(job: Job, plans: Sequence[PrintPlan]) -> list[str]:
    """Sentences on heat, shrinkage and weak layers."""
    material = job.printer.material
    limit, basis = HEAT_LIMIT[material]
    shrink, shrink_basis = SHRINK[material]
    said = []
    hot = [f"{place} ({heat:.0f} C)" for place, heat, _ in HOT_PLACES if heat > limit]
    if hot:
        said.append(f"{material} holds its shape up to about {limit:.0f} C ({basis}); too hot for it: {', '.join(hot)}.")
    said.append(
        f"fender.3mf is scaled by {100.0 * scale_3mf(job):.2f} % because {material} shrinks by {100.0 * shrink:.2g} % "
        f"({shrink_basis}): let the slicer not do it again; the STL files have true size, and a printed bar of known length tells."
        if scale_3mf(job) != 1.0
        else f"All files have true size: scale the print by {100.0 * print_scale(shrink):.2f} % if your {material} shrinks by "
        f"{100.0 * shrink:.2g} % ({shrink_basis}) and the slicer does not do it already; a printed bar of known length tells."
    )
    said += [
        f"The {plan.piece} piece, printed {plan.option.name}, is {float(plan.option.fit.size[2]):.0f} mm high on a foot of "
        f"{plan.option.contact_mm2:.0f} mm2 and may topple: give it a raft and supports, or a bed that it can lie down on."
        for plan in plans
        if not plan.option.stands
    ]
    for plan in plans:
        layers = plan.option.layers
        if plan.option.is_weak:
            said.append(
                f"The {plan.piece} piece, printed {plan.option.name}, has layers across the pull at station "
                f"{round(layers.station_deg):+d}: it keeps {100.0 * layers.kept:.0f} % of the strength there; look at it there on the bike, often."
            )
    return said


def _option(option: PrintOption) -> dict[str, Any]:
    return {
        "name": option.name,
        "fits_bed": option.fit.fits,
        "size_mm": [round(float(side), 2) for side in option.fit.size],
        "room_left_mm": [round(float(side), 2) for side in option.room_left_mm],
        "overhang_mm2": round(option.overhang_mm2, 1),
        "overhang_seen_mm2": round(option.show_mm2, 1),
        "support_room_mm3": round(option.support_mm3, 0),
        "first_layer_mm2": round(option.contact_mm2, 1),
        "brim": option.brim,
        "strength_kept": round(option.layers.kept, 3),
        "layer_angle_deg": round(option.layers.angle_deg, 1),
        "weakest_station_deg": round(option.layers.station_deg, 1),
        "grams": round(option.grams, 1),
        "hours": round(option.hours, 2),
        "reason": option.reason,
    }
