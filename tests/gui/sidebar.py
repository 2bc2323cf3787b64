# SPDX-License-Identifier: GPL-3.0-or-later
"""The sidebar of the 3D view, used by mouse and keys only.

Where a button is cannot be asked of the host. But the host tells what lies under the mouse: it can copy the Python
command of an operator's button and the data path of a property. So the mouse goes down the sidebar until the host names
the button that is looked for, as an eye would.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tests.gui.window import TURNS, Window

ROW = 20
"""Height of a row in pixels at the host's default resolution scale."""
TAB = 30
"""Less than the height of the shortest tab."""
STEP = 16
"""Less than a row, so that no button is stepped over."""
FRACTIONS = (0.5, 0.2, 0.8)
"""Where across the sidebar the mouse goes down; the first finds nearly all."""
WHEEL_UP, WHEEL_DOWN = 4, 5
EDGE = 6.0
"""How closely the end of a row is looked for; a choice of three is about 60 pixels wide."""
HELPERS = """
def sidebar_region():
    window = bpy.context.window_manager.windows[0]
    area = next(area for area in window.screen.areas if area.type == "VIEW_3D")
    return window, area, next(region for region in area.regions if region.type == "UI")

def sidebar_state():
    _, area, region = sidebar_region()
    return {"scrolled": region.view2d.region_to_view(0, 0)[1], "x": region.x, "y": region.y, "width": region.width, "height": region.height,
            "shown": area.spaces.active.show_region_ui, "category": region.active_panel_category}

def under_mouse():
    window, area, region = sidebar_region()
    manager = bpy.context.window_manager
    found = []
    with bpy.context.temp_override(window=window, area=area, region=region):
        for copy, options in ((bpy.ops.ui.copy_python_command_button, {}), (bpy.ops.ui.copy_data_path_button, {"full_path": True})):
            manager.clipboard = ""
            if copy.poll():
                copy(**options)
                found.append(manager.clipboard)
    return " ".join(found)

drawn = set()

def watch_panels(prefix):
    for name in dir(bpy.types):
        panel = getattr(bpy.types, name)
        if name.startswith(prefix) and isinstance(panel, type) and issubclass(panel, bpy.types.Panel):
            panel.append(lambda self, context, name=name: drawn.add(name))

def draw_again():
    drawn.clear()
    sidebar_region()[2].tag_redraw()
"""


@dataclass(frozen=True)
class Place:
    """A place in the window in pixels from its lower left corner."""

    x: float
    y: float


class Sidebar:
    def __init__(self, window: Window, panel_prefix: str) -> None:
        """panel_prefix : what the names of the panel classes begin with that open() is asked for."""
        self._window = window
        self._remembered: dict[str, Place] = {}
        window.ask(HELPERS + f"\nwatch_panels({panel_prefix!r})\nresult = True")

    def show(self) -> None:
        """Open the sidebar with the host's key."""
        self._window.move(
            *self._window.ask("_, area, _ = sidebar_region()\nresult = area.x + area.width / 3, area.y + area.height / 2")
        )
        self._window.settle()
        if not self._state()["shown"]:
            self._window.keys("n")
        self._window.wait_for('sidebar_state()["shown"] and sidebar_state()["width"] > 100')

    def show_tab(self, name: str) -> None:
        """Click down the tabs at the right edge until the named one is in front. Raises AssertionError if there is none."""
        state = self._state()
        for y in range(state["y"] + state["height"] - ROW, state["y"], -TAB):
            if self._state()["category"] == name:
                return
            self._window.click(state["x"] + state["width"] - ROW / 2, y)
        raise AssertionError(f"the sidebar has no tab {name}")

    def drawn_panels(self) -> set[str]:
        """Names of the panel classes that are open in the tab in front."""
        self._window.ask("draw_again()\nresult = True")
        return set(self._window.ask("result = sorted(drawn)", turns=TURNS))

    def find(self, wanted: str) -> Place:
        """Place of the first button whose Python command or data path holds `wanted`; scrolls down to it if need be.

        Raises AssertionError with all that was found instead.
        """
        for text in [text for text in self._remembered if wanted in text]:
            place = self._remembered[text]
            if wanted in self._under(place):
                return place
        for fraction in FRACTIONS:
            for _ in self._pages():
                for place in self._rows(fraction):
                    if wanted in self._under(place):
                        return place
        raise AssertionError(f"no button for {wanted} in the sidebar, only: {sorted(self._remembered)}")

    def _under(self, place: Place) -> str:
        """What the host says lies under the mouse when it is there; remembered."""
        self._window.move(place.x, place.y)
        text: str = self._window.ask("result = under_mouse()", turns=TURNS)
        if text:
            self._remembered[text] = place
        return text

    def press(self, wanted: str) -> None:
        """Click the button of an operator, a checkbox or a menu."""
        place = self.find(wanted)
        self._window.click(place.x, place.y)

    def choose(self, ending: str, number: int, count: int) -> None:
        """Click one of `count` choices that stand in a row; ending : of the path of the property, number : from the left, 0 first.

        Raises AssertionError if the row is not found.
        """
        place = self._choices(ending)
        left, right = self._edge(place, ending, 0.0), self._edge(place, ending, 1.0)
        self._window.click(left + (number + 0.5) / count * (right - left), place.y)

    def _choices(self, ending: str) -> Place:
        """A place in the row of a property."""
        known = [place for text, place in self._remembered.items() if text.endswith(ending)]
        if known and self._under(known[0]).endswith(ending):
            return known[0]
        for _ in self._pages():
            for place in self._rows(FRACTIONS[0]):
                if self._under(place).endswith(ending):
                    return place
        raise AssertionError(f"no row of choices for {ending} in the sidebar, only: {sorted(self._remembered)}")

    def _edge(self, place: Place, ending: str, share: float) -> float:
        """Where the row of a place ends, on the way to a share of the sidebar's width, by halving; to within a few pixels."""
        state = self._state()
        inside, outside = place.x, state["x"] + share * state["width"]
        while abs(outside - inside) > EDGE:
            middle = 0.5 * (inside + outside)
            if self._under(Place(middle, place.y)).endswith(ending):
                inside = middle
            else:
                outside = middle
        return inside

    def enter(self, wanted: str, text: str) -> None:
        """Type a value into the field of a property: double click, all of it replaced, Return."""
        place = self.find(wanted)
        self._window.double_click(place.x, place.y)
        self._window.keys("ctrl+a")
        self._window.type(text)
        self._window.keys("Return")
        self._window.settle()

    def open(self, panel: str) -> None:
        """Open a closed panel by a click on its header, found by trying the rows from the last up.

        Other panels are left as they were. Raises AssertionError if no row opens it.
        """
        before = self.drawn_panels()
        if panel in before:
            return
        for _ in self._pages():
            for place in reversed(list(self._rows(0.4))):
                if self._under(place):
                    continue
                self._window.click(place.x, place.y)
                after = self.drawn_panels()
                if panel in after:
                    return
                if after != before:
                    self._window.click(place.x, place.y)
        raise AssertionError(f"no header of {panel} in the sidebar")

    def _state(self) -> dict[str, int]:
        state: dict[str, int] = self._window.ask("result = sidebar_state()", turns=1)
        return state

    def _rows(self, fraction: float) -> Iterator[Place]:
        state = self._state()
        for y in range(state["y"] + state["height"] - ROW // 4, state["y"] + ROW // 4, -STEP):
            yield Place(state["x"] + fraction * (state["width"] - ROW), y)

    def _pages(self) -> Iterator[None]:
        """The sidebar from its top, then scrolled down by about half its height each time until it goes no further."""
        self._scroll(WHEEL_UP, 100)
        while True:
            before = self._state()["scrolled"]
            yield
            self._scroll(WHEEL_DOWN, 10)
            if self._state()["scrolled"] == before:
                return

    def _scroll(self, button: int, times: int) -> None:
        state = self._state()
        self._window.move(state["x"] + 4, state["y"] + state["height"] / 2)
        self._window.settle()
        self._window.turn_wheel(button, times)
