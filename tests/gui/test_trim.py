# SPDX-License-Identifier: GPL-3.0-or-later
"""The trim in a real window: its edge over the skin, and a refusal marked where it applies."""

from __future__ import annotations

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.seeded_window import seed_by_clicks
from tests.gui.shaping import Shaping
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

STATE = "importlib.import_module(EXTENSION + '.ui.state.session').of_scene(bpy.context.scene)"


@pytest.mark.window
def test_trim() -> None:
    with Window(real_host_of_environment()) as window:
        sidebar, shaping = Sidebar(window, "FENDERWRIGHT_PT_"), Shaping(window)
        seed_by_clicks(window, sidebar, shaping, "front_21")
        # by itself, once nothing has moved for a moment
        window.wait_for(f"{STATE}.trim_view is not None")
        assert shaping.ask(f"result = bool({STATE}.trim_view.values.min() < -2.0)")
        window.picture("trim_on_the_skin")
        shaping.ask("bpy.context.scene.fenderwright.openings[0].station = 0.0\nresult = 1")
        window.wait_for(f"{STATE}.trouble is not None")
        window.picture("trim_refused")
        assert "cuts the seat" in shaping.ask(f"result = {STATE}.trouble.sentence")
        shaping.ask("bpy.context.scene.fenderwright.openings[0].station = -33.0\nresult = 1")
        window.wait_for(f"{STATE}.trouble is None")
        # over the edge: told at rest, though only the cut can know
        shaping.ask("bpy.context.scene.fenderwright.openings[0].x = 46.0\nresult = 1")
        window.wait_for(f"{STATE}.trouble is not None")
        window.picture("trim_opening_over_the_edge")
        assert "the edge of the fender" in shaping.ask(f"result = {STATE}.trouble.sentence")
        shaping.ask("bpy.context.scene.fenderwright.openings[0].x = 24.0\nresult = 1")
        window.wait_for(f"{STATE}.trouble is None")
        assert "Traceback" not in window.printed(), window.printed()
