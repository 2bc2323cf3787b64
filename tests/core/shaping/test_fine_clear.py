# SPDX-License-Identifier: GPL-3.0-or-later
"""Samples of a coarse skin leave gaps that a finer one closes."""

import numpy as np
from numpy.testing import assert_array_equal

from addon.core.base.tolerances import TOLERANCES
from addon.core.clearance.clearance_field import clearance_field
from addon.core.shaping.fine_clear import MOST_MISSING_MM, fine_clear
from addon.core.shaping.restore import make_clear
from addon.core.shaping.seed import seed_cage
from addon.core.skin.cage import Cage
from addon.core.skin.skin_stencil import skin_stencil
from tests.core.shaping.test_seed import job_with


def test_what_coarse_samples_miss_is_taken_up_and_no_more() -> None:
    job = job_with(cage={"level": 2})
    field = clearance_field(job)
    seed = seed_cage(job, field).cage
    coarse, fine = (skin_stencil(seed.topology, level) for level in (2, 5))
    pressed = seed.points - [0.0, 0.0, 12.0]
    touching = Cage(seed.topology, make_clear(pressed, coarse.position, field, fixed_x=seed.topology.on_plane).points)
    assert field.excess(coarse.position.apply(touching.points)).min() >= -TOLERANCES.clear
    lacking = -field.excess(fine.position.apply(touching.points)).min()
    assert 0.02 < lacking < MOST_MISSING_MM
    cleared, moved = fine_clear(touching, fine, field)
    assert field.excess(fine.position.apply(cleared.points)).min() >= -TOLERANCES.clear
    assert moved <= 4.0 * lacking
    again, moved = fine_clear(cleared, fine, field)
    assert moved == 0.0
    assert_array_equal(again.points, cleared.points)


def test_a_cage_that_was_never_clear_is_left_for_its_builder() -> None:
    job = job_with()
    seed = seed_cage(job).cage
    deep = Cage(seed.topology, seed.points - np.array([0.0, 0.0, 60.0]))
    same, moved = fine_clear(deep, skin_stencil(seed.topology, 4), clearance_field(job))
    assert same is deep and moved == 0.0
