# SPDX-License-Identifier: GPL-3.0-or-later
"""The host starts with the built zip enabled; its tab is there; keys, clicks and mouse moves reach the host."""

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

LOCATION_Z = 'bpy.data.objects["Cube"].location[2]'


@pytest.mark.window
def test_first_start() -> None:
    with Window(real_host_of_environment()) as window:
        enabled = window.ask("result = list(bpy.context.preferences.addons.keys())")
        assert "bl_ext.user_default.fenderwright" in enabled
        sidebar = Sidebar(window, "FENDERWRIGHT_PT_")
        sidebar.show()
        sidebar.show_tab("Fenderwright")
        assert "FENDERWRIGHT_PT_safety" in sidebar.drawn_panels()
        window.picture("first_start")

        sidebar.show_tab("Item")
        sidebar.enter("location[2]", "2")
        window.wait_for(f"abs({LOCATION_Z} - 2) < 1e-6")

        seen: list[float] = []
        window.move(500, 400)
        window.keys("g", "z")
        window.drag((500, 400), (500, 600), 10, after_step=lambda i: seen.append(window.ask(f"result = {LOCATION_Z}")))
        window.click(500, 600)
        assert seen == sorted(seen) and seen[-1] > seen[0] > 2.0, seen
        window.picture("moved")
        window.keys("ctrl+z")
        window.wait_for(f"abs({LOCATION_Z} - 2) < 1e-6")
        assert len(window.updates()) >= 10
        assert "Traceback" not in window.printed(), window.printed()
