# SPDX-License-Identifier: GPL-3.0-or-later
"""The modeler by closed forms and by CGAL's exact arithmetic, and what files hold of its bodies."""

from collections.abc import Callable

import igl.copyleft.cgal
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import ShapeError
from addon.core.base.tolerances import TOLERANCES
from addon.core.mesh.boolean import Solid, difference, file_body, file_mesh, intersection, mesh_of, separate_parts, solid, union
from addon.core.mesh.collapse_short_edges import coincident_points
from addon.core.mesh.prism import box, prism
from addon.core.mesh.triangle_mesh import TriangleMesh, joined
from tests.core.torus_surface import as_trimesh
from tests.crossing_pairs import crossing_pairs


def cube(low: float, high: float, at: float = 0.0) -> TriangleMesh:
    return box(np.full(3, at), np.eye(3), np.full(3, low), np.full(3, high))


def test_cubes_that_share_a_corner() -> None:
    """Sides of 10 mm, 6 x 6 x 6 mm shared."""
    one, other = solid(cube(0.0, 10.0), "one"), solid(cube(4.0, 14.0), "other")
    for result, volume in (
        (difference(one, [other], "cut"), 784.0),
        (intersection(one, other, "cut"), 216.0),
        (union([one, other], "cut"), 1784.0),
    ):
        mesh = mesh_of(result)
        assert mesh.is_closed and mesh.part_count == 1
        assert_allclose(mesh.volume, volume, rtol=1e-12)


def test_a_cutter_that_touches_nothing_leaves_the_body_and_cutters_may_overlap() -> None:
    one = solid(cube(0.0, 10.0), "one")
    assert_allclose(mesh_of(difference(one, [], "cut")).volume, 1000.0)
    overlapping = [solid(cube(8.0, 20.0), "a"), solid(cube(6.0, 9.0), "b"), solid(cube(50.0, 60.0), "c")]
    assert_allclose(mesh_of(difference(one, overlapping, "cut")).volume, 1000.0 - 8.0 - 27.0 + 1.0, rtol=1e-12)


def random_prism(rng: np.random.Generator) -> TriangleMesh:
    start, end = rng.uniform(-10.0, 10.0, (2, 3))
    return prism(start, end + 5.0 * (end - start) / np.linalg.norm(end - start), rng.uniform(3.0, 8.0), int(rng.integers(3, 24)))


@pytest.mark.parametrize(
    ("name", "ours"),
    [
        ("minus", lambda one, other: difference(one, [other], "test")),
        ("intersect", lambda one, other: intersection(one, other, "test")),
        ("union", lambda one, other: union([one, other], "test")),
    ],
)
def test_random_prisms_as_by_exact_arithmetic(name: str, ours: Callable[[Solid, Solid], Solid]) -> None:
    """CGAL, by libigl: the same volume and the same bounds of 20 pairs of prisms."""
    rng = np.random.default_rng(5)
    for _ in range(20):
        one, other = random_prism(rng), random_prism(rng)
        found = igl.copyleft.cgal.mesh_boolean(one.vertices, one.triangles, other.vertices, other.triangles, name)
        exact = TriangleMesh(found[0], found[1])
        if not len(exact.triangles):
            with pytest.raises(ShapeError):
                ours(solid(one, "one"), solid(other, "other"))
            continue
        mesh = mesh_of(ours(solid(one, "one"), solid(other, "other")))
        assert mesh.is_closed
        assert_allclose(mesh.volume, exact.volume, rtol=1e-9)
        assert_allclose(mesh.bounds, exact.bounds, atol=1e-9)


def test_open_bodies_and_empty_results_are_refused() -> None:
    one = cube(0.0, 2.0)
    for wrong in (TriangleMesh(one.vertices, one.triangles[1:]), TriangleMesh(one.vertices, one.triangles[:0])):
        with pytest.raises(ShapeError, match="bolt holes: a piece of it is not a closed body"):
            solid(wrong, "bolt holes")
    twice = TriangleMesh(one.vertices, np.concatenate([one.triangles, one.triangles[:1]]))
    with pytest.raises(ShapeError, match="is not a closed body"):
        solid(twice, "bolt holes")
    body = solid(one, "one")
    with pytest.raises(ShapeError, match="bolt holes: nothing is left"):
        difference(body, [solid(cube(-1.0, 3.0), "all")], "bolt holes")
    with pytest.raises(ShapeError, match="front piece: nothing is left"):
        intersection(body, solid(cube(5.0, 6.0), "aside"), "front piece")


def test_parts_come_by_size_and_specks_not_at_all() -> None:
    """Cubes of 1, 2 and 0.05 mm, and one with a void."""
    body = solid(joined([cube(0.0, 1.0), cube(5.0, 7.0), cube(9.0, 9.05)]), "three")
    assert_allclose([part.volume() for part in separate_parts(body)], [8.0, 1.0])
    assert len(separate_parts(body, 1e-6)) == 3
    assert len(separate_parts(solid(cube(0.0, 0.05), "speck"))) == 1
    hollow = difference(solid(cube(0.0, 4.0), "block"), [solid(cube(1.0, 3.0), "void")], "hollow")
    assert_allclose([part.volume() for part in separate_parts(hollow)], [64.0, -8.0])


def cut_tube() -> Solid:
    """A tube far from the origin and square to nothing, of 400 sides, that a wedge along it and a ring of slabs cut."""
    start, way = np.array([210.0, 333.0, 391.0]), np.array([0.36, 0.48, 0.8])
    tube = difference(
        solid(prism(start, start + 40.0 * way, 30.0, 400), "tube"),
        [solid(prism(start - way, start + 41.0 * way, 27.0, 400), "bore")],
        "tube",
    )
    slabs = [solid(prism(start + at * way, start + (at + 3.0) * way, 28.5, 397), "slab") for at in (5.0, 15.0, 15.00003, 25.0)]
    return difference(tube, slabs, "slabs")


def test_files_hold_sound_meshes() -> None:
    """No pair of triangles crosses by exact arithmetic, edges that rounding could close are gone, and no point is moved."""
    body = cut_tube()
    raw = mesh_of(body)
    rounded = TriangleMesh(raw.vertices.astype(np.float32), raw.triangles)
    assert rounded.shortest_edge < TOLERANCES.shortest_edge
    mesh = file_mesh(file_body(body))
    assert mesh.is_closed and not len(crossing_pairs(mesh)) and not len(coincident_points(mesh))
    assert mesh.shortest_edge >= TOLERANCES.shortest_edge
    assert {tuple(point) for point in mesh.vertices} <= {tuple(point) for point in rounded.vertices}
    assert_allclose(mesh.volume, raw.volume, atol=TOLERANCES.simplify * raw.area)
    assert as_trimesh(mesh).is_volume


def test_bars_that_touch_along_a_line_stay_closed_when_points_are_welded() -> None:
    """Two bars on a plate meet in one edge only: by position, each edge is still in two triangles."""
    plate = box(np.zeros(3), np.eye(3), np.array([-5.0, -5.0, -2.0]), np.array([25.0, 25.0, 0.0]))
    bars = [
        box(np.array([at, at, 0.0]), np.eye(3), np.array([0.0, 0.0, -1.0]), np.array([5.0, 5.0, top]))
        for at, top in ((0.0, 3.0), (5.0, 2.0))
    ]
    mesh = file_mesh(file_body(union([solid(each, "bar") for each in (plate, *bars)], "bars")))
    assert mesh.is_closed and as_trimesh(mesh).process(validate=True).is_watertight and mesh.part_count == 1
    assert_allclose(mesh.volume, 30.0 * 30.0 * 2.0 + 25.0 * 3.0 + 25.0 * 2.0, rtol=1e-4)
