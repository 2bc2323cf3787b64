# SPDX-License-Identifier: GPL-3.0-or-later
"""Laminates as one material: rules of mixtures by hand."""

from __future__ import annotations

from numpy.testing import assert_allclose

from addon.core.job.job_sheet import Laminate
from addon.core.plies.schedule import laminate_schedule
from addon.core.stiffness.laminate_material import laminate_material
from addon.core.wall.job_laminate import laminate_mix


def test_mat_with_three_parts_of_glass_in_ten() -> None:
    """6.5 GPa by the line of class rules, 1428 kg/m3 without voids (fiber 2.56, resin 1.20), 85 MPa."""
    made = laminate_material(Laminate(plies=("CSM 450", "CSM 450"), route="buck", mat_ratio=7.0 / 3.0))
    assert_allclose(made.elastic.modulus_mpa, 6500.0, rtol=1e-9)
    assert_allclose(made.elastic.density_g_cm3, 1.428, atol=0.001)
    assert_allclose(made.strength_mpa, 85.0)


def test_cloth_half_glass_by_mass() -> None:
    """Fiber volume 0.3191: half of it along, 0.15955 x 72.4 + 0.84045 x 3.3 = 14.32 GPa; 1634 kg/m3."""
    made = laminate_material(Laminate(plies=("woven 300",), route="buck", cloth_ratio=1.0))
    assert_allclose(made.elastic.modulus_mpa, 14_325.0, rtol=1e-3)
    assert_allclose(made.elastic.density_g_cm3, 1.634, atol=0.001)
    assert_allclose(made.strength_mpa, 190.0)


def test_plies_and_gel_coat_count_by_their_thickness() -> None:
    laminate = Laminate(plies=("CSM 300", "woven 300"), route="mold", gel_coat=0.5)
    mat, cloth = (laminate_material(Laminate(plies=(name,), route="buck")) for name in laminate.plies)
    layers = laminate_schedule(laminate.plies, laminate_mix(laminate), [0.0, 0.0], 0.0).layers
    one, two = (layer.thickness for layer in layers)
    made = laminate_material(laminate)
    expected = (0.5 * 3300.0 + one * mat.elastic.modulus_mpa + two * cloth.elastic.modulus_mpa) / (0.5 + one + two)
    assert_allclose(made.elastic.modulus_mpa, expected, rtol=1e-9)
    assert made.strength_mpa == mat.strength_mpa


def test_carbon_is_stiffer_than_glass() -> None:
    glass, carbon = (
        laminate_material(Laminate(plies=(name,), resin="epoxy", route="buck")) for name in ("woven 200", "carbon woven 200")
    )
    assert carbon.elastic.modulus_mpa > 2.5 * glass.elastic.modulus_mpa
    assert carbon.elastic.density_g_cm3 < glass.elastic.density_g_cm3
