# SPDX-License-Identifier: GPL-3.0-or-later
"""The host starts with the built zip enabled; the tab is there; keys, clicks and mouse moves reach the host."""

import pytest

from tests.gui.real_host import real_host_of_environment
from tests.gui.window import Window


@pytest.mark.window
def test_first_start() -> None:
    with Window(real_host_of_environment()) as window:
        print(window.ask("result = bpy.app.version_string"))
        window.picture("start")
        print(window.ask("result = list(bpy.context.preferences.addons.keys())"))
        print(window.printed())
