# SPDX-License-Identifier: GPL-3.0-or-later
"""Gauges through properties and operators: written, shown, and gaps of a bike that is not as its sheet says."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

from addon.core.base.wheel_axes import radius_of
from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.readings.feedback_geometry import QUANTITIES, GapModel, corrected_job, sheet_values
from addon.core.seat.mount import mount_frame
from addon.core.tire.job_tire import static_radius
from addon.core.tire.tire_profile import tire_profile
from addon.output.gauge_files import POINTS_FILE
from addon.ui.gauges.gap_comparison import compare_gaps
from addon.ui.properties.gauge_properties import fill_gaps
from addon.ui.state.job_values import read_job, write_job
from tests.host.extension_scene import DEMO, extension, seeded, settings, state
from tests.host.test_panel_job import refusal

TRUE = {"height": 41.5, "ahead": 6.0, "tilt": 1.8, "lateral": -1.2, "crown_radius": 300.6}
"""The bike; its sheet says 44, 0, 0, 0 and 299.2."""


pytestmark = pytest.mark.usefixtures("troubles")


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The record of gauges of the demo sheet, written by the button, and what the scene showed."""
    folder = tmp_path_factory.mktemp("gauges")
    with extension() as found:
        seeded()
        assert bpy.ops.fenderwright.write_gauges("EXEC_DEFAULT", True, directory=str(folder)) == {"FINISHED"}
        shown = [(ob.name, len(ob.data.vertices)) for ob in bpy.data.collections["Fender Gauges"].objects]
        assert bpy.ops.fenderwright.write_gauges("EXEC_DEFAULT", True, directory=str(folder)) == {"FINISHED"}
        again = [(ob.name, len(ob.data.vertices)) for ob in bpy.data.collections["Fender Gauges"].objects]
        listed = [entry.label for entry in settings().gauges.gaps]
        lines = state().gauge_lines
        meshes = sum(mesh.name.startswith("Crown") for mesh in bpy.data.meshes)
    assert not found, "\n".join(found)
    record = json.loads((folder / POINTS_FILE).read_text())
    names = {path.name for path in folder.iterdir()}
    return {"record": record, "shown": shown, "again": again, "listed": listed, "lines": lines, "names": names, "meshes": meshes}


def demo_job() -> Job:
    return read_job_sheet(DEMO / "front_17.toml")


def gaps_on_the_bike(record: dict[str, Any], true: dict[str, float]) -> np.ndarray:
    """Gaps by brute force: distances of the points of the strip, hung from the true mount, to a finely divided true profile.

    Nothing of the feedback's own geometry is used: neither its polygon distance nor its placing of points.
    """
    job = demo_job()
    mount = replace(job.mount, height=true["height"], ahead=true["ahead"], tilt=true["tilt"])
    there = replace(job, mount=mount, tire=replace(job.tire, measured_radius=true["crown_radius"]))
    frame = mount_frame(there)
    profile = np.array(tire_profile(there).static)
    share = np.linspace(0.0, 1.0, 20_001)
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(profile, axis=0).T))])
    fine = np.column_stack([np.interp(share * way[-1], way, column) for column in profile.T])
    gaps = []
    for row in record["points"]:
        left, forward, up = row["position"]
        point = frame.origin + (left + true["lateral"]) * frame.x + forward * frame.forward + up * frame.up
        at = np.array([abs(point[0]), float(radius_of(point))])
        gaps.append(float(np.hypot(*(fine - at).T).min()))
    return np.array(gaps)


def enter(record: dict[str, Any], gaps: np.ndarray, sigma: float) -> None:
    fill_gaps(settings().gauges, record)
    settings().gauges.sigma = sigma
    for entry, gap in zip(settings().gauges.gaps, gaps, strict=True):
        entry.gap = gap


def level(*values: float) -> None:
    settings().readings.kind = "tilt"
    for value in values:
        settings().readings.new_value = value
        bpy.ops.fenderwright.add_reading("EXEC_DEFAULT", True)


def values_of_sheet() -> dict[str, float]:
    job = read_job(settings())
    lateral = np.mean([x for x, _ in job.mount.bolts]) - np.mean([x for x, _ in demo_job().mount.bolts])
    return {
        "height": job.mount.height,
        "ahead": job.mount.ahead,
        "tilt": job.mount.tilt,
        "lateral": float(lateral),
        "crown_radius": static_radius(job),
    }


def test_gauges_are_written_shown_and_listed(printed: dict[str, Any]) -> None:
    record = printed["record"]
    assert {POINTS_FILE, "gauges_A4.pdf", "readings_Letter.pdf"} <= printed["names"]
    stls = {name for name in printed["names"] if name.endswith(".stl")}
    assert len(stls) == len(printed["shown"]) >= 5 and all(count > 50 for _, count in printed["shown"])
    assert printed["again"] == printed["shown"]  # replaced, not added to
    assert printed["meshes"] == sum(name.startswith("Crown") for name, _ in printed["shown"])
    assert printed["listed"] == [f"Angle {row['station']:+g} {row['point']}" for row in record["points"]]
    assert len(printed["listed"]) >= 15 and printed["lines"][0].startswith("Files are in")


@pytest.mark.parametrize("seed", [3, 4])
def test_a_falsified_sheet_recovers_within_its_error_bars(printed: dict[str, Any], seed: int) -> None:
    record, random = printed["record"], np.random.default_rng(seed)
    write_job(settings(), demo_job())
    gaps = gaps_on_the_bike(record, TRUE)
    assert np.abs(gaps - [row["expected_mm"] for row in record["points"]]).max() > 2.0
    enter(record, gaps + 0.1 * random.standard_normal(len(gaps)), 0.1)
    level(*(1.8 + 0.1 * random.standard_normal(3)))
    bpy.ops.ed.undo_push(message="before")
    assert bpy.ops.fenderwright.compare_gaps("EXEC_DEFAULT", True) == {"FINISHED"}
    made = state().comparison
    assert made is not None and not made.refusals and made.repeat
    assert bpy.ops.fenderwright.take_over_corrections("EXEC_DEFAULT", True) == {"FINISHED"}
    assert state().problem == ""
    found = values_of_sheet()
    off = []
    for item in made.result.corrections:
        assert found[item.quantity] == pytest.approx(item.corrected, abs=0.011)
        off.append((found[item.quantity] - TRUE[item.quantity]) / item.standard_error)
    assert np.abs(off).max() < 3.0, off
    assert abs(found["height"] - 41.5) < 0.3 and abs(found["lateral"] + 1.2) < 0.2
    again = compare_gaps(state().facts.job, settings())  # what was taken over is found again, not added once more
    for item in again.result.corrections:
        assert item.corrected == pytest.approx(found[item.quantity], abs=0.03)
    assert {row[0]: row[1] for row in again.rows}["Offset To The Side, mm"] == f"{found['lateral']:.2f}"
    bpy.ops.ed.undo()
    was = {"height": 44.0, "ahead": 0.0, "tilt": 0.0, "lateral": 0.0, "crown_radius": 299.2}
    assert values_of_sheet() == pytest.approx(was)


def test_what_gaps_cannot_tell_is_refused_in_words_and_left_alone(printed: dict[str, Any]) -> None:
    record = printed["record"]
    write_job(settings(), demo_job())
    enter(record, gaps_on_the_bike(record, TRUE), 0.1)
    for entry in settings().gauges.gaps:
        entry.is_read = entry.point == "C"
    assert bpy.ops.fenderwright.compare_gaps("EXEC_DEFAULT", True) == {"FINISHED"}
    made = state().comparison
    assert made is not None and any("It takes" in sentence for sentence in made.refusals)
    assert any(row[2] == "not told" for row in made.rows)
    assert bpy.ops.fenderwright.take_over_corrections("EXEC_DEFAULT", True) == {"FINISHED"}
    found, was = values_of_sheet(), dict(zip(QUANTITIES, sheet_values(demo_job()), strict=True))
    for item in made.result.corrections:
        if item.undetermined:
            assert found[item.quantity] == pytest.approx(was[item.quantity])
    settings().gauges.gaps[0].gap += 1.0
    assert state().comparison.key != compare_gaps(state().facts.job, settings()).key  # the panel shows it no more


def test_one_misread_gap_is_the_one_to_repeat(printed: dict[str, Any]) -> None:
    record = printed["record"]
    write_job(settings(), demo_job())
    gaps = gaps_on_the_bike(record, TRUE)
    gaps[7] += 3.0
    enter(record, gaps, 0.3)
    level(1.8, 1.8)
    bpy.ops.fenderwright.compare_gaps("EXEC_DEFAULT", True)
    row, made = record["points"][7], state().comparison
    name = f"station {row['station']:+g} {row['point']}"
    assert any(name in warning and "take it again" in warning for warning in made.warnings)
    assert name in made.repeat or made.result.influences[7].cook > 0.5 * max(one.cook for one in made.result.influences)


def test_gaps_survive_save_and_reopen_and_records_load(printed: dict[str, Any], tmp_path: Path) -> None:
    write_job(settings(), demo_job())
    record = tmp_path / POINTS_FILE
    record.write_text(json.dumps(printed["record"]))
    assert bpy.ops.fenderwright.load_points("EXEC_DEFAULT", True, filepath=str(record)) == {"FINISHED"}
    assert len(settings().gauges.gaps) == len(printed["record"]["points"])
    assert not any(entry.is_read for entry in settings().gauges.gaps)
    assert not bpy.ops.fenderwright.compare_gaps.poll()
    settings().gauges.gaps[2].gap = 9.5
    assert [entry.is_read for entry in settings().gauges.gaps].index(True) == 2
    path = str(tmp_path / "kept.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert settings().gauges.gaps[2].gap == 9.5 and settings().gauges.gaps[2].is_read
    assert bpy.ops.fenderwright.compare_gaps("EXEC_DEFAULT", True) == {"FINISHED"}


def test_wrong_inputs_are_one_sentence_and_change_nothing(printed: dict[str, Any], tmp_path: Path) -> None:
    seeded(level=3)
    before = read_job(settings())
    gauges = settings().gauges
    assert "Folder: is empty" in refusal("write_gauges")
    gauges.use_stations = True
    assert "Angles: are none" in refusal("write_gauges", directory=str(tmp_path / "new"))
    assert bpy.ops.fenderwright.add_station("EXEC_DEFAULT", True) == {"FINISHED"}
    gauges.stations[0].value = 150.0
    assert "no section there" in refusal("write_gauges", directory=str(tmp_path / "new"))
    assert "no angle 3" in refusal("remove_station", index=2)
    assert bpy.ops.fenderwright.remove_station("EXEC_DEFAULT", True, index=0) == {"FINISHED"}
    assert not (tmp_path / "new").exists() and "Fender Gauges" not in bpy.data.collections
    for text in ("{", "{}", '{"points": [{"station": "x", "point": "C", "position": [0, 0, 0], "expected_mm": 1}], "sheet": {}}'):
        (tmp_path / "broken.json").write_text(text)
        assert "broken.json: gauges: is not the record" in refusal("load_points", filepath=str(tmp_path / "broken.json"))
    assert "nothing.json" in refusal("load_points", filepath=str(tmp_path / "nothing.json"))
    assert read_job(settings()) == before
    enter(printed["record"], gaps_on_the_bike(printed["record"], TRUE), 0.3)
    settings().mount.bolts[0].value = (28.0, 30.0)
    assert "another bolt pattern" in refusal("compare_gaps")
    settings().mount.height = 20.0
    assert "mount.height: 20" in refusal("take_over_corrections")
    assert "mount.height: 20" in refusal("write_gauges", directory=str(tmp_path / "new"))


def test_gap_model_and_brute_force_agree(printed: dict[str, Any]) -> None:
    """The model that feedback fits against distances to a finely divided profile, over 0.003 mm of chord."""
    record = printed["record"]
    positions = np.array([row["position"] for row in record["points"]])
    true = np.array([TRUE[name] for name in QUANTITIES])
    np.testing.assert_allclose(GapModel(demo_job()).gaps(true, positions), gaps_on_the_bike(record, TRUE), atol=0.003)
    assert corrected_job(demo_job(), true).mount.height == 41.5
