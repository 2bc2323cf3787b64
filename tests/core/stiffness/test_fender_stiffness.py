# SPDX-License-Identifier: GPL-3.0-or-later
"""Fenders as shells: laws of scale, symmetry, ribs, loads, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.base.errors import ShapeError
from addon.core.base.wheel_axes import station_of
from addon.core.shells.elastic import Elastic
from addon.core.stiffness.fender_stiffness import FenderStiffness, fender_stiffness
from addon.core.stiffness.loads import drag_force, tip_pushes, toward_axle
from addon.core.stiffness.wall_shell import wall_shells
from addon.core.tables.strength.stiffness_rules import HAND_PUSH_N
from addon.core.wall.rib import Rib
from addon.core.wall.wall_shape import WallShape
from tests.core.shells.shell_scenes import grid_shell
from tests.core.stiffness.fender_scenes import PLASTIC, bolted_wall


def up(points: Array) -> Array:
    return np.tile([0.0, 0.0, 1.0], (len(points), 1))


def stiffness(material: Elastic = PLASTIC, speed: float | None = 150.0, **of_wall: object) -> FenderStiffness:
    return fender_stiffness(*bolted_wall(**of_wall), material, (22.0, up), speed)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def plain() -> FenderStiffness:
    return stiffness()


def test_shell_is_the_middle_of_the_wall() -> None:
    wall, supports = bolted_wall()
    fine, coarse = wall_shells(wall, supports, 2000, 1000)
    assert 1600 <= len(fine.mesh.triangles) <= 2000 and 800 <= len(coarse.mesh.triangles) <= 1000
    volume = fine.mesh.areas @ fine.mesh.corner_thickness.mean(axis=1)
    rim = 0.5 * np.pi * 1.5**2  # a half round all along the edge
    ring = wall.boundary
    length = np.linalg.norm(
        (wall.outer + wall.inner)[ring.vertex] / 2 - (wall.outer + wall.inner)[ring.vertex[ring.after]] / 2, axis=1
    ).sum()
    assert_allclose(volume, wall.mesh.volume - rim * length, rtol=0.01)
    held = fine.mesh.points[fine.fixed[:, 0]]
    off = np.min([support.off_axis(held) for support in supports], axis=0)
    assert off.max() < 9.0 + 1e-6
    for support in supports:
        assert (np.abs(support.off_axis(held) - 9.0) < 1e-6).sum() >= 6


def test_half_as_stiff_a_material_gives_way_twice_as_far(plain: FenderStiffness) -> None:
    soft = stiffness(replace(PLASTIC, modulus_mpa=0.5 * PLASTIC.modulus_mpa))
    for one, other in zip(plain.tips, soft.tips, strict=True):
        assert_allclose(other.mm, 2.0 * one.mm, rtol=1e-6)
    assert soft.drag_mm is not None and plain.drag_mm is not None
    assert_allclose(soft.drag_mm, 2.0 * plain.drag_mm, rtol=1e-6)
    assert_allclose(soft.modes.frequencies_hz, plain.modes.frequencies_hz / np.sqrt(2.0), rtol=1e-6)
    assert_allclose(soft.stress.mpa, plain.stress.mpa, rtol=1e-6)
    assert_allclose(soft.flex_mm, 2.0 * plain.flex_mm, rtol=1e-6)


def test_wind_grows_with_the_square_of_speed(plain: FenderStiffness) -> None:
    fast = stiffness(speed=300.0)
    assert fast.drag_mm is not None and plain.drag_mm is not None
    assert_allclose(fast.drag_mm, 4.0 * plain.drag_mm, rtol=1e-6)
    assert_allclose(fast.drag_n, 4.0 * plain.drag_n, rtol=1e-6)
    still = stiffness(speed=None)
    assert still.drag is None and still.drag_mm is None and still.drag_n == 0.0
    assert_allclose(still.tips[1].mm, plain.tips[1].mm)


def test_wind_on_a_flat_plate() -> None:
    """A square decimeter across the wind at 36 km/h: 1.2 x 0.5 x 1.225 x 10^2 x 0.01 = 0.735 N rearward; along it none."""
    across = grid_shell(4, 4, lambda u, v: (100.0 * u, 0.0 * u, 100.0 * v), 3.0)
    assert (across.frames[0, 2] @ np.array([0.0, -1.0, 0.0])) > 0.99
    assert_allclose(drag_force(across, 36.0)[:, :3].sum(axis=0), [0.0, 0.735, 0.0], atol=1e-12)
    along = grid_shell(4, 4, lambda u, v: (100.0 * u, 100.0 * v, 0.0 * u), 3.0)
    assert_allclose(drag_force(along, 36.0), 0.0, atol=1e-12)


def test_hands_push_the_tips_toward_the_axle(plain: FenderStiffness) -> None:
    front, rear = tip_pushes(plain.mesh)
    assert_allclose([float(station_of(front.place)), float(station_of(rear.place))], [40.0, -60.0], atol=0.5)
    for push in (front, rear):
        force = push.loads[:, :3].sum(axis=0)
        assert_allclose(np.linalg.norm(force), HAND_PUSH_N)
        assert force @ push.place < -0.99 * HAND_PUSH_N * np.linalg.norm(push.place)
        assert np.abs(push.place[0]) < 10.0
    assert plain.tips[0].name == "front" and plain.tips[1].mm > plain.tips[0].mm  # the rear end is longer
    assert plain.flex_mm >= 0.9 * plain.tips[1].mm
    assert plain.flex_mm == pytest.approx(max(toward_axle(plain.mesh, tip.movement).max() for tip in plain.tips))


def test_mirrored_fender_swings_to_both_sides_alike(plain: FenderStiffness) -> None:
    """The lowest shapes of a symmetric fender: what a point does its mirror image does too, or the opposite; held points rest."""
    mesh = plain.mesh
    away = np.linalg.norm(mesh.points[:, None] * [-1.0, 1.0, 1.0] - mesh.points[None], axis=2)
    image = np.argmin(away, axis=1)
    near = away.min(axis=1) < 1.5
    assert near.sum() > 50
    for shape in plain.modes.shapes[:2, :, :3]:
        one, other = shape[near], (shape[image] * [-1.0, 1.0, 1.0])[near]
        assert min(np.abs(one - other).max(), np.abs(one + other).max()) < 0.15


def test_a_rib_and_a_thicker_wall_stiffen(plain: FenderStiffness) -> None:
    rib = WallShape(
        ribs=(
            Rib(35.0, -55.0, 0.0, 14.0, 5.0, 320.0),
            Rib(35.0, -55.0, 40.0, 14.0, 5.0, 320.0),
            Rib(35.0, -55.0, -40.0, 14.0, 5.0, 320.0),
        )
    )
    ribbed, thick = stiffness(shape=rib), stiffness(thickness=4.0)
    for other in (ribbed, thick):
        assert other.tips[1].mm < 0.9 * plain.tips[1].mm
    assert thick.modes.frequencies_hz[0] > 1.05 * plain.modes.frequencies_hz[0]


def test_finer_triangles_change_little(plain: FenderStiffness) -> None:
    assert 0.0 < plain.change < 0.1


def test_layers_are_pulled_most_where_they_lie_across_the_pull(plain: FenderStiffness) -> None:
    """A print with its layers along the wall's stress bears more than one with them across; in any direction is the worst."""
    wall, supports = bolted_wall()

    def worst(up_at: object) -> float:
        return fender_stiffness(wall, supports, PLASTIC, (22.0, up_at), 150.0).stress.mpa  # type: ignore[arg-type]

    sideways = worst(lambda points: np.tile([1.0, 0.0, 0.0], (len(points), 1)))
    forward = worst(lambda points: np.tile([0.0, 1.0, 0.0], (len(points), 1)))
    anyhow = worst(None)
    assert max(sideways, forward, plain.stress.mpa) <= anyhow * (1.0 + 1e-9)
    assert plain.stress.strength_mpa == 22.0 and anyhow > 1.5 * min(sideways, forward, plain.stress.mpa)


def test_part_without_a_bolt_is_refused_with_its_place() -> None:
    wall, supports = bolted_wall()
    loose = replace(wall, triangles=wall.triangles[np.abs(station_of(wall.outer)[wall.triangles].mean(axis=1) + 40.0) > 3.0])
    with pytest.raises(ShapeError, match="held by no bolt") as caught:
        fender_stiffness(loose, supports, PLASTIC, (22.0, up), None)
    assert caught.value.place is not None and float(station_of(caught.value.place)) < -40.0
    with pytest.raises(ValueError, match="there are none"):
        wall_shells(wall, (), 2000)
