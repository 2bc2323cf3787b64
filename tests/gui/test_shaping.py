# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job by mouse and keys: load a sheet, seed, drag through the tire, hold modes, scale, extrude, undo, save, solid, halves."""

from __future__ import annotations

import pytest

from tests.gui.hold_modes import toggle_hold_modes
from tests.gui.real_host import real_host_of_environment
from tests.gui.seeded_window import seed_by_clicks
from tests.gui.shaping import BROKEN_MM, Shaping, check_clear
from tests.gui.sidebar import Sidebar
from tests.gui.window import Window

BEHIND_MM = -110.0
"""Where the crown is grabbed: in front of the axle, clear of the seat, which is held on the mount plane."""
STEPS = 40
POP = 4.0
"""Between two mouse steps no skin point may move more than this many times the mouse step."""


@pytest.mark.window
def test_shaping() -> None:
    with Window(real_host_of_environment()) as window:
        sidebar = Sidebar(window, "FENDERWRIGHT_PT_")
        shaping = Shaping(window)
        seed_by_clicks(window, sidebar, shaping, "front_17")
        assert shaping.clearance() > -BROKEN_MM
        window.picture("seeded")
        build_and_write(window, sidebar, shaping)
        select_crown(window, shaping)
        drag_through_the_tire(window, shaping)
        toggle_hold_modes(window, sidebar, shaping)
        scale_and_extrude(window, shaping)
        undo_and_redo(window, shaping)
        save_and_reopen(window, shaping)
        assert "Traceback" not in window.printed(), window.printed()


def select_crown(window: Window, shaping: Shaping) -> None:
    window.move(*shaping.middle_of_view())
    window.keys("Tab", "3")
    window.wait_for("cage().mode == 'EDIT'")
    window.keys("alt+a")
    window.click(*shaping.place_of(shaping.crown_face(BEHIND_MM)))
    assert len(window.ask("result = selected_centers()")) == 1
    window.picture("crown_selected")


def drag_through_the_tire(window: Window, shaping: Shaping) -> None:
    """Straight down by 250 mm: through the crown of the tire and on to the axle."""
    (top,) = window.ask("result = selected_centers()")
    start, end = shaping.place_of(top), shaping.place_of([top[0], top[1], top[2] - 250.0])
    step_mm = 250.0 / STEPS
    window.move(*start)
    window.settle()
    window.keys("g", "z")
    shaping.largest_way()

    def check(step: int) -> None:
        room, way = shaping.clearance(), shaping.largest_way()
        assert room > -BROKEN_MM, f"step {step}: {room} mm"
        assert way < POP * step_mm, f"step {step}: a skin point went {way} mm at a mouse step of {step_mm} mm"
        if step == STEPS // 2:
            window.picture("dragged_down")

    window.drag(start, end, STEPS, check)
    window.click(*end)
    assert shaping.clearance() > -BROKEN_MM
    (now,) = window.ask("result = selected_centers()")
    assert now[2] < top[2] - 1.0, f"the face has hardly moved: {top} to {now}"
    window.picture("after_drag")
    check_at_rest(window, shaping, "the drag")
    window.keys("g", "z", "4", "0", "Return")
    check_at_rest(window, shaping, "a move by numbers")
    check_clear(shaping, "after a move by numbers")


def check_at_rest(window: Window, shaping: Shaping, what: str) -> None:
    """What the last step had no time for is made up by itself, so that another update moves nothing."""
    window.move(*shaping.middle_of_view())
    window.ask("result = 1", turns=400)
    shaping.largest_way()
    window.keys("Tab")
    window.wait_for("cage().mode == 'OBJECT'")
    window.keys("Tab")
    window.wait_for("cage().mode == 'EDIT'")
    way = shaping.largest_way()
    assert way < 0.02, f"after {what} the skin still moved by {way} mm when edit mode was left"


def scale_and_extrude(window: Window, shaping: Shaping) -> None:
    x, y = shaping.middle_of_view()
    window.move(x + 200, y)
    window.settle()
    window.keys("s")
    window.drag((x + 200, y), (x + 60, y), 10, lambda step: check_clear(shaping, f"scale {step}"))
    window.click(x + 60, y)
    window.keys("e")
    window.drag((x, y), (x, y - 150), 10, lambda step: check_clear(shaping, f"extrude {step}"))
    window.click(x, y - 150)
    check_clear(shaping, "after extruding")
    window.picture("extruded")


def undo_and_redo(window: Window, shaping: Shaping) -> None:
    faces = shaping.ask("result = len(face_centers())")
    for key in ("ctrl+z", "ctrl+shift+z"):
        for number in range(5):
            window.keys(key)
            window.settle()
            check_clear(shaping, f"{key} {number + 1}")
    assert shaping.ask("result = len(face_centers())") == faces


def save_and_reopen(window: Window, shaping: Shaping) -> None:
    window.move(*shaping.middle_of_view())
    window.keys("Tab")
    window.wait_for("cage().mode == 'OBJECT'")
    faces = shaping.ask("result = len(face_centers())")
    window.keys("ctrl+s")
    shaping.choose_file(window.folder / "shaped.blend")
    window.wait_for("bpy.data.filepath.endswith('shaped.blend') and not bpy.data.is_dirty")
    shaping.ask("bpy.ops.wm.read_homefile()\nresult = 1")
    shaping.ask(f"bpy.ops.wm.open_mainfile(filepath={str(window.folder / 'shaped.blend')!r})\nresult = 1")
    window.wait_for("cage() is not None and facts() is not None")
    assert shaping.ask("result = len(face_centers())") == faces
    check_clear(shaping, "after reopening")


def build_and_write(window: Window, sidebar: Sidebar, shaping: Shaping) -> None:
    sidebar.press("fenderwright.build_solid")
    window.wait_for("'Fender Parts' in bpy.data.collections", 60.0)
    window.move(*shaping.middle_of_view())
    window.settle()
    window.picture("solid")
    out = window.folder / "written"
    sidebar.press("fenderwright.write_halves")
    out.mkdir()
    shaping.choose_file(out)
    window.wait_for(f"__import__('os').path.exists({str(out / 'report.json')!r})", 60.0)
    assert {"fender_front.stl", "fender_rear.stl", "report.json"} <= {path.name for path in out.iterdir()}
    shaping.ask("bpy.ops.fenderwright.show_skin('EXEC_DEFAULT', True)\nresult = 1")
