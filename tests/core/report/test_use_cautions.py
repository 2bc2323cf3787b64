# SPDX-License-Identifier: GPL-3.0-or-later
"""What is said of use on the road, and that nothing of it contradicts anything else."""

from pathlib import Path
from typing import Any

import pytest

from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet
from addon.core.report.cautions import cautions
from addon.core.report.use_cautions import SCREW_LOCK, use_cautions
from addon.core.tables.materials import HEAT_LIMIT, HOT_PLACES, MATERIALS, ROAD_MATERIAL
from addon.ui.finish.safety_panel import BEFORE_THE_FIRST_RIDE

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "blend_demo"


def changed(sheet: str = "front_17", **sections: dict[str, Any]) -> Job:
    data = job_to_dict(read_job_sheet(DEMO / f"{sheet}.toml"))
    for section, values in sections.items():
        data[section] = {**data.get(section, {}), **values}
    return parse_job(data)


def test_road_parts_are_of_a_material_that_bears_the_sun() -> None:
    sun = next(heat for place, heat, _ in HOT_PLACES if "sun" in place)
    data = job_to_dict(changed())
    del data["printer"]["material"]
    assert parse_job(data).printer.material == ROAD_MATERIAL == "ASA"
    assert HEAT_LIMIT[ROAD_MATERIAL][0] == max(HEAT_LIMIT[name][0] for name in MATERIALS) > sun
    for material in MATERIALS:
        said = " ".join(use_cautions(changed(printer={"material": material})))
        assert ("no material for a dark part" in said) == (HEAT_LIMIT[material][0] < sun)
    for other in (
        {"printer": {"material": "PLA", "purpose": "fit"}},
        {"printer": {"material": "PLA"}, "laminate": {"plies": ["CSM 300"]}},
    ):
        assert "no material for a dark part" not in " ".join(use_cautions(changed(**other)))


def test_thread_lock_is_said_once_and_the_same_everywhere() -> None:
    said = [sentence for sentence in cautions(changed()) if "thread lock" in sentence.lower()]
    assert len(said) == 1 and SCREW_LOCK in said[0] and "only where a screw runs in metal" in SCREW_LOCK
    assert [line for line in BEFORE_THE_FIRST_RIDE if "thread lock" in line] == ["Lock nuts; no thread lock on prints"]
    assert "use thread lock" not in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("sheet", "sections", "words"),
    [
        ("front_17", {}, "A gap of 10 mm is for roads"),
        ("front_17", {}, "Brake hose and sensor wire need clips"),
        ("rear_17", {}, "The chain moves up and down"),
        ("front_17", {"mount": {"hardware": "countersink", "washer": "none"}}, "wedges plastic apart"),
        ("front_17", {}, "shouldered sleeves"),
        ("front_17", {}, "is for local law to say"),
        ("front_17", {}, "Brake fluid"),
    ],
)
def test_what_applies_is_said(sheet: str, sections: dict[str, dict[str, Any]], words: str) -> None:
    assert any(words in sentence for sentence in cautions(changed(sheet, **sections)))


def test_what_does_not_apply_is_not_said() -> None:
    said = " ".join(cautions(changed(clearance={"gap": 30.0}, printer={"purpose": "fit"})))
    for words in ("is for roads", "Brake fluid", "wedges plastic apart", "The chain moves"):
        assert words not in said
    assert "one stance of the bike" in said
