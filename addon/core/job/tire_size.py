# SPDX-License-Identifier: GPL-3.0-or-later
"""Nominal size of a tire, the largest new one of that size, and its radius at speed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..tables import tire_rules as rules
from .tire_code import TireCode


@dataclass(frozen=True)
class TireSize:
    """Sizes by the code alone, in mm; nothing measured.

    section_width : on the rim that is used; least_new_radius and largest_new_radius : limits for a new tire
    radius_at_speed : never under largest_new_radius; speed_factor : section height at speed over the design one
    basis : field name -> "published" or "from memory"; cautions : sentences for the report
    """

    section_height_mm: float
    rim_diameter_mm: float
    nominal_radius_mm: float
    section_width_mm: float
    least_new_radius_mm: float
    largest_new_radius_mm: float
    largest_new_width_mm: float
    radius_at_speed_mm: float
    speed_factor: float
    basis: Mapping[str, str]
    cautions: tuple[str, ...]


def tire_size(
    code: TireCode,
    use: str = "normal",
    rim_width_in: float | None = None,
    top_speed_kmh: float | None = None,
    measuring_rim_in: float | None = None,
) -> TireSize:
    """Sizes of a tire from its code.

    use : "normal", "snow" or "special"; a mark in the code that asks for more counts
    rim_width_in, measuring_rim_in : inches; the width is corrected where the rim used is wider than the measuring rim
    top_speed_kmh : chooses the growth at speed; else the speed symbol does; without either the highest row is taken
    Formulas: H = 0.01 S Ra and D = d + 2 H (UN R75 6.1, from memory; same arithmetic published by maxxis.com/uk and
    Bridgestone), rounded to 1 mm for metric sizes; inch sizes D = 25.4 (rim code + 2 w) (maxxis.com/uk). Limits and growth
    factors: UN R75 6.1.4, 6.1.5, Annex 9, all from memory. Rim width: ISO 5751-2:2010 5.2.
    """
    cautions: list[str] = []
    use = _harder_use(code.use, use)
    height, rim, width = _design_size(code, cautions)
    width_factor, height_factor, least_factor = _new_tire_factors(code.rim_code, use)
    speed_factor = _speed_factor(code, use, top_speed_kmh, cautions)
    widening = _widening(code, rim_width_in, measuring_rim_in, cautions)
    largest = rim / 2 + height_factor * height
    inch = code.kind == "inch"
    # the arithmetic of metric sizes is published; a table value of an inch size is only approached by it
    nominal_basis = rules.FROM_MEMORY if inch else rules.PUBLISHED
    return TireSize(
        section_height_mm=height,
        rim_diameter_mm=rim,
        nominal_radius_mm=rim / 2 + height,
        section_width_mm=width + widening,
        least_new_radius_mm=rim / 2 + least_factor * height,
        largest_new_radius_mm=largest,
        largest_new_width_mm=width_factor * width + widening,
        radius_at_speed_mm=max(largest, rim / 2 + speed_factor * height),
        speed_factor=speed_factor,
        basis=MappingProxyType(
            {
                "section_height_mm": nominal_basis,
                "rim_diameter_mm": rules.PUBLISHED,
                "nominal_radius_mm": nominal_basis,
                "section_width_mm": nominal_basis,
                "least_new_radius_mm": rules.FROM_MEMORY,
                "largest_new_radius_mm": rules.FROM_MEMORY,
                "largest_new_width_mm": rules.FROM_MEMORY,
                "radius_at_speed_mm": rules.FROM_MEMORY,
            }
        ),
        cautions=tuple(cautions),
    )


def round_half_up(value: float) -> float:
    """Nearest whole number, halves up, as sizes are rounded: 190 x 0.55 = 104.5 is printed as 105."""
    return math.floor(value + 0.5 + 1e-9)


def _harder_use(marked: str, stated: str) -> str:
    order = ("normal", "snow", "special")
    return order[max(order.index(marked), order.index(stated))]


def _design_size(code: TireCode, cautions: list[str]) -> tuple[float, float, float]:
    height = code.width_mm * code.aspect / 100
    rim = rules.MM_PER_INCH * code.rim_code
    if code.kind != "inch":
        return round_half_up(height), round_half_up(rim), code.width_mm
    cautions.append(
        f"The inch size {code.text} has its diameter and width in a table of the standard that is not at hand: the diameter is "
        f"computed and may be 10 mm off, and {rules.INCH_WIDTH_FACTOR:g} times the nominal width is taken; measure both."
    )
    return height, rim, code.width_mm * rules.INCH_WIDTH_FACTOR


def _new_tire_factors(rim_code: int, use: str) -> tuple[float, float, float]:
    if use == "special":
        return rules.WIDTH_FACTOR_SPECIAL, rules.HEIGHT_FACTOR_SPECIAL, rules.LEAST_HEIGHT_FACTOR_SPECIAL
    if rim_code <= rules.SMALL_RIM_CODE:
        return rules.WIDTH_FACTOR_SMALL_RIM, rules.HEIGHT_FACTOR_SMALL_RIM, rules.LEAST_HEIGHT_FACTOR_SMALL_RIM
    return rules.WIDTH_FACTOR, rules.HEIGHT_FACTOR, rules.LEAST_HEIGHT_FACTOR


def _speed_factor(code: TireCode, use: str, top_speed_kmh: float | None, cautions: list[str]) -> float:
    speed = top_speed_kmh
    if speed is None and code.speed_kmh is not None:
        # a symbol in brackets, and Z, say that the tire is capable of more than the symbol's speed
        speed = math.inf if code.beyond_symbol else code.speed_kmh
    if speed is None:
        cautions.append(
            f"Neither wheel.top_speed_kmh nor a speed symbol in {code.text} is stated: the growth of the fastest tires is taken."
        )
        speed = math.inf
    factor = next(factor for up_to, factor in rules.SPEED_ROWS if speed <= up_to)
    return factor if use == "normal" else factor + rules.SPEED_EXTRA_SPECIAL


def _widening(code: TireCode, rim_in: float | None, measuring_in: float | None, cautions: list[str]) -> float:
    if rim_in is None:
        return 0.0
    measuring = measuring_in or rules.MEASURING_RIM_IN.get((round(code.width_mm), round(code.aspect), code.rim_code))
    if measuring is None:
        cautions.append(
            f"The measuring rim of {code.text} is not in the table, so the width is not corrected for the {rim_in:g} inch rim; "
            "state tire.measuring_rim_in or measure the width."
        )
        return 0.0
    return rules.RIM_WIDTH_FACTOR * max(0.0, rim_in - measuring) * rules.MM_PER_INCH
