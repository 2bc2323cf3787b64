# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand readings and gauges by mouse and keys, with the drawing of where to hold the tape."""

from __future__ import annotations

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.seeded_window import seed_by_script
from tests.gui.shaping import Shaping
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

SETTINGS = "bpy.context.scene.fenderwright"


@pytest.mark.window
def test_readings_and_gauges_by_hand() -> None:
    with Window(real_host_of_environment()) as window:
        sidebar = Sidebar(window, "FENDERWRIGHT_PT_")
        shaping = Shaping(window)
        seed_by_script(window, sidebar, shaping, "front_17")
        sidebar.open("FENDERWRIGHT_PT_readings")
        read_the_height(window, sidebar)
        gaps_against_gauges(window, sidebar, shaping)
        assert "Traceback" not in window.printed(), window.printed()


def read_the_height(window: Window, sidebar: Sidebar) -> None:
    sidebar.press("show_drawing")
    for kind in window.ask(f"result = [item.identifier for item in {SETTINGS}.readings.bl_rna.properties['kind'].enum_items]"):
        window.ask(f"{SETTINGS}.readings.kind = {kind!r}\nresult = 1")
        window.settle()
        window.picture(f"reading_{kind}")
    window.ask(f"{SETTINGS}.readings.kind = 'height'\nresult = 1")
    for number, text in enumerate(("44.5", "45", "47.5"), start=1):
        sidebar.enter("readings.new_value", text)
        sidebar.press("fenderwright.add_reading")
        window.wait_for(f"len({SETTINGS}.readings.height) == {number}")
    window.ask(f"{SETTINGS}.readings.circumference.add().value = 1905\nresult = 1")
    window.settle()
    window.picture("readings_height")
    sidebar.press("fenderwright.take_over_mean")
    window.wait_for(f"abs({SETTINGS}.mount.height - 45.67) < 0.001")
    window.ask(f"{SETTINGS}.readings.show_drawing = False\nresult = 1")


def gaps_against_gauges(window: Window, sidebar: Sidebar, shaping: Shaping) -> None:
    out = window.folder / "gauges"
    out.mkdir()
    sidebar.open("FENDERWRIGHT_PT_gauges")
    sidebar.press("fenderwright.write_gauges")
    shaping.choose_file(out)
    window.wait_for("'Fender Gauges' in bpy.data.collections", 120.0)
    assert (out / "gauges.json").exists()
    window.settle()
    window.picture("gauges")
    window.ask(f"for entry in {SETTINGS}.gauges.gaps:\n    entry.gap = entry.expected - 1.5\nresult = 1")
    sidebar.press("fenderwright.compare_gaps")
    sidebar.find("fenderwright.take_over_corrections")
    window.picture("gaps")
    before = window.ask(f"result = {SETTINGS}.mount.height")
    sidebar.press("fenderwright.take_over_corrections")
    window.wait_for(f"abs({SETTINGS}.mount.height - {before}) > 0.5")
    window.picture("corrections_taken_over")
