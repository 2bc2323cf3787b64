# SPDX-License-Identifier: GPL-3.0-or-later
"""Drags as the mouse makes them: the last result is the clear cage, the target is the move from its own start."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from addon.core.base.arrays import Array
from addon.core.base.tolerances import TOLERANCES
from addon.core.clearance.clearance_field import ClearanceField
from addon.core.shaping.guard import guard
from addon.core.shaping.guard_cache import GuardCache
from addon.core.skin.cage import topology_of_faces
from addon.core.skin.skin_stencil import skin_stencil
from tests.core.guard_scenes import Scene, leg_field, mirrored_grid, tire_field, whole_grid

STEP = 3.0
POP = 4.0
"""No skin point moves further than this many mouse steps in one."""


def drag(
    scene: Scene, field: ClearanceField, moved: Array, targets: list[Array], leash: float | None = POP * STEP
) -> list[Array]:
    """The cage after each mouse step; the skin is clear after each and does not pop."""
    cache, clear, cages = GuardCache(), scene.points, []
    skin = scene.stencil.apply(clear)
    for target in targets:
        result = guard(
            clear,
            target,
            scene.stencil,
            field,
            moved=moved,
            fixed_x=scene.on_plane,
            rounds=1,
            longest_step_mm=leash,
            cache=cache,
        )
        before, skin, clear = skin, scene.stencil.apply(result.points), result.points
        cages.append(clear)
        assert result.clear
        assert field.excess(skin).min() >= -TOLERANCES.clear
        if leash is not None:
            assert np.linalg.norm(skin - before, axis=1).max() <= leash + 1e-9
    return cages


def straight(scene: Scene, moved: Array, direction: Array, length: float) -> list[Array]:
    return [scene.points + moved[:, None] * direction * way for way in np.arange(STEP, length, STEP)]


def crown(scene: Scene) -> Array:
    top = scene.points[scene.points[:, 2].argmax()]
    return np.abs(scene.points[:, 1] - top[1]) < 90.0


@pytest.mark.parametrize("make", [mirrored_grid, whole_grid])
def test_right_through_the_tire(make: Callable[[], Scene]) -> None:
    """400 mm down, through rubber and past the axle: the skin ends outside, on the side it came from, and comes back."""
    scene, field = make(), tire_field()
    moved = crown(scene) & (np.abs(scene.points[:, 0]) < 30.0)
    down = straight(scene, moved, np.array([0.0, 0.0, -1.0]), 400.0)
    cages = drag(scene, field, moved, [*down, *down[::-1], scene.points])
    deepest = cages[len(down) - 1]
    above = scene.stencil.apply(deepest)
    center = np.abs(above[:, 0]) < 5.0
    assert np.linalg.norm(above[center][:, 1:], axis=1).min() > 305.0
    assert np.abs(deepest - down[-1]).max() > 50.0
    assert_array_equal(cages[-1], scene.points)


@pytest.mark.parametrize("direction", [(1.0, 0.0, -1.0), (1.0, 0.3, -0.4), (-1.0, 0.0, -0.5)])
def test_sideways_near_the_crown_edge(direction: tuple[float, float, float]) -> None:
    scene, field = mirrored_grid(along=9, across=6), tire_field()
    moved = crown(scene) & (scene.points[:, 0] > 25.0)
    way = np.array(direction) / np.linalg.norm(direction)
    targets = straight(scene, moved, way, 180.0)
    cages = drag(scene, field, moved, [*targets, *targets[::-1], scene.points])
    assert_array_equal(cages[-1], scene.points)


def test_without_a_leash_a_plain_push_does_not_pop_either() -> None:
    """The planes at the last clear skin alone: a push to 60 mm under the crown, measured, moves the skin less than 4 steps."""
    scene, field = mirrored_grid(along=9, across=6), tire_field()
    moved = crown(scene)
    skin = scene.stencil.apply(scene.points)
    for cage in drag(scene, field, moved, straight(scene, moved, np.array([0.0, 0.0, -1.0]), 100.0), leash=None):
        before, skin = skin, scene.stencil.apply(cage)
        assert np.linalg.norm(skin - before, axis=1).max() <= POP * STEP


def test_between_tire_and_fork_leg() -> None:
    scene, field = mirrored_grid(along=9, across=6), leg_field()
    moved = scene.points[:, 0] > 30.0
    targets = straight(scene, moved, np.array([0.7, 0.0, -0.714]), 150.0)
    cages = drag(scene, field, moved, [*targets, *targets[::-1], scene.points])
    assert_array_equal(cages[-1], scene.points)


@pytest.mark.parametrize("kind", ["scale", "rotate"])
def test_scale_and_rotate(kind: str) -> None:
    """About the middle of the moved points, in steps that move the outermost of them by one mouse step."""
    scene, field = whole_grid(), tire_field()
    moved = crown(scene)
    middle = scene.points[moved].mean(axis=0)
    arm = scene.points - middle
    reach = np.linalg.norm(arm[moved], axis=1).max()
    targets = []
    for part in np.arange(1, 40) * STEP / reach:
        if kind == "scale":
            changed = middle + arm * (1.0 + part)
        else:
            cosine, sine = np.cos(part), np.sin(part)
            changed = middle + arm @ np.array([[cosine, 0.0, -sine], [0.0, 1.0, 0.0], [sine, 0.0, cosine]])
        targets.append(np.where(moved[:, None], changed, scene.points))
    cages = drag(scene, field, moved, [*targets, *targets[::-1], scene.points])
    assert_array_equal(cages[-1], scene.points)


def test_a_hundred_drags_leave_untouched_points_where_they_were() -> None:
    """To the last bit, and the moved ones too once the drag is back at its start."""
    scene, field = mirrored_grid(level=2), tire_field()
    rng = np.random.default_rng(11)
    cache, clear = GuardCache(), scene.points
    ever = np.zeros(len(scene.points), bool)
    near_top = np.flatnonzero(np.abs(scene.points[:, 1] + 50.0) < 160.0)
    for _ in range(100):
        moved = np.zeros(len(scene.points), bool)
        moved[rng.choice(near_top, 4, replace=False)] = True
        ever |= moved
        start, step = clear, np.append(rng.normal(scale=15.0, size=2), -rng.uniform(20.0, 90.0))
        for part in (0.3, 0.6, 1.0, 0.6, 0.3, 0.0):
            target = start + moved[:, None] * step * part
            clear = guard(clear, target, scene.stencil, field, fixed_x=scene.on_plane, rounds=3, cache=cache).points
    assert 8 < ever.sum() < len(ever) - 4
    assert clear[~ever].tobytes() == scene.points[~ever].tobytes()
    assert_array_equal(clear, scene.points)


def test_skin_stays_smooth() -> None:
    """The largest angle between neighboring facets is at most 1.1 times that of the same push without the guard."""
    scene, field = mirrored_grid(level=4, along=9, across=5), tire_field()
    topology = topology_of_faces(len(scene.points), scene.faces, on_plane=scene.on_plane)
    quads = skin_stencil(topology, 4).quads
    moved = crown(scene)
    target = scene.points - moved[:, None] * np.array([0.0, 0.0, 55.0])
    result = guard(scene.points, target, scene.stencil, field, moved=moved, fixed_x=scene.on_plane)
    assert result.clear and field.excess(scene.stencil.apply(target)).min() < -15.0
    guarded = largest_bend(scene.stencil.apply(result.points), quads)
    free = largest_bend(scene.stencil.apply(target), quads)
    assert guarded > 1.0
    assert guarded <= 1.1 * free


def largest_bend(points: Array, quads: Array) -> float:
    """Degrees between the normals of facets that share an edge."""
    normal = np.cross(points[quads[:, 2]] - points[quads[:, 0]], points[quads[:, 3]] - points[quads[:, 1]])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    edges = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
    face = np.repeat(np.arange(len(quads)), 4)
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    edges, face = edges[order], face[order]
    shared = np.flatnonzero((edges[1:] == edges[:-1]).all(axis=1))
    cosine = np.einsum("ij,ij->i", normal[face[shared]], normal[face[shared + 1]])
    return float(np.degrees(np.arccos(np.clip(cosine.min(), -1.0, 1.0))))
