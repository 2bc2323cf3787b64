# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed wall against closed forms, trimesh and manifold3d."""

import manifold3d
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import ShapeError
from addon.core.base.wheel_axes import radius_of
from addon.core.job.job_sections import EDGE_KINDS
from addon.core.mesh.open_surface import Surface
from addon.core.mesh.ray_lengths import ray_lengths
from addon.core.mesh.refine import refined
from addon.core.wall.closed_wall import closed_wall
from addon.core.wall.curvature import check_offset, principal_curvatures
from addon.core.wall.rim_profile import BEAD_RADIUS, RimEdge, half_count, rim_profiles, rim_reach
from addon.core.wall.wall_check import wall_stats
from tests.core.torus_surface import as_manifold, as_trimesh, crown_seat, facing, plane_surface, torus_surface

CROWN, SECTION, ANGLE, SWEEP = 320.0, 80.0, np.radians(70.0), np.radians(115.0)
WALL = 3.0


def pappus(edge: str) -> tuple[float, float]:
    """Volume and area of the wall inside torus_sheet(): area or length of the section times the path of its centroid."""
    axis, outer, inner = CROWN - SECTION, SECTION, SECTION - WALL
    middle, half = 0.5 * (outer + inner), 0.5 * WALL
    section = ANGLE * (outer**2 - inner**2)
    centroid = 2.0 * np.sin(ANGLE) / (3.0 * ANGLE) * (outer**3 - inner**3) / (outer**2 - inner**2)
    volume = SWEEP * section * (axis + centroid)
    faces = sum(SWEEP * 2.0 * ANGLE * r * (axis + r * np.sin(ANGLE) / ANGLE) for r in (outer, inner))
    side_path = SWEEP * (axis + middle * np.cos(ANGLE))
    if edge == "square":
        return volume, faces + 2.0 * section + 2.0 * WALL * side_path
    # half discs about the middle of the wall; along the sides their centroid lies out along the tangent of the section
    disc, arc = 0.5 * np.pi * half**2, np.pi * half
    disc_out, arc_out = 4.0 * half / (3.0 * np.pi), 2.0 * half / np.pi
    end_path = 2.0 * ANGLE * middle
    sides = [2.0 * (side_path - SWEEP * out * np.sin(ANGLE)) for out in (disc_out, arc_out)]
    # each of the four corners is a quarter of a ball
    volume += disc * (sides[0] + 2.0 * end_path) + 4.0 / 3.0 * np.pi * half**3
    return volume, faces + arc * (sides[1] + 2.0 * end_path) + 4.0 * np.pi * half**2


@pytest.mark.parametrize("edge", ["square", "round"])
def test_volume_and_area_of_a_torus_segment(edge: str) -> None:
    """Guldin and Pappus; tolerance 0.05 %: the facets are within 0.02 mm of the faces."""
    mesh = closed_wall(torus_surface(), 0.0, WALL, edge).mesh
    volume, area = pappus(edge)
    assert_allclose(mesh.volume, volume, rtol=5e-4)
    assert_allclose(mesh.area, area, rtol=5e-4)


@pytest.mark.parametrize("edge", EDGE_KINDS)
@pytest.mark.parametrize(("outward", "inward"), [(0.0, WALL), (0.5 * WALL, 0.5 * WALL), (WALL, 0.0)])
def test_wall_is_closed_and_single_for_outside_eyes(edge: str, outward: float, inward: float) -> None:
    mesh = closed_wall(torus_surface(), outward, inward, edge).mesh
    outside = as_manifold(mesh)
    assert outside.status() == manifold3d.Error.NoError
    assert outside.genus() == 0 == mesh.genus
    assert mesh.part_count == 1
    assert as_trimesh(mesh).is_volume
    assert_allclose(outside.volume(), mesh.volume, rtol=1e-9)


@pytest.mark.parametrize("solid", [False, True])
def test_wall_by_rays_of_trimesh(solid: bool) -> None:
    """Within 1 % at the 1st and 99th percentile away from the seat (trimesh.ray), and never thin under the seat."""
    wall = closed_wall(torus_surface(), 0.0, WALL, "round", crown_seat(solid=solid))
    rng = np.random.default_rng(3)
    chosen = rng.choice(len(wall.triangles), 1500, replace=False)
    outside = as_trimesh(wall.mesh)
    starts, inward = outside.triangles_center[chosen], -outside.face_normals[chosen]
    met, rays, hits = outside.ray.intersects_id(starts, inward, multiple_hits=True, return_locations=True)
    other = met != chosen[rays]
    theirs = np.full(len(chosen), np.inf)
    np.minimum.at(theirs, rays[other], np.linalg.norm(hits - starts[rays], axis=1)[other])
    plain = wall.seat_weight[wall.triangles[chosen]].max(axis=1) == 0
    low, high = np.percentile(theirs[plain], [1.0, 99.0])
    assert abs(low - WALL) < 0.01 * WALL
    assert abs(high - WALL) < 0.01 * WALL
    assert theirs.min() > 0.98 * WALL
    ours = ray_lengths(wall.body, starts, inward, 20.0 * WALL)
    assert_allclose(ours, theirs, atol=2e-6)
    stats = wall_stats(wall)
    assert abs(stats.p1 - low) < 0.003 and abs(stats.p99 - high) < 0.003
    assert stats.min >= 0.98 * WALL
    assert (stats.max > 1.5 * WALL) == solid


def test_measured_wall_follows_the_mesh_and_not_the_wish() -> None:
    """A dent of 1 mm beaten into the inner face afterwards shows in the measured least wall."""
    wall = closed_wall(torus_surface(), 0.0, WALL)
    vertices = np.array(wall.mesh.vertices)
    count = len(wall.inner)
    dented = np.linalg.norm(wall.inner - wall.inner[count // 2], axis=1) < 25.0
    vertices[count : 2 * count][dented] += 1.0 * (wall.outer - wall.inner)[dented] / WALL
    object.__setattr__(wall, "mesh", type(wall.mesh)(vertices, wall.mesh.triangles))
    stats = wall_stats(wall)
    assert abs(stats.min - 2.0) < 0.02
    assert np.linalg.norm(stats.thinnest - wall.inner[count // 2]) < 30.0
    assert stats.nominal == WALL


def test_facets_are_within_the_chord_of_the_true_faces() -> None:
    """Distance of facet middles from the torus, from a coarse sheet: 0.02 mm, the chord tolerance, and half as much slack."""
    sheet = torus_surface(rows=40, columns=15)
    wall = closed_wall(sheet, 0.0, WALL)
    for face, section in ((wall.outer, SECTION), (wall.inner, SECTION - WALL)):
        middles = face[wall.triangles].mean(axis=1)
        off = np.hypot(middles[:, 0], radius_of(middles) - (CROWN - SECTION)) - section
        assert np.abs(off).max() < 0.03
    # points that refining added lie on the torus too, in fourth order: 13 mm edges on a radius of 80 mm
    off = np.hypot(wall.outer[:, 0], radius_of(wall.outer) - (CROWN - SECTION)) - SECTION
    assert np.abs(off).max() < 0.005


def test_refining_keeps_the_edge_and_leaves_flat_sheets_alone() -> None:
    flat = plane_surface(np.linspace(0, 40, 5), np.linspace(0, 30, 4))
    assert refined(flat, 0.02, WALL, lambda at: (at.points, at.normals)) is flat
    coarse = torus_surface(rows=20, columns=9)
    fine = refined(coarse, 0.02, WALL, lambda at: (at.points, at.normals))
    assert len(fine.triangles) > 4 * len(coarse.triangles)
    boundary = fine.boundary
    steps, row = 1, int(boundary.after[0])
    while row != 0:
        steps, row = steps + 1, int(boundary.after[row])
    assert steps == len(boundary.vertex)
    assert len(np.unique(fine.points.round(9), axis=0)) == len(fine.points)


def test_curvatures_of_a_torus() -> None:
    """1 / section along the section, cos(angle) / rho around; tolerance 1 % of 1 / section for edges of 3 mm."""
    sheet = torus_surface(rows=180, columns=61)
    least, greatest = principal_curvatures(sheet)
    middles = sheet.points[sheet.triangles].mean(axis=1)
    angle = np.arctan2(middles[:, 0], radius_of(middles) - (CROWN - SECTION))
    assert_allclose(greatest, 1.0 / SECTION, atol=0.01 / SECTION)
    assert_allclose(least, np.cos(angle) / radius_of(middles), atol=0.01 / SECTION)


@pytest.mark.parametrize(
    ("section", "outward", "inward", "fits"),
    [(2.5, 0.0, 3.0, False), (2.5, 3.0, 0.0, True), (3.5, 0.0, 3.0, True), (2.9, 0.0, 3.0, False)],
)
def test_wall_over_the_radius_of_curvature_is_refused(section: float, outward: float, inward: float, fits: bool) -> None:
    sheet = torus_surface(crown=100.0, section=section, half_angle=60.0, rear=0.0, front=4.0, rows=20, columns=41)
    if fits:
        assert closed_wall(sheet, outward, inward, "square").mesh.is_closed
        return
    with pytest.raises(ShapeError, match=rf"3\.00 mm inward.*radius of {section:.2f} mm") as caught:
        closed_wall(sheet, outward, inward, "square")
    assert caught.value.place is not None
    assert abs(radius_of(caught.value.place) - 100.0) < 3.0


def test_hollow_bend_is_refused_outward() -> None:
    sheet = torus_surface(crown=100.0, section=2.5, half_angle=60.0, rear=0.0, front=4.0, rows=20, columns=41)
    hollow = Surface(sheet.points, -sheet.normals, sheet.triangles[:, ::-1])
    check_offset(hollow, 0.0, 3.0)
    with pytest.raises(ShapeError, match="3.00 mm outward"):
        check_offset(hollow, 3.0, 0.0)


def test_bead_stands_proud_outside_and_flush_inside() -> None:
    """On a flat sheet: inner side flush, outer side half a wall proud (BEAD_RADIUS), volume by the section."""
    length = 60.0
    mesh = closed_wall(plane_surface(np.linspace(-50, 50, 41), np.linspace(-length / 2, length / 2, 25)), 0.0, WALL, "bead").mesh
    low, high = mesh.bounds
    assert_allclose([low[2], high[2]], [-WALL, (2 * BEAD_RADIUS - 1) * WALL], atol=0.02)
    # the section past the sheet: the sector of the bead, and the trapezoid between the sheet's end and the bead's middle
    radius = BEAD_RADIUS * WALL
    out = np.sqrt(radius**2 - (WALL - radius) ** 2)
    start = np.arccos((WALL - radius) / radius)
    section = 0.5 * radius**2 * (np.pi + start) + 0.5 * out * (WALL + radius)
    assert_allclose(high[0], 50.0 + out + radius, atol=0.02)
    cut = as_manifold(mesh).rotate((90.0, 0.0, 0.0)).slice(0.1)
    assert_allclose(cut.area(), 100.0 * WALL + 2.0 * section, rtol=2e-3)


def test_rim_profiles_by_hand() -> None:
    """The round is a circle of half a wall; the bead reaches (sqrt(2) + 1.5) half walls for a radius of 1.5."""
    half = np.array([0.5 * WALL])
    count = half_count(RimEdge("round"), WALL, 0.02)
    round_ = rim_profiles(RimEdge("round"), half, count)[0]
    assert_allclose(np.hypot(*round_.T), 0.5 * WALL, rtol=1e-12)
    step = np.pi / (len(round_) + 1)
    assert 0.5 * WALL * (1.0 - np.cos(0.5 * step)) <= 0.02
    bead = rim_profiles(RimEdge("bead"), half, 9)[0] / half
    assert_allclose(np.hypot(bead[:, 0] - 0.5, bead[:, 1] - np.sqrt(2.0)), 1.5, rtol=1e-12)
    assert_allclose(bead[-1], [-1.0, np.sqrt(2.0)], rtol=1e-12)
    square = rim_profiles(RimEdge("square", 0.5), half, 4)[0]
    assert_allclose(np.hypot(np.abs(square[:, 0]) - 1.0, square[:, 1]), 0.5, rtol=1e-12)
    reaches = [rim_reach(RimEdge(edge), WALL) for edge in EDGE_KINDS]
    assert_allclose(reaches, [0.5 * WALL, 0.5 * WALL * (np.sqrt(2.0) + 1.5), 0.0], rtol=2e-3)


def test_rim_of_inward_corners_and_of_an_opening() -> None:
    """An L with an opening: one through hole, closed, and the square one has the volume of the prism."""
    keep = np.ones((12, 12), bool)
    keep[7:, 7:] = False
    keep[2:4, 2:4] = False
    sheet = plane_surface(np.linspace(0, 60, 13), np.linspace(0, 60, 13), keep)
    for edge in EDGE_KINDS:
        mesh = closed_wall(sheet, 1.0, 1.0, edge).mesh
        assert as_manifold(mesh).genus() == 1 == mesh.genus
        assert as_trimesh(mesh).is_volume
        if edge == "square":
            assert_allclose(mesh.volume, keep.sum() * 25.0 * 2.0, rtol=1e-12)


def test_sheets_without_a_wall_are_named() -> None:
    two = plane_surface(np.linspace(0, 20, 3), np.linspace(0, 20, 3), np.array([[True, False], [False, True]]))
    with pytest.raises(ShapeError, match="touch in one point"):
        closed_wall(two, 0.0, 1.0)
    flat = plane_surface(np.linspace(0, 20, 3), np.linspace(0, 20, 3))
    twice = Surface(flat.points, flat.normals, np.concatenate([flat.triangles, flat.triangles[:1]]))
    with pytest.raises(ShapeError, match="not one surface"):
        closed_wall(twice, 0.0, 1.0)


def test_collapsed_faces_are_named() -> None:
    flat = plane_surface(np.linspace(0, 20, 5), np.linspace(0, 20, 5))
    points = np.array(flat.points)
    points[12] = points[13]
    with pytest.raises(ShapeError, match="collapsed to a line or a point"):
        closed_wall(Surface(points, flat.normals, flat.triangles), 0.0, 1.0)
    normals = np.array(flat.normals)
    normals[12] = 0.0
    with pytest.raises(ShapeError, match="collapsed to a line or a point"):
        closed_wall(Surface(flat.points, normals, flat.triangles), 0.0, 1.0)


def test_edge_that_curls_inside_its_rim_is_refused() -> None:
    """An opening of 1 mm has no room for a half round of 1.5 mm."""
    angle, radius = np.linspace(0, 2 * np.pi, 25)[:-1], np.linspace(1.0, 30.0, 12)
    grid = np.arange(12 * 24).reshape(12, 24)
    quads = np.stack([grid[:-1], grid[1:], np.roll(grid[1:], -1, 1), np.roll(grid[:-1], -1, 1)], axis=-1).reshape(-1, 4)
    points = np.stack([np.outer(radius, np.cos(angle)).ravel(), np.outer(radius, np.sin(angle)).ravel(), np.zeros(288)], axis=1)
    sheet = facing(points, np.tile([0.0, 0.0, 1.0], (288, 1)), quads)
    with pytest.raises(ShapeError, match="curls more tightly"):
        closed_wall(sheet, 0.0, 3.0, "round")
    assert as_manifold(closed_wall(sheet, 0.0, 1.5, "round").mesh).genus() == 1
