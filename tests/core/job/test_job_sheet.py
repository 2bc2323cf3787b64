# SPDX-License-Identifier: GPL-3.0-or-later
"""Strict reading of the job sheet: each bad input is one sentence with the key, the value and what is allowed."""

from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet

DEMO = Path(__file__).resolve().parents[3] / "blend_demo"

LEAST: dict[str, Any] = {
    "tire": {"size": "120/70 ZR17"},
    "mount": {"height": 60, "bolts": [[20, 30], [-20, -30]], "thread": "M6"},
    "clearance": {"gap": 8},
    "wall": {"thickness": 3},
}

FULL: dict[str, Any] = {
    "schema": 1,
    "name": "full",
    "wheel": {"position": "rear", "top_speed_kmh": 190},
    "tire": {
        "size": "150/60 R17 M/C 66H",
        "use": "snow",
        "rim_width_in": 4.25,
        "measuring_rim_in": 4.0,
        "measured_radius": 305.25,
        "measured_width": 150,
        "profile": [[0, 0], [40, 8.5], [75, 40]],
        "sigma": 0.5,
    },
    "mount": {
        "height": 60.5,
        "ahead": -12.25,
        "tilt": 4,
        "side": "over",
        "bolts": [[20, 30], [-20, -30]],
        "thread": "M8",
        "fit": "coarse",
        "pad": 26,
        "blend": 9,
        "plate": [80, 90, 5],
    },
    "clearance": {"gap": 8, "runout_radial": 1, "runout_lateral": 2, "flex": 3, "coverage_factor": 3},
    "keepout": [
        {"name": "leg", "kind": "capsule", "a": [1, 2, 3], "b": [4, 5, 6], "radius": 27, "gap": 4, "side": "inside"},
        {"name": "box", "kind": "box", "center": [1, 2, 3], "size": [4, 5, 6], "rotation": [0, 0, 45], "moves_with": "chassis"},
        {"name": "wall", "kind": "halfspace", "point": [0, 0, 500], "normal": [0, 0, -1]},
        {"name": "tank", "kind": "mesh", "file": "tank.stl"},
    ],
    "travel": {"bump": 120, "fork_rake": 25, "axle_slot": [5, 30], "swingarm": 560},
    "cage": {
        "front": 60, "rear": -20, "half_width": 90, "side_drop": 30, "stations": 8, "columns": 5, "rise": 6, "level": 3,
    },
    "wall": {"thickness": 2.5, "side": "middle", "edge": "bead", "seat": "pad"},
    "split": {"plane": "along", "joint": "full_lap", "lap": 25, "fit": 0.2},
    "printer": {"bed": [200, 210, 220], "margin": 4, "nozzle": 0.6, "material": "ASA"},
    "lay": [{"name": "left", "up": [0.0, -0.6, 0.8]}],
    "bike_line": [
        {"name": "tank", "part": "edge", "view": "side", "points": [[200, 300], [-200, 310.5]], "reach": 60, "follow": 0.5},
    ],
    "coverage": {"axle_height": 288.5},
    "target": [{"name": "foot", "center": [150, 520, 60], "radius": 55, "sides": "both"}],
    "metal": {
        "sheet": 1.2, "plywood": 6, "across": 60, "along": 30, "foot": 25, "fit": 0.2, "wire": 3.2, "wire_side": "outside",
        "strain": 1,
    },
    "laminate": {"plies": ["CSM 300", "CSM 450"], "resin": "epoxy", "route": "buck"},
}  # fmt: skip


def changed(dotted: str, value: object, base: dict[str, Any] = FULL) -> dict[str, Any]:
    data = copy.deepcopy(base)
    section, _, key = dotted.rpartition(".")
    (data.setdefault(section, {}) if section else data)[key] = value
    return data


def without(dotted: str) -> dict[str, Any]:
    data = copy.deepcopy(FULL)
    section, _, key = dotted.rpartition(".")
    del (data[section] if section else data)[key]
    return data


def refused(data: dict[str, Any]) -> JobError:
    with pytest.raises(JobError) as caught:
        parse_job(data)
    message = str(caught.value)
    assert message.startswith(f"{caught.value.key}: ")
    assert "\n" not in message
    return caught.value


def test_values_arrive_where_the_keys_say() -> None:
    job = parse_job(FULL)
    assert job.wheel.position == "rear"
    assert job.tire.profile == ((0.0, 0.0), (40.0, 8.5), (75.0, 40.0))
    assert isinstance(job.tire.measured_width, float)
    assert job.mount.bolts == ((20.0, 30.0), (-20.0, -30.0))
    assert job.travel.axle_slot == (5.0, 30.0)
    assert [keepout.kind for keepout in job.keepouts] == ["capsule", "box", "halfspace", "mesh"]
    assert job.keepouts[1].moves_with == "chassis"
    assert job.laminate is not None and job.laminate.plies == ("CSM 300", "CSM 450")


def test_least_sheet_takes_the_stated_defaults() -> None:
    job = parse_job(LEAST)
    assert (job.cage.front, job.cage.rear) == (35.0, -80.0)
    assert job.mount.pad == 13.0  # 2 x 6 + 1, the edge distance of a print
    assert job.clearance.flex is None and job.tire.sigma is None
    assert job.cage.half_width >= 132 / 2  # at least the widest new 120/70 ZR17 (facts T15)
    assert job.laminate is None
    assert parse_job({**LEAST, "laminate": {"plies": ["CSM 300"]}}).mount.pad == 18.0  # 3 x 6 for fiberglass


def test_a_single_axle_slot_number_is_rearward() -> None:
    assert parse_job(changed("travel.axle_slot", 35)).travel.axle_slot == (0.0, 35.0)


@pytest.mark.parametrize("data", [LEAST, FULL], ids=["least", "full"])
def test_round_trip_through_a_file_is_exact(data: dict[str, Any], tmp_path: Path) -> None:
    job = parse_job(data)
    path = tmp_path / "sheet.toml"
    path.write_bytes(tomli_w.dumps(job_to_dict(job)).encode())
    assert read_job_sheet(path) == job
    assert job_to_dict(read_job_sheet(path)) == job_to_dict(job)


@pytest.mark.parametrize(
    "key", ["tire.size", "mount.height", "mount.bolts", "mount.thread", "clearance.gap", "wall.thickness", "laminate.plies"]
)
def test_missing_required_key_is_named(key: str) -> None:
    error = refused(without(key))
    assert error.key == key
    assert "missing" in str(error)


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("mount.hieght", 50, 'did you mean "height"'),
        ("mounts", {}, 'did you mean "mount"'),
        ("tire.mesured_radius", 300, 'did you mean "measured_radius"'),
        ("cage.xyzzy", 1, "allowed here is"),
    ],
)
def test_unknown_key_with_the_nearest_known_one(key: str, value: object, says: str) -> None:
    error = refused(changed(key, value))
    assert error.key == key
    assert says in str(error)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("mount.height", True),
        ("mount.height", "50"),
        ("mount.height", [50]),
        ("mount.height", math.nan),
        ("mount.height", math.inf),
        ("mount.height", -5),
        ("mount.height", 10**400),
        ("tire.measured_radius", 2500.0),  # a wheel of 5 m
        ("tire.measured_width", -1),
        ("tire.size", 120),
        ("tire.size", ""),
        ("tire.size", "  "),
        ("tire.size", "a\nb"),
        ("tire.use", "race"),
        ("tire.profile", []),
        ("tire.profile", 3),
        ("wheel.top_speed_kmh", 4000),
        ("mount.tilt", 91),
        ("mount.bolts", []),
        ("mount.bolts", 4),
        ("mount.bolts", [[0, 0]] * 17),
        ("mount.thread", "M7"),
        ("mount.thread", 6),
        ("mount.plate", [10, 20]),
        ("clearance.gap", 0),
        ("clearance.gap", 1000),
        ("travel.axle_slot", [1, 2, 3]),
        ("travel.axle_slot", -1),
        ("cage.stations", 7.0),
        ("cage.stations", True),
        ("cage.stations", 400),
        ("cage.level", 9),
        ("wall.thickness", 0),
        ("wall.side", "Inside"),
        ("printer.bed", [220, 220]),
        ("printer.material", "wood"),
        ("laminate.plies", []),
        ("name", 7),
        ("name", ""),
    ],
)
def test_wrong_type_or_range_names_key_value_and_what_is_allowed(key: str, value: object) -> None:
    error = refused(changed(key, value))
    assert error.key == key
    assert "allowed" in str(error) or "each may be" in str(error)


@pytest.mark.parametrize(
    ("key", "value", "at"),
    [
        ("mount.bolts", [[20, 30], [20]], "mount.bolts[1]"),
        ("mount.bolts", [[20, 30], 5], "mount.bolts[1]"),
        ("mount.bolts", [[20, 30], [20, math.nan]], "mount.bolts[1][1]"),
        ("mount.bolts", [[20, "30"], [20, 1]], "mount.bolts[0][1]"),
        ("tire.profile", [[0, 0], [10, -1], [20, 3]], "tire.profile[1][1]"),
        ("laminate.plies", ["CSM 300", "CSM 301"], "laminate.plies[1]"),
    ],
)
def test_bad_entry_of_a_list_is_named(key: str, value: object, at: str) -> None:
    assert refused(changed(key, value)).key == at


@pytest.mark.parametrize("schema", [0, 2, "1", True, None])
def test_unknown_schema(schema: object) -> None:
    assert refused(changed("schema", schema)).key == "schema"


@pytest.mark.parametrize("value", [3, [], "x"])
def test_a_section_must_be_a_table(value: object) -> None:
    assert refused(changed("mount", value)).key == "mount"


@pytest.mark.parametrize(
    ("index", "change", "key"),
    [
        (0, {"radius": None}, "keepout[0].radius"),
        (0, {"center": [1, 2, 3]}, "keepout[0].center"),
        (0, {"kind": "ball"}, "keepout[0].kind"),
        (0, {"gap": -1}, "keepout[0].gap"),
        (0, {"name": None}, "keepout[0].name"),
        (1, {"name": "leg"}, "keepout[1].name"),
        (2, {"normal": [0, 0, 0]}, "keepout[2].normal"),
        (3, {"file": None}, "keepout[3].file"),
        (3, {"object": "Tank"}, "keepout[3].file"),
        (1, {"siez": [1, 2, 3]}, "keepout[1].siez"),
    ],
)
def test_keepouts_are_strict_by_kind(index: int, change: dict[str, object], key: str) -> None:
    data = copy.deepcopy(FULL)
    data["keepout"][index].update(change)
    data["keepout"][index] = {name: value for name, value in data["keepout"][index].items() if value is not None}
    assert refused(data).key == key


@pytest.mark.parametrize(
    ("lays", "key"),
    [
        ([{"name": "left", "up": [0, 0, 0]}], "lay[0].up"),
        ([{"name": "left", "up": [0, 1]}], "lay[0].up"),
        ([{"up": [0, 0, 1]}], "lay[0].name"),
        ([{"name": "left"}], "lay[0].up"),
        ([{"name": "left", "up": [0, 0, 1]}, {"name": "left", "up": [0, 1, 0]}], "lay[1].name"),
    ],
)
def test_ways_to_lie_have_a_piece_and_a_direction(lays: list[dict[str, object]], key: str) -> None:
    assert refused(changed("lay", lays)).key == key


def test_keepout_must_be_a_list_of_tables() -> None:
    assert refused(changed("keepout", {"name": "x"})).key == "keepout"
    assert refused(changed("keepout", [3])).key == "keepout[0]"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b" \r\n\t\n", "empty"),
        ((DEMO / "front_17.toml").read_bytes()[:400], ""),
        (b'name = "x', "not a complete TOML file"),
        (b'name = "\xe9"', "not UTF-8"),
        (b"\xff\xfe[\x00", "not UTF-8"),
        (b"\x00\x01\x02", "not a complete TOML file"),
        (b"a = " + b"[" * 5000, "not a complete TOML file"),
        (b"a = 1\na = 2", "not a complete TOML file"),
    ],
)
def test_unreadable_file_is_one_sentence(content: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "sheet.toml"
    path.write_bytes(content)
    with pytest.raises(JobError) as caught:
        read_job_sheet(path)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_every_truncation_of_a_sheet_is_a_job_or_a_job_error(tmp_path: Path) -> None:
    whole = (DEMO / "front_17.toml").read_bytes()
    path = tmp_path / "sheet.toml"
    outcomes = set()
    for length in range(0, len(whole), 7):
        path.write_bytes(whole[:length])
        try:
            outcomes.add(type(read_job_sheet(path)))
        except JobError as error:
            outcomes.add(JobError)
            assert "\n" not in str(error)
    assert outcomes == {Job, JobError}


def test_missing_file_and_folder_are_named(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(JobError, match="cannot be read"):
            read_job_sheet(path)


def test_windows_line_ends_and_byte_order_mark_are_taken(tmp_path: Path) -> None:
    text = (DEMO / "front_17.toml").read_text(encoding="utf-8")
    path = tmp_path / "sheet.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_job_sheet(path) == parse_job(tomllib.loads(text))
