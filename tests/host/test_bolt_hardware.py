# SPDX-License-Identifier: GPL-3.0-or-later
"""Recesses and slots at the bolts, measured with trimesh's rays on the finished mesh."""

from functools import cache
from typing import Any

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError, ShapeError
from addon.core.clearance.keepout import keepout_bodies
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.mesh.triangle_mesh import TriangleMesh, joined
from addon.core.pieces.bolt_remarks import reach_remarks
from addon.core.pieces.tool_access import check_tool_access
from addon.core.report.bolt_list import bolt_list
from addon.core.seat.mount import MountFrame, mount_frame
from addon.pipeline.finish import Finished, finish
from tests.core.torus_surface import as_manifold, as_trimesh, torus_surface
from tests.host.test_finish import job_of

SHEET = torus_surface(section=160.0, half_angle=30.0, rear=-22.0, front=22.0, rows=28)


def job_with(changes: dict[str, Any], wall: dict[str, Any], side: str = "under", **more: Any) -> Job:
    more = {"plane": "none", **more}
    data = job_to_dict(job_of(mount=side, side="inside" if side == "under" else "outside", **more))
    data["mount"].update({"blend": 45.0, "pad": 19.0, **changes})
    data["wall"].update(wall)
    return parse_job(data)


CASES: dict[str, tuple[dict[str, Any], dict[str, Any], list[tuple[float, float]]]] = {
    # all mouths are broken at 45 degrees: by 0.4, or half of a flat recess, and a cone runs on
    # depth from the bracket's face, radius: head 6 high (ISO 4762) in 9, 10 + 1 wide, hole 6.6 (ISO 273)
    "counterbore": (
        {"hardware": "counterbore"},
        {"thickness": 9.0},
        [(0.5, 3.3), (2.9, 3.3), (3.1, 5.5), (8.5, 5.5), (8.8, 5.7)],
    ),
    # washer 12 (ISO 7089) + 1 wide, 3 deep as stated
    "counterbore, washer, stated depth": (
        {"hardware": "counterbore", "washer": "plain", "recess": 3.0},
        {"thickness": 6.0},
        [(2.9, 3.3), (3.1, 6.5), (5.5, 6.5), (5.8, 6.7)],
    ),
    # cone of 90 degrees, 13.44 at its sharp edge (ISO 10642), 0.1 sunk: 6.72 at 4.9, one less a mm down to 3.3 at 1.48
    "countersink": ({"hardware": "countersink"}, {"thickness": 5.0}, [(1.4, 3.3), (2.9, 4.72), (3.9, 5.72), (4.95, 6.77)]),
    # washer 18 (ISO 7093) + 1 wide, a layer of 0.3 deep
    "washer flat": ({"hardware": "washer_flat"}, {"thickness": 4.0}, [(3.6, 3.3), (3.8, 9.5), (3.95, 9.6)]),
    # pilot 5.6, insert 8.15 + 0.5 (accu.co.uk p/488, creative3dp blog), hole 4.5
    "insert": ({"hardware": "insert", "thread": "M4"}, {"thickness": 10.0}, [(1.3, 2.25), (1.4, 2.8), (9.5, 2.8), (9.8, 3.0)]),
}


@cache
def finished(case: str, side: str) -> tuple[Finished, Job, MountFrame]:
    changes, wall, _ = CASES[case]
    job = job_with(changes, wall, side)
    frame = mount_frame(job)
    return finish(job, SHEET, frame), job, frame


def ray_lengths(mesh: trimesh.Trimesh, frame: MountFrame, bolt: np.ndarray, height: float, turns: np.ndarray) -> np.ndarray:
    """From the axis of a bolt outward at a height over the mount plane; a turn is from forward toward the left."""
    start = frame.to_axes(bolt, height)
    ways = np.cos(turns)[:, None] * frame.forward + np.sin(turns)[:, None] * frame.x
    places, rays, _ = mesh.ray.intersects_location(np.tile(start, (len(turns), 1)), ways, multiple_hits=False)
    lengths = np.full(len(turns), np.inf)
    lengths[rays] = np.linalg.norm(places - start, axis=1)
    return lengths


@pytest.mark.parametrize("side", ["under", "over"])
@pytest.mark.parametrize("case", CASES)
def test_profile_of_the_bore(case: str, side: str) -> None:
    """Radius at depths by hand; the polygon of 64 sides stands between the circle and 0.12 % more; center within 0.02 mm."""
    result, _, frame = finished(case, side)
    mesh = as_trimesh(result.whole)
    assert as_manifold(result.whole).genus() == 4 and mesh.is_volume
    turns = np.arange(0.1, 2.0 * np.pi, np.pi / 6.0)
    for depth, radius in CASES[case][2]:
        for bolt in frame.bolts_uv:
            lengths = ray_lengths(mesh, frame, bolt, -depth if side == "under" else depth, turns)
            assert lengths.min() > radius - 0.002 and lengths.max() < radius * 1.0013 + 0.002
            opposite = 0.5 * (lengths[:6] - lengths[6:])
            assert np.abs(opposite).max() < 0.02


@pytest.mark.parametrize("seat", ["land", "pad"])
def test_floor_under_a_washer_is_flat_and_the_seat_stays(seat: str) -> None:
    """Rays along the axis onto floor and seat: flat within 0.02 mm; the pad's own face there is not, and a remark says so."""
    job = job_with({"hardware": "washer_flat"}, {"thickness": 4.0, "seat": seat})
    frame = mount_frame(job)
    mesh = as_trimesh(finish(job, SHEET, frame).whole)
    turn = np.arange(0.0, 2.0 * np.pi, np.pi / 8.0)
    ring = np.concatenate([radius * np.stack([np.cos(turn), np.sin(turn)], axis=1) for radius in (3.6, 6.0, 8.9)])
    for bolt in frame.bolts_uv:
        for above, way in ((-40.0, 1.0), (40.0, -1.0)):
            places, rays, _ = mesh.ray.intersects_location(
                frame.to_axes(bolt + ring, above), np.tile(way * frame.up, (len(ring), 1)), multiple_hits=False
            )
            assert len(rays) == len(ring)
            _, height = frame.to_plane(places)
            assert np.ptp(height) < 0.02
            if way < 0.0:
                assert np.abs(height).max() < 0.02
            elif seat == "land":
                assert_allclose(height, -3.7, atol=0.02)
    plain = finish(job_with({}, {"thickness": 4.0, "seat": seat}), SHEET, frame)
    assert [("off flat" in remark) for remark in plain.remarks] == ([True] if seat == "pad" else [])


def test_slots_are_as_long_and_turned_as_stated() -> None:
    """Way 8: 4 + 3.3 along the slot, 3.3 across it; a turn of 30 degrees is toward the rider's left."""
    slots = [[8, 30], [8, -30], [6, 90], [0, 0]]
    job = job_with({"slots": slots, "hardware": "washer_flat", "washer": "plain"}, {"thickness": 4.0})
    frame = mount_frame(job)
    mesh = as_trimesh(finish(job, SHEET, frame).whole)
    for depth, radius in ((2.0, 3.3), (3.85, 6.5)):
        for bolt, (way, turn) in zip(frame.bolts_uv, slots, strict=True):
            along = ray_lengths(mesh, frame, bolt, -depth, np.radians([turn, turn + 180.0]))
            across = ray_lengths(mesh, frame, bolt, -depth, np.radians([turn + 90.0, turn - 90.0]))
            assert_allclose(along, radius + 0.5 * way, atol=0.02)
            assert_allclose(across, radius, atol=0.02)


def test_what_a_washer_covers_is_left_and_what_a_hand_reaches_is_broken() -> None:
    """A slot of 16 goes on past a washer of 18 (ISO 7093) and is broken by 0.4 at 45 degrees, one of 5 does not; the grip stays 4."""
    for way, wider in ((16.0, 0.2), (5.0, 0.0)):
        job = job_with({"slots": [[way, 0]], "pad": 24.0}, {"thickness": 4.0})
        frame = mount_frame(job)
        result = finish(job, SHEET, frame)
        mesh = as_trimesh(result.whole)
        for depth, out in ((0.2, 0.0), (3.5, 0.0), (3.8, wider)):
            for bolt in frame.bolts_uv:
                lengths = ray_lengths(mesh, frame, bolt, -depth, np.radians([0.0, 90.0, 180.0, 270.0]))
                assert_allclose(lengths - 0.5 * way * np.array([1.0, 0.0, 1.0, 0.0]), 3.3 + out, atol=0.02)
        assert result.mouth_breaks == (pytest.approx(2.0 * wider),)
        listed = bolt_list(job, frame, result.whole)
        assert_allclose(listed.grip_mm, 4.0, atol=0.02)
    round_holes = finish(job_with({}, {"thickness": 4.0}), SHEET, mount_frame(job_with({}, {"thickness": 4.0})))
    assert round_holes.mouth_breaks == (0.0,)


@pytest.mark.parametrize(
    ("changes", "wall", "more", "words"),
    [
        ({"hardware": "counterbore"}, {"thickness": 6.0}, {}, "mount.hardware: the recess at bolt 1, 6.00 mm deep, goes through all"),
        ({"hardware": "counterbore", "recess": 2.0}, {"thickness": 4.3}, {}, r"leaves 2.30 mm of the 4.30 mm .*at least 2.40 mm"),
        ({"hardware": "insert", "thread": "M4"}, {"thickness": 9.8}, {}, r"leaves 1.15 mm .*at least 1.20 mm"),
        (
            {"hardware": "counterbore", "recess": 2.0}, {"thickness": 6.0}, {"plane": "across", "joint": "full_lap"},
            r"at least 5.55 mm must stay, 3.15 mm of it for the half of the lap",
        ),
        ({"slots": [[36, 0]], "pad": 31.0}, {}, {"plane": "across"}, r'split.joint: "butt" with the cut "across" leaves 9.8 mm .* 10.0 mm'),
        ({"slots": [[36, 90]], "pad": 31.0}, {}, {}, "bolts 1 and 2 are 4.0 mm apart"),
    ],
)  # fmt: skip
def test_what_the_wall_does_not_hold(changes: dict[str, Any], wall: dict[str, Any], more: dict[str, Any], words: str) -> None:
    job = job_with(changes, wall, **more)
    with pytest.raises(JobError, match=words):
        finish(job, SHEET, mount_frame(job))


def test_what_stands_in_the_way_of_a_tool_is_found() -> None:
    """Plates 30 mm under a bolt, inside the 40 mm that a tool needs: one beside the way of 18 mm is let pass, one in it is not."""
    result, job, frame = finished("washer flat", "under")
    assert len(result.reach) == 4
    check_tool_access(result.whole, result.reach)

    def plate(aside: float, below: float) -> TriangleMesh:
        body = trimesh.creation.box((4.0, 4.0, 1.0))
        local = body.vertices + [aside + 2.0, 0.0, -below]
        return TriangleMesh(frame.to_axes(frame.bolts_uv[0] + local[:, :2]) + local[:, 2:] * frame.up, body.faces)

    for aside, below in ((9.1, 30.0), (0.0, 48.0)):
        check_tool_access(joined([result.whole, plate(aside, below)]), result.reach)
    for aside in (8.5, -2.0):
        with pytest.raises(ShapeError, match="stands in the way of a screw and its tool") as refused:
            check_tool_access(joined([result.whole, plate(aside, 30.0)]), result.reach)
        assert refused.value.place is not None
        assert_allclose(frame.to_plane(refused.value.place)[1], -29.5, atol=0.51)
    data = job_to_dict(job)
    start = frame.to_axes(frame.bolts_uv[2], -30.0)
    data["keepout"] = [
        {
            "name": "hose",
            "kind": "capsule",
            "a": (start + [12.0, 0, 0]).tolist(),
            "b": (start + [40.0, 0, 0]).tolist(),
            "radius": 4.0,
        },
        {
            "name": "cable",
            "kind": "capsule",
            "a": (start + [16.0, 0, 0]).tolist(),
            "b": (start + [40.0, 0, 0]).tolist(),
            "radius": 4.0,
        },
    ]
    remarks = reach_remarks(result.reach, keepout_bodies(parse_job(data)))
    assert len(remarks) == 1 and remarks[0].startswith("hose stands in the straight way of the screw")
