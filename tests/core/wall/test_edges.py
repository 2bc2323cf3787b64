# SPDX-License-Identifier: GPL-3.0-or-later
"""Rims of the single edges: where they stand, how they meet, how round they are, and that the skin makes room for them."""

from __future__ import annotations

from functools import cache
from typing import Any

import manifold3d
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.base.tolerances import TOLERANCES
from addon.core.base.wheel_axes import station_of
from addon.core.clearance.clearance_field import clearance_field
from addon.core.clearance.proof import proven_clearance
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.report.cautions import cautions
from addon.core.report.check_job import check_job
from addon.core.seat.seat_offset import wall_shares
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.trim.trimmed import trimmed
from addon.core.wall.closed_wall import ClosedWall, closed_wall
from addon.core.wall.edge_plan import EdgePlan, edge_shares
from addon.core.wall.job_edges import SQUARE_RADIUS, job_edges, skin_shares
from addon.core.wall.rim_check import rim_stats
from addon.core.wall.rim_profile import RimEdge
from tests.core.torus_surface import as_manifold, as_trimesh, torus_surface
from tests.core.trim_jobs import BASE, SEEDED, job_of

WALL = 3.0
MIXED = EdgePlan(RimEdge("bead", 2.4), RimEdge("square", 0.8), RimEdge("round"), RimEdge("square", 0.6), run=25.0)
SLOT = {"name": "slot", "station": -30.0, "x": 20.0, "length": 30.0, "width": 14.0}


def rim_places(wall: ClosedWall) -> tuple[np.ndarray, np.ndarray]:
    """Middles of the wall's end (b, 3), and what each point's edge is, as edge_shares says."""
    edge = wall.boundary.vertex
    half = 0.5 * (wall.outer - wall.inner)[edge]
    middle = 0.5 * (wall.outer + wall.inner)[edge]
    return middle, edge_shares(wall.boundary, middle, half / np.linalg.norm(half, axis=1, keepdims=True), wall.edges.run)


@cache
def slotted() -> Surface:
    return trimmed(job_of(opening=[SLOT]), torus_surface())


@cache
def with_slot() -> ClosedWall:
    return closed_wall(slotted(), 0.0, WALL, MIXED)


def test_each_edge_has_its_rim_and_the_change_is_as_long_as_asked() -> None:
    """Ends at stations 35 and -80, sides at x = +-75, a slot: rims proud by 2 R - wall for a bead and not at all elsewhere."""
    wall = with_slot()
    middle, shares = rim_places(wall)
    assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    assert shares.min() >= -1e-12
    station = station_of(middle)
    center = np.abs(middle[:, 0]) < 40.0
    assert_allclose(shares[center & (station > 34.0)], [[1, 0, 0, 0]] * int((center & (station > 34.0)).sum()), atol=1e-12)
    assert_allclose(shares[center & (station < -79.0)], [[0, 1, 0, 0]] * int((center & (station < -79.0)).sum()), atol=1e-12)
    slot = np.linalg.norm(middle - middle[shares[:, 3] > 0.5].mean(axis=0), axis=1) < 20.0
    assert slot.sum() > 20 and (shares[slot, 3] == 1.0).all() and (shares[~slot, 3] == 0.0).all()
    # the change takes half of `run` on either side of the corner, at (station 35, x = 72.5)
    side = (station > 0.0) & (shares[:, 2] > 0.5)
    corner = middle[np.argmax(station + 0.01 * middle[:, 0])]
    away = np.linalg.norm(middle[side] - corner, axis=1)
    changing = shares[side, 0] > 1e-9
    left = middle[side, 0] > 0
    assert 0.35 * MIXED.run < away[changing & left].max() < 0.51 * MIXED.run + 2.0
    # how far the rim's sections stand over the outer face
    normal = wall.normals[wall.boundary.vertex]
    owner = np.searchsorted(wall.boundary.vertex, wall.rim[:, 0], sorter=np.argsort(wall.boundary.vertex))
    owner = np.argsort(wall.boundary.vertex)[owner]
    points = wall.mesh.vertices[wall.rim]
    over = np.einsum("skj,sj->sk", points - points[:, :1], normal[owner]).max(axis=1)
    assert_allclose(over[shares[owner, 0] == 1.0], 2 * 2.4 - WALL, atol=0.05)
    assert_allclose(over[shares[owner, 0] == 0.0], 0.0, atol=1e-9)


@pytest.mark.parametrize(
    ("plan", "outward", "inward"), [(MIXED, 0.0, WALL), (EdgePlan.all_round(RimEdge("bead", 2.9)), WALL, 0.0)]
)
def test_mixed_rims_are_closed_and_single(plan: EdgePlan, outward: float, inward: float) -> None:
    """By manifold3d and trimesh; the slot is its one hole."""
    mesh = closed_wall(slotted(), outward, inward, plan).mesh
    outside = as_manifold(mesh)
    assert outside.status() == manifold3d.Error.NoError
    assert outside.genus() == 1
    assert as_trimesh(mesh).is_volume
    assert mesh.part_count == 1


def test_least_radius_is_measured_and_no_edge_is_sharp() -> None:
    """The least is that of the slot's square edge, 0.6; by trimesh no convex edge of the rim turns as far as a corner."""
    wall = with_slot()
    stats = rim_stats(wall)
    assert_allclose(stats.least_radius, 0.6, rtol=1e-2)
    _, shares = rim_places(wall)
    slot = wall.outer[wall.boundary.vertex[shares[:, 3] == 1.0]]
    assert np.linalg.norm(slot - stats.place, axis=1).min() < 3.0
    mesh = as_trimesh(wall.mesh)
    turned = np.degrees(mesh.face_adjacency_angles[mesh.face_adjacency_convex])
    assert turned.max() < 35.0
    sharp = closed_wall(torus_surface(), 0.0, WALL, "square")
    assert rim_stats(sharp).least_radius == 0.0
    assert np.degrees(as_trimesh(sharp.mesh).face_adjacency_angles).max() > 80.0
    for edge, radius in ((RimEdge("round"), 1.5), (RimEdge("bead"), 2.25), (RimEdge("bead", 1.6), 1.6)):
        assert_allclose(
            rim_stats(closed_wall(torus_surface(), 0.0, WALL, EdgePlan.all_round(edge))).least_radius, radius, rtol=2e-3
        )


def test_a_crushed_rim_shows_in_the_least_radius() -> None:
    wall = closed_wall(torus_surface(), 0.0, WALL, "round")
    vertices = np.array(wall.mesh.vertices)
    middle = wall.rim[7, len(wall.rim[7]) // 2]
    vertices[middle] += 0.3 * (vertices[wall.rim[7]].mean(axis=0) - vertices[middle])
    object.__setattr__(wall, "mesh", type(wall.mesh)(vertices, wall.mesh.triangles))
    assert rim_stats(wall).least_radius < 1.2


# ---------------------------------------------------------------- the sheet


def test_edges_of_a_sheet() -> None:
    plain = job_edges(job_of(wall={"thickness": 3.0}))
    assert plain == EdgePlan.all_round(RimEdge("round"))
    job = job_of(
        wall={"thickness": 3.0, "edge": "square", "edge_size": 0.8},
        edge={"front": "bead", "rear": "round", "openings_size": 0.4, "run": 30.0},
    )
    assert job_edges(job) == EdgePlan(RimEdge("bead"), RimEdge("round"), RimEdge("square", 0.8), RimEdge("square", 0.4), 30.0)
    assert parse_job(job_to_dict(job)) == job
    assert job_edges(job_of(wall={"thickness": 3.0, "edge": "square"})).front == RimEdge("square", SQUARE_RADIUS)
    assert job_edges(job_of(wall={"thickness": 0.8, "edge": "square"})).front == RimEdge("square", 0.4)


@pytest.mark.parametrize(
    ("sections", "key", "said"),
    [
        ({"wall": {"thickness": 3.0, "edge_size": 1.0}}, "wall.edge_size", "half the wall, 1.5 mm"),
        ({"wall": {"thickness": 3.0, "edge": "bead", "edge_size": 1.2}}, "wall.edge_size", "allowed is 1.5 to 3 mm"),
        ({"wall": {"thickness": 3.0}, "edge": {"front": "bead", "front_size": 3.2}}, "edge.front_size", "allowed is 1.5 to 3 mm"),
        (
            {"wall": {"thickness": 3.0}, "edge": {"rear": "square", "rear_size": 1.6}},
            "edge.rear_size",
            "allowed is 0.1 to 1.5 mm",
        ),
        (
            {"wall": {"thickness": 6.0, "rear_thickness": 2.4}, "edge": {"sides": "bead", "sides_size": 2.4}},
            "edge.sides_size",
            "no one radius fits a bead on a wall of 2.4 to 6 mm",
        ),
        ({"wall": {"thickness": 3.0}, "edge": {"sides_size": 1.0}}, "edge.sides_size", "leave it out"),
        ({"wall": {"thickness": 3.0}, "edge": {"openings": "hem"}}, "edge.openings", "is not known"),
        ({"wall": {"thickness": 3.0}, "edge": {"run": 1.0}}, "edge.run", "allowed is a number from 5 to 200 mm"),
        (
            {"wall": {"thickness": 3.0, "edge": "square", "edge_size": 0.0}, "edge": {"front": "round"}},
            "wall.edge_size",
            "the same edge all round",
        ),
    ],
)
def test_sizes_that_cannot_be_are_refused(sections: dict[str, Any], key: str, said: str) -> None:
    with pytest.raises(JobError, match=said) as caught:
        check_job(job_of(**sections))
    assert caught.value.key == key


def test_a_sharp_edge_gets_a_caution() -> None:
    sharp = job_of(wall={"thickness": 3.0, "edge": "square", "edge_size": 0.0})
    assert any("edge is sharp" in line for line in cautions(sharp))
    assert not any("edge is sharp" in line for line in cautions(job_of(wall={"thickness": 3.0, "edge": "square"})))


# ---------------------------------------------------------------- room


@pytest.mark.parametrize("side", ["inside", "middle", "outside"])
def test_a_skin_that_is_clear_makes_a_bead_that_is_clear(side: str) -> None:
    """Of a seed that lies on its limit, with a bead at sides that run down over the tire's shoulders: proven on the triangles."""
    job = job_of(
        SEEDED,
        mount={**SEEDED["mount"], "height": 60.0},
        cage={**SEEDED["cage"], "rise": 0.0, "side_drop": 45, "half_width": 80},
        wall={"thickness": 3.0, "side": side},
        edge={"sides": "bead", "sides_size": 2.8},
    )
    field = clearance_field(job)
    cage = seed_cage(job, field).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    assert -TOLERANCES.clear <= field.excess(whole.points).min() < 1.0, "the skin does not lie on its limit"
    wall = closed_wall(surface_of_quads(whole.points, whole.normals, whole.quads), *wall_shares(job.wall), job_edges(job))
    for limit in clearance_field(job, "part").limits:
        assert (
            proven_clearance(wall.mesh.vertices, wall.mesh.triangles, limit.body).min_mm >= limit.required_mm - TOLERANCES.chord
        )


@pytest.mark.parametrize("side", ["inside", "middle", "outside"])
@pytest.mark.parametrize("size", [1.5, 2.25, 3.0])
def test_no_point_of_a_bead_is_farther_from_the_skin_than_its_share(side: str, size: float) -> None:
    """The nearest the skin's edge lets a body come, in the worst direction; and the bound is reached."""
    job = job_of(wall={"thickness": WALL, "side": side, "edge": "bead", "edge_size": size})
    outward, inward = wall_shares(job.wall)
    wall = closed_wall(torus_surface(), outward, inward, job_edges(job))
    edge = wall.boundary.vertex
    skin_edge = wall.outer[edge] - outward * wall.normals[edge]
    row = {vertex: i for i, vertex in enumerate(edge)}
    owner = np.array([row[vertex] for vertex in wall.rim[:, 0]])
    away = np.linalg.norm(wall.mesh.vertices[wall.rim] - skin_edge[owner][:, None], axis=2).max()
    share = max(skin_shares(job))
    assert away <= share + TOLERANCES.chord  # notches are drawn out to a miter; the skin also keeps the chord
    assert away > 0.98 * share
    assert skin_shares(job_of(wall={"thickness": WALL, "side": side})) == (outward, inward)
    assert BASE["wall"]["thickness"] == WALL
