# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin brought to a further seat, the solid with paint and rib, pulled apart, and its wall in color, by clicks."""

from __future__ import annotations

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.seeded_window import seed_by_script
from tests.gui.shaping import Shaping
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

SETTINGS = "bpy.context.scene.fenderwright"
SESSION = "importlib.import_module(EXTENSION + '.ui.state.session').of_scene(bpy.context.scene)"


@pytest.mark.window
def test_part_by_clicks() -> None:
    with Window(real_host_of_environment()) as window:
        sidebar = Sidebar(window, "FENDERWRIGHT_PT_")
        shaping = Shaping(window)
        seed_by_script(window, sidebar, shaping, "front_17")
        bring_skin_to_a_seat(window, sidebar)
        paint_and_rib(window)
        build_and_look(window, sidebar)
        assert "Traceback" not in window.printed(), window.printed()


def bring_skin_to_a_seat(window: Window, sidebar: Sidebar) -> None:
    window.ask("bpy.context.scene.cursor.location = (60.0, 250.0, 260.0)\nresult = 1")
    window.ask("bpy.ops.fenderwright.add_seat('EXEC_DEFAULT', True)\nresult = 1")
    sidebar.open("FENDERWRIGHT_PT_seats")
    window.ask(
        f"seat = {SETTINGS}.seats[0]\nseat.sides, seat.blend = 'both', 20.0\n"
        "seat.center = [c + 12.0 * n for c, n in zip(seat.center, seat.normal)]\nresult = 1"
    )
    before = window.ask("result = [list(v.co) for v in cage().data.vertices]")
    sidebar.press("fenderwright.fit_to_seats")
    window.wait_for(f"[list(v.co) for v in cage().data.vertices] != {before!r}")
    assert window.ask(f"result = {SESSION}.shaped.clear")
    window.picture("skin_at_the_seat")


def paint_and_rib(window: Window) -> None:
    window.ask("bpy.ops.fenderwright.paint_wall('EXEC_DEFAULT', True)\nresult = 1")
    window.picture("weight_paint")
    window.ask(
        "bpy.ops.object.mode_set(mode='OBJECT')\n"
        "cage().vertex_groups['Fender Wall'].add([v.index for v in cage().data.vertices if v.co.y < -150.0], 1.0, 'REPLACE')\n"
        f"{SETTINGS}.wall.painted_thickness = 3.6\nbpy.ops.fenderwright.add_rib('EXEC_DEFAULT', True)\nresult = 1"
    )


def build_and_look(window: Window, sidebar: Sidebar) -> None:
    sidebar.press("fenderwright.build_solid")
    window.wait_for("'Fender Parts' in bpy.data.collections", 120.0)
    window.picture("part")
    window.ask(f"{SETTINGS}.apart = 60.0\nresult = 1")
    window.picture("part_pulled_apart")
    sidebar.press("fenderwright.show_wall")
    window.wait_for("'Wall Map' in bpy.data.objects", 60.0)
    assert window.ask("result = any(ob.name.startswith('Least Wall') for ob in bpy.data.objects)")
    window.picture("wall_in_color")
