# SPDX-License-Identifier: GPL-3.0-or-later
"""2,000 random edits of cages of several topologies: the skin is clear after each."""

from collections.abc import Callable

import numpy as np
import pytest

from addon.core.base.arrays import Array, Mask
from addon.core.base.tolerances import TOLERANCES
from addon.core.clearance.clearance_field import ClearanceField
from addon.core.shaping.guard import guard
from addon.core.shaping.guard_cache import GuardCache
from addon.core.shaping.restore import make_clear
from tests.core.guard_scenes import KINDS, Scene, extrude, leg_field, tire_field

EDITS = 400
LONGEST_MM = 250.0


@pytest.mark.parametrize("kind", KINDS)
def test_random_edits(kind: str) -> None:
    """400 edits of each of five topologies: pushes through the tire, scales, rotations, extrusions; to TOLERANCES.clear.

    The skin is measured by the stencil's own rows and the field. Points that were not picked keep every bit, points on the
    mirror plane their x. Every 25 edits the cage starts anew, so that it stays something like a fender.
    """
    rng = np.random.default_rng(list(KINDS).index(kind))
    field = (tire_field(), leg_field())[rng.integers(2)]
    extruded = changed = 0
    for start in range(0, EDITS, 25):
        scene, cache = KINDS[kind](), GuardCache()
        scene = cleared(scene, scene.points, field)
        for edit in range(start, start + 25):
            if edit % 25 in (8, 16):
                grown = extrude(scene, int(rng.integers(len(scene.faces))), float(rng.uniform(-25.0, 25.0)), level=2)
                scene = cleared(grown, grown.points, field)
                extruded += 1
            else:
                changed += pushed(scene, field, rng, cache)
            assert field.excess(scene.stencil.apply(scene.points)).min() >= -TOLERANCES.clear
    assert extruded == EDITS * 2 // 25
    assert changed > EDITS // 4


def cleared(scene: Scene, points: Array, field: ClearanceField) -> Scene:
    result = make_clear(points, scene.stencil, field, fixed_x=scene.on_plane)
    assert result.clear
    return Scene(result.points, scene.faces, scene.topology, scene.stencil, scene.on_plane)


def pushed(scene: Scene, field: ClearanceField, rng: np.random.Generator, cache: GuardCache) -> bool:
    """One edit through the guard, written back into the scene's points; True if the guard had to act."""
    moved = np.zeros(len(scene.points), bool)
    moved[rng.choice(len(moved), int(rng.integers(1, 9)), replace=False)] = True
    if rng.random() < 0.5:
        near = np.argsort(np.linalg.norm(scene.points - scene.points[rng.integers(len(moved))], axis=1))
        moved[:] = False
        moved[near[: rng.integers(1, 9)]] = True
    target = asked(scene.points, moved, rng)
    target[scene.on_plane, 0] = 0.0
    result = guard(
        scene.points,
        target,
        scene.stencil,
        field,
        moved=moved,
        fixed_x=scene.on_plane,
        rounds=int(rng.integers(1, 4)),
        cache=cache,
    )
    assert result.clear
    assert result.points[~moved].tobytes() == scene.points[~moved].tobytes()
    assert (result.points[scene.on_plane, 0] == 0.0).all()
    acted = bool((result.points != target).any())
    scene.points[:] = result.points
    return acted


MOVES: tuple[Callable[[Array, np.random.Generator], Array], ...] = (
    lambda arm, rng: arm + rng.normal(size=3) * rng.uniform(1.0, LONGEST_MM) / 3.0,
    lambda arm, rng: arm + np.array([0.0, 0.0, -rng.uniform(1.0, LONGEST_MM)]),
    lambda arm, rng: arm * rng.uniform(-0.5, 2.5),
    lambda arm, rng: arm * rng.uniform(0.2, 2.0, size=3),
    lambda arm, rng: arm @ np.linalg.qr(rng.normal(size=(3, 3)))[0],
)


def asked(points: Array, moved: Mask, rng: np.random.Generator) -> Array:
    """The cage with a random transform of the moved points about their middle."""
    middle = points[moved].mean(axis=0)
    target = points.copy()
    target[moved] = middle + MOVES[rng.integers(len(MOVES))](points[moved] - middle, rng)
    return target
