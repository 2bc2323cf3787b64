# SPDX-License-Identifier: GPL-3.0-or-later
"""What heads and nuts keep from all limits, against trimesh's cylinders and brute force."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import trimesh

from addon.core.base.arrays import Array
from addon.core.base.errors import JobError
from addon.core.bodies.capsule import Capsule
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.hardware_clearance import HardwareClearance, hardware_clearances, hardware_excess, stated_hardware
from addon.core.job.job_sheet import Job, parse_job
from addon.core.report.check_job import check_heads
from addon.core.seat.hardware import Hardware
from addon.core.seat.mount import mount_frame
from addon.core.tables.fasteners import THREADS
from addon.core.tables.nuts import LOCK_NUT_ACROSS_CORNERS


def job_of(height: float = 60.0, **sections: Any) -> Job:
    mount = {
        "height": height,
        "bolts": [[25, 30], [-25, 30], [25, -30], [-25, -30]],
        "thread": "M6",
        "pad": 15,
        "plate": [80, 90, 5],
        **sections.pop("mount", {}),
    }
    return parse_job(
        {
            "tire": {"size": "120/70 ZR17", "measured_radius": 300, "sigma": 0.5},
            "mount": mount,
            "clearance": {"gap": 8, "runout_radial": 1, "runout_lateral": 1, "flex": 2},
            "wall": {"thickness": 3},
            **sections,
        }
    )


def hardware_of(job: Job) -> tuple[Hardware, ...]:
    return stated_hardware(job, mount_frame(job))


def found(job: Job) -> tuple[HardwareClearance, ...]:
    return hardware_clearances(hardware_of(job), clearance_field(job, "part").limits)


def test_bodies_are_those_of_the_tables() -> None:
    """Volumes by hand: large washer 18 x 1.8 and head 10.5 x 3.3; washer 12 x 1.6, nut 11.55 x 8, screw end 6 x 5.6; as trimesh
    sees them, closed, within what 64 sides add (0.16 %)."""
    head, nut = hardware_of(job_of())[:2]
    assert (head.what, head.bolt, head.on_fender, head.key) == ("screw head", 1, True, "mount")
    assert (nut.what, nut.bolt, nut.on_fender) == ("lock nut", 1, False)
    for item, discs in ((head, [(18, 1.8), (10.5, 3.3)]), (nut, [(12, 1.6), (11.547, 8.0), (6, 5.6)])):
        mesh = trimesh.Trimesh(item.mesh.vertices, item.mesh.triangles)
        by_hand = sum(0.25 * np.pi * diameter**2 * height for diameter, height in discs)
        assert mesh.is_watertight
        assert by_hand <= mesh.volume < 1.002 * by_hand
    frame = mount_frame(job_of())
    _, heights = frame.to_plane(head.mesh.vertices)
    assert (heights.max(), heights.min()) == (pytest.approx(-3.0), pytest.approx(-8.1))
    _, heights = frame.to_plane(nut.mesh.vertices)
    assert (heights.min(), heights.max()) == (pytest.approx(5.0), pytest.approx(5.0 + 1.6 + 8.0 + 5.6))


def test_corners_of_nuts_hold_those_of_the_standard() -> None:
    """ISO 7040 e min, FreeCAD_FastenersWB iso7040def.csv: a sharp hexagon over the largest flats is never less."""
    least = {"M3": 6.01, "M4": 7.66, "M5": 8.79, "M6": 11.05, "M8": 14.38, "M10": 17.77, "M12": 20.03}
    for thread in THREADS:
        assert 0.0 < LOCK_NUT_ACROSS_CORNERS[thread] - least[thread] < 0.08 * least[thread]


def cylinder_samples(center: Array, axis: Array, radius: float, height: float) -> Array:
    turn, share = np.linspace(0.0, 2.0 * np.pi, 121), np.linspace(0.0, 1.0, 15)
    one = np.cross(axis, [1.0, 0.0, 0.0])
    one /= np.linalg.norm(one)
    ring = np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * np.cross(axis, one)
    return np.concatenate([center + s * radius * ring + h * height * axis for s in share for h in share])


def test_a_keepout_beside_a_head_is_kept_clear_of_and_names_the_bolt() -> None:
    """A rod that lies 6 mm under the inner face, 20 mm beside the second bolt: brute force over the stack's cylinders."""
    job = job_of()
    frame = mount_frame(job)
    at = frame.to_axes(np.array([-45.0, 30.0]), -9.0)
    rod = {"name": "hose", "kind": "capsule", "a": [*(at - [0, 40, 0])], "b": [*(at + [0, 40, 0])], "radius": 3.0, "gap": 2.0}
    job = job_of(keepout=[{**rod, "a": [float(v) for v in rod["a"]], "b": [float(v) for v in rod["b"]]}])
    near = next(each for each in found(job) if each.limit.name == "hose" and each.hardware.bolt == 2)
    assert near.name == "hose, from the screw head of bolt 2"
    bolt = frame.to_axes(np.array([-25.0, 30.0]), -3.0)
    stack = np.concatenate(
        [cylinder_samples(bolt, -frame.up, 9.0, 1.8), cylinder_samples(bolt - 1.8 * frame.up, -frame.up, 5.25, 3.3)]
    )
    brute = float(Capsule(at - [0, 40, 0], at + [0, 40, 0], 3.0).distance(stack).min())
    assert near.proof.min_mm == pytest.approx(brute, abs=0.03)
    assert near.limit.required_mm == pytest.approx(2.0 + 2.0 + 1.0)  # gap, flex, twice the doubt of 0.5
    assert near.excess_mm == pytest.approx(near.proof.min_mm - 5.0)
    mesh, over = hardware_excess([near])
    assert len(over) == len(mesh.vertices) and over.min() >= near.excess_mm - 1e-9


def test_nuts_on_the_bracket_keep_clear_of_what_moves_only() -> None:
    """A box over the plate that stays with the wheel is the builder's own; as part of the chassis it comes down on the nuts."""
    job = job_of()
    top = mount_frame(job).to_axes(np.zeros(2), 60.0)
    box = {"name": "yoke", "kind": "box", "center": [float(v) for v in top], "size": [200.0, 200.0, 10.0], "gap": 3.0}
    still = found(job_of(keepout=[box], travel={"bump": 30.0}))
    moving = found(job_of(keepout=[{**box, "moves_with": "chassis"}], travel={"bump": 30.0}))
    assert {each.hardware.what for each in still} == {"screw head"}
    nuts = [each for each in moving if each.hardware.what == "lock nut"]
    assert len(nuts) == 4
    # 60 less half of the box, plate 5, washer 1.6, nut 8, screw 5.6 and the travel
    assert nuts[0].proof.min_mm == pytest.approx(60 - 5 - 5 - 1.6 - 8 - 5.6 - 30, abs=0.02)


def pad_job(height: float = 45.0) -> Job:
    return job_of(height, wall={"thickness": 3, "seat": "pad"})


def test_a_solid_pad_cannot_push_its_screws_down() -> None:
    """Where the limit of a pad ends, the hardware on it keeps just what is required; a skin below it is broken there."""
    job = pad_job()
    frame, tire = mount_frame(job), clearance_field(job, "part").limits[0]
    limits = [limit for limit in clearance_field(job).limits if limit.name.startswith("room for")]
    assert [limit.name for limit in limits] == [f"room for the screw head of bolt {number}" for number in (1, 2, 3, 4)]
    head = hardware_of(job)[0]
    bolt = frame.bolts[0]
    depth = float(limits[0].body.distance((bolt + 30.0 * frame.up)[None])[0]) - 30.0
    moved = head.mesh.vertices - (depth - 3.0) * frame.up
    assert tire.body.distance(moved).min() == pytest.approx(tire.required_mm, abs=0.05)
    field = clearance_field(job)
    just_clear, too_deep = (bolt - (depth - inner) * frame.up for inner in (3.05, 2.5))
    excess, number = field.excess_and_limit(np.stack([just_clear, too_deep]))
    assert excess[0] > 0.0 > excess[1]
    assert field.limits[number[1]].name == limits[0].name
    assert not [limit for limit in clearance_field(job, "part").limits if limit.name.startswith("room for")]
    assert not [limit for limit in clearance_field(job_of(45)).limits if limit.name.startswith("room for")]


@pytest.mark.parametrize(
    ("mount", "allowed"),
    [
        ({"heads": "outside", "hardware": "counterbore"}, "inside"),
        ({"heads": "inside", "hardware": "countersink", "side": "over"}, "outside"),
        ({"heads": "inside", "hardware": "insert", "thread": "M5"}, "outside"),
        ({"heads": "outside", "hardware": "insert", "thread": "M5", "side": "over"}, "inside"),
    ],
)
def test_heads_on_a_side_that_the_hardware_does_not_let_them_be_on(mount: dict[str, Any], allowed: str) -> None:
    with pytest.raises(JobError, match=f'allowed is "{allowed}"') as refused:
        check_heads(job_of(mount=mount))
    assert refused.value.key == "mount.heads"
    check_heads(job_of(mount={**mount, "heads": allowed}))
