# SPDX-License-Identifier: GPL-3.0-or-later
"""Our skin against what the host's Mirror and Subdivision Surface modifiers make of the same cage.

The host computes in float32. Tolerance: 1e-6 of the largest coordinate (found: 3e-7), at every level, for open and closed
cages, creases of any sharpness, poles, triangles, n-gons. One exception: a crease of 1 that ends at a point with two edges
(random_cages says why).
"""

import bpy
import numpy as np
import pytest
from scipy.spatial import cKDTree

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.host.cage.cage_mesh import make_cage_object, read_cage
from tests.random_cages import grid_faces, grid_points, random_cage

RELATIVE = 1e-6


@pytest.fixture(autouse=True)
def empty_file():
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)


def host_surface(ob):
    """Points (n, 3) and normals of the evaluated mesh."""
    evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
    mesh = evaluated.to_mesh()
    try:
        points, normals = (np.zeros(3 * len(mesh.vertices), dtype=np.float32) for _ in range(2))
        mesh.vertices.foreach_get("co", points)
        mesh.vertices.foreach_get("normal", normals)
        return points.reshape(-1, 3).astype(np.float64), normals.reshape(-1, 3).astype(np.float64)
    finally:
        evaluated.to_mesh_clear()


def assert_equal_surfaces(cage, level, normal_angle_deg=None):
    ob = make_cage_object(cage, "cage", bpy.context.collection, level=level)
    for modifier in ob.modifiers:
        if modifier.type == "MIRROR":
            modifier.merge_threshold = 0.001  # the random halves lie up to 0.0004 off the plane
    back = read_cage(ob)
    np.testing.assert_array_equal(back.topology.on_plane, cage.topology.on_plane)
    ours = full_skin(skin(back, skin_stencil(back.topology, level)))
    theirs, normals = host_surface(ob)
    tolerance = RELATIVE * np.abs(theirs).max()
    distance, nearest = cKDTree(theirs).query(ours.points)
    assert distance.max() <= tolerance
    used = np.unique(cage.topology.corners)
    loose = np.delete(np.arange(len(cage.points)), used)
    if not len(loose):
        assert len(theirs) == len(ours.points)
        assert cKDTree(ours.points).query(theirs)[0].max() <= tolerance
    if normal_angle_deg is not None:
        cosine = np.einsum("ij,ij->i", ours.normals, normals[nearest])
        assert np.degrees(np.arccos(np.clip(cosine.min(), -1.0, 1.0))) <= normal_angle_deg


@pytest.mark.parametrize("seed", range(60))
def test_random_cage(seed):
    assert_equal_surfaces(random_cage(seed), level=1 + seed % 5)


@pytest.mark.parametrize("crease", [0.05, 0.3, 0.5477, 0.56, 0.8, 0.99, 1.0])
@pytest.mark.parametrize("level", [1, 3, 4])
def test_crease_of_each_sharpness(crease, level):
    points = grid_points(4, 5, np.random.default_rng(1))
    topology = topology_of_faces(
        20, grid_faces(4, 5), creases={(6, 7): crease, (7, 12): crease, (13, 18): crease}, point_creases={8: crease, 0: crease}
    )
    assert_equal_surfaces(Cage(topology, points), level)


@pytest.mark.parametrize("keep_corners", [False, True])
@pytest.mark.parametrize("mirrored", [False, True])
def test_boundary_modes(keep_corners, mirrored):
    points = grid_points(5, 4, np.random.default_rng(2))
    on_plane = np.arange(20) % 4 == 0
    if mirrored:
        points[on_plane, 0] = 0.0
    topology = topology_of_faces(20, grid_faces(5, 4), on_plane=on_plane if mirrored else None, keep_corners=keep_corners)
    for level in (1, 2, 4):
        assert_equal_surfaces(Cage(topology, points), level)


def test_size_of_a_fender():
    # 400 mm across, in millimeters: the tolerance scales with the coordinates.
    cage = random_cage(10)
    assert_equal_surfaces(Cage(cage.topology, cage.points * 100.0), level=4)


def test_normals_are_those_of_the_host_but_for_its_facets():
    # The host's normals are means over facets; at level 5 facets of a smooth cage turn by about a degree.
    rng = np.random.default_rng(4)
    cube = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)]) + rng.normal(0.0, 0.1, (8, 3))
    faces = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    assert_equal_surfaces(Cage(topology_of_faces(8, faces), cube), 5, normal_angle_deg=0.5)


@pytest.mark.parametrize("offset", [0.0, 0.3, 0.499, 0.501, 0.9, -0.3, -0.499])
def test_merge_threshold(offset):
    # The host joins a point with its image when they are closer than the threshold, at the mean of both.
    square = np.array([[offset, 0, 0], [5, 0, 1], [5, 5, 0], [offset, 5, 2]])
    ob = make_cage_object(
        Cage(topology_of_faces(4, [[0, 1, 2, 3]], on_plane=[True, False, False, True]), square), "cage", bpy.context.collection
    )
    ob.modifiers[0].merge_threshold = 1.0
    cage = read_cage(ob)
    assert cage.topology.on_plane.sum() == (2 if abs(offset) < 0.5 else 0)
    ours = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    theirs, _ = host_surface(ob)
    assert len(ours.points) == len(theirs)
    assert cKDTree(theirs).query(ours.points)[0].max() <= 5 * RELATIVE


def test_settings_of_the_modifiers_are_followed():
    cage = random_cage(0)
    assert len(cage.topology.creases)
    ob = make_cage_object(cage, "cage", bpy.context.collection, level=3)
    subdivision = ob.modifiers[-1]
    for change in (
        {"use_creases": False},
        {"boundary_smooth": "PRESERVE_CORNERS"},
        {"boundary_smooth": "ALL", "use_creases": True},
    ):
        for name, value in change.items():
            setattr(subdivision, name, value)
        read = read_cage(ob)
        ours = full_skin(skin(read, skin_stencil(read.topology, 3)))
        theirs, _ = host_surface(ob)
        assert cKDTree(theirs).query(ours.points)[0].max() <= RELATIVE * np.abs(theirs).max()
