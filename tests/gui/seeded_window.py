# SPDX-License-Identifier: GPL-3.0-or-later
"""A window with the tab open and the cage of a demo sheet in it."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.gui.shaping import Shaping
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

DEMO = Path(__file__).resolve().parents[2] / "blend_demo"


def seed_by_clicks(window: Window, sidebar: Sidebar, shaping: Shaping, sheet: str) -> Path:
    """Load a sheet through the file browser and seed its cage by a button; returns the copy of the sheet."""
    copy = _emptied(window, shaping, sheet)
    _show_tab(sidebar)
    sidebar.press("fenderwright.load_sheet")
    shaping.choose_file(copy)
    window.wait_for("facts() is not None")
    sidebar.press("fenderwright.seed_cage")
    window.wait_for("cage() is not None")
    shaping.ask("look()\nresult = 1")
    return copy


def seed_by_script(window: Window, sidebar: Sidebar, shaping: Shaping, sheet: str) -> Path:
    """The same at once, for tests of what comes after it."""
    copy = _emptied(window, shaping, sheet)
    window.ask(f"bpy.ops.fenderwright.load_sheet(filepath={str(copy)!r})\nbpy.ops.fenderwright.seed_cage()\nlook()\nresult = 1")
    _show_tab(sidebar)
    return copy


def _emptied(window: Window, shaping: Shaping, sheet: str) -> Path:
    """Delete what the host shows at its start, and copy the sheet into the window's folder."""
    window.move(*shaping.middle_of_view())
    window.keys("a", "Delete")
    return Path(shutil.copy(DEMO / f"{sheet}.toml", window.folder))


def _show_tab(sidebar: Sidebar) -> None:
    sidebar.show()
    sidebar.show_tab("Fenderwright")
