# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed between two reports."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from addon.core.report.change_list import change_list
from addon.output.former_report import changes_since


@pytest.fixture
def report() -> dict[str, Any]:
    limits = [{"name": "tire", "min_mm": 20.0}, {"name": "left fork leg", "min_mm": 9.0}]
    return {
        "name": "front 17",
        "clearance": {"required_mm": 14.4, "min_mm": 20.0, "limits": limits},
        "wall": {"min_mm": 2.9},
        "budget": [
            {"name": "gap", "mm": 10.0, "basis": "common practice"},
            {"name": "fender flex", "mm": 3.0, "basis": "default"},
        ],
        "halves": [
            {"file": "fender_front.stl", "mass_g": 145.0, "size_mm": [140.0, 222.0, 89.0], "fits_bed": True},
            {"file": "fender_rear.stl", "mass_g": 198.0, "size_mm": [140.0, 281.0, 144.0], "fits_bed": True},
        ],
    }


def test_nothing_changed_says_nothing(report: dict[str, Any]) -> None:
    assert change_list(report, copy.deepcopy(report)) == ()


def test_each_kind_of_change_is_said(report: dict[str, Any]) -> None:
    new = copy.deepcopy(report)
    new["clearance"]["min_mm"] = 18.75
    new["clearance"]["limits"] = [{"name": "tire", "min_mm": 18.75}, {"name": "brake hose", "min_mm": 6.0}]
    new["budget"][1] |= {"mm": 2.0, "basis": "common practice"}
    new["budget"].append({"name": "radius not measured", "mm": 4.5, "basis": "from memory"})
    new["halves"][0] |= {"mass_g": 150.25, "size_mm": [140.0, 222.5, 89.0], "fits_bed": False}
    new["halves"][1]["file"] = "fender_left.stl"
    assert change_list(report, new) == (
        "Least clearance to the tire: 20.00 mm to 18.75 mm (-1.25).",
        "Brake hose is a new limit.",
        "Left fork leg is no limit any more.",
        "Budget, fender flex: 3.00 mm to 2.00 mm (-1.00).",
        "Budget, fender flex: common practice, before default.",
        "Budget, radius not measured: new, 4.50 mm.",
        "fender_front.stl: 145.0 g to 150.2 g (+5.2).",
        "fender_front.stl: 140.0 x 222.0 x 89.0 mm to 140.0 x 222.5 x 89.0 mm.",
        "fender_front.stl: does not fit the bed any more.",
        "fender_left.stl: new, 198 g.",
        "fender_rear.stl: not made any more.",
    )


def test_another_job_and_a_line_that_is_gone(report: dict[str, Any]) -> None:
    new = copy.deepcopy(report)
    new["name"] = "rear 17"
    del new["budget"][1]
    assert change_list(report, new) == (
        "The files before were of the job front 17.",
        "Budget, fender flex: gone, it was 3.00 mm.",
    )


@pytest.mark.parametrize("former", [{}, {"clearance": 3}, [], {"clearance": {"min_mm": "x"}}])
def test_what_is_no_report_is_refused(report: dict[str, Any], former: Any) -> None:
    with pytest.raises(ValueError, match="cannot be compared"):
        change_list(former, report)


def test_the_report_in_the_folder_is_read(report: dict[str, Any], tmp_path: Path) -> None:
    assert changes_since(tmp_path, report) == []
    former = copy.deepcopy(report)
    former["wall"]["min_mm"] = 2.5
    (tmp_path / "report.json").write_text(json.dumps(former), encoding="utf-8")
    assert changes_since(tmp_path, report) == ["Least wall: 2.50 mm to 2.90 mm (+0.40)."]
    for broken in ("{", "[1]", "\x00"):
        (tmp_path / "report.json").write_text(broken, encoding="utf-8")
        (said,) = changes_since(tmp_path, report)
        assert said.startswith("What changed is not known")
