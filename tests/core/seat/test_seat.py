# SPDX-License-Identifier: GPL-3.0-or-later
"""The seat: flat where it must be, smooth around, wall kept, nothing else touched."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError, ShapeError
from addon.core.base.format_place import format_place
from addon.core.mesh.open_surface import Surface
from addon.core.seat.mount import MountFrame
from addon.core.seat.seat import seat_face
from addon.core.seat.seat_outline import outline_distance, outline_points
from addon.core.wall.closed_wall import closed_wall
from tests.core.torus_surface import as_manifold, crown_seat, facing, grid_quads, plane_surface, torus_surface

BOLTS = np.array([[20.0, 25.0], [-20.0, 25.0], [20.0, -25.0], [-20.0, -25.0]])


@pytest.mark.parametrize("bolts", [BOLTS, BOLTS[:2], BOLTS[:1], BOLTS[:3], np.array([[0.0, 0.0], [10.0, 0.0], [30.0, 0.0]])])
def test_outline_distance_by_sampling(bolts: np.ndarray) -> None:
    """Distance to the hull of the bolts sampled densely, less the pad; gradient by differences."""
    rng = np.random.default_rng(4)
    points = rng.uniform(-60, 60, (300, 2))
    distance, direction = outline_distance(points, bolts, 12.0)
    weights = rng.dirichlet(np.full(len(bolts), 0.4), 40000)
    slow = np.linalg.norm(points[:, None] - (weights @ bolts)[None], axis=2).min(axis=1) - 12.0
    assert_allclose(distance, slow, atol=0.6)
    assert (distance <= slow + 1e-9).all()
    outside = distance > -11.9
    for axis in range(2):
        step = np.eye(2)[axis] * 1e-5
        slope = (outline_distance(points + step, bolts, 12.0)[0] - outline_distance(points - step, bolts, 12.0)[0]) / 2e-5
        assert_allclose(direction[outside, axis], slope[outside], atol=1e-4)
    on = outline_points(bolts, 12.0, 40)[:40]
    assert_allclose(outline_distance(on, bolts, 12.0)[0], 0.0, atol=1e-9)


@pytest.mark.parametrize("tilt", [0.0, 5.0])
@pytest.mark.parametrize(("face", "side"), [("outer", 0), ("inner", 1)])
def test_seat_is_the_mount_plane_and_normals_are_true(tilt: float, face: str, side: int) -> None:
    a = np.radians(tilt)
    frame = {"forward": np.array([0.0, -np.cos(a), np.sin(a)]), "normal": np.array([0.0, np.sin(a), np.cos(a)])}
    seat = crown_seat(318.0, face=face, blend=30.0, **frame)
    wall = closed_wall(torus_surface(), 1.5, 1.5, "round", seat)
    points = (wall.outer, wall.inner)[side]
    distance, _ = outline_distance(seat.in_plane(points), seat.bolts, seat.pad)
    on = (distance <= 0) & (np.abs(seat.height(points)) < 20)
    assert on.sum() > 80
    assert_allclose(seat.height(points[on]), 0.0, atol=1e-9)
    other = (wall.inner, wall.outer)[side]
    assert_allclose(np.linalg.norm(other - points, axis=1), 3.0, rtol=1e-9)
    # area-weighted facet normals are another way to the normals; 0.5 deg in the mean, 8 deg at most, as the facets are 1 to 9 mm
    facets = wall.mesh.area_vectors[: len(wall.triangles)]
    guess = np.zeros_like(wall.outer)
    for corner in range(3):
        np.add.at(guess, wall.triangles[:, corner], facets)
    guess /= np.linalg.norm(guess, axis=1, keepdims=True)
    inside = np.setdiff1d(np.arange(len(guess)), wall.boundary.vertex)
    cosine = np.einsum("ij,ij->i", guess, (wall.outer - wall.inner) / 3.0)[inside]
    assert np.degrees(np.arccos(np.clip(cosine, -1, 1))).max() < 8.0
    assert np.degrees(np.arccos(np.clip(cosine, -1, 1))).mean() < 0.5


def test_normals_by_differences() -> None:
    """The cofactor formula against the cross product of moved neighbors, 1e-6 mm apart; tolerance 1e-5."""
    rng = np.random.default_rng(9)
    seat = crown_seat(319.0, blend=40.0)
    sheet = torus_surface()
    chosen = (np.abs(sheet.points[:, 1]) < 80) & (rng.random(len(sheet.points)) < 0.5)
    p, n = sheet.points[chosen], sheet.normals[chosen]
    one = np.cross(n, [0.3, 0.5, 0.8])
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    two = np.cross(n, one)
    step = 1e-5
    count = len(p)
    # all in one call, so that the reach under the pad is one and the same
    every = np.concatenate([p, p + step * one, p - step * one, p + step * two, p - step * two])
    face = seat_face(every, np.tile(n, (5, 1)), seat)
    moved = face.points.reshape(5, count, 3)
    normal = np.cross(moved[1] - moved[2], moved[3] - moved[4])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    assert (face.weight[:count] > 0.01).sum() > 100
    assert_allclose(np.abs(np.einsum("ij,ij->i", normal, face.normals[:count])), 1.0, atol=1e-9)
    assert_allclose(face.normals[:count], normal, atol=2e-4)


def test_constant_wall_through_the_blend_and_thicker_only_when_solid() -> None:
    land = closed_wall(torus_surface(), 0.0, 3.0, "round", crown_seat())
    pad = closed_wall(torus_surface(), 0.0, 3.0, "round", crown_seat(solid=True))
    plain = closed_wall(torus_surface(), 0.0, 3.0, "round")
    assert_allclose(np.linalg.norm(land.outer - land.inner, axis=1), 3.0, rtol=1e-9)
    assert pad.mesh.volume > land.mesh.volume + 5000
    assert_allclose(pad.outer, land.outer)
    # the inner face of a pad on a crown below the plane is the plain inner face
    angle_off = np.hypot(pad.inner[:, 0], np.hypot(pad.inner[:, 1], pad.inner[:, 2]) - 240.0) - 77.0
    raised = pad.seat_weight > 0.9
    raised &= np.abs(pad.inner[:, 0]) > 20
    assert np.abs(angle_off[raised]).max() < 0.01
    assert plain.seat_weight.max() == 0.0


def test_solid_seat_that_is_pressed_in_keeps_its_wall() -> None:
    """A plane 2 mm below the crown: the middle is pushed in, the sides come up; nowhere under 98 % of the wall."""
    from addon.core.wall.wall_check import wall_stats

    stats = wall_stats(closed_wall(torus_surface(), 0.0, 3.0, "round", crown_seat(318.0, solid=True)))
    assert stats.min > 0.98 * 3.0
    assert stats.max > 4.0


def deep_channel(depth: float = 70.0) -> Surface:
    """A wide top whose side walls turn under it: section of a top, two round corners, two returns below the top."""
    s = np.linspace(-1.0, 1.0, 161)
    width, corner = 45.0, 12.0
    arc = corner * np.pi
    length = width + arc + 35.0
    at = np.abs(s) * length
    x = np.where(
        at < width, at, np.where(at < width + arc, width + corner * np.sin((at - width) / corner), width - (at - width - arc))
    )
    z = np.where(at < width, 0.0, np.where(at < width + arc, corner * (np.cos((at - width) / corner) - 1.0), -2 * corner))
    nx = np.where(at < width, 0.0, np.where(at < width + arc, np.sin((at - width) / corner), 0.0))
    nz = np.where(at < width, 1.0, np.where(at < width + arc, np.cos((at - width) / corner), -1.0))
    y = np.linspace(-90, 90, 61)
    zero = np.zeros((len(y), 1))
    points = np.stack([zero + np.sign(s) * x, y[:, None] + 0 * s, zero + 320.0 + z], axis=-1).reshape(-1, 3)
    normals = np.stack([zero + np.sign(s) * nx, zero + 0 * s, zero + nz], axis=-1).reshape(-1, 3)
    return facing(points, normals, grid_quads(len(y), len(s)))


def test_other_walls_under_the_pad_are_not_pulled() -> None:
    """Returns 24 mm below the seat lie under its footprint; they must not move at all."""
    sheet = deep_channel()
    plain = closed_wall(sheet, 0.0, 2.0, "round")
    seated = closed_wall(sheet, 0.0, 2.0, "round", crown_seat(321.5, blend=14.0))
    below = seated.outer[:, 2] < 305.0
    assert (np.abs(seated.outer[below, 0]) < 25).sum() > 100
    assert seated.seat_weight[below].max() == 0.0
    assert_allclose(np.sort(seated.outer[below, 2])[0], plain.outer[:, 2].min(), atol=1e-12)
    assert as_manifold(seated.mesh).genus() == 0


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"origin": np.array([0.0, 400.0, 320.0])}, JobError, "mount.bolts: the seat is not over the fender"),
        ({"origin": np.array([0.0, 0.0, 340.0])}, JobError, r"mount.blend: the skin is \d+\.\d mm off the mount plane"),
        ({"bolts": BOLTS * [2.75, 1.0], "blend": 120.0}, JobError, "mount.pad: the seat comes within"),
        ({"bolts": BOLTS * [5.0, 1.0], "blend": 200.0}, JobError, "mount.pad"),
    ],
)
def test_seats_that_cannot_be_are_refused(changes: dict[str, object], error: type[ValueError], words: str) -> None:
    with pytest.raises(error, match=words):
        closed_wall(torus_surface(half_angle=60.0), 0.0, 3.0, "round", crown_seat(**changes))


def test_seat_over_an_opening_is_refused() -> None:
    keep = np.ones((40, 40), bool)
    keep[19:21, 19:21] = False
    flat = plane_surface(np.linspace(-100, 100, 41), np.linspace(-100, 100, 41), keep)
    with pytest.raises(JobError, match="mount.pad"):
        closed_wall(flat, 0.0, 3.0, "round", crown_seat(0.0))


def test_skin_folded_under_the_seat_is_refused() -> None:
    """A second layer 4 mm below the first, both facing up under the pad."""
    s = np.linspace(0.0, 1.0, 241)
    at = s * 320.0
    # one way 100 mm, a round turn of 6 mm, 100 mm back, a turn, and forth again
    r, turn = 6.0, 6.0 * np.pi
    a, b = (at - 100.0) / r, (at - 200.0 - turn) / r
    x = np.select(
        [at < 100, at < 100 + turn, at < 200 + turn, at < 200 + 2 * turn],
        [at, 100 + r * np.sin(a), 200 + turn - at, -r * np.sin(b)],
        at - 200 - 2 * turn,
    )
    z = np.select(
        [at < 100, at < 100 + turn, at < 200 + turn, at < 200 + 2 * turn],
        [0 * at, r * np.cos(a) - r, -2 * r + 0 * at, -3 * r + r * np.cos(b)],
        -4 * r,
    )
    nx = np.select([at < 100, at < 100 + turn, at < 200 + turn, at < 200 + 2 * turn], [0 * at, np.sin(a), 0 * at, np.sin(b)], 0.0)
    nz = np.select(
        [at < 100, at < 100 + turn, at < 200 + turn, at < 200 + 2 * turn], [1 + 0 * at, np.cos(a), -1 + 0 * at, -np.cos(b)], 1.0
    )
    y = np.linspace(-90, 90, 61)
    zero = np.zeros((len(y), 1))
    points = np.stack([zero + x - 50.0, y[:, None] + 0 * s, zero + z], axis=-1).reshape(-1, 3)
    normals = np.stack([zero + nx, zero + 0 * s, zero + nz], axis=-1).reshape(-1, 3)
    folded = facing(points, normals, grid_quads(len(y), len(s)))
    with pytest.raises((JobError, ShapeError)):
        closed_wall(folded, 0.0, 1.0, "square", crown_seat(-5.0, bolts=np.array([[0.0, 0.0]]), pad=20.0, blend=60.0))


def test_mount_frame_and_seat_tell_the_same_distance() -> None:
    frame = MountFrame(
        origin=np.zeros(3),
        x=np.eye(3)[0],
        forward=np.eye(3)[1],
        up=np.eye(3)[2],
        bolts=np.zeros((4, 3)),
        bolts_uv=BOLTS,
        hull_uv=BOLTS[[0, 1, 3, 2]],
        pad=12.0,
        height=10.0,
    )
    points = np.random.default_rng(6).uniform(-80, 80, (500, 2))
    ours, _ = outline_distance(points, BOLTS, 12.0)
    outside = ours > -12.0
    assert_allclose(ours[outside], frame.outline_distance(points)[outside], atol=1e-9)


def test_a_place_just_behind_the_top_is_said_without_a_minus() -> None:
    assert format_place(np.array([-0.2, 0.5, 300.0])) == "at station 0 deg, x = 0 mm"
    assert format_place(np.array([-30.4, -300.0, 300.0])) == "at station 45 deg, x = -30 mm"
