# SPDX-License-Identifier: GPL-3.0-or-later
"""Mesh keep-outs: against the exact box, against trimesh on shapes that are not convex, from files and from the .blend."""

from dataclasses import replace
from pathlib import Path

import bpy
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.bodies.box import Box
from addon.core.bodies.lowest_along import MARCH_TOLERANCE
from addon.core.bodies.swept import Swept
from addon.core.clearance.keepout import Keepout as Keep
from addon.core.clearance.keepout import keepout_bodies, shell_remarks
from addon.core.clearance.motion import _UPRIGHT, Motion
from addon.core.job.job_sheet import Keepout, read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.host.keepouts.keepout_mesh import mesh_body_maker
from addon.host.keepouts.mesh_body import MeshBody
from tests.core.body_invariants import check_gradient, check_unit_slope
from tests.core.clearance.test_proof import CUBE_TRIANGLES, cube

FLOAT32 = 1e-4
"""mm: what the float32 of the host's tree may cost at these sizes."""


def star() -> trimesh.Trimesh:
    """A closed shape with sharp ridges, valleys and a hole through it."""
    ring = trimesh.creation.torus(60.0, 18.0, major_sections=24, minor_sections=9)
    angle = np.arctan2(ring.vertices[:, 1], ring.vertices[:, 0])
    ring.vertices *= (1.0 + 0.25 * np.cos(6.0 * angle))[:, None]
    ring.vertices += [20.0, -30.0, 250.0]
    return ring


def as_mesh(shape: trimesh.Trimesh) -> TriangleMesh:
    return TriangleMesh(shape.vertices, shape.faces)


def test_cube_equals_the_box() -> None:
    middle, size = np.array([30.0, -200.0, 310.0]), 40.0
    body, box = MeshBody(TriangleMesh(cube(size) + middle, CUBE_TRIANGLES), "cube"), Box(middle, [size] * 3)
    points = middle + np.random.default_rng(50).uniform(-50.0, 50.0, (3000, 3))
    distance, gradient = body.distance_and_gradient(points)
    expected, expected_gradient = box.distance_and_gradient(points)
    assert_allclose(distance, expected, rtol=0, atol=FLOAT32)
    outside = expected > 0.01
    assert_allclose(gradient[outside], expected_gradient[outside], rtol=0, atol=1e-3)
    assert not body.convex


def test_star_equals_trimesh() -> None:
    shape = star()
    assert shape.is_watertight
    points = shape.bounds.mean(axis=0) + np.random.default_rng(51).uniform(-90.0, 90.0, (400, 3)) * [1, 1, 0.4]
    _, unsigned, _ = trimesh.proximity.closest_point(shape, points)
    distance = MeshBody(as_mesh(shape), "star").distance(points)
    assert_allclose(np.abs(distance), unsigned, rtol=0, atol=FLOAT32)
    # trimesh: by ray parity, another way to the sign.
    assert_allclose(distance < 0.0, shape.contains(points))
    assert (distance < 0.0).sum() > 20


def test_invariants() -> None:
    rng = np.random.default_rng(52)
    body = MeshBody(as_mesh(star()), "star")
    points = np.array([20.0, -30.0, 250.0]) + rng.uniform(-90.0, 90.0, (1500, 3))
    check_unit_slope(body, points, rng)
    check_gradient(body, points[np.abs(body.distance(points)) > 1.0], share=0.97, tolerance=1e-3)
    assert body.distance(np.zeros((0, 3))).shape == (0,)


def test_corners_edges_and_the_surface_itself() -> None:
    body = MeshBody(TriangleMesh(cube(2.0), CUBE_TRIANGLES), "cube")
    distance, gradient = body.distance_and_gradient(
        np.array([[2.0, 2, 2], [0, 2, 2], [1, 0.2, 0.3], [1, 1, 1], [0.9, 0.9, 0.95]])
    )
    assert_allclose(distance, [np.sqrt(3), np.sqrt(2), 0, 0, -0.05], rtol=0, atol=1e-6)
    assert_allclose(gradient[:3], [[3**-0.5] * 3, [0, 2**-0.5, 2**-0.5], [1, 0, 0]], rtol=0, atol=1e-6)
    assert_allclose(gradient[3], [3**-0.5] * 3, rtol=0, atol=1e-6)


def test_sign_beside_a_spike_with_many_faces_on_one_side() -> None:
    # A sharp roof: one face on the left of its tip, 20 on the right. Without weights the right ones would win.
    right = np.stack([np.ones(21), np.linspace(-5.0, 5.0, 21), np.zeros(21)], axis=1)
    vertices = np.vstack([[[0.0, 0, 10], [-1, 5, 0], [-1, -5, 0]], right])
    rim = np.array([*range(3, 24), 1, 2])
    sides = [[0, a, b] for a, b in zip(rim, np.roll(rim, -1), strict=True)]
    floor = [[1, b, a] for a, b in zip(rim, np.roll(rim, -1), strict=True) if 1 not in (a, b)]
    body = MeshBody(TriangleMesh(vertices, np.array(sides + floor)), "spike")
    distance, gradient = body.distance_and_gradient(np.array([[-3.0, 0, 10.5], [3.0, 0, 10.5]]))
    assert_allclose(distance, np.hypot(3.0, 0.5), rtol=0, atol=1e-6)
    assert_allclose(gradient[0], np.array([-3.0, 0, 0.5]) / np.hypot(3.0, 0.5), rtol=0, atol=1e-6)


def test_faces_that_point_inward_are_turned() -> None:
    body = MeshBody(TriangleMesh(cube(2.0), CUBE_TRIANGLES[:, ::-1]), "cube")
    assert_allclose(body.distance(np.array([[0.0, 0, 0], [0, 0, 3]])), [-1.0, 2.0])


def test_triangle_soup_is_welded() -> None:
    corners = cube(2.0)[CUBE_TRIANGLES].reshape(-1, 3)
    body = MeshBody(TriangleMesh(corners, np.arange(36).reshape(-1, 3)), "soup")
    assert_allclose(body.distance(np.array([[0.0, 0, 3]])), [2.0])


def test_open_and_twisted_meshes_are_kept_off_from_both_sides() -> None:
    """Distances from the faces of a cube without its first one, by trimesh; nowhere negative."""
    twisted = CUBE_TRIANGLES.copy()
    twisted[0] = twisted[0, ::-1]
    points = np.random.default_rng(61).uniform(-3.0, 3.0, (400, 3))
    for triangles, edges in ((CUBE_TRIANGLES[2:], 4), (twisted, 3)):
        body = MeshBody(TriangleMesh(cube(2.0), triangles), "scan")
        assert body.open_edges == edges
        distance, gradient = body.distance_and_gradient(points)
        exact = np.abs(trimesh.proximity.closest_point(trimesh.Trimesh(cube(2.0), triangles, process=False), points)[1])
        assert_allclose(distance, exact, atol=1e-5)
        assert_allclose(body.distance(points + 1e-4 * gradient), distance + 1e-4, atol=2e-5)


def test_a_shell_is_told_and_a_closed_body_is_not() -> None:
    still = Motion(0, 0, (0.0, 0.0), (0.0, 0.0), _UPRIGHT, None)
    open_, closed = (MeshBody(TriangleMesh(cube(2.0), faces), "scan") for faces in (CUBE_TRIANGLES[2:], CUBE_TRIANGLES))
    told = shell_remarks(tuple(Keep(name, body, 4.0, None, body, still) for name, body in (("frame", open_), ("tank", closed))))
    assert len(told) == 1 and told[0].startswith('The keep-out "frame" is not closed (4 of its edges')


def test_scallop_round_a_mesh_without_an_inside_is_refused() -> None:
    job = read_job_sheet(Path(__file__).parents[2] / "blend_demo" / "front_17.toml")
    keepouts = (Keepout(name="frame", kind="mesh", object="scan", scallop=2.0),)
    body = MeshBody(TriangleMesh(cube(2.0), CUBE_TRIANGLES[2:]), "scan")
    with pytest.raises(
        JobError, match=r'keepout\[0\].scallop: needs the inside of "frame", whose mesh is not closed \(4 of its edges'
    ):
        keepout_bodies(replace(job, keepouts=keepouts), lambda _: body)
    assert keepout_bodies(replace(job, keepouts=(replace(keepouts[0], scallop=None),)), lambda _: body)[0].still is body


def test_refuses_what_has_no_faces_or_no_volume() -> None:
    with pytest.raises(JobError, match="no faces"):
        MeshBody(TriangleMesh(cube(), np.zeros((0, 3), int)), "pipe")
    with pytest.raises(JobError, match="no volume"):
        MeshBody(TriangleMesh(cube()[:3] + 5.0, np.array([[0, 1, 2], [2, 1, 0]])), "pipe")


@pytest.mark.parametrize("kind", ["stl", "ply", "obj"])
def test_file_beside_the_sheet(tmp_path: Path, kind: str) -> None:
    shape = star()
    shape.export(tmp_path / f"star.{kind}")
    before = len(bpy.data.objects), len(bpy.data.meshes)
    body = mesh_body_maker(tmp_path)(Keepout(name="star", kind="mesh", file=f"star.{kind}"))
    assert (len(bpy.data.objects), len(bpy.data.meshes)) == before
    points = np.array([20.0, -30.0, 250.0]) + np.random.default_rng(53).uniform(-90.0, 90.0, (300, 3))
    assert_allclose(body.distance(points), MeshBody(as_mesh(shape), "star").distance(points), rtol=0, atol=2e-4)


def test_object_as_it_stands_with_its_modifiers() -> None:
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    data = bpy.data.meshes.new("bracket")
    half = cube(20.0) * [0.5, 1, 1] + [5.0, 0, 0]
    data.from_pydata(half.tolist(), [], CUBE_TRIANGLES.tolist())
    ob = bpy.data.objects.new("bracket", data)
    bpy.context.collection.objects.link(ob)
    ob.location = (0.0, 0.0, 300.0)
    ob.scale = (1.0, 2.0, 1.0)
    shift = ob.modifiers.new("shift", "DISPLACE")
    shift.direction, shift.strength, shift.mid_level = "X", 7.0, 0.0
    bpy.context.view_layer.update()
    body = mesh_body_maker(Path())(Keepout(name="bracket", kind="mesh", object="bracket"))
    expected = Box([12.0, 0, 300], [10, 40, 20])
    points = np.random.default_rng(54).uniform(-40, 40, (300, 3)) + [0, 0, 300]
    assert_allclose(body.distance(points), expected.distance(points), rtol=0, atol=FLOAT32)


@pytest.mark.parametrize(
    ("section", "what"),
    [
        ({"file": "none.stl"}, "no file"),
        ({"file": "shape.step"}, "allowed are"),
        ({"file": "broken.stl"}, "star"),
        ({"object": "nowhere"}, "no mesh object"),
    ],
)
def test_missing_meshes_get_a_sentence(tmp_path: Path, section: dict[str, str], what: str) -> None:
    (tmp_path / "broken.stl").write_bytes(b"not a mesh at all")
    with pytest.raises(JobError, match=what):
        mesh_body_maker(tmp_path)(Keepout(name="star", kind="mesh", **section))


def test_swept_mesh_is_within_its_tolerance_of_every_place_of_it() -> None:
    """Brute force: 300 places of the mesh along its way."""
    shape = star()
    body = MeshBody(TriangleMesh(shape.vertices, shape.faces), "star")
    points = np.array([20.0, -30.0, 250.0]) + np.random.default_rng(62).uniform(-120.0, 120.0, (150, 3))
    way = np.array([10.0, -30.0, -50.0])
    places = np.linspace(0.0, 1.0, 300)
    sampled = np.min([body.distance(points - share * way) for share in places], axis=0)
    swept = Swept(body, way).distance(points)
    assert (swept <= sampled + 1e-6).all()
    assert (swept >= sampled - 0.5 * np.linalg.norm(way) / 299 - MARCH_TOLERANCE - 1e-6).all()
