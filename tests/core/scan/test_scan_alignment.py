# SPDX-License-Identifier: GPL-3.0-or-later
"""Wheel axes, mount, holes, symmetry plane and warnings from made-up scans with known answers."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import radius_of
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.alignment.alignment import Alignment
from addon.core.scan.alignment.alignment_file import alignment_dict, sigmas
from addon.core.scan.alignment.alignment_rows import alignment_rows
from addon.core.scan.alignment.job_from_alignment import job_from_alignment
from addon.core.scan.alignment.residual_map import residual_map
from addon.core.scan.data.hints import parse_hints
from addon.core.scan.data.scan_data import Scan
from addon.core.scan.holes.hole_circles import hole_circles
from addon.core.seat.mount import mount_frame

from .scan_scenes import NOTHING, RADIUS, Plate, Pose, disturbed, front_end, random_pose, tire

PLATE = Plate()


def hints_of(pose: Pose, **more: Any) -> dict[str, Any]:
    """Balls about the mount, a stretch of tire, and a chassis behind and above, in scan coordinates."""

    def ball(point: Any, radius: float) -> list[float]:
        return [*pose.scan(np.asarray(point, dtype=np.float64)).tolist(), radius]

    data = {
        "tire": [ball([0.0, 102.0, 282.0], 90.0)],
        "mount": [ball(PLATE.origin, 45.0)],
        "chassis": [ball([95.0, 30.0, 500.0], 60.0)],
    }
    return data | {"up": pose.rotation[:, 2].tolist(), "forward": (-pose.rotation[:, 1]).tolist()} | more


@pytest.fixture(scope="module")
def case() -> tuple[Pose, Alignment, Scan]:
    rng = np.random.default_rng(11)
    pose = random_pose(rng)
    scan = Scan(pose.scan(disturbed(rng, front_end(rng, 200_000, 200.0), 0.1, 0.05)), NOTHING)
    return pose, align_scan(scan, parse_hints(hints_of(pose))), scan


def test_scan_to_wheel_undoes_the_pose(case: tuple[Pose, Alignment, Scan]) -> None:
    pose, found, _ = case
    matrix = found.scan_to_wheel
    assert_allclose(matrix[:3, :3] @ pose.rotation, np.eye(3), atol=2e-4)
    assert_allclose(matrix[:3, :3] @ pose.shift + matrix[:3, 3], 0.0, atol=0.05)
    assert_allclose(matrix[:3, :3] @ matrix[:3, :3].T, np.eye(3), atol=1e-12)
    assert_allclose(np.linalg.det(matrix[:3, :3]), 1.0, atol=1e-12)


def test_pose_is_that_of_kabsch_on_the_same_points(case: tuple[Pose, Alignment, Scan]) -> None:
    """scipy's Kabsch from five marked points of the wheel gives the same rotation."""
    pose, found, _ = case
    wheel = np.array([[0.0, 0, 300], [60, 0, 250], [-60, 0, 250], [0, -300, 0], [0, 200, 200]])
    scan = pose.scan(wheel)
    rotation, _ = Rotation.align_vectors(wheel - wheel.mean(axis=0), scan - scan.mean(axis=0))
    assert_allclose(found.scan_to_wheel[:3, :3], rotation.as_matrix(), atol=2e-4)
    assert_allclose(found.frame.to_wheel(scan), wheel, atol=0.1)


def test_mount_is_that_of_the_sheet_within_its_doubt(case: tuple[Pose, Alignment, Scan]) -> None:
    """Height, ahead and tilt by the design's mount plane formulas; bolts and hole diameter of the plate."""
    _, found, _ = case
    mount = found.mount
    assert mount is not None and found.face is not None
    for name, truth, limit in (
        ("height", 52.0, 0.1),
        ("ahead", 18.0, 0.2),
        ("tilt", 5.0, 0.05),
        ("roll", 0.0, 0.05),
        ("lateral", 0.0, 0.2),
    ):
        error = abs(getattr(mount, name) - truth)
        assert error < limit, name
        assert error < 4.0 * mount.sigma[name], name
    found_bolts = mount.bolts[np.lexsort(mount.bolts.T)]
    wanted = np.array(PLATE.bolts)[np.lexsort(np.array(PLATE.bolts).T)]
    assert_allclose(np.sort(found_bolts, axis=0), np.sort(wanted, axis=0), atol=0.25)
    assert_allclose([hole.diameter for hole in found.face.holes], 6.6, atol=0.3)
    assert {hole["thread"] for hole in alignment_dict(found)["mount"]["holes"]} == {"M6"}


def test_symmetry_plane_agrees_with_the_center_plane(case: tuple[Pose, Alignment, Scan]) -> None:
    _, found, _ = case
    assert found.symmetry is not None
    assert abs(found.symmetry.offset_mm) < 0.3
    assert found.symmetry.angle_deg < 0.1


def test_residuals_are_the_noise(case: tuple[Pose, Alignment, Scan]) -> None:
    pose, found, scan = case
    on_tire = pose.scan(tire(np.random.default_rng(3), 2000, 150.0, -20.0))
    assert np.nanmax(np.abs(residual_map(on_tire, found))) < 0.05
    values = residual_map(scan.points, found)
    assert_allclose(1.4826 * np.nanmedian(np.abs(values)), 0.1, atol=0.01)
    assert np.isnan(residual_map(pose.scan(np.array([[0.0, 0.0, 0.0]])), found)).all()


def test_alignment_is_plain_json_with_the_promised_keys(case: tuple[Pose, Alignment, Scan]) -> None:
    _, found, _ = case
    values = json.loads(json.dumps(alignment_dict(found), allow_nan=False))
    assert {
        "scan_to_wheel", "axis", "center", "profile", "crown_radius_mm", "section_width_mm", "mount", "symmetry",
        "residual_rms_mm", "coverage_deg", "sigma", "warnings",
    } <= values.keys()  # fmt: skip
    assert {"height", "ahead", "tilt", "bolts"} <= values["mount"].keys()


def test_filled_sheet_is_valid_and_lands_the_mount_where_the_scan_has_it(case: tuple[Pose, Alignment, Scan]) -> None:
    _, found, _ = case
    base = {
        "schema": 1,
        "name": "scanned",
        "tire": {"size": "120/70 ZR 17 M/C (58W)"},
        "mount": {"pad": 14.0},
        "clearance": {"gap": 8.0},
        "cage": {"front": 35.0, "rear": -80.0, "half_width": 75.0, "side_drop": 40.0},
        "wall": {"thickness": 3.0},
    }
    filled = job_from_alignment(found, base)
    assert base["mount"] == {"pad": 14.0}
    job = parse_job(filled.data)
    assert job_to_dict(job)["mount"]["thread"] == "M6"
    frame = mount_frame(job)
    assert_allclose(frame.origin, PLATE.origin, atol=0.4)
    assert_allclose(np.sort(frame.bolts @ [1.0, 0.0, 0.0]), [-25, -25, 25, 25], atol=0.3)
    assert_allclose(radius_of(frame.origin - frame.height * frame.up), RADIUS, atol=0.1)
    assert filled.sigma["mount.height"] == found.mount.sigma["height"]  # type: ignore[union-attr]
    assert 0.0 < filled.data["tire"]["sigma"] < 0.1
    assert (np.diff(filled.data["tire"]["profile"], axis=0)[:, 0] > 0.0).all()


def test_without_up_the_mount_is_straight_above_and_height_stays(case: tuple[Pose, Alignment, Scan]) -> None:
    """The tape's length does not depend on what is called up; ahead is then 0 by definition, and that is said."""
    pose, found, scan = case
    data = hints_of(pose)
    del data["up"], data["forward"]
    other = align_scan(scan, parse_hints(data))
    assert other.mount is not None and found.mount is not None
    assert_allclose(other.mount.height, found.mount.height, atol=0.02)
    assert abs(other.mount.ahead) < 0.1
    assert any("Up is not known" in warning for warning in other.warnings)
    turned = found.scan_to_wheel[:3, :3] @ other.scan_to_wheel[:3, :3].T
    assert_allclose(np.abs(turned[0, 0]), 1.0, atol=1e-6)


def test_a_leveled_scan_keeps_its_own_up() -> None:
    rng = np.random.default_rng(12)
    yaw = Rotation.from_euler("z", 40.0, degrees=True).as_matrix()
    pose = Pose(yaw, np.array([300.0, -20.0, 310.0]))
    data = hints_of(pose)
    del data["up"], data["forward"]
    found = align_scan(Scan(pose.scan(disturbed(rng, front_end(rng, 100_000, 200.0), 0.05, 0.02)), NOTHING), parse_hints(data))
    assert found.mount is not None
    assert_allclose([abs(found.mount.ahead), abs(found.mount.tilt)], [18.0, 5.0], atol=0.2)
    assert found.frame.up_basis == "the scan's axis +Z"


def test_chassis_tells_forward() -> None:
    """The chassis lies behind a front wheel and ahead of a rear wheel; the turn of the frame follows."""
    rng = np.random.default_rng(13)
    pose = random_pose(rng)
    scan = Scan(pose.scan(front_end(rng, 60_000, 200.0)), NOTHING)
    behind = np.array([95.0, 55.0, 150.0])
    data = {"up": pose.rotation[:, 2].tolist(), "chassis": [[*pose.scan(behind).tolist(), 20.0]]}
    front = align_scan(scan, parse_hints(data))
    rear = align_scan(scan, parse_hints(data | {"position": "rear"}))
    assert_allclose(front.scan_to_wheel[:3, :3] @ pose.rotation, np.eye(3), atol=1e-3)
    assert_allclose(rear.scan_to_wheel[:3, :3] @ pose.rotation, np.diag([-1.0, -1.0, 1.0]), atol=1e-3)


def test_units_scale_the_result_and_a_wrong_unit_is_named() -> None:
    rng = np.random.default_rng(14)
    pose = random_pose(rng)
    points = pose.scan(front_end(rng, 60_000, 300.0))
    in_mm = align_scan(Scan(points, NOTHING))
    in_m = align_scan(Scan(points / 1000.0, NOTHING), unit="m")
    assert_allclose(in_m.section.crown_radius, in_mm.section.crown_radius, atol=0.01)
    assert_allclose(in_m.scan_to_wheel[:3, :3] / 1000.0, in_mm.scan_to_wheel[:3, :3], atol=1e-3)
    wrong = align_scan(Scan(points / 1000.0, NOTHING))
    assert any("if the scan were in m" in warning for warning in wrong.warnings)
    assert not any("if the scan were" in warning for warning in in_mm.warnings)


def test_faces_that_look_inward_tell_of_a_mirrored_scan() -> None:
    """A revolved grid of the section: mirrored in x without turning its faces, it looks inward."""
    t, station = np.radians(np.linspace(-110.0, 110.0, 80)), np.radians(np.linspace(0.0, 200.0, 400))
    x, rho = 60.0 * np.sin(t), RADIUS - 46.0 * (1.0 - np.cos(t))
    points = np.stack(
        [np.broadcast_to(x, (400, 80)), -np.sin(station)[:, None] * rho, np.cos(station)[:, None] * rho], axis=-1
    ).reshape(-1, 3)
    corner = (np.arange(399)[:, None] * 80 + np.arange(79)).ravel()
    faces = np.concatenate(
        [np.column_stack([corner, corner + 1, corner + 81]), np.column_stack([corner, corner + 81, corner + 80])]
    )
    outward = np.einsum("ij,ij->i", np.cross(*(points[faces[:, i]] - points[faces[:, 0]] for i in (1, 2))), points[faces[:, 0]])
    if outward.mean() < 0.0:
        faces = faces[:, ::-1]
    right = align_scan(Scan(points, faces))
    mirrored = align_scan(Scan(points * [-1.0, 1.0, 1.0], faces))
    assert any("mirrored (left-handed" in warning for warning in mirrored.warnings)
    assert not any("mirrored (left-handed" in warning for warning in right.warnings)
    assert any("cannot be told" in warning for warning in right.warnings)


def test_a_wheel_off_center_in_the_fork_is_named() -> None:
    """Fork and plate 4 mm beside the wheel: the symmetry plane tells, with the size of it."""
    rng = np.random.default_rng(15)
    points = front_end(rng, 150_000, 300.0)
    points[60_000:] += [4.0, 0.0, 0.0]
    found = align_scan(Scan(points, NOTHING))
    assert found.symmetry is not None
    assert_allclose(abs(found.symmetry.offset_mm), 4.0, atol=0.3)
    assert any("spaced off center" in warning for warning in found.warnings)


@pytest.mark.parametrize(
    ("axes", "degrees"), [((0, 1), 4.0), ((0, 2), 1.5), ((0, 2), 4.0)], ids=["steered", "leaned", "leaned far"]
)
def test_a_wheel_turned_or_leaned_in_the_fork_is_named(axes: tuple[int, int], degrees: float) -> None:
    """Fork and plate turned about the wheel's center, upright as by the steering, or along the bike; far off, that nothing is told."""
    rng = np.random.default_rng(16)
    points = front_end(rng, 50_000, 300.0)
    turn = np.eye(3)
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn[np.ix_(axes, axes)] = [[c, -s], [s, c]]
    points[20_000:] = points[20_000:] @ turn.T
    found = align_scan(Scan(points, NOTHING))
    if found.symmetry is None:
        assert axes == (0, 2) and degrees > 2.0
        assert any("leans in the fork by several degrees" in warning for warning in found.warnings)
    else:
        assert_allclose(found.symmetry.angle_deg, degrees, atol=0.3)
        assert any("is steered or leans in the fork." in warning for warning in found.warnings)


@pytest.mark.parametrize(("count", "noise"), [(30_000, 0.0), (30_000, 0.1), (9_000, 0.0)])
def test_holes_of_a_face(count: int, noise: float) -> None:
    """Four round holes and a slot: the holes are measured within four stated standard deviations, the slot is left out."""
    rng = np.random.default_rng(16)
    wanted = [(-25.0, -15.0, 8.4), (-24.0, 15.0, 6.6), (24.0, 15.0, 9.0), (25.0, -15.0, 5.5)]
    flat = np.column_stack([rng.uniform(-40.0, 40.0, count), rng.uniform(-30.0, 30.0, count)])
    for x, y, diameter in wanted:
        flat = flat[np.hypot(flat[:, 0] - x, flat[:, 1] - y) > 0.5 * diameter]
    flat = flat[(np.abs(flat[:, 0]) > 12.0) | (np.abs(flat[:, 1]) > 3.0)] + 0.0
    points = np.column_stack([flat, np.zeros(len(flat))]) + rng.normal(0.0, noise, (len(flat), 3))
    found = hole_circles(points, 3.0, 30.0, max(noise, 1e-3))
    assert len(found) == 4
    for x, y, diameter in wanted:
        hole = min(found, key=lambda one: np.hypot(*(one.center - [x, y])))
        assert np.hypot(*(hole.center - [x, y])) < 0.4
        assert abs(hole.diameter - diameter) < 4.0 * hole.diameter_sigma


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ([], "hints: list, an object"),
        ({"tyre": []}, "hints.tyre: unknown, allowed are tire"),
        ({"tire": [[1, 2, 3]]}, r"hints.tire: .* allowed is a list of \[x, y, z, radius\]"),
        ({"tire": [[1, 2, 3, -4]]}, "radius over 0"),
        ({"mount": "here"}, "hints.mount: 'here'"),
        ({"up": [0, 0, 0]}, "hints.up: .* not zero"),
        ({"position": "middle"}, "hints.position: 'middle', allowed are front and rear"),
        ({"tire": [[1, 2, float("nan"), 4]]}, "finite"),
    ],
)
def test_bad_hints_are_named(data: Any, message: str) -> None:
    with pytest.raises(JobError, match=message):
        parse_hints(data)


def test_hints_that_hold_nothing_are_named(case: tuple[Pose, Alignment, Scan]) -> None:
    _, _, scan = case
    for key in ("tire", "mount", "chassis"):
        with pytest.raises(JobError, match=f"hints.{key}: its balls hold"):
            align_scan(scan, parse_hints({key: [[1e6, 0, 0, 5]]}))


def test_sigma_keys_tell_their_unit(case: tuple[Pose, Alignment, Scan]) -> None:
    _, found, _ = case
    assert all(key.endswith(("_mm", "_deg")) and value > 0.0 for key, value in sigmas(found).items())


def test_a_hole_between_two_threads_is_asked_for_everywhere_and_filled_in_nowhere() -> None:
    """10.4 mm may be a coarse hole of M8, made to H14, or a fine one of M10: report, rows, file and sheet leave it open."""
    rng = np.random.default_rng(21)
    points = disturbed(rng, front_end(rng, 60_000, 200.0, plate=Plate(hole=10.4)), 0.05, 0.02)
    found = align_scan(Scan(random_pose(rng).scan(points), NOTHING))
    assert dict(alignment_rows(found))["Thread"] in ("ask: M10 or M8", "ask: M8 or M10")
    (sentence,) = [warning for warning in found.warnings if "thread is not filled in" in warning]
    assert "M8" in sentence and "M10" in sentence and sentence.endswith("Look at the bolt and state the thread.")
    mount = json.loads(json.dumps(alignment_dict(found), allow_nan=False))["mount"]
    assert mount["thread"] is None and set(mount["thread_candidates"]) == {"M8", "M10"} and mount["ask"] == sentence
    assert "thread" not in job_from_alignment(found, {}).data["mount"]
    assert job_from_alignment(found, {"mount": {"thread": "M8"}}).data["mount"]["thread"] == "M8"
