# SPDX-License-Identifier: GPL-3.0-or-later
"""What report.json says of stiffness, and the cautions that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ..base.arrays import Array
from ..base.format_place import format_place
from ..base.wheel_axes import station_of
from ..clearance.budget import budget
from ..job.job_sheet import Job
from ..tables.materials import LAYER_STRENGTH, MODULUS_MPA
from ..tables.strength.stiffness_rules import (
    DRAG_SOURCE,
    ENGINE_RPM,
    ENGINE_SOURCE,
    HAND_PUSH_N,
    HAND_PUSH_SOURCE,
    LAMINATE_BASIS,
    LAYER_MODULUS,
    LEAST_RESERVE,
    STRENGTH_MPA,
    WHEEL_MARGIN,
    WHEEL_SOURCE,
)
from ..tire.job_tire import static_radius
from .fender_stiffness import FenderStiffness
from .job_material import top_speed_kmh

_ROUNDING_MM = 0.05
_SHAKEN = 3
"""So many of the lowest frequencies are compared with the engine."""


@dataclass(frozen=True, eq=False)
class JobStiffness:
    """Of the print, and of the laminated part, None where none is planned."""

    printed: FenderStiffness
    laminated: FenderStiffness | None

    @property
    def final(self) -> FenderStiffness:
        """Of the part that is ridden."""
        return self.printed if self.laminated is None else self.laminated


def wheel_hz(job: Job) -> float | None:
    """How often the wheel turns in a second at top speed; None where that is not known."""
    speed = top_speed_kmh(job)
    return None if speed is None else speed / 3.6 / (2.0 * np.pi * static_radius(job) / 1000.0)


def stiffness_report(job: Job, made: JobStiffness) -> dict[str, Any]:
    """The report's part on stiffness: "print", "laminate" where one is planned, and what loads and bands are taken.

    The layers of a laminate are pulled along, so that its stress is the greatest in any direction, and its strength that of its plies.
    """
    turning = wheel_hz(job)
    parts = {"print": {**_part(made.printed), "material": _print_material(job)}}
    if made.laminated is not None:
        parts["laminate"] = {**_part(made.laminated), "material": _laminate_material(made.laminated)}
    return {
        **parts,
        "speed_kmh": top_speed_kmh(job),
        "wheel_hz": None if turning is None else round(turning, 2),
        "engine_hz": [round(rpm / 60.0, 1) for rpm in ENGINE_RPM],
        "push_basis": HAND_PUSH_SOURCE,
        "drag_basis": DRAG_SOURCE,
        "wheel_basis": WHEEL_SOURCE,
        "engine_basis": ENGINE_SOURCE,
    }


def stiffness_cautions(job: Job, made: JobStiffness) -> list[str]:
    """Sentences for the builder: what is too soft, too weak, or shaken. Layers are those of the print, the rest is of the final part."""
    return [*_flex_caution(job, made.final), *_stress_caution(made.printed), *_shake_cautions(job, made.final)]


def _part(part: FenderStiffness) -> dict[str, Any]:
    return {
        "elements": len(part.mesh.triangles),
        "change_from_half": round(part.change, 4),
        "tips": [
            {"name": tip.name, "push_n": HAND_PUSH_N, "deflection_mm": round(tip.mm, 3), "at": _place(tip.place)}
            for tip in part.tips
        ],
        "drag_n": round(part.drag_n, 2),
        "drag_mm": None if part.drag_mm is None else round(part.drag_mm, 3),
        "flex_mm": round(part.flex_mm, 3),
        "frequencies_hz": [round(float(value), 2) for value in part.modes.frequencies_hz],
        "layer_stress_mpa": round(part.stress.mpa, 3),
        "layer_stress_at": _place(part.stress.place),
        "layer_strength_mpa": round(part.stress.strength_mpa, 3),
    }


def _print_material(job: Job) -> dict[str, Any]:
    name = job.printer.material
    figures = {
        "modulus_mpa": MODULUS_MPA[name],
        "layer_modulus_ratio": LAYER_MODULUS[name],
        "strength_mpa": STRENGTH_MPA[name],
        "layer_strength_ratio": LAYER_STRENGTH[name],
    }
    return {"name": name, **{key: {"value": value, "basis": basis} for key, (value, basis) in figures.items()}}


def _laminate_material(laminated: FenderStiffness) -> dict[str, Any]:
    material = laminated.material
    return {
        "modulus_mpa": {"value": round(material.modulus_mpa), "basis": LAMINATE_BASIS},
        "strength_mpa": {"value": round(laminated.stress.strength_mpa, 1), "basis": LAMINATE_BASIS},
        "density_g_cm3": {"value": round(material.density_g_cm3, 3), "basis": LAMINATE_BASIS},
    }


def _place(point: Array) -> dict[str, float]:
    return {"station_deg": round(float(station_of(point)), 2), "x_mm": round(float(point[0]), 2)}


def _flex_caution(job: Job, final: FenderStiffness) -> list[str]:
    stated = job.clearance.flex
    counted = budget(job).flex_mm
    if final.flex_mm <= counted + _ROUNDING_MM:
        return []
    softest = max(final.tips, key=lambda tip: tip.mm)
    said = (
        f"The part comes {final.flex_mm:.1f} mm nearer to the wheel when pushed with {HAND_PUSH_N:g} N at its {softest.name} tip, or "
        f"in the wind; the budget counts {counted:.1f} mm of fender flex"
    )
    if stated is not None:
        return [f"{said}, as stated."]
    return [f"{said}, for there is no room for more: make it stiffer with ribs, wall or a further seat, or mount it higher."]


def _stress_caution(printed: FenderStiffness) -> list[str]:
    stress = printed.stress
    if stress.mpa * LEAST_RESERVE <= stress.strength_mpa:
        return []
    said = (
        f"A push of {HAND_PUSH_N:g} N at a tip pulls the layers apart with {stress.mpa:.1f} MPa {format_place(stress.place)}; they bear "
        f"{stress.strength_mpa:.1f}: print it another way up, or make the wall thicker."
    )
    return [said]


def _shake_cautions(job: Job, final: FenderStiffness) -> list[str]:
    said = []
    hertz = final.modes.frequencies_hz
    turning = wheel_hz(job)
    if turning is not None and hertz[0] < WHEEL_MARGIN * turning:
        said.append(
            f"The fender swings {hertz[0]:.0f} times a second, the wheel turns {turning:.0f} times at top speed: an unbalanced wheel "
            "can shake it to pieces; make it stiffer with ribs, a thicker wall or a further seat."
        )
    low, high = (rpm / 60.0 for rpm in ENGINE_RPM)
    shaken = [value for value in hertz[:_SHAKEN] if low <= value <= high]
    if shaken:
        rounds = " and ".join(f"{60.0 * value:,.0f}" for value in shaken)
        said.append(
            f"An engine that turns {rounds} times a minute shakes the fender at a frequency of its own (common practice: road engines "
            f"run at {ENGINE_RPM[0]:,.0f} to {ENGINE_RPM[1]:,.0f} most): feel for it on the first ride, and add ribs or a seat if it hums."
        )
    return said
