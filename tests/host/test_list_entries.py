# SPDX-License-Identifier: GPL-3.0-or-later
"""An entry of a list that is typed anew changes the job, as a single value does."""

import bpy

from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import extension, seeded, state


def test_a_bolt_that_is_typed_anew_changes_the_job() -> None:
    with extension() as troubles:
        seeded(level=3)
        before = state().facts.job.mount.bolts
        settings_of(bpy.context.scene).mount.bolts[1].value = (-27.0, 31.0)
        assert state().facts.job.mount.bolts == (before[0], (-27.0, 31.0), *before[2:])
        settings_of(bpy.context.scene).mount.bolts[1].value = before[0]
        assert "is the same as mount.bolts[0]" in state().problem
    assert not troubles
