# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminate schedule against published figures and worked examples."""

from dataclasses import replace

import pytest

from addon.core.plies.ply_fractions import fiber_mass_fraction, fiber_volume_fraction, laminate_density, ply_thickness
from addon.core.plies.schedule import Mix, laminate_schedule, laminate_thickness, usual_hardener
from addon.core.tables.laminates import GEL_COAT_DENSITY, PLIES, RESINS

MIX = Mix("polyester", 2.5, 1.0, 2.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("areal", "ratio", "thickness", "volume"),
    [
        (300.0, 2.0, 0.6173, 0.1899),
        (300.0, 2.5, 0.7422, 0.1579),
        (450.0, 2.0, 0.9259, 0.1899),
        (450.0, 2.25, 1.0195, 0.1724),
        (450.0, 1.0 / 0.3 - 1.0, 1.0508, 0.1673),
        (450.0, 2.5, 1.1133, 0.1579),
        (450.0, 3.0, 1.3008, 0.1351),
        (600.0, 2.5, 1.4845, 0.1579),
        (200.0, 1.0, 0.2448, 0.3191),
        (300.0, 1.0, 0.3672, 0.3191),
    ],
)
def test_void_free_plies_of_glass_in_polyester(areal: float, ratio: float, thickness: float, volume: float) -> None:
    fraction = fiber_mass_fraction(ratio)
    assert ply_thickness(areal, fraction, 2.56, 1.20) == pytest.approx(thickness, abs=5e-4)
    assert fiber_volume_fraction(fraction, 2.56, 1.20) == pytest.approx(volume, abs=5e-4)


def test_published_prepreg() -> None:
    """compositecalculator.com: 225 g/m2 in all, 0.6778 of it carbon of 1.79, resin 1.25: 0.143 mm."""
    fiber = 0.6778 * 225.0
    assert ply_thickness(fiber, 0.6778, 1.79, 1.25) == pytest.approx(0.1432, abs=5e-4)
    assert fiber_volume_fraction(0.6778, 1.79, 1.25) == pytest.approx(0.5950, abs=5e-4)
    assert fiber / (1000.0 * 1.79 * 0.5950) == pytest.approx(0.1432, abs=5e-4)


def test_form_of_the_class_societies() -> None:
    """t = W / 3.072 (2.56 / p - 1.36) is the rule of mixtures for 2.56 and 1.20."""
    for fraction in (0.25, 0.3, 0.5):
        assert ply_thickness(450.0, fraction, 2.56, 1.20) == pytest.approx(0.45 / 3.072 * (2.56 / fraction - 1.36), abs=1e-9)


def test_thickness_times_density_is_the_mass() -> None:
    for fraction in (0.25, 0.3, 0.6):
        mass = ply_thickness(450.0, fraction, 2.56, 1.15) * laminate_density(fraction, 2.56, 1.15) * 1000.0
        assert mass == pytest.approx(450.0 / fraction, rel=1e-12)


def test_resin_and_catalyst_of_a_square_meter() -> None:
    """Two mats of 450 g/m2 at 2.5: 2.25 kg of resin; 1 % of catalyst is 22.5 g, 2 % are 45 g."""
    two = laminate_schedule(["CSM 450", "CSM 450"], replace(MIX, hardener=1.0), [1e6, 1e6], 1e6)
    assert (two.resin, two.hardener) == pytest.approx((2250.0, 22.5), abs=1e-9)
    assert laminate_schedule(["CSM 450", "CSM 450"], MIX, [1e6, 1e6], 1e6).hardener == pytest.approx(45.0, abs=1e-9)
    assert two.mass == pytest.approx(2250.0 + 900.0)


def test_gel_coat_of_a_square_meter() -> None:
    """0.5 mm at 1.2 g/cm3 are 600 g/m2; 1 kg over 1.6 m2 is 625 g/m2, 0.521 mm."""
    coat = laminate_schedule(["CSM 300"], replace(MIX, gel_coat=0.5), [1e6], 1e6)
    assert coat.gel_coat == pytest.approx(600.0)
    assert coat.gel_coat_catalyst == pytest.approx(12.0)
    assert 1e6 / 1.6 / (GEL_COAT_DENSITY * 1000.0) / 1000.0 == pytest.approx(0.521, abs=1e-3)
    assert coat.thickness == pytest.approx(0.5 + 0.7422, abs=5e-4)


def test_waste_adds_to_what_is_mixed_and_not_to_the_part() -> None:
    plain = laminate_schedule(["CSM 450", "woven 200"], replace(MIX, gel_coat=0.5), [5e4, 6e4], 7e4)
    more = laminate_schedule(["CSM 450", "woven 200"], replace(MIX, gel_coat=0.5, waste=0.2), [5e4, 6e4], 7e4)
    assert more.mass == plain.mass
    for name in ("resin", "hardener", "gel_coat", "fiber", "gel_coat_catalyst"):
        assert getattr(more, name) == pytest.approx(1.2 * getattr(plain, name))
    assert plain.layers[0].fiber == pytest.approx(450.0 * 0.05)
    assert plain.layers[1].resin == pytest.approx(200.0 * 0.06)


def test_hardener_of_epoxy_is_part_of_what_cures() -> None:
    epoxy = laminate_schedule(["woven 200"], Mix("epoxy", 2.5, 1.0, 30.0, 0.0, 0.0), [1e6], 1e6)
    assert epoxy.resin + epoxy.hardener == pytest.approx(200.0)
    assert epoxy.hardener == pytest.approx(0.3 * epoxy.resin)
    assert epoxy.thickness == pytest.approx(0.2520, abs=5e-4)


@pytest.mark.parametrize(("temperature", "percent"), [(25.0, 1.0), (20.0, 1.0), (18.0, 2.0), (14.0, 3.0), (8.0, 3.0)])
def test_catalyst_by_temperature(temperature: float, percent: float) -> None:
    assert usual_hardener("polyester", temperature) == percent


def test_tables_hold_together() -> None:
    for name, ply in PLIES.items():
        assert ply.kind in ("mat", "woven", "biaxial") and ply.fiber in ("glass", "carbon")
        assert name.endswith(f"{ply.areal:g}")
        assert 0.1 < laminate_thickness([name], MIX) < 1.6
    for resin in RESINS.values():
        least, usual, most = resin.hardener
        assert least <= usual <= most and (most <= 3.0 or not resin.styrene)
