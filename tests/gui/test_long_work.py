# SPDX-License-Identifier: GPL-3.0-or-later
"""Solid and files by mouse and keys: shown step by step, given up with Esc without a trace, and made to the end."""

from __future__ import annotations

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.seeded_window import seed_by_script
from tests.gui.shaping import Shaping
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

AT_WORK = "[operator.bl_idname for operator in bpy.context.window_manager.windows[0].modal_operators]"


@pytest.mark.window
def test_long_work_is_shown_and_given_up() -> None:
    with Window(real_host_of_environment()) as window:
        sidebar = Sidebar(window, "FENDERWRIGHT_PT_")
        shaping = Shaping(window)
        seed_by_script(window, sidebar, shaping, "front_17")
        give_up_the_solid(window, sidebar)
        give_up_the_files(window, sidebar, shaping)
        assert "Traceback" not in window.printed(), window.printed()


def at_work(window: Window, name: str) -> bool:
    return any(name in operator for operator in window.ask(f"result = {AT_WORK}"))


def give_up_the_solid(window: Window, sidebar: Sidebar) -> None:
    sidebar.press("fenderwright.build_solid")
    window.wait_for(f"any('build_solid' in name for name in {AT_WORK})")
    window.keys("Escape")
    window.wait_for(f"not {AT_WORK}", 60.0)
    assert not window.ask("result = 'Fender Parts' in bpy.data.collections")
    sidebar.press("fenderwright.build_solid")
    window.picture("at_work")
    window.wait_for("'Fender Parts' in bpy.data.collections", 60.0)
    assert not at_work(window, "build_solid")
    window.picture("solid_by_steps")


def give_up_the_files(window: Window, sidebar: Sidebar, shaping: Shaping) -> None:
    out = window.folder / "written"
    out.mkdir()
    (out / "report.json").write_text("former")
    sidebar.press("fenderwright.write_halves")
    shaping.choose_file(out)
    window.wait_for(f"len(__import__('os').listdir({str(out)!r})) > 1", 60.0)
    window.keys("Escape")
    window.wait_for(f"not {AT_WORK}", 60.0)
    assert [path.name for path in out.iterdir()] == ["report.json"]
    assert (out / "report.json").read_text() == "former"
    sidebar.press("fenderwright.write_halves")
    shaping.choose_file(out)
    window.wait_for(f"__import__('os').path.exists({str(out / 'fender_rear.stl')!r})", 60.0)
    assert {"fender_front.stl", "fender_rear.stl", "report.json", "fender.blend"} <= {path.name for path in out.iterdir()}
