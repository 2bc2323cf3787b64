# SPDX-License-Identifier: GPL-3.0-or-later
"""Pins and keys at the joint through the bolts and at further ones, on the demo front bikes, with manifold3d as the witness."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import bpy
import manifold3d
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.mesh.boolean import mesh_of, solid
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.pieces.cutters import piece_cuts
from addon.core.report.check_job import check_job
from addon.core.seat.mount import mount_frame
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.tables.edge_distance import edge_distance
from addon.core.trim.trimmed import trimmed
from addon.host.part_objects import show_parts
from addon.pipeline.finish import Finished, finish
from addon.pipeline.piece import cut_piece
from tests.core.torus_surface import as_manifold, torus_surface
from tests.crossing_pairs import crossing_pairs
from tests.host.test_finish import _facing_up, job_of

DEMO = Path(__file__).resolve().parents[2] / "blend_demo"
CASES: dict[str, tuple[str, dict[str, Any]]] = {
    "17 butt keys": ("front_17", {"joint": "butt", "locate": "keys"}),
    "17 lap pins": ("front_17", {"joint": "lap", "locate": "pins"}),
    "17 lap keys": ("front_17", {"joint": "lap", "locate": "keys"}),
    "17 along lap keys": ("front_17", {"plane": "along", "joint": "lap", "lap": 10.0, "locate": "keys"}),
    "rear lap keys": ("rear_17", {"joint": "lap", "locate": "keys"}),
    "21 butt keys": ("front_21", {"joint": "butt", "locate": "keys"}),
    "21 lap keys": ("front_21", {"joint": "lap", "locate": "keys"}),
    "21 full lap pins": ("front_21", {"joint": "full_lap", "locate": "pins", "pin": 4.0}),
    "21 along full lap pins": ("front_21", {"plane": "along", "joint": "full_lap", "locate": "pins"}),
}
KEYED = [case for case in CASES if "keys" in case]
PINNED = [case for case in CASES if "pins" in case]


@cache
def demo(name: str) -> tuple[Job, Surface]:
    job = read_job_sheet(DEMO / f"{name}.toml")
    cage = seed_cage(job, clearance_field(job)).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    return job, trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads))


@cache
def finished(case: str) -> tuple[Finished, Job]:
    name, changes = CASES[case]
    job, sheet = demo(name)
    job = replace(job, split=replace(job.split, pieces="two", **changes))
    check_job(job)
    return finish(job, sheet, mount_frame(job)), job


@cache
def halves(case: str) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    one, two = (as_manifold(part.mesh) for part in finished(case)[0].parts)
    return one, two


@pytest.mark.parametrize("case", CASES)
def test_halves_are_single_closed_and_add_up(case: str) -> None:
    """No overlap, nothing outside the whole, and what is missing is fit times mating faces, within 0.02 % of the whole."""
    result, job = finished(case)
    whole, (one, two) = as_manifold(result.whole), halves(case)
    for piece in (one, two):
        assert piece.status() == manifold3d.Error.NoError and len(piece.decompose()) == 1
    assert not any(len(crossing_pairs(part.mesh)) for part in result.parts)
    assert (one ^ two).volume() < 1e-3
    assert (one + two - whole).volume() < 0.1
    assert result.joint is not None
    along, fit, wall = result.joint.half_length, job.split.fit, job.wall.thickness
    turned = whole.translate(tuple(-result.joint.point)).transform(_facing_up(result.joint.normal))
    mating = turned.slice(0.0).area()
    if along > 0.0:
        layer = turned.trim_by_plane((0.0, 0.0, 1.0), -along).trim_by_plane((0.0, 0.0, -1.0), -along)
        mating += layer.volume() / wall
    # a key, two walls wide and long, has two sides of half a wall and lies on the other piece; the lap is whole beside it
    mating += result.keys * (2.0 * wall * (2.0 * wall - 2.0 * along) + (2.0 * wall + 2.0 * along) * wall)
    if job.wall.seat == "land":
        assert_allclose(whole.volume() - one.volume() - two.volume(), fit * mating, atol=2e-4 * whole.volume())
    else:  # the solid seat is thicker than the wall that the layer is divided by
        assert 0.7 * fit * mating < whole.volume() - one.volume() - two.volume() < 1.02 * fit * mating


def test_rounding_alone_would_leave_triangles_that_cross() -> None:
    """So that the test above can fail: the same piece, cut from the same whole, with its points rounded and nothing else done."""
    result, _ = finished("21 full lap pins")
    assert result.joint is not None
    _, cut = piece_cuts(result.body, result.joint)
    raw = mesh_of(cut_piece(solid(result.whole, "whole"), cut))
    rounded = TriangleMesh(raw.vertices.astype(np.float32), raw.triangles)
    assert raw.is_closed and len(crossing_pairs(rounded)) > 0


@pytest.mark.parametrize("case", CASES)
def test_the_line_on_the_outside_is_straight_and_as_thin_as_the_fit(case: str) -> None:
    """Needles through the outer skin, 0.3 mm under it, square to the joint: between the halves each has a gap of the fit, on the line."""
    result, job = finished(case)
    assert result.joint is not None
    joint, turn = result.joint, _facing_up(result.joint.normal)
    one, two, whole = (
        body.translate(tuple(-joint.point)).transform(turn).translate((0.0, 0.0, joint.half_length))
        for body in (*halves(case), as_manifold(result.whole))
    )
    foots = under_outer_face(whole, -80.0 if job.split.plane == "across" else -float(joint.point[2]))
    assert len(foots) > 15
    for foot in foots:
        needle = manifold3d.Manifold.cube((0.02, 0.02, 1.0), True).translate((*foot, 0.0))
        lengths = [(needle ^ body).volume() / 4e-4 for body in (one, two)]
        assert_allclose(lengths, 0.5 - 0.5 * job.split.fit, atol=0.01)


def under_outer_face(whole: manifold3d.Manifold, low: float) -> np.ndarray:
    """(n, 2) points 0.3 mm under the outer face where z = 0 cuts it, 5 mm apart. low : of a place inside of the arch, first coordinate"""
    found = []
    for ring in whole.slice(0.0).offset(-0.3, manifold3d.JoinType.Round).to_polygons():
        closed = np.vstack([ring, ring[:1]])
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
        at = np.arange(0.0, along[-1] - 0.1, 5.0)
        points, ahead = (np.stack([np.interp(at + step, along, column) for column in closed.T], axis=1) for step in (0.0, 0.1))
        outward = (ahead - points)[:, ::-1] * [1.0, -1.0] / np.linalg.norm(ahead - points, axis=1)[:, None]
        away = points - [low, 0.0]
        found.append(points[np.einsum("ij,ij->i", outward, away) > 0.6 * np.linalg.norm(away, axis=1)])
    return np.concatenate(found)


@pytest.mark.parametrize("case", KEYED)
def test_keys_hold_every_way_but_the_one_they_go_in(case: str) -> None:
    """Sideways, up and down twice the fit makes the halves overlap; pulled apart straight they never do. In a butt joint either half
    goes two walls under the other one, in a lap the front half behind the lap, less half the fit."""
    result, job = finished(case)
    (one, two), joint = halves(case), result.joint
    assert joint is not None and result.keys >= (4 if job.split.joint == "butt" else 2)
    assert_allclose(one.min_gap(two, 2.0), job.split.fit, atol=0.02)
    ends = [joint.along(part.mesh.vertices) for part in result.parts]
    reach = 2.0 * job.wall.thickness
    assert_allclose(ends[0].min(), 0.5 * job.split.fit - joint.half_length - reach, atol=0.01)
    assert_allclose(
        ends[1].max(), joint.half_length - 0.5 * job.split.fit + (reach if joint.half_length == 0.0 else 0.0), atol=0.01
    )
    side = np.cross(joint.normal, result.seats[0].seat.normal)
    for way in (side, -side, result.seats[0].seat.normal, -result.seats[0].seat.normal):
        assert (one.translate(tuple(2.0 * job.split.fit * way)) ^ two).volume() > 0.5
    for pulled in (0.5, 3.0, 6.0):
        assert (one.translate(tuple(pulled * joint.normal)) ^ two).volume() < 1e-3


def test_without_keys_a_lap_lifts() -> None:
    """So that the test above can fail: the same lap with bolts alone does not hold the front half down."""
    job, sheet = demo("front_17")
    result = finish(job, sheet, mount_frame(job))
    one, two = (as_manifold(part.mesh) for part in result.parts)
    assert result.keys == 0 and not result.pins
    assert (one.translate(tuple(2.0 * job.split.fit * result.seats[0].seat.normal)) ^ two).volume() < 1e-3


@pytest.mark.parametrize("case", PINNED)
def test_pins_go_through_both_halves_clear_of_bolts_and_ends(case: str) -> None:
    """By genus each pin has a hole in either half, and so has each bolt of a full lap; a pin touches nothing, and one wider than hole and fit would."""
    result, job = finished(case)
    holes = as_manifold(result.whole).genus() + len(result.pins) + (len(job.mount.bolts) if job.split.joint == "full_lap" else 0)
    assert sum(as_manifold(part.mesh).genus() for part in result.parts) == holes
    assert len(result.pins) >= 4
    seat, least = result.seats[0].seat, edge_distance(job.mount.thread, laminate=False)
    whole = as_manifold(result.whole)
    for pin in result.pins:
        assert pin.diameter == job.split.pin
        assert (as_manifold(pin.body) ^ whole).volume() < 1e-6
        wide = replace(pin, diameter=pin.diameter + 3.0 * job.split.fit)
        assert (as_manifold(wide.body) ^ whole).volume() > 1.0
        away = np.linalg.norm(seat.in_plane(0.5 * (pin.start + pin.end)[None]) - seat.bolts, axis=1)
        assert away.min() >= least + 0.5 * pin.diameter
        assert_allclose(pin.length, job.wall.thickness, atol=0.6 if job.wall.seat == "pad" else 0.05)


def test_pins_are_shown_between_the_pieces_that_are_pulled_apart() -> None:
    result, _ = finished("17 lap pins")
    made = show_parts(bpy.context.scene, result.parts, result.pins, 60.0)
    assert [ob.name for ob in made] == [
        "Fender Front",
        "Fender Rear",
        *(f"Dowel Pin {i}" for i in range(1, len(result.pins) + 1)),
    ]
    front, rear, *pins = (np.array(ob.location) for ob in made)
    assert_allclose(np.linalg.norm(front), 60.0, atol=1e-3)
    for pin, ob in zip(pins, made[2:], strict=True):
        assert_allclose(pin, 0.5 * (front + rear), atol=1e-3)
        assert len(ob.data.vertices) == 64  # a prism of 32 sides
    show_parts(bpy.context.scene, (), ())
    # the cage of a test before may still be there
    assert not [ob for ob in bpy.data.objects if ob.name.startswith(("Fender Front", "Fender Rear", "Dowel"))]


@pytest.mark.parametrize("case", ["17 lap keys", "17 butt keys", "21 butt keys"])
def test_cuts_keep_the_edge_distance_of_holes(case: str) -> None:
    """No corner that the split has made is nearer to a bolt's axis than the rule says."""
    result, job = finished(case)
    seat, least = result.seats[0].seat, edge_distance(job.mount.thread, laminate=False)
    before = {tuple(point) for point in result.whole.vertices}
    for part in result.parts:
        made = np.array([point for point in part.mesh.vertices if tuple(point) not in before])
        away = np.linalg.norm(seat.in_plane(made)[:, None] - seat.bolts, axis=2)
        assert away.min() > least - 0.01


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"joint": "butt", "locate": "pins"}, r'split.locate: "pins" have nothing to go through in a "butt" joint; allowed are'),
        ({"locate": "pins", "pin": 0.0}, r'split.pin: 0 is no pin, and split.locate is "pins"; allowed'),
        ({"joint": "full_lap", "locate": "keys"}, r'split.locate: "keys" are pushed in .* allowed are "bolts" and "pins"'),
        (
            {"joint": "butt", "locate": "keys", "fit": 1.6},
            r"split.locate: a key halves the wall to 0.70 mm .* at least 0.80 mm .*3.2 mm",
        ),
        ({"locate": "keys", "fit": 0.05}, 'split.fit: 0.05 is too tight for "keys" to go in; allowed is 0.1 or more'),
        ({"locate": "pins", "pin": 6.0}, r"split.pin: 6 needs 12.6 mm .* 19.7 mm long; allowed is 4.6 or less"),
        ({"locate": "pins", "pin": 4.0, "lap": 41.0}, r'split.joint: "lap" .* a split.lap of at most 39.7 mm'),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(changes: dict[str, Any], words: str) -> None:
    job, sheet = demo("front_17")
    with pytest.raises(JobError, match=words):
        job = replace(job, split=replace(job.split, pieces="two", **changes))
        check_job(job)
        finish(job, sheet, mount_frame(job))


@pytest.mark.parametrize(
    ("locate", "words"), [("pins", "split.pin: 3 finds room at 0 places"), ("keys", "split.locate: .keys. find room at 0 places")]
)
def test_a_fender_hardly_wider_than_its_seat_has_no_room(locate: str, words: str) -> None:
    job = job_of(joint="lap", locate=locate)
    with pytest.raises(JobError, match=words):
        finish(job, torus_surface(half_angle=28.0), mount_frame(job))


def flared(sheet: Surface, by: float) -> Surface:
    """The sheet with x stretched by 1 + by (-y): wider toward the front; normals by the inverse transpose of the stretch."""
    x, y, _ = sheet.points.T
    wider = 1.0 - by * y
    normals = np.column_stack(
        [sheet.normals[:, 0] / wider, sheet.normals[:, 1] + by * x * sheet.normals[:, 0] / wider, sheet.normals[:, 2]]
    )
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Surface(sheet.points * np.column_stack([wider, np.ones((len(x), 2))]), normals, sheet.triangles)


def test_keys_are_refused_where_the_wings_flare_so_much_that_they_would_jam() -> None:
    """A flare of 0.3 % a millimeter at x = 75 mm turns the wall by atan(0.21): 1.3 mm over a key of 6 mm, where 0.8 is let pass."""
    job, sheet = job_of(joint="lap", locate="keys"), torus_surface(rear=-35.0)
    assert finish(job, flared(sheet, 0.001), mount_frame(job)).keys == 6
    with pytest.raises(
        JobError,
        match=r"split.locate: \"keys\" between the front and the rear piece go in straight over 6.0 mm, .* comes 1.[234] mm nearer .* allowed is 0.8",
    ):
        finish(job, flared(sheet, 0.003), mount_frame(job))


@pytest.mark.parametrize("plane", ["across", "along"])
def test_further_joints_get_keys_too(plane: str) -> None:
    """Each half is cut again, between the keys along the bike; all pieces single and closed, none overlap, together the whole less gaps."""
    job, sheet = demo("front_17")
    split = replace(job.split, plane=plane, joint="butt", lap=13.0, locate="keys", pieces="auto")
    small = replace(job, split=split, printer=replace(job.printer, bed=(170.0, 170.0, 170.0)))
    result = finish(small, sheet, mount_frame(small))
    pieces = [as_manifold(part.mesh) for part in result.parts]
    assert len(pieces) > 2 and result.keys >= 4 + 2 * (len(pieces) - 2) and not result.pins
    assert all(len(piece.decompose()) == 1 for piece in pieces)
    assert not any(len(crossing_pairs(part.mesh)) for part in result.parts)
    whole, together = as_manifold(result.whole), manifold3d.Manifold.batch_boolean(pieces, manifold3d.OpType.Add)
    assert_allclose(together.volume(), sum(piece.volume() for piece in pieces), atol=1e-2)
    assert (together - whole).volume() < 0.1
    assert whole.volume() - together.volume() < 1e-2 * len(pieces) * whole.volume()
    assert all("keys" in remark for remark in result.remarks if "cut again" in remark)
