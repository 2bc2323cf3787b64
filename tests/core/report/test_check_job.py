# SPDX-License-Identifier: GPL-3.0-or-later
"""Values that do not go together are refused with the key to change; the demo sheets behave."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.clearance.budget import budget
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.room import room, seat_room
from addon.core.job.job_sheet import parse_job, read_job_sheet
from addon.core.printing.bed_room import check_bed, fits_somehow
from addon.core.report.cautions import SAFETY, cautions
from addon.core.report.check_job import check_job

DEMO = Path(__file__).resolve().parents[3] / "blend_demo"
FRONT = tomllib.loads((DEMO / "front_17.toml").read_text(encoding="utf-8"))


def changed(**sections: dict[str, Any]) -> dict[str, Any]:
    data = copy.deepcopy(FRONT)
    for name, values in sections.items():
        section = data.setdefault(name, {})
        section.update(values)
        for key in [key for key, value in section.items() if value is None]:
            del section[key]
    return data


def refused(data: dict[str, Any]) -> JobError:
    with pytest.raises(JobError) as caught:
        check_job(parse_job(data))
    assert "\n" not in str(caught.value)
    return caught.value


@pytest.mark.parametrize("name", ["front_17", "front_21", "rear_17", "front_ears", "front_mold", "rear_buck"])
def test_demo_sheets_can_be_made(name: str) -> None:
    job = read_job_sheet(DEMO / f"{name}.toml")
    check_job(job)
    assert job.printer.bed == (220.0, 220.0, 250.0)
    assert seat_room(job).missing_mm < -8.0  # room left to shape in
    assert not [line for line in budget(job).lines if line.basis == "default"]


@pytest.mark.parametrize("name", ["rear_frame", "front_high"])
def test_demo_sheets_whose_wheel_travels_toward_the_fender_can_be_made(name: str) -> None:
    """With full bump there is room; ten centimeters more of it, and the travel is refused by name."""
    job = read_job_sheet(DEMO / f"{name}.toml")
    check_job(job)
    limit = clearance_field(job, "part").limits[0]
    assert limit.moves and room(job).missing_mm < -8.0
    assert not [line for line in budget(job).lines if line.basis == "default"]
    more = replace(job, travel=replace(job.travel, bump=(job.travel.bump or 0.0) + 100.0))
    with pytest.raises(JobError) as caught:
        check_job(more)
    assert caught.value.key == "travel.bump"


def test_demo_sheet_without_room_is_refused_for_that() -> None:
    error = refused(tomllib.loads((DEMO / "no_room.toml").read_text(encoding="utf-8")))
    assert error.key == "mount.height"
    assert "are missing" in str(error)


def test_demo_sheets_are_what_their_names_say() -> None:
    front_17, front_21, rear_17 = (read_job_sheet(DEMO / f"{name}.toml") for name in ("front_17", "front_21", "rear_17"))
    assert (len(front_17.mount.bolts), front_17.mount.thread) == (4, "M6") and front_17.mount.plate is not None
    assert (len(front_21.mount.bolts), front_21.mount.thread) == (2, "M8") and front_21.mount.tilt != 0
    assert rear_17.wheel.position == "rear" and rear_17.travel.axle_slot == (0.0, 35.0)


@pytest.mark.parametrize(
    ("sections", "key", "says"),
    [
        ({"tire": {"measured_radius": 240.0, "profile": None}}, "tire.measured_radius", "does not go with the size"),
        ({"tire": {"measured_width": 180.0, "profile": None}}, "tire.measured_width", "does not go with the size"),
        ({"tire": {"profile": [[0, 0], [30, 9], [20, 12]]}}, "tire.profile[2]", "turns back"),
        ({"tire": {"profile": [[0, 0], [20, 3], [30, 9]]}}, "tire.profile[2]", "out to the edge"),
        ({"mount": {"bolts": [[25, 30], [-25, 30], [25, 30]]}}, "mount.bolts[2]", "the same as mount.bolts[0]"),
        ({"mount": {"bolts": [[25, 30], [20, 30]]}}, "mount.bolts[1]", "washers"),
        ({"mount": {"pad": 9.0}}, "mount.pad", "allowed is 10 mm or more"),
        ({"cage": {"half_width": 38.0}}, "cage.half_width", "40.0"),
        ({"cage": {"front": 5.0}}, "cage.front", "cuts the seat"),
        ({"cage": {"rear": -5.0}}, "cage.rear", "cuts the seat"),
        ({"cage": {"front": -60.0}}, "cage.front", "ahead of cage.rear"),
        ({"cage": {"front": 175.0, "rear": -175.0}}, "cage.front", "span 350"),
        ({"wall": {"thickness": 0.7}}, "wall.thickness", "allowed is 0.8 mm"),
        ({"mount": {"bolts": [[25, 0], [-25, 0]]}}, "split.joint", "full_lap"),
        ({"mount": {"bolts": [[0, 30], [0, -30]]}, "split": {"plane": "along"}}, "split.joint", "full_lap"),
        ({"split": {"lap": 60.0}}, "split.joint", "at least 10.0 mm is needed"),
        ({"wall": {"thickness": 1.6}}, "split.joint", "halves the wall"),
        ({"mount": {"height": 24.0}}, "mount.height", "are missing"),
        ({"printer": {"bed": [60, 60, 60]}}, "printer.bed", "too small for any split"),
        ({"printer": {"margin": 100}}, "printer.bed", "too small for any split"),
        ({"printer": {"bed": [60, 60, 60], "margin": 30}}, "printer.margin", "leaves nothing"),
        ({"printer": {"bed": [100, 60, 60]}}, "split.plane", '"along" would fit'),
    ],
)
def test_what_does_not_go_together_is_named(sections: dict[str, dict[str, Any]], key: str, says: str) -> None:
    error = refused(changed(**sections))
    assert (error.key, says in str(error)) == (key, True), str(error)


def test_bolts_are_spaced_by_the_washers_of_the_list() -> None:
    """14 mm apart: the large washers of 18 mm (ISO 7093) overlap, plain ones of 12 mm (ISO 7089) do not."""
    close = [[25, 30], [11, 30], [25, -30], [-25, -30]]
    assert "need 18 mm" in str(refused(changed(mount={"bolts": close})))
    check_job(parse_job(changed(mount={"bolts": close, "washer": "plain"})))


def test_full_lap_may_be_cut_through_bolts() -> None:
    check_job(parse_job(changed(mount={"bolts": [[25, 0], [-25, 0]]}, split={"joint": "full_lap"})))


def test_bed_search_against_closed_forms() -> None:
    """A stick fits a box up to its diagonal; a square plate of 100 a box 110 x 80 x 80 only if it is turned."""
    diagonal = float(np.linalg.norm([100, 100, 100]))
    box = np.array([100.0, 100.0, 100.0])
    stick = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    assert fits_somehow(stick * diagonal * 0.97, box)
    assert not fits_somehow(stick * diagonal * 1.05, box)
    plate = np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0], [0.0, 100.0, 0.0]])
    assert fits_somehow(plate, np.array([110.0, 80.0, 80.0]))
    assert not fits_somehow(plate, np.array([90.0, 40.0, 40.0]))


def test_bigger_bed_is_never_worse() -> None:
    outcomes = []
    for side in range(40, 320, 20):
        try:
            check_bed(parse_job(changed(printer={"bed": [side, side, side]})))
            outcomes.append(True)
        except JobError:
            outcomes.append(False)
    assert outcomes == sorted(outcomes) and not outcomes[0] and outcomes[-1]


def test_cautions_say_what_the_job_calls_for() -> None:
    plain = cautions(parse_job(FRONT))
    assert plain[: len(SAFETY)] == SAFETY
    assert any("from memory" in sentence for sentence in plain)
    assert not any("default" in sentence or "axle slot" in sentence for sentence in plain)
    assert "ventilated" not in "\n".join(plain)
    job = changed(
        clearance={"flex": None, "runout_radial": None},
        travel={"axle_slot": 30},
        wheel={"top_speed_kmh": 200},
        tire={"size": "120/70-17 58P", "profile": None},
        wall={"thickness": 1.6},
        cage={"half_width": 50},
        laminate={"plies": ["CSM 300"]},
        mount={"pad": 18},
    )
    said = "\n".join(cautions(parse_job(job)))
    for words in (
        "Fender flex was not stated: the default of 3.0 mm",
        "Radial run-out was not stated",
        "axle was fully forward when the mount was measured",
        "over the 150 km/h",
        "profile of the tire was not measured",
        "A wall of 1.6 mm is thin",
        "100 mm wide, less than the tire's",
        "ventilated",
        "The M6 heads with their washers stand 5.1 mm proud",
    ):
        assert words in said
    over = "\n".join(cautions(parse_job(changed(mount={"side": "over"}))))
    assert "plate, 5 mm thick" in over and "Screw heads on the inside" not in over


@pytest.mark.parametrize(
    ("normal", "bracket", "told"), [([0, -0.7, -0.7], 4.0, True), ([0, 0.7, 0.7], 4.0, False), ([0, -0.7, -0.7], None, False)]
)
def test_a_bracket_between_fender_and_tire_is_told(normal: list[float], bracket: float | None, told: bool) -> None:
    """A strut's foot behind the axle at station -45, on the inside, on the outside, and one of no stated thickness."""
    seat = {"name": "strut", "center": [0, 240, 240], "normal": normal, "bolts": [[0, 0]]} | (
        {"bracket": bracket} if bracket else {}
    )
    sentences = cautions(parse_job(copy.deepcopy(FRONT) | {"seat": [seat]}))
    assert told == any('bracket of the seat "strut", 4 mm thick' in sentence for sentence in sentences)


def test_a_coarse_profile_is_told() -> None:
    coarse = cautions(parse_job(changed(tire={"profile": [[0, 0], [30, 6.6], [59.5, 41]]})))
    assert any("measure more points" in sentence for sentence in coarse)


def test_a_tire_larger_than_its_code_allows_is_told() -> None:
    told = cautions(parse_job(changed(tire={"measured_radius": 310.0, "measured_width": 140.0, "profile": None})))
    assert sum("is more than a new" in sentence for sentence in told) == 2
