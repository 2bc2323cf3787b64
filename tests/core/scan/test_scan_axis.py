# SPDX-License-Identifier: GPL-3.0-or-later
"""Axle and section from scans with known answers: exact, noisy, partial, cluttered; and whether the stated doubt is true."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import least_squares

from addon.core.base.errors import JobError
from addon.core.fits.directions import unit
from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.alignment.alignment import Alignment
from addon.core.scan.alignment.alignment_file import sigmas
from addon.core.scan.data.scan_data import Scan
from addon.core.scan.wheel.axis import Axis
from addon.core.scan.wheel.linear_complex import axis_of_normals, meridian_step, skewness
from addon.core.scan.wheel.meridian_spline import MeridianSpline
from addon.core.scan.wheel.revolution_fit import fit_revolution
from addon.core.scan.wheel.tire_region import region_of

from .scan_scenes import NOTHING, RADIUS, WIDTH, Pose, disturbed, front_end, random_pose, section, tire


def errors_of(alignment: Alignment, pose: Pose) -> tuple[float, float, float]:
    """Axle off the true one (mm), its angle to it (degrees), and the center off along it (mm)."""
    axle = pose.rotation[:, 0]
    away = alignment.axis.point - pose.shift
    angle = Axis(pose.shift, axle).angle_to_deg(alignment.axis)
    return float(np.linalg.norm(np.cross(away, axle))), angle, float(abs(away @ axle))


def test_normals_of_an_exact_torus_give_its_axis() -> None:
    """Each normal of a surface of revolution meets the axis (Pottmann and Wallner, Computational Line Geometry, 3.1)."""
    rng = np.random.default_rng(1)
    pose = random_pose(rng)
    phi, theta = rng.uniform(-0.6, 0.6, 300), rng.uniform(-1.5, 1.5, 300)
    outward = np.column_stack([np.sin(theta), np.cos(theta) * np.sin(phi), np.cos(theta) * np.cos(phi)])
    ring = 240.0 * np.column_stack([0 * phi, np.sin(phi), np.cos(phi)])
    points, normals = pose.scan(ring + 60.0 * outward), outward @ pose.rotation.T
    axis = axis_of_normals(points, normals, np.ones(300))
    assert axis.distance_to(pose.shift) < 1e-7
    assert Axis(pose.shift, pose.rotation[:, 0]).angle_to_deg(axis) < 1e-9
    assert np.abs(skewness(axis, points, normals)[0]).max() < 1e-9


def test_steps_on_normals_reach_the_minimum_of_scipy() -> None:
    """The Gauss-Newton steps end where scipy's trust region does, on noisy normals that draw the linear answer off."""
    rng = np.random.default_rng(2)
    phi, theta = rng.uniform(-0.6, 0.6, 800), rng.uniform(-1.5, 1.5, 800)
    outward = np.column_stack([np.sin(theta), np.cos(theta) * np.sin(phi), np.cos(theta) * np.cos(phi)])
    points = 240.0 * np.column_stack([0 * phi, np.sin(phi), np.cos(phi)]) + 60.0 * outward
    normals = unit(outward + rng.normal(0.0, 0.02, outward.shape))
    weights = np.ones(800)
    axis = Axis(np.array([0.0, 8.0, -5.0]), unit(np.array([1.0, 0.05, -0.04])))
    for _ in range(20):
        axis = meridian_step(axis, points, normals, weights)

    def sines(p: np.ndarray) -> np.ndarray:
        direction = unit(np.array([1.0, p[2], p[3]]))
        lever = np.cross(direction, points - [0.0, p[0], p[1]])
        return np.einsum("ij,ij->i", unit(lever), normals)

    other = least_squares(sines, [0.0, 0.0, 0.0, 0.0], x_scale=[1.0, 1.0, 0.01, 0.01], xtol=1e-14, ftol=1e-14, gtol=1e-14).x
    found = axis.point - axis.point[0] / axis.direction[0] * axis.direction
    assert_allclose(found[1:], other[:2], atol=1e-3)
    assert_allclose(axis.direction[1:] / axis.direction[0], other[2:], atol=1e-6)


def test_spline_is_scipys_and_its_distance_is_true_to_first_order() -> None:
    from scipy.interpolate import BSpline

    rng = np.random.default_rng(3)
    spline = MeridianSpline(240.0, -1.0, 0.1, 60.0 + rng.normal(0.0, 0.3, 23))
    angle = rng.uniform(-0.99, 0.99, 50)
    other = BSpline(-1.0 + 0.1 * np.arange(-3, 24), spline.coefficients, 3)
    value, slope = spline.radius(angle)
    assert_allclose(value, other(angle), atol=1e-12)
    assert_allclose(slope, other.derivative()(angle), atol=1e-10)
    assert_allclose(spline.basis(angle)[0] @ spline.coefficients, value, atol=1e-12)
    assert_allclose(spline.basis(angle)[1] @ spline.coefficients, slope, atol=1e-10)
    rho, along = spline.curve(angle)
    _, out, up = spline.distance(rho, along)
    for step in (0.01, -0.02):
        assert_allclose(
            spline.distance(rho + step * out, along + step * up)[0], step, atol=2e-4 * abs(step) + 1e-4 * step**2 * 100
        )


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_without_noise_the_axle_is_exact(seed: int) -> None:
    """Goal: axis within 0.05 mm and 0.02 degrees; profile and width against the closed form of the section."""
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    found = align_scan(Scan(pose.scan(front_end(rng, 60_000, (360.0, 200.0, 120.0)[seed])), NOTHING))
    off, angle, center = errors_of(found, pose)
    assert off < 0.01
    assert angle < 0.004
    assert center < 0.02
    assert_allclose(found.section.crown_radius, RADIUS, atol=0.01)
    assert_allclose(found.section.section_width, WIDTH, atol=0.05)
    x, rho = section(np.radians(np.linspace(0.0, 110.0, 5000)))  # past the widest point
    profile = found.section.profile
    from_section = np.hypot(profile[:, :1] - x, profile[:, 1:] - (RADIUS - rho)).min(axis=1)
    assert from_section.max() < 0.03
    assert (np.diff(profile[:, 0]) > 0).all()
    assert profile[-1, 0] > 0.49 * WIDTH


@pytest.mark.parametrize(("seed", "arc", "tread"), [(0, 360.0, 6.0), (1, 120.0, 6.0), (2, 60.0, 0.0), (3, 120.0, 0.0)])
def test_clutter_noise_tread_and_stray_points(seed: int, arc: float, tread: float) -> None:
    """Fork legs, disc, spokes and plate stand around; 0.1 mm noise, 5 % stray points; no hint."""
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    scan = pose.scan(disturbed(rng, front_end(rng, 120_000, arc, tread), 0.1, 0.05))
    found = align_scan(Scan(scan, NOTHING))
    off, angle, center = errors_of(found, pose)
    doubt = sigmas(found)
    # one draw each, two-dimensional: five standard deviations; the calibration itself is tested over 200 trials below
    assert off < min(0.3, 5.0 * doubt["axis_point_mm"])
    assert angle < min(0.1, 5.0 * doubt["axis_direction_deg"])
    assert center < min(0.3, 5.0 * doubt["center_along_axis_mm"])
    assert abs(found.section.crown_radius - RADIUS) < 0.1
    assert abs(found.section.coverage_deg - arc) < 4.0
    assert found.tire.confidence > 0.5


def test_stated_doubt_is_true_over_200_trials() -> None:
    """0.1 mm noise, 5 % stray points, 120 degrees of arc: within 0.3 mm and 0.1 degrees, and inside three stated standard
    deviations in at least 95 % of 200 trials, and these are not far larger than the errors. Each trial is the whole robust
    fit from a start that is off by millimeters, as the search leaves it; the next test takes the search in too."""
    off, tilt = [], []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        points = disturbed(rng, tire(rng, 5000, 120.0, rng.uniform(-180.0, 180.0)), 0.1, 0.05, 150.0)
        axis = Axis(rng.normal(0.0, 1.0, 3), unit(np.array([1.0, 0.0, 0.0]) + rng.normal(0.0, 0.005, 3)))
        rho, along = axis.meridian(points)
        near = (rho > 200.0) & (np.abs(along) < 70.0) & (rho < 305.0)
        fit = fit_revolution(points, region_of(axis, rho[near], along[near]), rng)
        # in the fit's own tangents, so that the stated covariance can be held against the errors
        doubt = np.sqrt(np.linalg.eigvalsh(fit.covariance[:2, :2])[-1]), np.sqrt(np.linalg.eigvalsh(fit.covariance[2:4, 2:4])[-1])
        lean = np.hypot(*(fit.axis.direction / fit.axis.direction[0])[1:])
        shift = fit.axis.point[0] * fit.axis.direction / fit.axis.direction[0]
        away = float(np.hypot(*(fit.axis.point - shift)[1:]))
        off.append((away, away / float(np.hypot(doubt[0], fit.axis.point[0] * doubt[1]))))
        tilt.append((np.degrees(lean), lean / doubt[1]))
    for found, limit in ((np.array(off), 0.3), (np.array(tilt), 0.1)):
        assert np.mean(found[:, 0] < limit) >= 0.95
        assert np.mean(found[:, 1] < 3.0) >= 0.95
        # two-dimensional errors in units of their worst standard deviation: root mean square 1 to 1.41 if the doubt is true
        assert 0.7 < np.sqrt(np.mean(found[:, 1] ** 2)) < 1.7


@pytest.mark.parametrize("arc", [60.0, 40.0])
def test_a_short_arc_is_told_by_the_doubt_not_hidden(arc: float) -> None:
    """The doubt of a short arc is many times that of a full turn, and still true."""
    doubts = []
    for turn in (360.0, arc):
        rng = np.random.default_rng(7)
        pose = random_pose(rng)
        found = align_scan(Scan(pose.scan(disturbed(rng, tire(rng, 15_000, turn), 0.1, 0.03, 200.0)), NOTHING))
        off, angle, _ = errors_of(found, pose)
        doubt = sigmas(found)
        assert off < 4.0 * doubt["axis_point_mm"]
        assert angle < 4.0 * doubt["axis_direction_deg"]
        doubts.append(doubt["axis_point_mm"])
    assert doubts[1] > 5.0 * doubts[0]
    assert any("degrees of the tire are covered" in warning for warning in found.warnings) == (arc < 60.0)


@pytest.mark.parametrize(("arc", "seed"), [(60.0, 1), (45.0, 2), (45.0, 5)])
def test_a_short_arc_in_clutter_is_right_or_named(arc: float, seed: int) -> None:
    """A tire seen over a seventh of its turn between legs, disc, spokes and plate: right, or said to be uncertain."""
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    found = align_scan(Scan(pose.scan(disturbed(rng, front_end(rng, 40_000, arc), 0.1, 0.05)), NOTHING))
    right = errors_of(found, pose)[0] < max(4.0 * sigmas(found)["axis_point_mm"], 0.15)
    assert right or any("confidence of" in warning for warning in found.warnings)
    assert any("degrees of the tire are covered" in warning for warning in found.warnings) == (arc < 55.0)


def test_one_side_leaves_the_center_plane_open_and_says_so() -> None:
    rng = np.random.default_rng(4)
    pose = random_pose(rng)
    points = front_end(rng, 100_000, 200.0)
    found = align_scan(Scan(pose.scan(disturbed(rng, points[points[:, 0] > 20.0], 0.1, 0.02)), NOTHING))
    off, angle, center = errors_of(found, pose)
    assert off < 0.1
    assert angle < 0.02
    assert center < 3.0 * sigmas(found)["center_along_axis_mm"]
    assert abs(found.section.section_width - WIDTH) < 3.0 * sigmas(found)["section_width_mm"]
    assert any("Only one side" in warning for warning in found.warnings)


def test_run_out_and_asymmetry_are_measured() -> None:
    """A wheel that is oval by 1 mm (largest less least radius) and a left side that is 0.8 mm fuller."""
    rng = np.random.default_rng(5)
    points = tire(rng, 120_000)
    turn = np.arctan2(points[:, 1], points[:, 2])
    points[:, 1:] *= (1.0 + 0.5 / RADIUS * np.cos(2.0 * turn))[:, None]
    left = points[:, 0] > 30.0
    points[left, 0] += 0.8
    found = align_scan(Scan(points, NOTHING)).section
    assert_allclose(found.run_out_radial, 1.0, atol=0.1)
    assert 0.03 < found.asymmetry < 0.5
    round_one = align_scan(Scan(tire(rng, 120_000), NOTHING)).section
    assert round_one.run_out_radial < 0.02
    assert round_one.asymmetry < 0.02


def test_what_is_no_wheel_is_refused_with_one_sentence() -> None:
    rng = np.random.default_rng(6)
    with pytest.raises(JobError, match="at least 200"):
        align_scan(Scan(rng.normal(size=(50, 3)), NOTHING))
    with pytest.raises(JobError, match="^scan"):
        align_scan(Scan(rng.uniform(0.0, 1000.0, (20_000, 3)), NOTHING))
    with pytest.raises(JobError, match="not finite"):
        align_scan(Scan(np.full((500, 3), np.nan), NOTHING))
    flat = np.column_stack([rng.uniform(0.0, 500.0, (20_000, 2)), np.zeros(20_000)])
    with pytest.raises(JobError, match="surface of revolution"):
        align_scan(Scan(flat, NOTHING))
