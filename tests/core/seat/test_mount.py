# SPDX-License-Identifier: GPL-3.0-or-later
"""The mount plane and the seat's outline."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from addon.core.base.arrays import Array
from addon.core.base.convex_polygon import convex_hull, polygon_distance
from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Job, parse_job
from addon.core.seat.mount import mount_frame

FOUR = [[25, 30], [-25, 30], [25, -30], [-25, -30]]
PATTERNS = [
    FOUR,
    [[0, 0]],
    [[0, 32], [0, -32]],
    [[0, 32], [0, -32], [0, 0]],
    [[-20, 0], [20, 0], [0, 40]],
    [[-20, 0], [20, 0], [0, 40], [0, 10]],
]


def job_of(bolts: list[list[float]] | None = None, **mount: Any) -> Job:
    return parse_job(
        {
            "tire": {"size": "120/70 ZR17", "measured_radius": 300},
            "mount": {"height": 50, "bolts": bolts or FOUR, "thread": "M6", "pad": 15, **mount},
            "clearance": {"gap": 8},
            "wall": {"thickness": 3},
        }
    )


def test_level_mount_over_the_axle_by_hand() -> None:
    frame = mount_frame(job_of())
    assert frame.origin == pytest.approx([0, 0, 350])
    # bolt (x, ahead): rider's left is +x, forward is -y
    assert frame.bolts[0] == pytest.approx([25, -30, 350])
    assert frame.up == pytest.approx([0, 0, 1])


def test_nose_up_tilt_by_hand() -> None:
    frame = mount_frame(job_of(tilt=30))
    half = np.sqrt(3) / 2
    assert frame.forward == pytest.approx([0, -half, 0.5])
    assert frame.up == pytest.approx([0, 0.5, half])
    assert frame.origin[2] == pytest.approx(50 * half + np.sqrt(300**2 - 25**2))


@pytest.mark.parametrize("ahead", [-120.0, 0.0, 75.0])
@pytest.mark.parametrize("tilt", [-40.0, 0.0, 25.0])
def test_height_ends_on_the_tire_and_axes_are_square(ahead: float, tilt: float) -> None:
    frame = mount_frame(job_of(ahead=ahead, tilt=tilt))
    foot = frame.origin - 50 * frame.up
    assert np.hypot(foot[1], foot[2]) == pytest.approx(300.0, abs=1e-9)
    assert frame.origin[:2] == pytest.approx([0.0, -ahead])
    axes = np.stack([frame.x, frame.forward, frame.up])
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    uv, height = frame.to_plane(frame.to_axes(frame.bolts_uv, 7.0))
    np.testing.assert_allclose(uv, frame.bolts_uv, atol=1e-9)
    np.testing.assert_allclose(height, 7.0, atol=1e-9)
    np.testing.assert_allclose(frame.to_axes(frame.bolts_uv), frame.bolts, atol=1e-9)


def test_nominal_radius_stands_in() -> None:
    job = parse_job(
        {
            "tire": {"size": "90/90-21"},
            "mount": {"height": 50, "bolts": [[0, 0]], "thread": "M6"},
            "clearance": {"gap": 8},
            "wall": {"thickness": 3},
        }
    )
    assert mount_frame(job).origin[2] == pytest.approx(695 / 2 + 50)  # D 695: facts 1.5, computed


def test_a_height_that_misses_the_tire_is_refused() -> None:
    with pytest.raises(JobError) as caught:
        mount_frame(job_of(ahead=290, tilt=40))
    assert caught.value.key == "mount.ahead"


@pytest.mark.parametrize("bolts", PATTERNS)
def test_outline_is_the_hull_of_the_discs(bolts: list[list[float]]) -> None:
    frame = mount_frame(job_of(bolts))
    outline = frame.outline(720)
    np.testing.assert_allclose(frame.outline_distance(outline), 0.0, atol=1e-9)
    steps = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
    # Cauchy: the perimeter of the offset is that of the hull plus one circle
    hull = frame.hull_uv
    around = np.linalg.norm(np.roll(hull, -1, axis=0) - hull, axis=1).sum() + 2 * np.pi * 15
    assert steps.sum() == pytest.approx(around, rel=1e-4)
    assert steps.max() == pytest.approx(around / 720, rel=1e-3)
    nearest = np.linalg.norm(outline[:, None] - frame.bolts_uv, axis=2).min(axis=1)
    assert nearest.min() >= 15 - 1e-9
    area = 0.5 * (outline[:, 0] * np.roll(outline[:, 1], -1) - np.roll(outline[:, 0], -1) * outline[:, 1]).sum()
    assert area > np.pi * 15**2 * 0.99  # counterclockwise


@pytest.mark.parametrize("bolts", PATTERNS)
def test_outline_distance_against_its_sampled_boundary(bolts: list[list[float]]) -> None:
    frame = mount_frame(job_of(bolts))
    uv = np.random.default_rng(5).uniform(-90, 90, (300, 2))
    boundary = frame.outline(20000)
    away = np.linalg.norm(uv[:, None] - boundary, axis=2).min(axis=1)
    distance = frame.outline_distance(uv)
    np.testing.assert_allclose(np.abs(distance), away, atol=2e-3)
    inside = winding(boundary, uv)
    assert (inside == (distance < 0)).all()


def winding(boundary: Array, uv: Array) -> Array:
    """True where the boundary goes around a point once."""
    angle = np.unwrap(np.arctan2(boundary[:, 1] - uv[:, None, 1], boundary[:, 0] - uv[:, None, 0]), axis=1)
    return np.abs(angle[:, -1] - angle[:, 0]) > np.pi


def test_hull_against_scipy() -> None:
    spatial = pytest.importorskip("scipy.spatial")
    points = np.random.default_rng(3).normal(size=(200, 2))
    ours = convex_hull(points)
    theirs = points[spatial.ConvexHull(points).vertices]
    assert {tuple(p) for p in ours} == {tuple(p) for p in theirs}


def test_square_distance_by_hand() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    uv = np.array([[2.0, 2.0], [2.0, 1.0], [7.0, 8.0], [2.0, -3.0], [4.0, 4.0]])
    np.testing.assert_allclose(polygon_distance(square, uv), [-2.0, -1.0, 5.0, 3.0, 0.0], atol=1e-12)
