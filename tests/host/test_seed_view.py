# SPDX-License-Identifier: GPL-3.0-or-later
"""The first cage is seen at once; the next one leaves the view as the builder turned it."""

from typing import Any

import bpy

from tests.host.extension_scene import seeded


def spaces() -> list[Any]:
    return [area.spaces.active for screen in bpy.data.screens for area in screen.areas if area.type == "VIEW_3D"]


def test_the_view_shows_the_first_cage_and_stays_for_the_next(troubles: list[str]) -> None:
    seeded()
    assert spaces()
    for space in spaces():
        assert space.clip_start <= 10.0 and space.clip_end >= 5_000.0
        assert 600.0 < space.region_3d.view_distance < 3_000.0
        space.region_3d.view_distance = 555.0
    assert bpy.ops.fenderwright.seed_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    assert {round(space.region_3d.view_distance) for space in spaces()} == {555}
