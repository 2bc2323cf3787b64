# SPDX-License-Identifier: GPL-3.0-or-later
"""The buck for sheet metal against trimesh's sections and manifold3d's bodies."""

import itertools
from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from addon.core.base.errors import JobError, ShapeError
from addon.core.metal.buck_boards import buck_boards
from addon.core.metal.buck_plan import buck_plan, check_metal
from addon.core.metal.metal_faces import bead_spheres, wire_bead
from addon.core.metal.profile_templates import lifted_off, profile_templates
from addon.core.metal.section_lines import across_line
from addon.core.tables.shop.sheet_metal import BEAD_PLAY_MM, TEMPLATE_BAND_MM
from tests.core.metal.metal_fender import METAL, board_axes, board_body, buck


def _section(points: np.ndarray, triangles: np.ndarray, through: np.ndarray, origin: np.ndarray) -> np.ndarray:
    """Points (n, 3) every few hundredths of a mm on the section that trimesh cuts."""
    mesh = trimesh.Trimesh(points, triangles, process=False)
    lines = trimesh.intersections.mesh_plane(mesh, through, origin)
    share = np.linspace(0.0, 1.0, 60)[:, None]
    return (lines[:, None, 0] + share * (lines[:, None, 1] - lines[:, None, 0])).reshape(-1, 3)


@pytest.mark.parametrize("sheet", ["front_17", "front_21"])
def test_upper_edges_lie_on_the_sections_that_trimesh_cuts(sheet: str) -> None:
    """Each corner of a board that is not on slot, foot or bead is on the inner face's section at one of three planes."""
    of = buck(sheet)
    balls = bead_spheres(of.bead, 1.0)
    half = 0.5 * METAL.plywood
    for number, board in enumerate(of.boards):
        origin, right, up, through = board_axes(of, number)
        planes = [origin + away * through for away in (-half, 0.0, half)]
        section = np.concatenate([_section(of.faces.inner, of.faces.triangles, through, plane) for plane in planes])
        section = section[(section - origin) @ up > 0.0]
        flat = np.column_stack([(section - origin) @ right, (section - origin) @ up])
        corners = np.concatenate(board.rings)
        on_top = np.hypot(*corners.T) > of.plan.inner_radius + 0.62 * METAL.foot
        if number >= len(of.plan.stations_deg):  # slots of boards along reach the face; those of boards across do not
            turn = np.degrees(np.arctan2(*corners.T))[:, None] - np.array(of.plan.stations_deg)
            on_top &= (np.abs(np.radians(turn)) * np.hypot(*corners.T)[:, None] > half + 1.0).all(axis=1)
        else:
            on_top &= corners[:, 1] > 0.5 * (of.plan.inner_radius + flat[:, 1].max()) + 1.0
        placed = origin + corners[:, :1] * right + corners[:, 1:] * up
        on_top &= cKDTree(balls).query(placed)[0] > of.bead.radius + BEAD_PLAY_MM + half
        on_top &= (flat[:, 1].min() <= corners[:, 1]) & (np.abs(corners[:, 0]) < np.abs(flat[:, 0]).max() - 0.5)
        assert on_top.sum() > 15
        off = cKDTree(flat).query(corners[on_top])[0]
        assert off.max() < 0.05, board.name


def test_no_board_stands_proud_of_the_metal_or_meets_another() -> None:
    """Bodies by manifold3d: nothing of the boards is in the metal, and nothing in two boards."""
    of = buck()
    bodies = [board_body(of, number, METAL.plywood) for number in range(len(of.boards))]
    for one, two in itertools.combinations(bodies, 2):
        assert (one ^ two).volume() < 1e-3
    metal = _closed(of.faces.outer, of.faces.inner, of.faces.triangles)
    for body, board in zip(bodies, of.boards, strict=True):
        # a board's outline is simplified by 0.01 mm at most, on some 3,000 mm2 of its edge
        assert (body ^ metal).volume() < 0.2, board.name


def _closed(outer: np.ndarray, inner: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold:
    count = len(outer)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    known = set(zip(end.tolist(), start.tolist(), strict=True))
    rim = np.array([edge for edge in zip(start.tolist(), end.tolist(), strict=True) if edge not in known])
    a, b = rim.T
    side = np.concatenate([np.stack([b, a, a + count], axis=1), np.stack([b, a + count, b + count], axis=1)])
    faces = np.concatenate([triangles, triangles[:, ::-1] + count, side])
    body = manifold3d.Manifold(manifold3d.Mesh64(np.concatenate([outer, inner]), faces.astype(np.uint64)))
    assert body.volume() > 0.0
    return body


def test_boards_are_held_by_slots_as_wide_as_the_plywood() -> None:
    """Two boards cross in one column of wood, half in each: with plywood thicker than slot and play they would meet."""
    of = buck()
    stations = len(of.plan.stations_deg)
    thick = METAL.plywood + METAL.fit + 0.4
    across, along = board_body(of, 4, thick), board_body(of, stations + 1, thick)
    assert (across ^ along).volume() > 10.0
    just = METAL.plywood + METAL.fit - 1e-3
    assert (board_body(of, 4, just) ^ board_body(of, stations + 1, just)).volume() < 1e-3


def test_beads_find_room_in_every_board() -> None:
    of = buck()
    balls = bead_spheres(of.bead, 1.0)
    ball = manifold3d.Manifold.sphere(of.bead.radius + 0.8 * BEAD_PLAY_MM, 48)
    for number, board in enumerate(of.boards):
        origin, _, _, through = board_axes(of, number)
        near = balls[np.abs((balls - origin) @ through) < of.bead.radius + 0.5 * METAL.plywood]
        if not len(near):
            continue
        tube = manifold3d.Manifold.batch_boolean([ball.translate(tuple(at)) for at in near[::4]], manifold3d.OpType.Add)
        assert (tube ^ board_body(of, number, METAL.plywood)).volume() < 0.05, board.name


def test_bead_is_flush_with_the_other_face() -> None:
    of = buck()
    inside = wire_bead(of.faces, 1.0, 4.0, "inside")
    outside = wire_bead(of.faces, 1.0, 4.0, "outside")
    for edge, way, line_in, line_out in zip(of.faces.edges, of.faces.outward, inside.lines, outside.lines, strict=True):
        outer = edge + way
        np.testing.assert_allclose(np.linalg.norm(line_in - outer, axis=1), inside.radius, atol=1e-9)
        np.testing.assert_allclose(np.linalg.norm(line_out - edge, axis=1), outside.radius, atol=1e-9)
        assert ((line_out - line_in) * way).sum(axis=1).min() > 0.0


def test_templates_touch_the_outer_face_and_take_nothing_of_it() -> None:
    of = buck()
    templates = profile_templates(of.faces, None, of.plan.stations_deg)
    for template, station in zip(templates, of.plan.stations_deg, strict=False):
        turn = np.radians(station)
        points = _section(of.faces.outer, of.faces.triangles, np.array([0.0, -np.cos(turn), -np.sin(turn)]), np.zeros(3))
        flat = np.column_stack([points[:, 0], points @ [0.0, -np.sin(turn), np.cos(turn)]])
        flat = flat[flat[:, 1] > 0.0]
        ring = template.rings[0]
        low, high = template.bounds
        inside = (ring > low + 1e-6).all(axis=1) & (ring < high - 1e-6).all(axis=1)
        assert inside.sum() > 15
        assert cKDTree(flat).query(ring[inside])[0].max() < 0.05
        assert high[1] == pytest.approx(flat[:, 1].max() + TEMPLATE_BAND_MM, abs=0.05)


def test_templates_of_a_tucked_section_come_off() -> None:
    turn = np.linspace(-0.2, np.pi + 0.2, 60)
    line = np.column_stack([50.0 * np.cos(turn), 50.0 * np.sin(turn)])
    kept = lifted_off(line)
    assert (np.diff(kept[:, 0]) < 0.0).all() and abs(kept[0, 1]) < 1.5 and abs(kept[-1, 1]) < 1.5


def test_board_is_missed_where_the_fender_ends() -> None:
    of = buck()
    assert across_line(of.faces.inner, of.faces.triangles, 120.0) is None


@pytest.mark.parametrize(
    ("change", "key"),
    [({"plywood": 40.0, "along": 36.0}, "along = 36"), ({"plywood": 30.0, "across": 30.0, "along": 90.0}, "across = 30")],
)
def test_plywood_thicker_than_the_spacing_is_named(change: dict[str, float], key: str) -> None:
    with pytest.raises(JobError, match=f"metal.plywood: .*{key}"):
        check_metal(replace(METAL, **change))
    check_metal(METAL)


def test_boards_that_would_meet_toward_the_axle_are_refused() -> None:
    of = buck()
    with pytest.raises(JobError, match="toward the axle"):
        buck_plan(replace(METAL, across=16.0), of.faces, 5.0)
    with pytest.raises(JobError, match="between the boards along"):
        buck_plan(replace(METAL, along=15.0), of.faces, 5.0)
    with pytest.raises(JobError, match="past the axle"):
        buck_plan(replace(METAL, foot=400.0), of.faces, 5.0)


def test_board_in_pieces_is_refused() -> None:
    of = buck()
    cut = replace(of.plan, inner_radius=of.plan.inner_radius + 58.0)
    with pytest.raises(ShapeError, match="falls into"):
        buck_boards(METAL, cut, of.faces, of.bead)
