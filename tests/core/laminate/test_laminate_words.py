# SPDX-License-Identifier: GPL-3.0-or-later
"""What is told of a laminate: cautions, order of work, the report."""

from dataclasses import replace

import pytest

from addon.core.clearance.proof import Proof
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.laminate.laminate_cautions import air_limits, laminate_cautions
from addon.core.laminate.laminate_report import laminate_report
from addon.core.laminate.laminated_part import part_schedule
from addon.core.laminate.work_order import work_order
from tests.core.laminate.scenes import job_of, scene


def cautions_of(name: str, material: str = "PETG", **laminate: object) -> str:
    data = job_to_dict(job_of(name, **laminate))
    data["printer"]["material"] = material
    return "\n".join(laminate_cautions(parse_job(data)))


def test_limits_are_told_with_their_sources() -> None:
    told = cautions_of("front_mold")
    assert "Styrene 100 ppm over a working day" in told and "29 CFR 1910.1000" in told
    assert "MEKP 0.2 ppm" in told and "10 ppm over a working day" not in told  # what is from memory is not cited as published
    epoxy = cautions_of("rear_buck")
    assert "Styrene" not in epoxy and "Glass fiber 3 fibers/cm3" in epoxy
    laminate = job_of("front_mold").laminate
    assert laminate is not None and {limit.substance for limit in air_limits(laminate)} == {"Styrene", "MEKP", "Glass fiber"}


def test_styrene_on_abs_and_asa_needs_a_barrier() -> None:
    assert "Styrene dissolves ASA" in cautions_of("front_mold", "ASA")
    assert "Styrene dissolves" not in cautions_of("front_mold", "PETG") + cautions_of("rear_buck", "ASA")


def test_heat_cold_and_hardener_from_memory() -> None:
    assert "The print of PLA holds its shape up to about 50 C" in cautions_of("front_mold", "PLA")
    assert "warm it" in cautions_of("front_mold", temperature=12.0)
    assert "no allowed amount of catalyst" in cautions_of("front_mold", temperature=8.0)
    assert "workshop of" not in cautions_of("front_mold", temperature=18.0)
    assert "from memory: state what the can says" not in cautions_of("rear_buck")
    data = job_to_dict(job_of("rear_buck"))
    del data["laminate"]["hardener"]
    assert "state what the can says" in "\n".join(laminate_cautions(parse_job(data)))


def test_masses_of_the_steps_add_up_to_what_is_weighed_out() -> None:
    for name in ("front_mold", "rear_buck"):
        found = scene(name)
        laminate = found.job.laminate
        assert laminate is not None
        schedule = part_schedule(laminate, found.wall)
        steps = [step for step in work_order(laminate, schedule, "PETG") if step.startswith("Ply ")]
        grams = [float(step.split(": ")[1].split(" g of ")[0]) for step in steps]
        assert sum(grams) == pytest.approx(schedule.resin, abs=0.5 * len(grams))
        names = [step.split(", ")[1].split(":")[0] for step in steps]
        assert names == list(laminate.plies if name == "front_mold" else laminate.plies[::-1])


def test_report_adds_up() -> None:
    found = scene("front_mold")
    assert found.job.laminate is not None
    schedule = part_schedule(found.job.laminate, found.wall)
    report = laminate_report(found.job.laminate, schedule, Proof(20.0, 19.9, found.wall.outer[0], 0), 14.4)
    plies = report["plies"]
    assert report["mass_g"] == pytest.approx(
        sum(ply["glass_g"] + ply["resin_g"] for ply in plies) + report["gel_coat_g"] / 1.15, abs=0.2
    )
    assert report["resin_g"] == pytest.approx(1.15 * sum(ply["resin_g"] for ply in plies), abs=0.1)
    carbon = replace(found.job.laminate, plies=("carbon woven 200", "CSM 300"), resin="vinyl ester")
    first, second = laminate_report(carbon, part_schedule(carbon, found.wall), Proof(20.0, 19.9, found.wall.outer[0], 0), 14.4)[
        "plies"
    ]
    assert (
        first["fiber"] == "carbon"
        and first["glass_g"] == 0.0
        and first["fiber_g"] == pytest.approx(200.0 * first["area_cm2"] / 1e4, abs=0.01)
    )
    assert second["glass_g"] == second["fiber_g"] > 0.0
    assert report["hardener_g"] == pytest.approx(0.02 * report["resin_g"], abs=0.01)
    assert report["thickness_mm"] == pytest.approx(0.5 + sum(ply["thickness_mm"] for ply in plies), abs=1e-3)
    assert report["final_clearance"] == {"min_mm": 20.0, "proven_min_mm": 19.9, "required_mm": 14.4}
