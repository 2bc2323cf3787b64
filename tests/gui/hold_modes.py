# SPDX-License-Identifier: GPL-3.0-or-later
"""Off, warn only and hold, chosen by clicks in the sidebar while a face is pushed into the tire."""

from __future__ import annotations

from typing import Any

import pytest

from tests.gui.shaping import Shaping, check_clear
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

MODES = ("HOLD", "WARN", "OFF")
PUSH_MM, FURTHER_MM = 120.0, 10.0
AS_ASKED_MM = 1e-3
"""float32 at 400 mm is good to 3e-5 mm; what the guard moves back here is 30 mm and more."""


def toggle_hold_modes(window: Window, sidebar: Sidebar, shaping: Shaping) -> None:
    """Edit mode, one face selected, hold on; it is on again afterwards.

    With hold off the test's own look at the clearance must fail: that is how it is known to be able to.
    """
    choose(window, sidebar, "OFF")
    push(window, shaping, PUSH_MM)
    with pytest.raises(AssertionError, match="with hold off"):
        check_clear(shaping, "with hold off")
    assert clear_as_said(shaping) is None, "off, but the cage is still watched"
    window.picture("hold_off")
    choose(window, sidebar, "WARN")
    assert clear_as_said(shaping) is False, f"nothing is warned of: {shaping.said()}"
    push(window, shaping, FURTHER_MM)
    with pytest.raises(AssertionError, match="with a warning only"):
        check_clear(shaping, "with a warning only")
    assert clear_as_said(shaping) is False, f"nothing is warned of: {shaping.said()}"
    window.move(*shaping.middle_of_view())
    window.settle()
    window.picture("warn_only")
    broken = selected_height(window)
    choose(window, sidebar, "HOLD")
    check_clear(shaping, "after hold was turned on again")
    assert clear_as_said(shaping) is True
    assert selected_height(window) > broken + 1.0, "hold was turned on and nothing was moved back"
    window.move(*shaping.middle_of_view())
    window.settle()
    window.picture("held_again")


def choose(window: Window, sidebar: Sidebar, mode: str) -> None:
    sidebar.choose(".hold", MODES.index(mode), len(MODES))
    window.wait_for(f"bpy.context.scene.fenderwright.hold == {mode!r}")
    window.settle()


def push(window: Window, shaping: Shaping, mm: float) -> None:
    """The selected face straight down, by numbers; it must end just there."""
    before = selected_height(window)
    window.move(*shaping.middle_of_view())
    window.settle()
    window.keys("g", "z", "minus", *str(round(mm)), "Return")
    window.settle()
    after = selected_height(window)
    assert abs(before - mm - after) < AS_ASKED_MM, f"asked for {mm} mm, went {before - after} mm"


def selected_height(window: Window) -> float:
    ((_, _, z),) = window.ask("result = selected_centers()")
    return float(z)


def clear_as_said(shaping: Shaping) -> Any:
    """What the extension says: clear or not; None if it does not watch."""
    return shaping.ask(
        'shaped = importlib.import_module(EXTENSION + ".ui.state.session").of_scene(bpy.context.scene).shaped\n'
        "result = None if shaped is None else bool(shaped.clear)"
    )
