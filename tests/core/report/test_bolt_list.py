# SPDX-License-Identifier: GPL-3.0-or-later
"""Screw lengths from the parts between head and nut."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.report.bolt_list import BoltList, bolt_list, grip_at
from addon.core.seat.mount import mount_frame
from addon.core.tables.fasteners import NOMINAL_DIAMETER
from addon.core.tables.nuts import LENGTHS, LOCK_NUT_HEIGHT, PITCH

DEMO = Path(__file__).resolve().parents[3] / "blend_demo"


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job_sheet(DEMO / "front_17.toml")


def plate(job: Job, thickness: float, hole: float) -> TriangleMesh:
    """A plate under the mount plane with holes at the bolts, in the frame of the mount."""
    frame = mount_frame(job)
    body = trimesh.creation.box((120.0, 120.0, thickness))
    drills = [trimesh.creation.cylinder(0.5 * hole, 40.0, sections=96) for _ in frame.bolts_uv]
    for drill, (u, v) in zip(drills, frame.bolts_uv, strict=True):
        drill.apply_translation([u, v, 0.0])
    cut = trimesh.boolean.difference([body, *drills], engine="manifold")
    local = cut.vertices - [0.0, 0.0, 0.5 * thickness]
    return TriangleMesh(frame.to_axes(local[:, :2]) + local[:, 2:] * frame.up, cut.faces)


def test_length_is_the_sum_of_what_lies_between(job: Job) -> None:
    """M6: large washer 1.8 (ISO 7093) + 3 + plate 5 + washer 1.6 (ISO 7089) + nut 8 (ISO 7040) + two pitches 2 = 21.4, so 25."""
    found = bolt_list(job, mount_frame(job), plate(job, 3.0, 6.6))
    assert (found.count, found.thread, found.length_mm) == (4, "M6", 25)
    assert_allclose(found.grip_mm, 3.0, atol=1e-6)
    assert_allclose([mm for _, mm in found.stack], [1.8, 3.0, 5.0, 1.6, 8.0, 2.0], atol=1e-6)
    assert_allclose(found.least_mm, 21.4, atol=1e-6)


def test_without_a_plate_no_length_is_named(job: Job) -> None:
    bare = replace(job, mount=replace(job.mount, plate=None))
    found = bolt_list(bare, mount_frame(bare), plate(bare, 3.0, 6.6))
    assert found.length_mm is None and found.plate_mm is None
    assert_allclose(found.least_mm, 16.4, atol=1e-6)


def test_nothing_so_long_is_sold(job: Job) -> None:
    thick = replace(job, mount=replace(job.mount, plate=(80.0, 90.0, 130.0)))
    assert bolt_list(thick, mount_frame(thick), plate(thick, 3.0, 6.6)).length_mm is None


def test_a_hole_of_another_size_leaves_the_nominal_wall(job: Job) -> None:
    found = bolt_list(job, mount_frame(job), plate(job, 5.0, 9.0))
    assert_allclose(found.grip_mm, job.wall.thickness)
    assert found.stack[1][0] == "fender, nominal"
    assert grip_at(plate(job, 5.0, 9.0), mount_frame(job).bolts[0], mount_frame(job).up, 6.6) is None


def test_tables_of_nuts_and_pitches() -> None:
    """ISO 7040 h max and coarse pitches, as FreeCAD_FastenersWB has them; ISO 4014 writes lengths in these steps (memory)."""
    assert [LOCK_NUT_HEIGHT[name] for name in ("M5", "M6", "M8")] == [6.8, 8.0, 9.5]
    assert [PITCH[name] for name in ("M5", "M6", "M8")] == [0.8, 1.0, 1.25]
    assert set(PITCH) == set(LOCK_NUT_HEIGHT) == set(NOMINAL_DIAMETER)
    assert list(LENGTHS) == sorted(set(LENGTHS))


def test_screws_follow_the_hardware(job: Job) -> None:
    """M6 with a plate of 5 mm; plain washer 1.6, nut 8 and two pitches 2 on the plate where the nut is there."""

    def listed(hardware: str, thickness: float, hole: float = 6.6, **mount: object) -> BoltList:
        changed = replace(job, mount=replace(job.mount, hardware=hardware, **mount))  # type: ignore[arg-type]
        return bolt_list(changed, mount_frame(changed), plate(changed, thickness, hole))

    sunk = listed("counterbore", 3.0)
    assert sunk.items[0] == ("socket head screw M6", "ISO 4762, stainless or zinc plated")
    assert_allclose(sunk.least_mm, 3.0 + 5.0 + 1.6 + 8.0 + 2.0, atol=1e-6)
    assert sunk.length_mm == 20 and sunk.washer == "" and len(sunk.items) == 3
    # the hole ends at the cone, (13.44 - 6.6) / 2 = 3.42 under the head's edge, and a countersunk screw is measured with its head
    flush = listed("countersink", 1.48)
    assert flush.items[0][0] == "countersunk screw M6" and flush.items[0][1].startswith("ISO 10642")
    assert_allclose(flush.grip_mm, 4.9, atol=1e-6)
    assert_allclose(flush.least_mm, 4.9 + 16.6, atol=1e-6)
    flat = listed("washer_flat", 3.7, washer="plain")
    assert flat.washer == "plain" and ("plain washer M6, on the print", "ISO 7089") in flat.items
    assert_allclose(flat.least_mm, 1.6 + 3.7 + 16.6, atol=1e-6)
    # from the bracket: washer 1.6, plate 5, 1.5 of print, one diameter of thread; 16 mm ends 0.1 + 6 in a pocket of 13.2
    insert = listed("insert", 1.5)
    assert [what for what, _ in insert.items] == [
        "button head screw M6",
        "heat-set insert M6, 12.7 mm long",
        "plain washer M6, on the plate",
    ]
    assert_allclose(insert.least_mm, 1.6 + 5.0 + 1.5 + 6.0, atol=1e-6)
    assert insert.length_mm == 16
    # a large washer of 18 x 1.8 (ISO 7093) on 2 mm of rubber
    soft = listed("plain", 3.0, washer="rubber")
    assert soft.washer == "large on rubber" and any(what.startswith("rubber washer 18 x 2 mm") for what, _ in soft.items)
    assert ("large washer M6, on the print", "ISO 7093") in soft.items
    assert_allclose(soft.least_mm, 1.8 + 2.0 + 3.0 + 16.6, atol=1e-6)
    slotted = replace(job, mount=replace(job.mount, slots=((8.0, 90.0),)))
    found = bolt_list(slotted, mount_frame(slotted), _slotted(slotted))
    assert_allclose(found.grip_mm, 3.0, atol=1e-6)


def _slotted(job: Job) -> TriangleMesh:
    """The plate of 3 mm with slots 8 mm longer than their width, toward the rider's left."""
    frame = mount_frame(job)
    way = np.array([4.0, 0.0])
    drills = []
    for bolt in frame.bolts_uv:
        ends = [trimesh.creation.cylinder(3.3, 40.0, sections=96) for _ in range(2)]
        for end, sign in zip(ends, (1.0, -1.0), strict=True):
            end.apply_translation([*(bolt + sign * way), 0.0])
        drills.append(trimesh.util.concatenate(ends).convex_hull)
    cut = trimesh.boolean.difference([trimesh.creation.box((120.0, 120.0, 3.0)), *drills], engine="manifold")
    local = cut.vertices - [0.0, 0.0, 1.5]
    return TriangleMesh(frame.to_axes(local[:, :2]) + local[:, 2:] * frame.up, cut.faces)
