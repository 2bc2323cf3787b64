# SPDX-License-Identifier: GPL-3.0-or-later
"""Seats beside the mount, measured with trimesh on the finished mesh: ears on both sides and a strut's foot inside."""

from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.base.tolerances import TOLERANCES
from addon.core.base.wheel_axes import point_at
from addon.core.clearance.brackets import further_brackets
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.proof import proven_clearance
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.report.check_job import check_bolts
from addon.core.seat.mount import mount_frame
from addon.pipeline.finish import Finished, finish
from tests.core.torus_surface import as_manifold, as_trimesh, torus_surface
from tests.host.test_finish import job_of

SHEET = torus_surface(rows=50)


def place(station: float, angle: float, off: float) -> tuple[list[float], list[float]]:
    """Point and outward normal of a torus `off` mm over the sheet, at an angle around its section from the crown."""
    turn = np.radians(angle)
    point = point_at(240.0 + (80.0 + off) * np.cos(turn), station, (80.0 + off) * np.sin(turn))
    return point.round(3).tolist(), point_at(np.cos(turn), station, np.sin(turn)).round(4).tolist()


def seat(station: float, angle: float, off: float = -1.0, face: str = "outer", **keys: Any) -> dict[str, Any]:
    center, normal = place(station, angle, off)
    if face == "inner":
        normal = [-value for value in normal]
    return {
        "name": "ear",
        "center": center,
        "normal": normal,
        "bolts": [[0, 12], [0, -12]],
        "thread": "M5",
        "blend": 18.0,
        **keys,
    }


EAR = seat(-35.0, 45.0, sides="both")
STRUT = seat(-62.0, 0.0, -4.0, "inner", name="strut", bolts=[[12, 0], [-12, 0]], thread="M6", blend=24.0, hardware="washer_flat")


def job_with(*seats: dict[str, Any], side: str = "under", kind: str = "land", **more: Any) -> Job:
    lies = "inside" if side == "under" else "outside"
    data = job_to_dict(job_of(mount=side, side=lies, thickness=4.0, seat=kind, **{"plane": "none", **more}))
    data["seat"] = list(seats)
    return parse_job(data)


@cache
def finished(side: str, kind: str) -> Finished:
    job = job_with(EAR, STRUT, side=side, kind=kind)
    return finish(job, SHEET, mount_frame(job))


@pytest.mark.parametrize(("side", "kind"), [("under", "land"), ("over", "pad")])
def test_every_seat_is_flat_and_its_holes_are_where_they_belong(side: str, kind: str) -> None:
    """Rays from the bracket onto the seat: on the stated plane within 0.02 mm, facets within 0.05 degrees of it; rays from
    the axes of the bolts: holes of ISO 273's diameter within 0.02 mm of their places. Stated points and normals, not our seats."""
    result = finished(side, kind)
    mesh = as_trimesh(result.whole)
    assert as_manifold(result.whole).genus() == 4 + 2 + 2 + 2 and mesh.is_volume
    flip = np.array([-1.0, 1.0, 1.0])
    turn = np.arange(0.05, 2.0 * np.pi, np.pi / 8.0)
    ahead = np.array([0.0, -1.0, 0.0])
    checked = 0
    for stated, mirror in ((EAR, np.ones(3)), (EAR, flip), (STRUT, np.ones(3))):
        normal = np.array(stated["normal"])
        normal = mirror * normal / np.linalg.norm(normal)
        forward = ahead - (ahead @ normal) * normal
        forward /= np.linalg.norm(forward)
        across = np.cross(normal, forward)
        radius = {"M5": 2.75, "M6": 3.3}[stated["thread"]]
        for x, y in stated["bolts"]:
            # a mirror image has its x mirrored too; these patterns are alike on both sides
            bolt = mirror * np.array(stated["center"]) + x * across + y * forward
            ways = np.cos(turn)[:, None] * forward + np.sin(turn)[:, None] * across
            starts = np.concatenate([bolt + reach * ways for reach in (radius + 0.5, 8.0, 10.5)])
            hits, rays, _ = mesh.ray.intersects_location(
                starts + 15.0 * normal, np.tile(-normal, (len(starts), 1)), multiple_hits=False
            )
            assert len(rays) == len(starts)
            assert np.abs((hits - bolt) @ normal).max() < 0.02
            longest = np.linalg.norm(mesh.triangles - np.roll(mesh.triangles, 1, axis=1), axis=2).max(axis=1)
            # facets that lie wholly in the hull of the pads of 2 d + 1 mm, and are no needles left by the cut
            other = mirror * np.array(stated["center"]) - x * across - y * forward
            way = other - bolt
            share = np.clip((mesh.triangles - bolt) @ way / (way @ way), 0.0, 1.0)
            off = np.linalg.norm(mesh.triangles - bolt - share[..., None] * way, axis=2)
            within = (off < 2.0 * float(stated["thread"][1]) + 1.0).all(axis=1)
            near = (np.abs((mesh.triangles_center - bolt) @ normal) < 0.5) & (mesh.face_normals @ normal > 0.5)
            broad = within & near & (2.0 * mesh.area_faces / longest > 0.3)
            assert mesh.area_faces[broad].sum() > 30.0
            assert np.degrees(np.arccos(np.clip(mesh.face_normals[broad] @ normal, -1.0, 1.0))).max() < 0.05
            hits, rays, _ = mesh.ray.intersects_location(np.tile(bolt - 1.5 * normal, (len(turn), 1)), ways, multiple_hits=False)
            lengths = np.full(len(turn), np.inf)
            lengths[rays] = np.linalg.norm(hits - (bolt - 1.5 * normal), axis=1)
            assert_allclose(lengths, radius, atol=0.006)
            assert np.abs(0.5 * (lengths[:8] - lengths[8:])).max() < 0.02
            checked += 1
    assert checked == 6


def test_wall_of_a_land_on_the_other_face_stays_constant_and_a_pad_is_thicker() -> None:
    """By rays through the wall beside the strut's bolts, 4 mm for a land; solid under a pad as the outer face is left."""
    for kind, most in (("land", 4.02), ("pad", 20.0)):
        mesh = as_trimesh(finished("under" if kind == "land" else "over", kind).whole)
        normal = np.array(STRUT["normal"]) / np.linalg.norm(STRUT["normal"])
        start = np.array(STRUT["center"]) + 10.0 * normal
        hits, _, _ = mesh.ray.intersects_location(start[None], -normal[None], multiple_hits=True)
        along = np.sort((np.array(STRUT["center"]) - hits) @ normal)[:2]
        assert_allclose(along[0], 0.0, atol=0.02)
        assert 3.98 < along[1] - along[0] < most


@pytest.mark.parametrize(
    ("seats", "more", "key", "words"),
    [
        ([seat(-35.0, 45.0, 13.0)], {}, "seat[0].blend", "mm off the plane of the seat \"ear\" at station"),
        ([seat(120.0, 0.0)], {}, "seat[0].blend", "off the plane of the seat"),
        ([seat(-35.0, 66.0)], {}, "seat[0].pad", "of the fender's edge at station"),
        ([seat(-35.0, 45.0), seat(-37.0, 45.0, name="other")], {}, "seat[1].center", 'seat overlaps the one on the plane of the seat "ear"'),
        ([seat(-17.0, 0.0)], {}, "seat[0].blend", "runs into the blend of the one on the mount plane at station"),
        ([seat(-62.0, 0.0, bolts=[[9.5, 0], [-9.5, 0]], thread="M6", blend=24.0)], {"plane": "along"}, "seat[0].center", "from the joint"),
        # a washer of M5 asks 8.5 mm: 12 mm from the cut are enough for a round hole, but not for one that moves 4 mm to it
        ([seat(-62.0, 0.0, bolts=[[12, 0], [-12, 0]], blend=26.0, slots=[[8, 90]])], {"plane": "along"}, "seat[0].center", "least 8.5 mm"),
        ([seat(-35.0, 45.0, pad=8.0)], {}, "seat[0].pad", "allowed is 8.5 mm or more"),
        ([seat(-35.0, 45.0, hardware="counterbore")], {}, "seat[0].hardware", "goes through all of the 4.00 mm"),
        ([seat(-35.0, 45.0, normal=[0, 0, 0])], {}, "seat[0].normal", "may not be all zero"),
        ([EAR, EAR], {}, "seat[1].name", "each seat needs a name of its own"),
    ],
)  # fmt: skip
def test_seats_that_cannot_be(seats: list[dict[str, Any]], more: dict[str, Any], key: str, words: str) -> None:
    with pytest.raises(JobError, match=".") as refused:
        job = job_with(*seats, **more)
        check_bolts(job)
        finish(job, SHEET, mount_frame(job))
    assert refused.value.key == key, str(refused.value)
    assert words in str(refused.value)
    assert refused.value.place is not None or "station" not in words


@pytest.mark.parametrize("off", [-1.0, -6.0, 4.0])
def test_the_part_stays_out_of_the_brackets_and_would_be_told(off: float) -> None:
    """A skin over the seat's plane is worked down to it; the same skin without the seat runs into the bracket by that much."""
    ear = {**seat(-35.0, 45.0, off, sides="both"), "bracket": 3.0}
    job, plain = job_with(ear, {**STRUT, "bracket": 5.0}), job_with()
    limits = [limit for limit in clearance_field(job, "part").limits if "seat" in limit.name]
    assert [limit.name for limit in limits] == [
        'bracket of the seat "ear"', 'bracket of the seat "ear", mirrored', 'bracket of the seat "strut"'
    ]  # fmt: skip
    assert all(limit.required_mm == 0.0 and limit.bears for limit in limits)
    assert not [limit for limit in clearance_field(job).limits if "seat" in limit.name]
    seated, bare = (finish(each, SHEET, mount_frame(each)).whole for each in (job, plain))
    for limit, over in zip(limits, (-off, -off, None), strict=True):
        assert proven_clearance(seated.vertices, seated.triangles, limit.body).proven_min_mm > -0.01
        if over is not None:
            # as deep as the skin is over the plane, at most half the bracket from its other face
            deep = -min(over, 1.5) if over > 0.0 else -over
            found = proven_clearance(bare.vertices, bare.triangles, limit.body).min_mm
            assert_allclose(found, deep, atol=0.05)


def test_a_bracket_lies_where_the_normal_points() -> None:
    """Hand points: half a bracket out from the center is inside by half of it, on both sides of the bike; mirrored x."""
    job = job_with({**EAR, "bracket": 4.0}, {**STRUT, "bracket": 6.0}, seat(-80.0, 0.0, name="no bracket"))
    ear, image, strut = further_brackets(job)
    for bracket, stated, thickness, mirror in ((ear, EAR, 4.0, 1.0), (image, EAR, 4.0, -1.0), (strut, STRUT, 6.0, 1.0)):
        flip = np.array([mirror, 1.0, 1.0])
        normal = np.array(stated["normal"]) / np.linalg.norm(stated["normal"])
        heights = TOLERANCES.chord + np.array([0.5 * thickness, -1.0, thickness + 1.0])
        points = flip * (np.array(stated["center"]) + heights[:, None] * normal)
        assert_allclose(bracket.body.distance(points), [-0.5 * thickness, 1.0, 1.0], atol=1e-9)


def test_sheet_round_trip_and_edge_distance_by_default() -> None:
    job = job_with(EAR, STRUT)
    assert parse_job(job_to_dict(job)) == job
    assert [each.seat.pad for each in finished("under", "land").seats] == [14.0, 11.0, 11.0, 13.0]  # 2 d + 1 mm
