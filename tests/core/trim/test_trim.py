# SPDX-License-Identifier: GPL-3.0-or-later
"""Trimmed skins against closed forms, scipy, trimesh and manifold3d."""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.spatial import cKDTree

from addon.core.base.arrays import Index
from addon.core.base.errors import JobError, ShapeError
from addon.core.base.wheel_axes import point_at, radius_of, station_of
from addon.core.bodies.capsule import Capsule
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import read_job_sheet
from addon.core.mesh.cut_surface import cut_surface
from addon.core.mesh.open_surface import Surface
from addon.core.report.check_job import check_job
from addon.core.trim.boundary_corners import boundary_corners
from addon.core.trim.rounded_corner import OVER, rounded_corner
from addon.core.trim.smooth_curve import smooth_curve
from addon.core.trim.trim_preview import trim_preview
from addon.core.trim.trim_words import trim_words
from addon.core.trim.trimmed import CHORD, trimmed
from addon.core.wall.closed_wall import ClosedWall, closed_wall
from tests.core.torus_surface import as_manifold, as_trimesh, plane_surface, torus_surface
from tests.core.trim_jobs import BASE, SEEDED, area_of, job_of, seeded_surface, turns

CROWN, SECTION = 320.0, 80.0


def rings_of(sheet: Surface) -> list[Index]:
    """Points of each ring of the sheet's edge."""
    return [sheet.boundary.vertex[ring] for ring in sheet.boundary.rings]


def ring_at(sheet: Surface, station: float) -> np.ndarray:
    """The ring of a sheet's edge whose middle is nearest to a station."""
    rings = [sheet.points[ring] for ring in rings_of(sheet)]
    return min(rings, key=lambda ring: abs(float(station_of(ring.mean(axis=0))) - station))


def flat_opening(length: float, width: float) -> Surface:
    plane = plane_surface(np.linspace(-60, 60, 13), np.linspace(-80, 80, 17))
    lifted = Surface(plane.points + [0, 0, 320.0], plane.normals, plane.triangles)
    opening = {"name": "o", "station": -7.0, "x": 15.0, "length": length, "width": width, "turn": 25.0}
    return trimmed(job_of(mount={**BASE["mount"], "bolts": [[0, 0]], "pad": 10.0}, opening=[opening]), lifted)


# ---------------------------------------------------------------- closed forms


def test_an_edge_at_an_even_drop_leaves_a_segment_of_the_torus() -> None:
    """Area of a torus segment: (front - rear) R integral of r dphi; the facets of the sheet lie 6e-5 inside."""
    drop = 30.0
    cut = trimmed(
        job_of(trim={"corner": 0.0}, trim_line=[{"name": "low", "view": "drop", "points": [[-60, drop], [20, drop]]}]),
        torus_surface(rows=210, columns=91),
    )
    angle = np.arccos(1.0 - drop / SECTION)
    strip, _ = quad(lambda phi: SECTION * (CROWN - SECTION + SECTION * np.cos(phi)), -angle, angle)
    assert_allclose(area_of(cut), np.radians(115.0) * strip, rtol=1e-4)
    edge = cut.points[np.concatenate(rings_of(cut))]
    inner = edge[(station_of(edge) > -79.0) & (station_of(edge) < 34.0)]
    assert len(inner) > 100
    assert_allclose(radius_of(inner), CROWN - drop, atol=2e-3)  # the crown between the sheet's points is a cubic


def test_a_round_opening_has_the_circumference_of_its_circle() -> None:
    sheet = flat_opening(20.0, 20.0)
    ring = ring_at(sheet, -7.0)
    assert_allclose(np.linalg.norm(np.diff(ring, axis=0, append=ring[:1]), axis=1).sum(), 20.0 * np.pi, rtol=5e-4)
    assert_allclose(area_of(sheet), 120.0 * 160.0 - 100.0 * np.pi, atol=0.3)


def test_a_slot_has_the_length_of_its_sides_and_ends() -> None:
    sheet = flat_opening(36.0, 12.0)
    ring = ring_at(sheet, -7.0)
    assert_allclose(np.linalg.norm(np.diff(ring, axis=0, append=ring[:1]), axis=1).sum(), 12.0 * np.pi + 48.0, rtol=5e-4)
    # its length lies 25 degrees from the way forward toward the rider's left: on z = 320, forward is -y
    away = ring - [15.0, 320.0 * np.tan(np.radians(7.0)), 320.0]
    along = away @ [np.sin(np.radians(25.0)), -np.cos(np.radians(25.0)), 0.0]
    assert_allclose(np.abs(along).max(), 18.0, atol=0.01)


def test_openings_are_clear_of_the_half_round_rim() -> None:
    """Every point of the finished part stands outside of the circle as stated, and some on it."""
    opening = {"name": "o", "station": -40.0, "x": 0.0, "length": 14.0, "width": 14.0}
    job = job_of(wall={"thickness": 3.0, "edge": "round"}, opening=[opening])
    wall = closed_wall(trimmed(job, torus_surface()), 0.0, 3.0)
    middle = np.array([0.0, np.sin(np.radians(40.0)), np.cos(np.radians(40.0))])
    along = wall.mesh.vertices @ middle
    near = (np.linalg.norm(wall.mesh.vertices - 320.0 * middle, axis=1) < 20.0) & (along > 0.0)
    away = np.linalg.norm(wall.mesh.vertices[near] - along[near, None] * middle, axis=1)
    assert away.min() > 7.0 - 0.02
    assert away.min() < 7.0 + 0.06  # the rim stands square to the bent wall, a little wider on one side


def test_tip_corners_are_circles_on_a_flat_skin() -> None:
    """A rectangle with two corners of 25 mm and two of 12 mm; each takes r2 (1 - pi / 4) away."""
    plane = plane_surface(np.linspace(-60, 60, 25), np.linspace(-90, 90, 37))
    sheet = Surface(plane.points + [0, 0, 320.0], plane.normals, plane.triangles)
    cut = trimmed(job_of(trim={"front_radius": 25.0, "rear_radius": 12.0}), sheet)
    assert_allclose(area_of(cut), 120.0 * 180.0 - 2.0 * (25.0**2 + 12.0**2) * (1.0 - np.pi / 4.0), atol=4.0)
    edge = cut.points[np.concatenate(rings_of(cut))]
    arc = edge[(edge[:, 0] > 36.0) & (edge[:, 1] < -66.0)]
    assert len(arc) > 15
    assert_allclose(np.hypot(arc[:, 0] - 35.0, arc[:, 1] + 65.0), 25.0 + 0.5 * OVER, atol=0.5 * OVER + 1e-6)


def test_lines_follow_the_view_they_are_drawn_in() -> None:
    """A side line at 50 degrees and a top line: the cut points lie on them, to 1e-6 mm."""
    line = [[150.0, 400.0], [230.0, 150.0]]
    side = trimmed(job_of(trim={"corner": 0.0}, trim_line=[{"name": "rear", "view": "side", "points": line}]), torus_surface())
    before = {tuple(point) for point in torus_surface().points}
    edge = side.points[np.concatenate(rings_of(side))]
    new = np.array([point for point in edge if tuple(point) not in before])
    (y0, z0), (y1, z1) = line
    off = ((new[:, 1] - y0) * (z1 - z0) - (new[:, 2] - z0) * (y1 - y0)) / np.hypot(y1 - y0, z1 - z0)
    on_line = np.abs(off) < 1e-6
    assert on_line.sum() > 30
    assert ((side.points[:, 1] - y0) * (z1 - z0) - (side.points[:, 2] - z0) * (y1 - y0)).min() > -1e-4  # the mount's side stays
    top = trimmed(
        job_of(trim={"corner": 0.0}, trim_line=[{"name": "w", "view": "top", "points": [[60.0, -300.0], [55.0, 300.0]]}]),
        torus_surface(),
    )
    width = 60.0 + (top.points[:, 1] + 300.0) / 600.0 * -5.0
    assert_allclose(np.max(np.abs(top.points[:, 0]) - width), 0.0, atol=1e-6)
    assert_allclose(np.max(top.points[:, 0] - width), np.max(-top.points[:, 0] - width), atol=1e-6)


def test_scallops_keep_their_distance_from_the_body() -> None:
    """The finished part is no nearer to the leg than required and the scallop, and comes that near."""
    leg = {"name": "leg", "kind": "capsule", "a": [92, -100, 500], "b": [92, 60, 100], "radius": 25, "gap": 3.0, "scallop": 4.0}
    job = job_of(wall={"thickness": 3.0, "edge": "round"}, clearance={"gap": 5.0, "flex": 1.0}, keepout=[leg])
    cut = trimmed(job, torus_surface())
    assert area_of(cut) < area_of(torus_surface()) - 500.0
    wall = closed_wall(cut, 0.0, 3.0)
    distance = Capsule(leg["a"], leg["b"], 25.0).distance(wall.mesh.vertices).min()  # type: ignore[arg-type]
    required = clearance_field(job, "part").limits[1].required_mm
    assert required >= 4.0
    assert required + 4.0 <= distance < required + 4.2
    assert [limit.name for limit in clearance_field(job).limits] == ["tire"]


# ---------------------------------------------------------------- parts


def test_rounded_corners_are_circles_at_any_angle() -> None:
    rng = np.random.default_rng(5)
    for angle in np.radians([60.0, 90.0, 130.0]):
        # edges through the origin with the inside between them, bisected by +x
        ways = np.array([[np.sin(angle / 2), np.cos(angle / 2)], [np.sin(angle / 2), -np.cos(angle / 2)]])
        points = rng.uniform([0, -20], [40, 20], (2000, 2))
        points = points[(points @ ways.T >= 0).all(axis=1)]
        one, other = (points @ ways.T).T
        radius = 6.0
        field = rounded_corner(one, other, np.full(len(points), ways[0] @ ways[1]), radius) - OVER
        center = np.array([radius / np.sin(angle / 2), 0.0])
        away = points - center
        touching = radius / np.tan(angle / 2)
        tips = np.array([[np.cos(angle / 2), np.sin(angle / 2)], [np.cos(angle / 2), -np.sin(angle / 2)]]) * touching
        before_arc = ((points - tips[0]) @ (tips[0] / touching) < 0) & ((points - tips[1]) @ (tips[1] / touching) < 0)
        outside = before_arc & (np.linalg.norm(away, axis=1) > radius)
        assert ((field < 0) == outside).mean() > 0.999
        assert_allclose(field[outside], radius - np.linalg.norm(away, axis=1)[outside], atol=1e-9)


def test_smooth_curves_stay_between_what_was_typed() -> None:
    knots, values = np.array([0.0, 1.0, 4.0, 5.0, 9.0]), np.array([1.0, 3.0, 3.5, 0.0, 2.0])
    at = np.linspace(-2.0, 11.0, 4001)
    value, slope = smooth_curve(knots, values, at)
    assert_allclose(smooth_curve(knots, values, knots)[0], values, atol=1e-12)
    for i in range(4):
        within = value[(at >= knots[i]) & (at <= knots[i + 1])]
        assert within.min() >= min(values[i : i + 2]) - 1e-12 and within.max() <= max(values[i : i + 2]) + 1e-12
    # central differences are of second order, but for the kinks of the slope at the knots
    assert_allclose(np.gradient(value, at)[1:-1], slope[1:-1], atol=0.05)
    assert (slope[at < 0] == 0).all() and (value[at > 9] == 2.0).all()


def test_points_of_the_cut_lie_on_the_zero_line_and_no_triangle_is_a_sliver() -> None:
    """A wavy field over a plane: edge within the chord of the line everywhere, no angle under 3 degrees."""
    plane = plane_surface(np.linspace(-50, 50, 21), np.linspace(-50, 50, 21))

    def wave(points: np.ndarray, normals: np.ndarray) -> np.ndarray:
        return np.asarray(18.0 + 9.0 * np.sin(points[:, 0] / 9.0) - points[:, 1])

    cut = cut_surface(plane, wave, CHORD)
    edge = cut.points[rings_of(cut)[0]]
    free = (np.abs(edge) < 50.0 - 1e-9).all(axis=1)
    assert free.sum() > 60
    assert np.abs(wave(edge[free], edge[free])).max() < 1e-8
    middles = 0.5 * (edge + np.roll(edge, -1, axis=0))
    assert np.abs(wave(middles, middles))[free & np.roll(free, -1)].max() < 2.0 * CHORD
    assert as_trimesh_angles(cut).min() > 3.0
    exact, _ = quad(lambda x: 68.0 + 9.0 * np.sin(x / 9.0), -50, 50)
    assert_allclose(area_of(cut), exact, atol=0.5)


def as_trimesh_angles(sheet: Surface) -> np.ndarray:
    """Least angles of the triangles, degrees, by trimesh."""
    import trimesh

    return np.degrees(trimesh.Trimesh(sheet.points, sheet.triangles, process=False).face_angles).min(axis=1)


def test_corners_of_a_seeded_skin_are_found_by_their_radius() -> None:
    """The seeded skin is round at its corners: no corner in one point, four where an arc of 40 mm takes something away."""
    _, sharp = boundary_corners(seeded_surface(), 0.0)
    _, tight = boundary_corners(seeded_surface(), 40.0)
    _, square = boundary_corners(torus_surface(), 0.0)
    assert (len(sharp), len(tight), len(square)) == (0, 4, 4)
    assert_allclose([np.degrees(corner.angle) for corner in square], 90.0, atol=3.0)
    assert all(60.0 < np.degrees(corner.angle) < 120.0 for corner in tight)


# ---------------------------------------------------------------- the whole


FULL: dict[str, Any] = {
    "trim": {"front_radius": 30.0, "rear_radius": 34.0, "corner": 8.0},
    "trim_line": [{"name": "low", "view": "drop", "points": [[-45, 18], [-20, 30], [10, 28], [30, 14]]}],
    "opening": [{"name": "line", "station": -30.0, "x": 20.0, "length": 22.0, "width": 8.0, "turn": 20.0, "sides": "both"}],
}


def test_a_symmetric_trim_of_a_symmetric_skin_is_symmetric() -> None:
    cut = trimmed(job_of(SEEDED, **FULL), seeded_surface())
    away, image = cKDTree(cut.points).query(cut.points * [-1, 1, 1])
    assert away.max() < 1e-10
    turned = {tuple(np.roll(row, -int(np.argmin(row)))) for row in image[cut.triangles][:, ::-1]}
    assert turned == {tuple(np.roll(row, -int(np.argmin(row)))) for row in cut.triangles}


def test_the_trimmed_edge_is_smooth() -> None:
    """No corner of the edge turns by more than an arc's step: the trim rounds them all."""
    cut = trimmed(job_of(SEEDED, **FULL), seeded_surface())
    rings = [cut.points[ring] for ring in rings_of(cut)]
    assert len(rings) == 3
    assert max(turns(ring).max() for ring in rings) < 15.0
    assert np.linalg.norm(np.diff(rings[0], axis=0), axis=1).min() > 0.03


def test_the_map_of_what_goes_agrees_with_the_cut() -> None:
    sheet = seeded_surface()
    preview = trim_preview(job_of(SEEDED, **FULL), sheet)
    assert preview is not None and preview.trouble is None and preview.values is not None
    value = preview.values
    kept = cKDTree(trimmed(job_of(SEEDED, **FULL), sheet).points)
    far = np.abs(value) > 6.0  # more than a step of the sheet: points are not moved there
    away, _ = kept.query(sheet.points)
    assert ((away < 1e-9) == (value > 0))[far].all()
    assert (value < 0).sum() > 200
    assert trim_preview(job_of(SEEDED), sheet) is None
    assert trimmed(job_of(SEEDED), sheet) is sheet


def test_the_wall_is_constant_up_to_the_cut() -> None:
    """Rays of trimesh from 1 to 4 mm beside the trimmed edge: within 1 % of 3 mm at the 1st and 99th percentile."""
    job = job_of(SEEDED, **FULL)
    cut = trimmed(job, seeded_surface())
    wall = closed_wall(cut, 0.0, 3.0)
    outside = as_trimesh(wall.mesh)
    count = len(wall.triangles)
    middles = outside.triangles_center[:count]
    beside, _ = cKDTree(wall.outer[wall.boundary.vertex]).query(middles)
    chosen = np.flatnonzero((beside > 1.0) & (beside < 4.0))
    chosen = np.random.default_rng(3).choice(chosen, 400, replace=False)
    inward = -outside.face_normals[chosen]
    starts = middles[chosen]
    hits, rays, _ = outside.ray.intersects_location(starts + 0.01 * inward, inward, multiple_hits=False)
    assert len(rays) == len(chosen)
    thickness = np.linalg.norm(hits - starts[rays], axis=1)
    assert_allclose(np.percentile(thickness, [1, 99]), 3.0, rtol=0.01)


def test_the_trim_follows_another_cage() -> None:
    """The same job on a wider skin: the edge hangs as far below the crown, with no change of the sheet."""
    points = [[-45, 14], [-20, 18], [10, 17], [30, 14]]
    line = {"name": "low", "view": "drop", "points": points}
    job = job_of(SEEDED, trim_line=[line], wall={"thickness": 3.0, "edge": "square", "edge_size": 0.0})
    for width in (60.0, 72.0):
        sheet = seeded_surface(width)
        cut = trimmed(job, sheet)
        crown = sheet.points[sheet.points[:, 0] == 0.0]
        crown = crown[np.argsort(station_of(crown))]
        edge = cut.points[rings_of(cut)[0]]
        station = station_of(edge)
        low = (np.abs(edge[:, 0]) > 30) & (station > -12) & (station < 8)
        drop = np.interp(station, station_of(crown), radius_of(crown)) - radius_of(edge)
        wanted, _ = smooth_curve(*np.array(points, np.float64).T, station)
        assert low.sum() > 20
        assert_allclose(drop[low], wanted[low], atol=0.05)


@pytest.mark.parametrize("seed", range(12))
def test_random_trims_give_closed_single_walls_or_a_named_reason(seed: int) -> None:
    """By manifold3d: closed and in one piece, with one through hole for each opening."""
    rng = np.random.default_rng(seed)
    openings = [
        {"name": str(i), "station": s, "x": float(rng.uniform(-15, 15)), "length": float(long), "width": float(rng.uniform(4, long)),
         "turn": float(rng.uniform(-90, 90))}
        for i, (s, long) in enumerate(zip((-32.0, 20.0), rng.uniform(5, 14, 2), strict=True))
    ]  # fmt: skip
    stations = np.linspace(-45, 30, 4) + rng.uniform(-5, 5, 4)
    lean = rng.uniform(-0.06, 0.06, 3)
    end = np.radians(rng.uniform(-42, -38))
    cut_end = [
        [-float(np.sin(end + a) * r), float(np.cos(end + a) * r)] for a, r in zip(lean, (430.0, 385.0, 300.0), strict=True)
    ]
    job = job_of(
        SEEDED,
        trim={
            "front_radius": float(rng.uniform(5, 40)),
            "rear_radius": float(rng.uniform(5, 30)),
            "corner": float(rng.uniform(3, 14)),
        },
        trim_line=[
            {"name": "low", "view": "drop", "points": np.column_stack([stations, rng.uniform(19, 34, 4)]).tolist()},
            {"name": "end", "view": "side", "points": cut_end},
        ],
        opening=openings,
        wall={"thickness": float(rng.uniform(1.2, 3.5)), "edge": str(rng.choice(["round", "bead", "square"]))},
    )
    wall = wall_or_reason(job)
    if wall is None:
        return
    solid = as_manifold(wall.mesh)
    assert solid.status().name == "NoError"
    assert len(solid.decompose()) == 1
    assert solid.genus() == 2
    assert_allclose(solid.volume(), as_trimesh(wall.mesh).volume, rtol=1e-9)


def wall_or_reason(job: Any) -> ClosedWall | None:
    """The wall, or None where an opening may not lie so: anything else is a failure."""
    try:
        return closed_wall(trimmed(job, seeded_surface()), 0.0, job.wall.thickness, job.wall.edge)
    except JobError as error:
        assert error.key.startswith("opening") and "mm" in str(error), error
        return None


# ---------------------------------------------------------------- bad input


CUT = {"name": "cut", "view": "side"}
HOLE = {"name": "hole", "station": -40.0, "length": 10.0, "width": 10.0}
FOOT = {
    "name": "foot",
    "center": point_at(320.0, -40.0).tolist(),
    "normal": point_at(1.0, -40.0).tolist(),
    "bolts": [[0, 0]],
    "pad": 14.0,
}


@pytest.mark.parametrize(
    ("sections", "key", "said"),
    [
        ({"trim_line": [{**CUT, "points": [[0, 400], [0, 200], [1, 200], [1, 400]]}]}, "trim_line[0]", "cuts the seat"),
        ({"trim_line": [{**CUT, "points": [[100, 300], [200, 200], [200, 300], [100, 200]]}]}, "trim_line[0].points", "crosses itself at [150.0, 250.0]"),
        ({"trim_line": [{**CUT, "view": "top", "points": [[60, 0], [70, 50], [60, 100], [50, 30]]}]}, "trim_line[0].points", "crosses itself"),
        ({"opening": [{**HOLE, "station": -110.0}]}, "opening[0].station", "outside the skin"),
        ({"opening": [{**HOLE, "x": 74.0}]}, "opening[0]", "runs over the edge"),
        ({"opening": [{**HOLE, "x": 73.5, "length": 9.0, "width": 4.0}]}, "opening[0]", "next edge"),
        ({"opening": [{**HOLE, "station": 0.0}]}, "opening[0]", "cuts the seat"),
        ({"opening": [HOLE], "seat": [FOOT]}, "opening[0]", 'cuts the seat "foot"'),
        ({"opening": [HOLE, {**HOLE, "name": "two", "x": 6.0}]}, "opening[0]", 'runs over the opening "two"'),
        ({"opening": [{**HOLE, "x": 4.0, "sides": "both"}]}, "opening[0]", "runs over its own mirror image"),
        ({"trim": {"front_radius": 150.0}}, "trim.front_radius", "allowed there is"),
        ({"keepout": [{"name": "k", "kind": "capsule", "a": [90, 0, 500], "b": [90, 0, 100], "radius": 60, "scallop": 12}]}, "keepout[0].scallop", "cuts the seat"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_named(sections: dict[str, Any], key: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        trimmed(job_of(**sections), torus_surface())
    assert caught.value.key == key
    assert said in str(caught.value)
    assert caught.value.place is not None and caught.value.place.shape == (3,)
    told = re.search(r"at station (-?\d+) deg, x = (-?\d+) mm", str(caught.value))
    if told is not None:
        assert_allclose(float(station_of(caught.value.place)), float(told[1]), atol=0.51)
        assert_allclose(caught.value.place[0], float(told[2]), atol=0.51)


def test_a_line_that_crosses_itself_is_told_before_there_is_a_skin() -> None:
    looped = {**CUT, "points": [[100, 300], [200, 200], [200, 300], [100, 200]]}
    with pytest.raises(JobError, match="crosses itself at"):
        check_job(job_of(SEEDED, trim_line=[looped]))
    check_job(job_of(SEEDED, **FULL))


def test_islands_are_told_with_their_place() -> None:
    """A line that crosses the fender twice leaves the far end loose; the place told is on it."""
    closed = [[240, 100], [320, 220], [290, 240], [210, 120], [240, 100]]
    with pytest.raises(ShapeError, match="2 pieces, the smallest of") as caught:
        trimmed(job_of(trim_line=[{**CUT, "points": closed}], trim={"corner": 0.0}), torus_surface())
    assert caught.value.place is not None
    assert -80.0 <= float(station_of(caught.value.place)) < -50.0
    nothing = [[-400, -400], [400, -400], [400, 400], [-400, 400], [-400, -400]]
    far = job_of(mount={**BASE["mount"], "bolts": [[0, 0]], "pad": 10.0}, trim_line=[{**CUT, "points": nothing}])
    assert len(trimmed(far, torus_surface()).triangles) == len(torus_surface().triangles)


def test_the_largest_radius_told_is_taken() -> None:
    with pytest.raises(JobError) as caught:
        trimmed(job_of(SEEDED, trim={"rear_radius": 200.0}), seeded_surface())
    most = float(str(caught.value).split("allowed there is ")[1].split(" mm")[0])
    assert 20.0 < most < 90.0
    cut = trimmed(job_of(SEEDED, trim={"rear_radius": 0.99 * most}), seeded_surface())
    assert area_of(cut) < area_of(seeded_surface())


def test_a_trim_is_told_in_words() -> None:
    demo = Path(__file__).resolve().parents[3] / "blend_demo"
    assert trim_words(read_job_sheet(demo / "front_21.toml")) == (
        'front tip radius 28; rear tip radius 34; line "lower edge"; scallop round left fork leg; scallop round right fork leg; '
        'opening "brake line" 18 x 9 at -33 deg, x +24'
    )
    assert trim_words(read_job_sheet(demo / "front_17.toml")) == ""
