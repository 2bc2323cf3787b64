# SPDX-License-Identifier: GPL-3.0-or-later
"""A whole job by hand readings only: from an empty file over the panel's readings to a seeded cage."""

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import read_job_sheet
from addon.core.readings.reading_kinds import READING_KINDS
from addon.core.seat.mount import mount_frame
from addon.ui.properties.reading_properties import PROFILE
from addon.ui.state.job_values import missing_values, read_job
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import DEMO, cage, room, state
from tests.host.test_panel_job import refusal

BIKE = read_job_sheet(DEMO / "front_17.toml")
"""What the readings are taken on: only their scatter is made up."""
SCATTER = np.array([-0.5, 0.0, 0.5, 0.0])


pytestmark = pytest.mark.usefixtures("troubles")


def state_what_no_tape_tells() -> None:
    job = settings_of(bpy.context.scene)
    job.tire.size, job.clearance.gap, job.wall.thickness, job.split.plane = BIKE.tire.size, 10.0, 3.0, "none"
    job.mount.thread = BIKE.mount.thread
    for bolt in BIKE.mount.bolts:
        job.mount.bolts.add().value = bolt


def read_the_bike() -> None:
    """Four readings of each thing that the sheet has a place for, then the profile by calipers."""
    readings = settings_of(bpy.context.scene).readings
    assert BIKE.tire.measured_width is not None and BIKE.tire.measured_radius is not None
    true = {"height": BIKE.mount.height, "ahead": BIKE.mount.ahead, "tilt": BIKE.mount.tilt, "width": BIKE.tire.measured_width}
    true["circumference"] = (BIKE.tire.measured_radius + READING_KINDS["circumference"].less) * 2.0 * np.pi
    for kind, value in true.items():
        readings.kind = kind
        for reading in value + SCATTER:
            readings.new_value = reading
            assert bpy.ops.fenderwright.add_reading("EXEC_DEFAULT", True) == {"FINISHED"}
        assert bpy.ops.fenderwright.take_over_mean("EXEC_DEFAULT", True) == {"FINISHED"}
    readings.kind = PROFILE
    for offset, drop in BIKE.tire.profile[1:]:
        bpy.ops.fenderwright.add_profile_row("EXEC_DEFAULT", True)
        readings.widths[-1].value = (drop, 2.0 * offset)
    assert bpy.ops.fenderwright.take_over_profile("EXEC_DEFAULT", True) == {"FINISHED"}


@pytest.mark.parametrize("readings_first", [True, False])
def test_readings_alone_end_as_a_seeded_cage(readings_first: bool) -> None:
    """The seat and the tire are those of the bike that was read, in whichever order the builder fills the panels."""
    steps = (read_the_bike, state_what_no_tape_tells)
    for step in steps if readings_first else reversed(steps):
        step()
    settings = settings_of(bpy.context.scene)
    assert missing_values(settings) == () and state().problem == ""
    found = read_job(settings)
    assert_allclose(np.array(found.tire.profile), np.array(BIKE.tire.profile), atol=0.01)
    assert found.tire.measured_radius == pytest.approx(BIKE.tire.measured_radius, abs=0.01)
    assert_allclose(mount_frame(found).origin, mount_frame(BIKE).origin, atol=0.02)
    assert found.tire.sigma is not None and found.tire.sigma > 0.5 / np.sqrt(6.0)  # no less than the scatter of the height
    doubt = next(line for line in state().facts.budget.lines if "uncertain" in line.name)
    assert doubt.mm == pytest.approx(found.clearance.coverage_factor * found.tire.sigma, rel=1e-3)
    assert bpy.ops.fenderwright.seed_cage("EXEC_DEFAULT", True) == {"FINISHED"}
    assert cage() is not None and room() > -0.002


def test_what_readings_leave_open_is_named() -> None:
    read_the_bike()
    assert missing_values(settings_of(bpy.context.scene)) != ()
    assert "tire.size" in refusal("seed_cage")
