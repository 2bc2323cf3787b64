# SPDX-License-Identifier: GPL-3.0-or-later
"""From an analytic skin to halves, with outside libraries as witnesses."""

import io
from functools import cache
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError, ShapeError
from addon.core.job.job_sheet import Job, parse_job
from addon.core.seat.mount import MountFrame, mount_frame
from addon.pipeline.finish import Finished, finish
from tests.core.torus_surface import as_manifold, as_trimesh, torus_surface
from tests.crossing_pairs import crossing_pairs

CASES: dict[str, dict[str, Any]] = {
    "butt across": {"joint": "butt"},
    "lap across": {"joint": "lap"},
    "full lap across, pad": {"joint": "full_lap", "seat": "pad"},
    "butt along": {"plane": "along", "joint": "butt"},
    "lap along, bead": {"plane": "along", "joint": "lap", "lap": 10.0, "edge": "bead"},
    "full lap, square, wall outside, over the plate": {"joint": "full_lap", "edge": "square", "side": "outside", "mount": "over"},
    "tilted lap, bead, wall in the middle": {"joint": "lap", "edge": "bead", "side": "middle", "tilt": 4.0, "ahead": 22.0},
    "whole": {"plane": "none"},
}
THROUGH = {"front": 2, "rear": 2, "left": 2, "right": 2, "whole": 4}


def job_of(
    plane: str = "across", joint: str = "butt", lap: float = 20.0, edge: str = "round", side: str = "inside", seat: str = "land",
    mount: str = "under", tilt: float = 0.0, ahead: float = 0.0, bolts: object = ((20, 28), (-20, 28), (20, -28), (-20, -28)),
    thickness: float = 3.0, **more: Any,
) -> Job:  # fmt: skip
    sheet: dict[str, Any] = {
        "tire": {"size": "120/70R17", "measured_radius": 300.0},
        "mount": {
            "height": 20.0, "bolts": [list(bolt) for bolt in bolts], "thread": "M6", "side": mount, "pad": 14.0, "blend": 25.0,
            "tilt": tilt, "ahead": ahead,
        },
        "clearance": {"gap": 5.0},
        "wall": {"thickness": thickness, "edge": edge, "seat": seat, "side": side},
        "split": {"plane": plane, "joint": joint, "lap": lap, "pieces": "two", **more},
    }  # fmt: skip
    return parse_job(sheet)


@cache
def finished(case: str) -> tuple[Finished, Job, MountFrame]:
    job = job_of(**CASES[case])
    frame = mount_frame(job)
    return finish(job, torus_surface(), frame), job, frame


@pytest.mark.parametrize("case", CASES)
def test_pieces_are_closed_single_and_drilled(case: str) -> None:
    """Status and genus by manifold3d: each bolt hole adds one; a full lap has all four in either half."""
    result, job, _ = finished(case)
    whole = as_manifold(result.whole)
    assert whole.status() == manifold3d.Error.NoError and whole.genus() == 4
    for part in result.parts:
        outside = as_manifold(part.mesh)
        assert outside.status() == manifold3d.Error.NoError
        assert outside.genus() == (4 if job.split.joint == "full_lap" else THROUGH[part.name])
        assert len(outside.decompose()) == 1
        assert as_trimesh(part.mesh).is_volume
        assert not len(crossing_pairs(part.mesh))


@pytest.mark.parametrize("case", CASES)
def test_pieces_survive_the_rounding_of_a_file(case: str) -> None:
    """STL written and read by trimesh, which welds equal points: still closed, same volume to 1e-6."""
    result, _, _ = finished(case)
    for part in result.parts:
        assert part.mesh.shortest_edge >= 2e-4
        assert (part.mesh.vertices == part.mesh.vertices.astype(np.float32)).all()
        stl = trimesh.exchange.stl.export_stl(as_trimesh(part.mesh))
        read = trimesh.load(io.BytesIO(stl), file_type="stl")
        assert read.is_volume
        assert_allclose(read.volume, part.mesh.volume, rtol=1e-6)


@pytest.mark.parametrize("case", [case for case in CASES if case != "whole"])
def test_halves_put_together_are_the_whole_within_the_fit(case: str) -> None:
    """By manifold3d: no overlap, nothing outside the whole, and what is left is a gap no wider than the fit."""
    result, job, _ = finished(case)
    whole, (one, two) = as_manifold(result.whole), (as_manifold(part.mesh) for part in result.parts)
    assert (one ^ two).volume() < 1e-3
    assert one.volume() + two.volume() - (one ^ whole).volume() - (two ^ whole).volume() < 0.1
    left = whole - one - two
    assert_allclose(left.volume(), whole.volume() - one.volume() - two.volume(), atol=0.2)
    # the nearest faces of the two halves are a fit apart, and what is missing is the fit times the mating faces
    assert_allclose(one.min_gap(two, 2.0), job.split.fit, atol=0.003)
    assert result.joint is not None
    along = result.joint.half_length
    turned = whole.translate(tuple(-result.joint.point)).transform(_facing_up(result.joint.normal))
    mating = turned.slice(0.0).area()
    if along > 0.0:
        slab = turned.trim_by_plane((0.0, 0.0, 1.0), -along).trim_by_plane((0.0, 0.0, -1.0), -along)
        mating += slab.volume() / job.wall.thickness
    if job.wall.seat == "land" and job.wall.edge != "bead":
        assert_allclose(left.volume(), job.split.fit * mating, rtol=0.03)
    else:
        # a pad and a bead are thicker than the wall that the slab is divided by
        assert left.volume() < 1.03 * job.split.fit * mating


def _facing_up(normal: np.ndarray) -> np.ndarray:
    """(3, 4) turn that takes a unit normal in the plane of two axes to z."""
    side = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
    side /= np.linalg.norm(side)
    return np.column_stack([np.stack([side, np.cross(normal, side), normal]), np.zeros(3)])


@pytest.mark.parametrize(
    "case", ["butt across", "full lap, square, wall outside, over the plate", "tilted lap, bead, wall in the middle"]
)
def test_seat_is_flat_and_holes_are_where_they_belong(case: str) -> None:
    """From the triangles of the whole: plane within 0.02 mm and 0.05 deg, axes within 0.02 mm, never under ISO 273's 6.6."""
    result, job, frame = finished(case)
    mesh = as_trimesh(result.whole)
    sign = 1.0 if job.mount.side == "under" else -1.0
    flat, height = frame.to_plane(mesh.triangles_center)
    corners_flat, corners_height = frame.to_plane(mesh.vertices)
    inside = (frame.outline_distance(corners_flat) <= 0.0)[mesh.faces].all(axis=1)
    under = inside & (np.abs(height) < 0.5) & (sign * (mesh.face_normals @ frame.up) > 0.5)
    assert mesh.area_faces[under].sum() > 1500
    assert np.abs(corners_height[mesh.faces[under]]).max() < 0.02
    # needles left by the cut are too thin for a direction in float32
    longest = np.linalg.norm(mesh.triangles - np.roll(mesh.triangles, 1, axis=1), axis=2).max(axis=1)
    broad = under & (2.0 * mesh.area_faces / longest > 0.3)
    assert np.degrees(np.arccos(np.clip(sign * mesh.face_normals[broad] @ frame.up, -1, 1))).max() < 0.05
    for bolt in frame.bolts_uv:
        bore = (
            (np.abs(mesh.face_normals @ frame.up) < 0.05) & (np.linalg.norm(flat - bolt, axis=1) < 5.0) & (mesh.area_faces > 0.02)
        )
        assert bore.sum() > 60
        foot = flat[bore] - bolt
        normals, _ = frame.to_plane(mesh.face_normals[bore] + frame.origin)
        # planes of the bore: n . (p - c) = -r; center and radius by least squares
        rows = np.column_stack([normals, np.full(bore.sum(), -1.0)])
        solution = np.linalg.lstsq(rows, np.einsum("ij,ij->i", normals, foot), rcond=None)[0]
        assert np.linalg.norm(solution[:2]) < 0.02
        assert_allclose(solution[2], 3.3, atol=0.002)
        rim = np.unique(mesh.faces[bore])
        assert np.linalg.norm(corners_flat[rim] - bolt, axis=1).min() >= 3.3 - 1e-4


def test_holes_do_not_reach_the_other_side_of_the_fender() -> None:
    """A skin that goes nearly all around the wheel: four bolt axes pierce it once each, so the genus is 4 and not 8."""
    sheet = torus_surface(rear=-170.0, front=170.0, rows=160)
    job = job_of(plane="none")
    result = finish(job, sheet, mount_frame(job))
    assert as_manifold(result.whole).genus() == 4


def test_cut_through_two_places_is_refused() -> None:
    job = job_of()
    with pytest.raises(ShapeError, match="falls into 2 parts"):
        finish(job, torus_surface(rear=-60.0, front=200.0, rows=160), mount_frame(job))


@pytest.mark.parametrize(
    ("changes", "error", "words"),
    [
        ({"bolts": ((0, 0), (0, 60))}, None, ""),
        ({"bolts": ((20, 0), (-20, 0))}, JobError, "split.joint"),
        ({"plane": "along", "bolts": ((0, 28), (0, -28))}, JobError, 'split.plane = "across"'),
        ({"bolts": ((64, 28), (-64, 28), (64, -28), (-64, -28)), "thickness": 1.0}, JobError, "mount"),
        ({"thickness": 2.0, "joint": "lap", "fit": 0.5}, JobError, "halves the wall"),
    ],
)
def test_what_the_job_cannot_have(changes: dict[str, Any], error: type[ValueError] | None, words: str) -> None:
    job = job_of(**changes)
    if error is None:
        assert len(finish(job, torus_surface(), mount_frame(job)).parts) == 2
        return
    with pytest.raises(error, match=words):
        finish(job, torus_surface(), mount_frame(job))


def test_wall_is_measured() -> None:
    stats = finished("butt across")[0].wall
    assert stats.nominal == 3.0
    assert abs(stats.p1 - 3.0) < 0.03 and abs(stats.p99 - 3.0) < 0.03
    assert stats.min > 2.97
    assert finished("full lap across, pad")[0].wall.max > 4.0
