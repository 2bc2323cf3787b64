# SPDX-License-Identifier: GPL-3.0-or-later
"""Regions by marked points instead of balls, a mount that nobody marked, and colors."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.scan.alignment.align_scan import STEPS, align_scan, alignment_steps
from addon.core.scan.alignment.alignment import Alignment
from addon.core.scan.alignment.alignment_rows import alignment_rows
from addon.core.scan.alignment.job_from_alignment import job_from_alignment
from addon.core.scan.alignment.residual_colors import residual_colors, residual_legend, residual_range
from addon.core.scan.data.hints import Hints
from addon.core.scan.data.marked_points import marked_points, with_hole_balls
from addon.core.scan.data.scan_data import Scan
from addon.core.tables.scan_colors import NOT_ON_TIRE, RED_BLUE, REGION_COLORS

from .scan_scenes import NOTHING, Plate, disturbed, front_end, random_pose

PLATE = Plate()


@pytest.fixture(scope="module")
def scene() -> tuple[Scan, np.ndarray]:
    """The scan in a random pose, and its points in wheel axes."""
    rng = np.random.default_rng(31)
    pose = random_pose(rng)
    points = pose.scan(disturbed(rng, front_end(rng, 100_000, 220.0), 0.05, 0.02))
    return Scan(points, NOTHING), (points - pose.shift) @ pose.rotation


def ring_masks(wheel: np.ndarray) -> np.ndarray:
    """Points within 2 mm of the rims of the plate's holes."""
    flat = wheel - PLATE.origin
    x, ahead, up = flat[:, 0], flat @ PLATE.forward, flat @ np.cross([1.0, 0.0, 0.0], PLATE.forward)
    near = np.zeros(len(wheel), bool)
    for bolt in PLATE.bolts:
        near |= np.abs(np.hypot(x - bolt[0], ahead - bolt[1])) < 0.5 * PLATE.hole + 2.0
    return near & (np.abs(up) < 0.5)


def test_marked_points_do_what_balls_do(scene: tuple[Scan, np.ndarray]) -> None:
    """Mount and holes by masks; the plate's height, thread and four bolts come out, and nothing is said of a guess."""
    scan, wheel = scene
    plate = np.linalg.norm(wheel - PLATE.origin, axis=1) < 45.0
    tire = np.abs(np.hypot(wheel[:, 1], wheel[:, 2]) - 290.0) < 12.0
    found = align_scan(scan, Hints(masks={"mount": plate, "holes": ring_masks(wheel), "tire": tire}))
    assert found.mount is not None and found.face is not None and not found.face_found
    assert_allclose(found.mount.height, PLATE.height, atol=0.1)
    assert len(found.face.holes) == 4
    assert not any("was not marked" in warning for warning in found.warnings)


def test_each_marked_rim_becomes_one_ball_about_its_hole(scene: tuple[Scan, np.ndarray]) -> None:
    scan, wheel = scene
    mask = ring_masks(wheel)
    hints = with_hole_balls(scan, Hints(masks={"holes": mask}), 1.0)
    assert hints.regions == {"holes"} and not hints.masks
    balls = hints.balls["holes"]
    assert len(balls) == 4
    centers = np.array([scan.points[mask & (np.abs(wheel[:, 0] - x) < 8.0) & (wheel[:, 1] * -1 > 18.0 + 15.0 * np.sign(ahead) - 15.0) &
                                    (wheel[:, 1] * -1 < 18.0 + 15.0 * np.sign(ahead) + 15.0)].mean(axis=0) for x, ahead in PLATE.bolts])  # fmt: skip
    away = np.linalg.norm(balls[:, None, :3] - centers, axis=2)
    assert away.min(axis=1).max() < 1.0 and len(set(away.argmin(axis=1))) == 4
    in_meters = with_hole_balls(Scan(scan.points / 1000.0, NOTHING), Hints(masks={"holes": mask}), 1000.0)
    assert_allclose(1000.0 * in_meters.balls["holes"], balls, atol=1e-6)


def test_a_face_of_a_coarse_mesh_is_marked_if_all_of_its_corners_are() -> None:
    box = trimesh.creation.box((200.0, 100.0, 50.0))
    scan = Scan(np.array(box.vertices), np.array(box.faces, dtype=np.int64))
    top = scan.points[:, 2] > 0.0
    points = marked_points(scan, scan.points, Hints(masks={"mount": top}), "mount", np.random.default_rng(1))
    assert len(points) > 1000
    assert_allclose(points[:, 2], 25.0, atol=1e-9)
    assert_allclose(np.ptp(points, axis=0)[:2], [200.0, 100.0], rtol=0.01)


def test_masks_that_do_not_fit_are_named(scene: tuple[Scan, np.ndarray]) -> None:
    scan, _ = scene
    with pytest.raises(JobError, match="hints.tire: a mask of .* one truth value for each of 100000 points"):
        align_scan(scan, Hints(masks={"tire": np.ones(5, bool)}))
    with pytest.raises(JobError, match="hints.tire: the mark holds 5 points of the scan, at least 200"):
        align_scan(scan, Hints(masks={"tire": np.arange(100_000) < 5}))
    with pytest.raises(JobError, match="hints.tyre: unknown"):
        align_scan(scan, Hints(masks={"tyre": np.ones(100_000, bool)}))


@pytest.mark.parametrize(("seed", "height", "ahead", "tilt"), [(0, 38.0, -25.0, -9.0), (1, 75.0, 35.0, 11.0)])
def test_a_mount_that_nobody_marked_is_found(seed: int, height: float, ahead: float, tilt: float) -> None:
    """Height and the bolt pattern do not depend on what is called up; they are the plate's."""
    rng = np.random.default_rng(seed)
    plate = Plate(height=height, ahead=ahead, tilt_deg=tilt)
    scan = Scan(random_pose(rng).scan(disturbed(rng, front_end(rng, 120_000, 200.0, plate=plate), 0.05, 0.02)), NOTHING)
    found = align_scan(scan)
    assert found.face_found and found.mount is not None and found.face is not None
    assert_allclose(found.mount.height, height, atol=0.1)
    assert_allclose(np.sort(np.abs(found.mount.bolts), axis=0), [[25.0, 15.0]] * 4, atol=0.3)
    assert any("4 bolt holes" in warning and "mark the mount" in warning for warning in found.warnings)
    rows = dict(alignment_rows(found))
    assert rows["Mount height"].startswith(f"{found.mount.height:.2f} \u00b1 ")
    assert rows["Thread"] == "M6, medium fit"
    assert rows["Hole pattern"].startswith("rectangle, ")


def test_a_plate_without_holes_and_one_beside_the_wheel_are_no_mount() -> None:
    for plate, shift in ((Plate(bolts=()), 0.0), (Plate(), 45.0)):
        rng = np.random.default_rng(3)
        points = front_end(rng, 100_000, 200.0, plate=plate)
        points[-15_000:, 0] += shift
        found = align_scan(Scan(random_pose(rng).scan(disturbed(rng, points, 0.05, 0.02)), NOTHING))
        assert found.face is None and found.mount is None
        assert any(warning.startswith("No mount") for warning in found.warnings)
        assert dict(alignment_rows(found))["Mount"] == "not measured"


def test_two_sides_without_a_crown_are_no_tire() -> None:
    """The ends of a box turn about the axis through their middles, exactly; a crown radius from them would be a guess."""
    box = trimesh.creation.box((400.0, 300.0, 200.0))
    found = align_scan(Scan(np.array(box.vertices), np.array(box.faces, dtype=np.int64)))
    assert not found.section.crown_seen
    assert any(warning.startswith("No crown") for warning in found.warnings)
    with pytest.raises(JobError, match="no crown between them"):
        job_from_alignment(found, {})


def test_the_steps_are_counted_and_end_in_the_same_alignment(scene: tuple[Scan, np.ndarray]) -> None:
    scan, _ = scene
    said = []
    steps = alignment_steps(scan)
    while True:
        try:
            said.append(next(steps))
        except StopIteration as end:
            found: Alignment = end.value
            break
    assert len(said) == len(set(said)) == STEPS
    assert_allclose(found.scan_to_wheel, align_scan(scan).scan_to_wheel, rtol=0.0, atol=0.0)


def luminance(color: tuple[float, float, float]) -> float:
    """Relative luminance of sRGB, IEC 61966-2-1."""
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in color]
    return float(np.dot(linear, [0.2126, 0.7152, 0.0722]))


def test_residual_colors_run_from_blue_over_white_to_red() -> None:
    colors = residual_colors(np.array([-9.0, -1.0, -0.2, 0.0, 0.2, 1.0, np.nan]), 1.0)
    assert_allclose(colors[:, 3], 1.0)
    assert_allclose(colors[[0, 1]], [(*RED_BLUE[0], 1.0)] * 2, atol=1e-6)
    assert_allclose(colors[3, :3], 0xF7 / 255, atol=1e-6)
    assert_allclose(colors[5, :3], RED_BLUE[-1], atol=1e-6)
    assert_allclose(colors[2, :3], RED_BLUE[4], atol=1e-6)
    assert_allclose(colors[6, :3], NOT_ON_TIRE, atol=1e-6)
    light = [luminance(color) for color in RED_BLUE]
    assert (np.diff(light[:6]) > 0.0).all() and (np.diff(light[5:]) < 0.0).all()
    assert len(set(REGION_COLORS.values())) == 4


@pytest.mark.parametrize(("rms", "end"), [(0.0, 0.1), (0.05, 0.2), (0.1, 0.5), (0.6, 5.0), (50.0, 20.0)])
def test_the_legend_ends_at_round_figures(rms: float, end: float) -> None:
    assert residual_range(rms) == end
    assert residual_legend(end)[0].text == f"-{end:g} mm and further in"
