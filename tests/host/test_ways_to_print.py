# SPDX-License-Identifier: GPL-3.0-or-later
"""A way to print is picked in the panel: the sheet, the 3MF and the report carry it; pieces shown are pulled apart."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import bpy
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import read_job_sheet
from addon.ui.state.scene_settings import settings_of
from tests.host.extension_scene import seeded, state

NAMESPACE = {"m": "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"}


pytestmark = pytest.mark.usefixtures("troubles")


def test_a_picked_way_is_kept_by_sheet_file_and_print(tmp_path: Path) -> None:
    seeded()
    assert not bpy.ops.fenderwright.pick_way.poll(), "nothing is built yet"
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    front, rear = state().plans
    way = front.options[-1].fit.rotation[2]
    assert bpy.ops.fenderwright.pick_way(piece="front", index=len(front.options) - 1) == {"FINISHED"}
    path = str(tmp_path / "kept.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert bpy.ops.fenderwright.save_sheet(filepath=str(tmp_path / "sheet.toml")) == {"FINISHED"}
    (lay,) = read_job_sheet(tmp_path / "sheet.toml").lays
    assert lay.name == "front"
    assert_allclose(lay.up, way, atol=1e-6)
    assert bpy.ops.fenderwright.write_halves("EXEC_DEFAULT", True, directory=str(tmp_path)) == {"FINISHED"}
    report = json.loads((tmp_path / "report.json").read_text())
    assert [piece["picked"] for piece in report["print"]["pieces"]] == [len(front.options) - 1, 0]
    ups = printed_up(tmp_path / "fender.3mf")
    assert_allclose(ups[0], way, atol=1e-5)
    assert_allclose(ups[1], rear.options[0].fit.rotation[2], atol=1e-5)
    assert bpy.ops.fenderwright.take_best_ways() == {"FINISHED"}
    assert not settings_of(bpy.context.scene).lays


def printed_up(path: Path) -> list[np.ndarray]:
    """What of each piece's axes points up on the bed, from the transforms of a 3MF (rows act on row vectors; core spec 3.3)."""
    with zipfile.ZipFile(path) as package:
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    transforms = [np.array(item.get("transform").split(), float) for item in root.iterfind("m:build/m:item", NAMESPACE)]
    return [values[:9].reshape(3, 3)[:, 2] for values in transforms]


def test_a_pick_that_no_piece_has_is_refused() -> None:
    seeded()
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    with pytest.raises(RuntimeError, match="has no way 99"):
        bpy.ops.fenderwright.pick_way(piece="front", index=99)
    lay = settings_of(bpy.context.scene).lays.add()
    lay.name, lay.up = "left", (0.0, 0.0, 1.0)
    with pytest.raises(RuntimeError, match='"left" is no piece of this fender; allowed is front, rear'):
        bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True)
    lay.up = (0.0, 0.0, 0.0)
    assert "lay[0].up" in state().problem


def test_pieces_are_pulled_apart_and_put_together() -> None:
    seeded()
    settings = settings_of(bpy.context.scene)
    settings.apart = 40.0  # nothing is shown yet
    assert bpy.ops.fenderwright.build_solid("EXEC_DEFAULT", True) == {"FINISHED"}
    front, rear = bpy.data.collections["Fender Parts"].objects
    assert_allclose([front.location.length, rear.location.length], 40.0, atol=1e-4)
    assert_allclose(np.array(front.location) + np.array(rear.location), 0.0, atol=1e-4)
    assert front.location.y < -20.0 < 20.0 < rear.location.y
    settings.apart = 0.0
    assert front.location.length == rear.location.length == 0.0
