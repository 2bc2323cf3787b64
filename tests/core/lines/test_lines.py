# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines beside each other: curvature of conics in closed form, and a fender that is bent toward a line."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from addon.core.base.errors import CageError, JobError
from addon.core.clearance.clearance_field import ClearanceField, clearance_field
from addon.core.job.job_sheet import BikeLine, read_job_sheet
from addon.core.lines.compare_line import compare_line
from addon.core.lines.follow_lines import follow_lines
from addon.core.lines.line_shape import line_shape
from addon.core.lines.lines_report import lines_report, lines_words, matched_lines
from addon.core.lines.own_line import own_line, own_rows
from addon.core.seat.mount import mount_frame
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.seed import Seed, seed_cage
from addon.core.skin.cage import Cage
from addon.core.skin.skin_stencil import SkinStencil, skin_stencil

JOB = read_job_sheet(Path(__file__).parents[3] / "blend_demo" / "front_17.toml")


@cache
def _seed() -> tuple[Seed, ClearanceField, SkinStencil, SeatRows]:
    field = clearance_field(JOB)
    seed = seed_cage(JOB, field)
    return seed, field, skin_stencil(seed.cage.topology, 4), SeatRows(seed.seat, mount_frame(JOB).up)


def _crown(cage: Cage) -> np.ndarray:
    stencil = _seed()[2]
    return own_line(cage, stencil, own_rows(cage, stencil, "crown"), "side")


def _line(points: np.ndarray, **keys: object) -> BikeLine:
    return BikeLine(name="tank", points=tuple(map(tuple, points.tolist())), **keys)  # type: ignore[arg-type]


@pytest.mark.parametrize(("a", "b"), [(200.0, 200.0), (400.0, 150.0), (120.0, 260.0)])
def test_curvature_of_an_ellipse(a: float, b: float) -> None:
    """k = a b / (a^2 sin^2 + b^2 cos^2)^(3/2), counterclockwise positive."""
    turn = np.linspace(0.0, np.pi, 600)
    shape = line_shape(np.column_stack([a * np.cos(turn), b * np.sin(turn)]))
    exact = a * b / (a**2 * np.sin(turn) ** 2 + b**2 * np.cos(turn) ** 2) ** 1.5
    inside = (shape.along > 13.0) & (shape.along < shape.along[-1] - 13.0)
    np.testing.assert_allclose(shape.curvature[inside], exact[inside], rtol=0.03)
    tangent = np.column_stack([-a * np.sin(turn), b * np.cos(turn)])
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    assert np.einsum("ij,ij->i", shape.tangents, tangent).min() > np.cos(np.radians(1.2))


def test_curvature_of_a_circle_of_few_points() -> None:
    turn = np.radians(np.linspace(24.0, 50.0, 14))
    shape = line_shape(360.0 * np.column_stack([np.cos(turn), np.sin(turn)]))
    np.testing.assert_allclose(shape.curvature, 1 / 360.0, rtol=0.03)


def test_curvature_of_a_parabola_and_of_a_straight_line() -> None:
    x = np.linspace(-200.0, 200.0, 801)
    shape = line_shape(np.column_stack([x, -0.001 * x**2]))
    exact = -0.002 / (1.0 + (0.002 * x) ** 2) ** 1.5
    np.testing.assert_allclose(shape.curvature[40:-40], exact[40:-40], rtol=0.01)
    straight = line_shape(np.column_stack([x, 0.3 * x]))
    np.testing.assert_allclose(straight.curvature, 0.0, atol=1e-12)
    with pytest.raises(ValueError, match="length"):
        line_shape(np.ones((3, 2)))


def test_circle_beside_a_circle_has_even_distance_and_both_radii() -> None:
    turn = np.linspace(0.4, 2.6, 300)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    match = compare_line("bike_line[0]", _line(340.0 * circle[::-1][20:-20]), 300.0 * circle)
    np.testing.assert_allclose(np.abs(match.offset), 40.0, atol=0.02)
    np.testing.assert_allclose(match.angle_deg, 0.0, atol=0.2)
    np.testing.assert_allclose(np.abs(match.own_curvature), 1 / 300.0, rtol=0.01)
    np.testing.assert_allclose(match.line_curvature * np.sign(match.own_curvature), 1 / 340.0, rtol=0.01)
    assert 240 < len(match.rows) < 280


def test_line_that_never_comes_near_is_named_with_its_distance() -> None:
    crown = _crown(_seed()[0].cage)
    far = _line(crown + [0.0, 150.0])
    with pytest.raises(
        JobError, match=r'bike_line\[2\].points: the line "tank" never comes along the crown within 80 mm .* \d+ mm away'
    ):
        compare_line("bike_line[2]", far, crown)
    with pytest.raises(JobError, match="past its ends only"):
        compare_line("bike_line[0]", _line(np.array([[-400.0, 100.0], [-330.0, 110.0]]), reach=500.0), crown)


def test_crown_and_edge_run_from_the_rear_to_the_front() -> None:
    seed, _, stencil, _ = _seed()
    for part in ("crown", "edge"):
        points = stencil.position.apply(seed.cage.points)[own_rows(seed.cage, stencil, part)]
        assert points[0, 1] > 150.0 and points[-1, 1] < -150.0
        assert np.linalg.norm(np.diff(points, axis=0), axis=1).max() < 20.0
    assert points[:, 0].max() == pytest.approx(JOB.cage.half_width, abs=2.0)


def test_whole_cage_is_refused() -> None:
    seed, _, stencil, _ = _seed()
    whole = replace(seed.cage, topology=replace(seed.cage.topology, mirrored=False))
    with pytest.raises(CageError, match="half"):
        own_rows(whole, stencil, "crown")


def test_crown_is_bent_to_a_line_above_it_and_seat_and_clearance_hold() -> None:
    """The line is the crown itself, raised away from the seat by up to 12 mm: it can be met."""
    seed, field, stencil, held = _seed()
    before = _crown(seed.cage)
    station = np.degrees(np.arctan2(-before[:, 0], before[:, 1]))
    lift = np.where(station < -22.0, 12.0 * np.clip((-22.0 - station) / 20.0, 0.0, 1.0) ** 2, 0.0)
    aim = before * (1.0 + lift / np.hypot(*before.T))[:, None]
    line = _line(aim[station < -22.0], follow=1.0)
    bent = follow_lines(seed.cage, stencil, field, (line,), held)
    first, last = (compare_line("bike_line[0]", line, _crown(cage)) for cage in (seed.cage, bent))
    assert np.abs(first.offset).max() > 8.0 and np.abs(last.offset).mean() < 0.15 * np.abs(first.offset).mean()
    assert last.angle_deg.mean() < first.angle_deg.mean()
    np.testing.assert_array_equal(bent.points[seed.seat], seed.cage.points[seed.seat])
    assert field.worst(stencil.position.apply(bent.points)).excess_mm >= -1e-3
    # a section moves together: beside the crown as much as on it
    moved = np.linalg.norm(bent.points - seed.cage.points, axis=1)
    rear = bent.points[:, 1] > 200.0
    assert moved[rear].min() > 0.3 * moved[rear].max()


def test_line_through_the_tire_is_followed_as_far_as_the_clearance_allows() -> None:
    seed, field, stencil, held = _seed()
    before = _crown(seed.cage)
    line = _line(before * 0.9, follow=1.0)
    bent = follow_lines(seed.cage, stencil, field, (line,), held)
    worst = field.worst(stencil.position.apply(bent.points))
    assert -1e-3 <= worst.excess_mm < 0.05
    nearer = compare_line("bike_line[0]", line, _crown(bent)).offset
    assert np.abs(nearer).mean() < np.abs(compare_line("bike_line[0]", line, before).offset).mean()


def test_share_of_the_way_and_none() -> None:
    seed, field, stencil, held = _seed()
    before = _crown(seed.cage)
    rear = before[:, 0] > 150.0
    line = _line(before[rear] * 1.03, follow=0.5)
    half = follow_lines(seed.cage, stencil, field, (line,), held)
    one, two = (np.abs(compare_line("b", line, _crown(cage)).offset).mean() for cage in (seed.cage, half))
    assert two / one == pytest.approx(0.5, abs=0.1)
    assert follow_lines(seed.cage, stencil, field, (replace(line, follow=0.0),), held) is seed.cage


def test_report_tells_distance_angle_and_radii() -> None:
    seed, _, stencil, _ = _seed()
    crown = _crown(seed.cage)
    job = replace(JOB, bike_lines=(_line(crown + [0.0, 20.0]),))
    lines = matched_lines(job, seed.cage, stencil)
    (told,) = lines_report(lines)
    assert told["name"] == "tank" and 10.0 < told["mean_mm"] <= 20.0 and told["own_radius_mm"] > 200.0
    assert "tank: " in lines_words(lines)[0] and "deg" in lines_words(lines)[0]
