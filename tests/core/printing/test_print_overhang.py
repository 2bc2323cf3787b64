# SPDX-License-Identifier: GPL-3.0-or-later
"""Overhangs, first layer and support room of bodies that have closed forms."""

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.mesh.columns import columns
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.printing.print_overhang import first_layer_area, overhang_area, overhangs, support_room

LAYER = 0.2


def on_bed(mesh: trimesh.Trimesh) -> TriangleMesh:
    return TriangleMesh(mesh.vertices - [0.0, 0.0, mesh.vertices[:, 2].min()], mesh.faces)


def cube(side: float, turn: Rotation | None = None) -> TriangleMesh:
    mesh = trimesh.creation.box((side, side, side))
    mesh.apply_transform(np.eye(4) if turn is None else np.block([[turn.as_matrix(), np.zeros((3, 1))], [np.zeros((1, 3)), 1.0]]))
    return on_bed(mesh)


def sphere(radius: float) -> TriangleMesh:
    return on_bed(trimesh.creation.icosphere(subdivisions=5, radius=radius))


def overhang(mesh: TriangleMesh) -> float:
    return overhang_area(mesh, overhangs(mesh, LAYER))


def room_below(mesh: TriangleMesh, column: float = 2.0) -> float:
    return support_room(mesh, overhangs(mesh, LAYER), column)


def test_sphere_hangs_over_on_a_known_cap() -> None:
    """Normals under -sin 45: a cap of height R (1 - sin 45), area 2 pi R^2 (1 - sin 45), 14.64 % of the sphere."""
    radius = 30.0
    area = overhang(sphere(radius))
    assert_allclose(area / (4.0 * np.pi * radius**2), 0.5 * (1.0 - np.sqrt(0.5)), rtol=0.03)


@pytest.mark.parametrize(("tilt", "faces"), [(0.0, 0), (30.0, 1), (44.0, 1), (46.0, 1), (60.0, 1)])
def test_cube_on_its_edge_hangs_over_with_the_flatter_face(tilt: float, faces: int) -> None:
    """Turned about a level edge, one lower face leans by the tilt from the bed and one by 90 - tilt; only those under 45 count."""
    area = overhang(cube(20.0, Rotation.from_euler("x", tilt, degrees=True)))
    assert_allclose(area, faces * 400.0, atol=1e-9)


def test_first_layer_of_cube_cone_and_sphere() -> None:
    assert_allclose(first_layer_area(cube(20.0), LAYER), 400.0, atol=1e-9)
    # section of a sphere at height h: pi (2 R h - h^2); the facets of an icosphere lie inside of it
    assert_allclose(first_layer_area(sphere(30.0), 8.0), np.pi * (2 * 30.0 * 4.0 - 16.0), rtol=0.01)
    # a tetrahedron on its corner: the section grows with the square of the height
    corners = np.array([[0.0, 0.0, 0.0], [6.0, 0.0, 6.0], [0.0, 6.0, 6.0], [-6.0, -6.0, 6.0]])
    corner_down = TriangleMesh(corners, np.array([[0, 2, 1], [0, 3, 2], [0, 1, 3], [1, 2, 3]]))
    assert corner_down.volume > 0
    top = 0.5 * np.linalg.norm(np.cross(corners[2] - corners[1], corners[3] - corners[1]))
    assert_allclose(first_layer_area(corner_down, 4.0), top * (2.0 / 6.0) ** 2, rtol=1e-9)


@pytest.mark.parametrize("height", [0.3, 5.0, 11.9])
def test_section_area_equals_that_of_an_outside_library(height: float) -> None:
    """manifold3d, on a torus that leans."""
    mesh = trimesh.creation.torus(12.0, 6.0)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(0.4, [1.0, 0.2, 0.0]))
    lying = on_bed(mesh)
    body = manifold3d.Manifold(manifold3d.Mesh(lying.vertices.astype(np.float32), lying.triangles.astype(np.uint32)))
    assert body.status() == manifold3d.Error.NoError
    assert_allclose(first_layer_area(lying, 2.0 * height), body.slice(height).area(), rtol=1e-4)


def test_table_on_one_leg_holds_the_room_under_its_top() -> None:
    """A plate 40 x 40 x 4 on a leg 10 x 10 x 20: (1600 - 100) x 20 mm3 under it; on its head, none."""
    top = trimesh.creation.box((40.0, 40.0, 4.0), trimesh.transformations.translation_matrix([0.0, 0.0, 22.0]))
    leg = trimesh.creation.box((10.0, 10.0, 21.0), trimesh.transformations.translation_matrix([0.0, 0.0, 10.5]))
    table = on_bed(trimesh.boolean.union([top, leg], engine="manifold"))
    assert_allclose(room_below(table, column=0.5), 1500.0 * 20.0, rtol=0.03)
    upside_down = trimesh.Trimesh(table.vertices * [1.0, -1.0, -1.0], table.triangles)
    assert room_below(on_bed(upside_down)) == 0.0
    assert_allclose(overhang(table), 1500.0, atol=1e-6)


def test_shelf_is_held_from_the_part_below_it() -> None:
    """Two plates 30 x 30 joined at one side: the room is from the lower plate's face up, 6 mm, and not from the bed."""
    boxes = [((30.0, 30.0, 2.0), (0.0, 0.0, 1.0)), ((30.0, 30.0, 2.0), (0.0, 0.0, 9.0)), ((2.0, 30.0, 8.0), (-14.0, 0.0, 5.0))]
    parts = [trimesh.creation.box(size, trimesh.transformations.translation_matrix(at)) for size, at in boxes]
    shelf = on_bed(trimesh.boolean.union(parts, engine="manifold"))
    assert_allclose(room_below(shelf, column=0.5), 28.0 * 30.0 * 6.0, rtol=0.03)


def test_columns_measure_the_volume() -> None:
    """Sum of heights between entering and leaving, over all columns: a second way to the volume."""
    body = sphere(20.0)
    crossed = columns(body, 0.5)
    sign = np.sign(body.area_vectors[crossed.triangle, 2])
    assert_allclose((sign * crossed.height).sum() * 0.25, body.volume, rtol=2e-3)
