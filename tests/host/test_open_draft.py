# SPDX-License-Identifier: GPL-3.0-or-later
"""Open Draft in the panel: proposes nothing where there is enough, opens tucked sides, says why not."""

import bpy
import numpy as np

from addon.host.cage.cage_mesh import read_cage, write_points
from addon.ui.state.scene_settings import settings_of
from addon.ui.state.session import OwnChange
from addon.ui.watch.live import live_step
from tests.host.extension_scene import cage, extension, seeded, state


def test_tucked_sides_are_opened_and_the_skin_stays_clear() -> None:
    with extension() as troubles:
        seeded("front_mold", level=3)
        settings = settings_of(bpy.context.scene)
        settings.keepouts.clear()
        assert bpy.ops.fenderwright.open_draft() == {"CANCELLED"}  # the seed has enough
        points = read_cage(cage()).points.copy()
        outward = points * [0.0, 1.0, 1.0] / np.linalg.norm(points[:, 1:], axis=1)[:, None]
        columns = np.unique(np.round(points[:, 0], 2))
        moved = points.copy()
        shoulder, edge = (np.isclose(points[:, 0], column, atol=0.02) for column in columns[-2:])
        moved[shoulder] += [28.0, 0.0, 0.0] + 14.0 * outward[shoulder]
        moved[edge] -= 6.0 * outward[edge]
        moved[~shoulder & ~edge] += 6.0 * outward[~shoulder & ~edge]
        settings.hold_seat = False
        with OwnChange():
            write_points(cage(), moved)
        live_step(bpy.context.scene, budget_s=None)
        before = read_cage(cage()).points.copy()
        assert state().shaped.clear
        assert bpy.ops.fenderwright.open_draft() == {"FINISHED"}
        after = read_cage(cage()).points
        assert 0.5 < np.linalg.norm(after - before, axis=1).max() < 30.0
        assert state().shaped.clear
        assert bpy.ops.fenderwright.open_draft() == {"CANCELLED"}
        settings.use_laminate = False
        assert not bpy.ops.fenderwright.open_draft.poll()
    assert not troubles
