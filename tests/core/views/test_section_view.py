# SPDX-License-Identifier: GPL-3.0-or-later
"""Sections and side views of a fender that is part of a torus over a round tire: all distances are known."""

import numpy as np
import pytest
import trimesh

from addon.core.base.arrays import Array, Index, Mask
from addon.core.base.wheel_axes import point_at
from addon.core.bodies.capsule import Capsule
from addon.core.bodies.level_curve import level_curve
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.bodies.swept import Swept
from addon.core.mesh.section import plane_cut
from addon.core.seat.mount import MountFrame
from addon.core.views.section_view import SectionView, section_view, wheel_section
from addon.core.views.side_view import side_view, side_wheel
from addon.core.views.view_lines import Role, upper_part
from addon.core.views.wall_cut import wall_cut

RING, TUBE, GAP, REQUIRED = 230.0, 70.0, 25.0, 10.0
WALL = (1.0, 2.0)
FLAT = 0.02
"""mm: what the facets of tire and fender, of 2 and 3 degrees, are off the true circles, and a little over."""


def round_tire() -> tuple[Array, MeridianBody]:
    """Profile and body of a tire with a round tread of radius TUBE up to its widest place."""
    angle = np.radians(np.linspace(0.0, 90.0, 181))
    profile = np.column_stack([TUBE * np.sin(angle), RING + TUBE * np.cos(angle)])
    return profile, MeridianBody(profile)


def torus_fender(mirrored: bool = True) -> tuple[Array, Index, Mask]:
    """Skin GAP over the tire, from 0 or -70 to 70 degrees around the tube, stations -80 to 40."""
    around = np.radians(np.linspace(0.0 if mirrored else -70.0, 70.0, 71 if mirrored else 141))
    station = np.linspace(-80.0, 40.0, 121)
    s, a = np.meshgrid(station, around, indexing="ij")
    points = point_at(RING + (TUBE + GAP) * np.cos(a), s, (TUBE + GAP) * np.sin(a)).reshape(-1, 3)
    i = (np.arange(120)[:, None] * len(around) + np.arange(len(around) - 1)).ravel()
    quads = np.column_stack([i, i + len(around), i + len(around) + 1, i + 1])
    return points, quads, points[:, 0] == 0.0 if mirrored else np.zeros(len(points), bool)


def shown(station: float, mirrored: bool = True, shift: float = 0.0) -> SectionView:
    profile, body = round_tire()
    points, quads, on_plane = torus_fender(mirrored)
    wheel = wheel_section(profile, body, REQUIRED, station)
    return section_view(wheel, points + [0.0, 0.0, shift], quads, on_plane, mirrored, WALL)


def only(view: SectionView, role: Role) -> Array:
    (line,) = [line.points for line in view.lines if line.role is role]
    return line


@pytest.mark.parametrize("mirrored", [True, False])
@pytest.mark.parametrize("station", [0.0, -43.7])
def test_every_line_of_a_section_is_its_circle(station: float, mirrored: bool) -> None:
    view = shown(station, mirrored)
    assert view.reached and view.station_deg == station
    for role, radius in (
        (Role.ENVELOPE, TUBE),
        (Role.REQUIRED, TUBE + REQUIRED),
        (Role.OUTER, TUBE + GAP + WALL[0]),
        (Role.INNER, TUBE + GAP - WALL[1]),
    ):
        line = only(view, role)
        tread = line[line[:, 1] > RING]
        np.testing.assert_allclose(np.hypot(tread[:, 0], tread[:, 1] - RING), radius, atol=FLAT, err_msg=str(role))
        assert line[:, 1].min() >= view.low - 1e-9
        np.testing.assert_allclose(line[0, 0], -line[-1, 0], atol=1e-6)
        assert line[0, 0] > 0.0 > line[-1, 0]
    inner = only(view, Role.INNER)
    # the ends of the half's faces move along the normals there, which are level with the mirror plane on it
    np.testing.assert_allclose(inner[:, 0].max(), (TUBE + GAP - WALL[1]) * np.sin(np.radians(70.0)), atol=0.05)
    assert (np.diff(inner[:, 0]) < 0.0).all()


def test_gaps_of_a_section_are_the_distances_square_to_the_tire() -> None:
    gaps = shown(12.0).gaps
    assert [gap.place for gap in gaps] == ["crown", "shoulder", "edge"]
    for gap in gaps:
        assert gap.mm == pytest.approx(GAP - WALL[1], abs=FLAT)
        assert np.linalg.norm(gap.at - gap.foot) == pytest.approx(gap.mm, abs=FLAT)
        assert np.hypot(gap.foot[0], gap.foot[1] - RING) == pytest.approx(TUBE, abs=FLAT)
    assert gaps[0].at[0] == pytest.approx(0.0, abs=1e-6)
    shoulder, edge = (np.degrees(np.arctan2(gap.at[0], gap.at[1] - RING)) for gap in gaps[1:])
    assert shoulder == pytest.approx(35.0, abs=0.3) and edge == pytest.approx(70.0, abs=0.3)


def test_gap_follows_the_fender_down() -> None:
    """Lowered by 5 mm at station 0: 5 mm less at the crown, 5 cos(70 deg) less at the edge to first order (5^2 / 2 / TUBE)."""
    before, after = shown(0.0).gaps, shown(0.0, shift=-5.0).gaps
    assert before[0].mm - after[0].mm == pytest.approx(5.0, abs=FLAT)
    assert before[2].mm - after[2].mm == pytest.approx(5.0 * np.cos(np.radians(70.0)), abs=25.0 / 2 / TUBE + FLAT)


def test_section_past_the_fender_shows_the_tire_alone() -> None:
    view = shown(60.0)
    assert not view.reached and view.gaps == ()
    assert [line.role for line in view.lines] == [Role.TIRE, Role.ENVELOPE, Role.REQUIRED]


def test_level_curve_of_a_capsule_and_of_a_moved_wheel() -> None:
    capsule = Capsule([0.0, -20.0, 0.0], [0.0, 20.0, 0.0], 30.0)
    around = np.radians(np.linspace(0.0, 360.0, 37))
    rays = np.column_stack([np.zeros(37), np.cos(around), np.sin(around)])
    for level in (-5.0, 0.0, 12.0):
        points = level_curve(capsule, level, np.zeros(3), rays, 500.0)
        to_axis = np.hypot(np.maximum(np.abs(points[:, 1]) - 20.0, 0.0), points[:, 2])
        np.testing.assert_allclose(to_axis - 30.0, level, atol=1e-6)
    _, body = round_tire()
    slot = Swept(body, (0.0, 30.0, 0.0), begin=(0.0, -10.0, 0.0))
    curve = level_curve(slot, 0.0, np.zeros(3), rays, 900.0)
    assert np.ptp(curve[:, 1]) == pytest.approx(2 * (RING + TUBE) + 30.0, abs=1e-6)
    assert np.ptp(curve[:, 2]) == pytest.approx(2 * (RING + TUBE), abs=1e-6)


def test_level_curve_refuses_what_it_cannot_reach() -> None:
    capsule = Capsule([0.0, -20.0, 0.0], [0.0, 20.0, 0.0], 30.0)
    rays = np.array([[0.0, 1.0, 0.0]])
    with pytest.raises(ValueError, match="origin"):
        level_curve(capsule, 5.0, np.array([0.0, 0.0, 40.0]), rays, 500.0)
    with pytest.raises(ValueError, match="farthest"):
        level_curve(capsule, 5.0, np.zeros(3), rays, 40.0)


def test_side_view_in_the_center_plane() -> None:
    _, body = round_tire()
    origin = np.array([0.0, -10.0, 340.0])
    bolts_uv = np.array([[-20.0, -30.0], [20.0, -30.0], [20.0, 30.0], [-20.0, 30.0]])
    x, forward, up = np.eye(3)[0], np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    bolts = origin + bolts_uv[:, :1] * x + bolts_uv[:, 1:] * forward
    frame = MountFrame(origin, x, forward, up, bolts, bolts_uv, bolts_uv, 12.0, 40.0)
    points, quads, on_plane = torus_fender()
    lines = side_view(side_wheel(RING + TUBE, body, REQUIRED, frame), points, quads, on_plane, WALL, 20.0)
    of = {line.role: line.points for line in lines}
    assert len(of) == len(lines) == 7
    crown = RING + TUBE
    for role, radius in (
        (Role.TIRE, crown),
        (Role.ENVELOPE, crown),
        (Role.REQUIRED, crown + REQUIRED),
        (Role.OUTER, crown + GAP + WALL[0]),
        (Role.INNER, crown + GAP - WALL[1]),
    ):
        np.testing.assert_allclose(np.hypot(*of[role].T), radius, atol=FLAT, err_msg=str(role))
    # forward is to the right: station 40 lies ahead, -80 behind
    assert of[Role.INNER][:, 0].max() == pytest.approx((crown + GAP - WALL[1]) * np.sin(np.radians(40.0)), abs=0.1)
    assert of[Role.INNER][:, 0].min() == pytest.approx(-(crown + GAP - WALL[1]) * np.sin(np.radians(80.0)), abs=0.1)
    np.testing.assert_allclose(of[Role.MOUNT], [[10.0 - 42.0, 340.0], [10.0 + 42.0, 340.0]])
    end = of[Role.STATION][-1]
    assert np.degrees(np.arctan2(end[0], end[1])) == pytest.approx(20.0)


def test_wall_is_cut_the_same_whether_or_not_all_quads_are_looked_at() -> None:
    """On a dented skin, whose normals are those of all facets about each point. The slow twin: all faces moved, then cut."""
    points, quads, on_plane = torus_fender()
    points = points + 3.0 * np.sin(points[:, 1:2] / 4.0) * [0.0, 0.3, 1.0]
    normal = point_at(1.0, 90.0 - 31.3)
    cut = wall_cut(points, quads, on_plane, WALL, np.zeros(3), normal)
    mesh = trimesh.Trimesh(points, quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3), process=False)
    facet = mesh.area_faces[:, None] * mesh.face_normals
    out = np.zeros_like(points)
    pair = facet[0::2] + facet[1::2]
    for corner in range(4):
        np.add.at(out, quads[:, corner], pair)
    out[on_plane, 0] = 0.0
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    for lines, shift in ((cut.outer, WALL[0]), (cut.inner, -WALL[1])):
        slow = plane_cut(points + shift * out, quads, np.zeros(3), normal)
        upper = next(line for line in lines if line[:, 2].mean() > 0.0)
        twin = next(line for line in slow if line[:, 2].mean() > 0.0)
        assert len(upper) == len(twin)
        near = np.linalg.norm(upper[:, None, :] - twin[None, :, :], axis=2).min(axis=1)
        assert near.max() < 1e-9


def test_wall_of_a_skin_away_from_the_plane_is_not_cut() -> None:
    points, quads, on_plane = torus_fender()
    cut = wall_cut(points, quads, on_plane, WALL, np.array([200.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    assert cut.outer == cut.inner == ()


def test_upper_part_cuts_exactly_at_the_height() -> None:
    line = np.array([[0.0, 0.0], [1.0, 2.0], [2.0, 4.0], [3.0, 2.0], [4.0, 0.0]])
    np.testing.assert_allclose(upper_part(line, 1.0), [[0.5, 1.0], [1.0, 2.0], [2.0, 4.0], [3.0, 2.0], [3.5, 1.0]])
    np.testing.assert_array_equal(upper_part(line, -1.0), line)
    assert len(upper_part(line, 5.0)) == 0
