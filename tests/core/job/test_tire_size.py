# SPDX-License-Identifier: GPL-3.0-or-later
"""Tire sizes against published arithmetic, and against limits that are from memory (said beside each)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.core.job.tire_code import parse_tire_code
from addon.core.job.tire_size import TireSize, tire_size
from addon.core.tables.tire_rules import RIM_WIDTH_FACTOR
from addon.core.tire.speed_growth import speed_growth


def sized(text: str, use: str = "normal", rim: float | None = None, speed: float | None = None) -> TireSize:
    return tire_size(parse_tire_code(text), use, rim, speed)


@pytest.mark.parametrize(
    ("text", "height"),
    [
        ("190/55 ZR17", 105),  # T4, bridgestone.co.jp
        ("110/90-18", 99),  # T5, maxxis.com/uk
        ("180/55 ZR17", 99),  # T6, richtonetyres.com
        ("120/70-17", 84),  # T7, blackcircles
        ("130/90-16", 117),  # T8, tonupboys
    ],
)
def test_section_height_is_the_published_whole_number(text: str, height: float) -> None:
    assert sized(text).section_height_mm == height


@pytest.mark.parametrize(
    ("text", "diameter"), [("120/100-18", 697.2), ("120/90-18", 673.2), ("120/80-18", 649.2)]
)  # T1 to T3, maxxis.com/uk, with the rim diameter not rounded
def test_outer_diameter_by_the_unrounded_rule(text: str, diameter: float) -> None:
    size = sized(text)
    assert 2 * size.nominal_radius_mm - size.rim_diameter_mm + 25.4 * 18 == pytest.approx(diameter, abs=0.05)


@pytest.mark.parametrize(
    ("text", "diameter"),
    [("190/55 ZR17", 642), ("180/55 ZR17", 630), ("120/70-17", 600), ("130/90-16", 640), ("90/90-21", 695), ("100/90-19", 663)],
)  # T4 published by bridgestone.co.jp, the others computed from the same rule (facts 1.5)
def test_outer_diameter(text: str, diameter: float) -> None:
    assert 2 * sized(text).nominal_radius_mm == diameter


@pytest.mark.parametrize(("code", "diameter"), [(10, 254), (12, 305), (17, 432), (18, 457), (19, 483), (21, 533)])
def test_t14_rim_diameters(code: int, diameter: float) -> None:
    assert sized(f"100/90-{code}").rim_diameter_mm == diameter  # 25.4 rule maxxis.com/uk, rounding from memory


@pytest.mark.parametrize(("text", "height"), [("4.25/85-18", 91.8), ("4.10-19", 93.7), ("3.50-18", 88.9)])
def test_t11_inch_section_heights(text: str, height: float) -> None:
    assert sized(text).section_height_mm == pytest.approx(height, abs=1.3)  # maxxis.com/uk, printed to 0.1 inch


@pytest.mark.parametrize(
    ("text", "diameter"),
    [("3.25-19", 647.7), ("3.00-18", 609.6), ("3.50-18", 635.0), ("4.00-18", 660.4), ("2.75-17", 571.5), ("3.00-21", 685.8)],
)
def test_inch_stop_gap_diameter_warns(text: str, diameter: float) -> None:
    size = sized(text)
    assert 2 * size.nominal_radius_mm == pytest.approx(diameter, abs=0.05)  # rule of maxxis.com/uk (facts 1.6)
    assert any("10 mm off" in caution for caution in size.cautions)
    assert size.basis["nominal_radius_mm"] == "from memory"


def test_inch_width_is_taken_wider_than_its_name() -> None:
    assert sized("3.25-19").section_width_mm == pytest.approx(1.08 * 82.55)  # facts 1.6, judgement


@pytest.mark.parametrize(
    ("text", "use", "largest_diameter", "width", "at_speed"),
    [
        ("120/70 ZR17 58W", "normal", 611.8, 132.0, 313.4),  # T15
        ("180/55 ZR17 73W", "normal", 643.9, 198.0, 330.8),  # T16
        ("90/90-21 54H", "normal", 706.3, 99.0, 358.0),  # T17
        ("90/90-21 54H", "special", None, 112.5, 362.1),  # T17
        ("100/90-19 57P", "normal", 675.6, 110.0, 340.5),  # T18
        ("120/70-12 51P", "normal", 489.8, 129.6, 244.9),  # T19
    ],
)
def test_t15_to_t19_limits_from_memory(
    text: str, use: str, largest_diameter: float | None, width: float, at_speed: float
) -> None:
    """UN R75 6.1.4, 6.1.5 and Annex 9, all from memory: to be confirmed against the text."""
    size = sized(text, use)
    if largest_diameter is not None:
        assert 2 * size.largest_new_radius_mm == pytest.approx(largest_diameter, abs=0.1)
    assert size.largest_new_width_mm == pytest.approx(width, abs=0.1)
    assert size.radius_at_speed_mm == pytest.approx(at_speed, abs=0.1)
    assert size.basis["radius_at_speed_mm"] == "from memory"


def test_t19_least_diameter_of_a_small_rim_from_memory() -> None:
    assert 2 * sized("120/70-12").least_new_radius_mm == pytest.approx(461.2, abs=0.1)


def test_t13_wider_rim_widens_the_tire() -> None:
    """K = 0.4, ISO 5751-2:2010 5.2: 5.08 mm on a rim 12.7 mm wider; the measuring rim of 120/70-17 is from memory."""
    assert RIM_WIDTH_FACTOR == 0.4
    plain, wide = sized("120/70 ZR17", rim=3.5), sized("120/70 ZR17", rim=4.0)
    assert wide.section_width_mm - plain.section_width_mm == pytest.approx(5.08, abs=0.01)
    assert wide.largest_new_width_mm - plain.largest_new_width_mm == pytest.approx(5.08, abs=0.01)
    assert sized("120/70 ZR17", rim=3.0).section_width_mm == 120.0  # never narrower than its name
    stated = tire_size(parse_tire_code("110/80-18"), rim_width_in=3.0, measuring_rim_in=2.5)
    assert stated.section_width_mm == pytest.approx(115.08, abs=0.01)


def test_unknown_measuring_rim_is_a_caution() -> None:
    assert any("measuring rim" in caution for caution in sized("110/80-18", rim=3.0).cautions)


def test_t20_growth_law() -> None:
    """MF-Tyre free radius, Besselink et al. 2010 equation 1; the coefficient is only illustrative."""
    assert speed_growth(300.0, 300.0) == pytest.approx(5.70, abs=0.02)
    assert speed_growth(300.0, 210.0) == pytest.approx(2.79, abs=0.02)


def test_speed_row_by_top_speed_else_symbol_else_highest() -> None:
    assert sized("120/70 ZR17 (58W)", speed=150).speed_factor == 1.10
    assert sized("120/70-17 58H").speed_factor == 1.13
    assert sized("120/70-17 (58H)").speed_factor == 1.16  # brackets: capable of more
    assert sized("120/70 ZR17").speed_factor == 1.16  # Z: over 240
    assert sized("120/70-17 58J").speed_factor == 1.10  # below P the P row
    unknown = sized("120/70-17")
    assert unknown.speed_factor == 1.16
    assert any("speed symbol" in caution for caution in unknown.cautions)


def test_a_mark_in_the_code_asks_for_more() -> None:
    assert sized("90/90-21 54H MST").largest_new_width_mm == sized("90/90-21 54H", "special").largest_new_width_mm


SPEEDS = st.floats(10, 400)
SIZES = st.tuples(st.integers(60, 240), st.integers(40, 100), st.integers(8, 23))


@given(SIZES, st.sampled_from(["normal", "snow", "special"]), SPEEDS, SPEEDS)
def test_p1_more_speed_never_shrinks(size: tuple[int, int, int], use: str, one: float, other: float) -> None:
    text = f"{size[0]}/{size[1]}-{size[2]}"
    slow, fast = (sized(text, use, speed=speed) for speed in sorted((one, other)))
    assert slow.radius_at_speed_mm <= fast.radius_at_speed_mm
    assert slow.largest_new_width_mm == fast.largest_new_width_mm


@given(SIZES, st.sampled_from(["normal", "snow", "special"]), st.floats(2, 8), st.floats(2, 8))
def test_p1_wider_rim_never_shrinks(size: tuple[int, int, int], use: str, one: float, other: float) -> None:
    code = parse_tire_code(f"{size[0]}/{size[1]}-{size[2]}")
    narrow, wide = (tire_size(code, use, rim, None, 3.0) for rim in sorted((one, other)))
    assert narrow.largest_new_width_mm <= wide.largest_new_width_mm


@given(SIZES, SPEEDS)
def test_p2_sizes_are_nested(size: tuple[int, int, int], speed: float) -> None:
    for use in ("normal", "snow", "special"):
        got = sized(f"{size[0]}/{size[1]}-{size[2]}", use, speed=speed)
        assert got.least_new_radius_mm <= got.nominal_radius_mm <= got.largest_new_radius_mm <= got.radius_at_speed_mm
        assert got.section_width_mm <= got.largest_new_width_mm


@given(SIZES, SPEEDS)
def test_p1_harder_use_never_shrinks_the_envelope(size: tuple[int, int, int], speed: float) -> None:
    normal, snow, special = (sized(f"{size[0]}/{size[1]}-{size[2]}", use, speed=speed) for use in ("normal", "snow", "special"))
    assert normal.radius_at_speed_mm <= snow.radius_at_speed_mm <= special.radius_at_speed_mm
    assert normal.largest_new_width_mm <= snow.largest_new_width_mm <= special.largest_new_width_mm
