# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells of plug, buck and mold with their flange: closed, off themselves, square to the pull, and on the part's face."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import ShapeError
from addon.core.job.job_sheet import job_to_dict, parse_job, read_job_sheet
from addon.core.laminate.drill_marks import drill_marks
from addon.core.laminate.flange_fittings import flange_fittings, key_dome
from addon.core.laminate.flange_section import FlangeShape, bend_angles, flange_lines
from addon.core.laminate.flange_width import free_widths
from addon.core.laminate.flanged_shell import FlangedShell, flanged_shell
from addon.core.laminate.laminated_part import laminated_part
from addon.core.laminate.mold_drafts import mold_drafts
from addon.core.laminate.mold_shape import grown, mold_shells, part_shrink, touched_face
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.mesh.triangle_mesh import joined
from addon.core.seat.mount import mount_frame
from addon.core.seat.placed_seat import placed_seats
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.trim.trimmed import trimmed
from tests.core.laminate.scenes import DEMO, job_of, scene
from tests.crossing_pairs import crossing_pairs

SHAPE = FlangeShape((0.0, 0.0, 1.0), 50.0, 6.0, 6.0, 1.2, 0.5)


@lru_cache(maxsize=4)
def shells(name: str) -> dict[str, FlangedShell]:
    found = scene(name, 3)
    laminate = found.job.laminate
    assert laminate is not None
    if laminate.route == "mold":
        laminate = replace(laminate, printed_mold="yes")
    face = touched_face(found.wall, laminate)
    pull = mold_drafts(face, laminate)[0].draft.pull
    return {each.name: each.shell for each in mold_shells(face, laminate, pull, 3.0)}


@pytest.mark.parametrize(("name", "body"), [("front_mold", "plug"), ("front_mold", "mold"), ("rear_buck", "buck")])
def test_shells_are_closed_and_off_themselves(name: str, body: str) -> None:
    """Crossing faces by libigl's exact arithmetic, an outside library."""
    shell = shells(name)[body]
    assert shell.mesh.is_closed and shell.mesh.volume > 0.0 and shell.mesh.part_count == 1 and shell.mesh.genus == 0
    assert len(crossing_pairs(shell.mesh)) == 0
    assert not shell.narrowed


def test_plug_lies_under_the_outer_face_and_buck_under_the_inner_one() -> None:
    """Signed distances by trimesh: the part's face lies on plug and buck, and the rest of the part outside of the buck."""
    for name, body, face in (("front_mold", "plug", "outer"), ("rear_buck", "buck", "inner")):
        part, shell = scene(name, 3).wall, shells(name)[body]
        solid = trimesh.Trimesh(shell.mesh.vertices, shell.mesh.triangles, process=False)
        touching = np.unique(part.triangles)[::11]
        assert np.abs(trimesh.proximity.signed_distance(solid, getattr(part, face)[touching])).max() < 1e-6
    outer = trimesh.proximity.signed_distance(solid, scene("rear_buck", 3).wall.outer[touching])
    plain = scene("rear_buck", 3).wall.seat_weight[touching] == 0.0
    np.testing.assert_allclose(outer[plain], -1.5122, atol=0.03)


def test_mold_lies_on_the_plug() -> None:
    """They share the face and the flange, and nothing of their bodies: trimesh with manifold3d."""
    both = [trimesh.Trimesh(shell.mesh.vertices, shell.mesh.triangles, process=False) for shell in shells("front_mold").values()]
    common = trimesh.boolean.intersection(both, engine="manifold")
    assert common.is_empty or abs(common.volume) < 1.0
    apart = trimesh.proximity.closest_point(both[1], scene("front_mold", 3).wall.outer[::37])[1]
    assert apart.max() < 1e-6


def test_flange_is_square_to_the_pull_and_as_wide_as_asked() -> None:
    found, shell = scene("front_mold", 3), shells("front_mold")["plug"]
    laminate = found.job.laminate
    assert laminate is not None
    pull = mold_drafts(touched_face(found.wall, laminate), laminate)[0].draft.pull
    assert np.abs(shell.way @ pull).max() < 1e-9
    np.testing.assert_allclose(shell.width, 50.0)
    assert (shell.up @ pull).min() > 0.3  # the flange faces the mold
    assert np.abs(np.einsum("ij,ij->i", shell.up, shell.way)).max() < 1e-9


def test_sections_in_closed_form() -> None:
    """An upright side: margin straight down, a quarter of 6 mm radius, 50 mm out; the other line a wall behind."""
    out, normal, pull = np.array([[0.0, 0.0, -1.0]]), np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1.0]])
    angle = bend_angles(out, normal, pull)
    assert angle[0] == pytest.approx(0.5 * np.pi)
    first, second = flange_lines(angle, np.array([50.0]), 3.0, SHAPE)
    np.testing.assert_allclose(first[0, 0], [-0.5, 0.6])
    np.testing.assert_allclose(first[0, 2], [0.0, 6.0], atol=1e-12)
    np.testing.assert_allclose(first[0, -1], [56.0, 12.0])
    np.testing.assert_allclose(second[0, -1], [56.0, 15.0])
    apart = np.linalg.norm(first[0, 2:] - second[0], axis=1)
    np.testing.assert_allclose(apart, 3.0, atol=1e-9)
    mold = flange_lines(angle, np.array([50.0]), -4.0, SHAPE)
    np.testing.assert_allclose(np.linalg.norm(mold[0][0, 2:] - mold[1][0], axis=1), 4.0, atol=1e-9)
    np.testing.assert_allclose(mold[0], first)


def test_tucked_side_turns_past_upright_and_a_lying_end_the_other_way() -> None:
    pull = np.array([[0.0, 0.0, 1.0]])
    turned = np.radians(100.0)
    tucked = bend_angles(
        np.array([[np.cos(turned + np.pi), 0.0, -np.sin(turned)]]), np.array([[np.sin(turned), 0.0, np.cos(turned)]]), pull
    )
    assert np.degrees(tucked[0]) == pytest.approx(100.0)
    up = np.radians(20.0)
    rising = bend_angles(np.array([[0.0, -np.cos(up), np.sin(up)]]), np.array([[0.0, np.sin(up), np.cos(up)]]), pull)
    assert np.degrees(rising[0]) == pytest.approx(-20.0)


def test_flange_is_narrowed_in_a_hollow() -> None:
    """A ring whose flange runs inward, radius 30: it may not reach past its middle."""
    turn = 2.0 * np.pi * np.arange(120) / 120
    ring = np.stack([np.cos(turn), np.sin(turn), np.zeros(120)], axis=1)
    after = np.roll(np.arange(120), -1)
    inward = free_widths(30.0 * ring, -ring, after, 50.0)
    assert 5.0 < inward.min() and inward.max() < 30.0
    np.testing.assert_allclose(free_widths(30.0 * ring, ring, after, 50.0), 50.0)


def test_fittings_stand_on_the_flange_alike_on_both_sides() -> None:
    shell = shells("front_mold")["plug"]
    fittings = flange_fittings(shell)
    assert len(fittings.bolts) == len(fittings.keys) and len(fittings.bolts) % 2 == 0
    ring = np.linalg.norm(np.diff(np.concatenate([fittings.bolts, fittings.bolts[:1]]), axis=0), axis=1)
    assert ring.max() < 150.0
    surface = trimesh.Trimesh(shell.mesh.vertices, shell.mesh.triangles, process=False)
    assert trimesh.proximity.closest_point(surface, fittings.places)[1].max() < 0.2
    mirrored = fittings.bolts * [-1.0, 1.0, 1.0]
    apart = np.linalg.norm(mirrored[:, None] - fittings.bolts[None], axis=2).min(axis=1)
    assert apart.max() < 4.0
    between = np.linalg.norm(fittings.keys[:, None] - fittings.bolts[None], axis=2).min()
    assert between > 25.0


def test_key_is_a_cap_of_a_sphere_on_a_foot() -> None:
    dome = key_dome(np.zeros(3), np.array([0.0, 0.0, 1.0]), 1.5)
    cap = np.pi * 3.0 / 6.0 * (3.0 * 6.0**2 + 3.0**2)
    assert dome.is_closed
    assert dome.volume == pytest.approx(cap + np.pi * 36.0 * 1.5, rel=0.03)
    assert dome.vertices[:, 2].max() == pytest.approx(3.0)


def test_drill_marks_stand_over_each_bolt_with_their_tips_in_the_shell() -> None:
    found, shell = scene("front_mold", 3), shells("front_mold")["plug"]
    marks = drill_marks(shell.mesh, found.seats)
    assert len(marks) == len(found.job.mount.bolts)
    marked = trimesh.boolean.difference(
        [trimesh.Trimesh(shell.mesh.vertices, shell.mesh.triangles), *(trimesh.Trimesh(m.vertices, m.triangles) for m in marks)],
        engine="manifold",
    )
    cone = np.pi * 1.2**2 * 1.0 / 3.0
    assert shell.mesh.volume - marked.volume == pytest.approx(len(marks) * cone, rel=0.05)
    tips = np.array([mark.vertices[-2] for mark in marks])
    np.testing.assert_allclose(found.seats[0].in_plane(tips), found.seats[0].bolts, atol=1e-6)
    assert joined(marks).is_closed
    with pytest.raises(ShapeError, match="not over the part"):
        drill_marks(shell.mesh, [replace(found.seats[0], bolts=np.array([[200.0, 0.0]]))])


def test_shell_that_is_too_thick_for_the_shape_is_refused() -> None:
    found = scene("front_mold", 3)
    with pytest.raises(ShapeError, match="bends to a radius"):
        flanged_shell(touched_face(found.wall, found.job.laminate), 60.0, SHAPE)  # type: ignore[arg-type]


def test_plug_is_larger_by_what_the_part_shrinks() -> None:
    mold, buck = job_of("front_mold").laminate, job_of("rear_buck").laminate
    assert mold is not None and buck is not None
    assert (part_shrink(mold), part_shrink(buck)) == (0.004, 0.0)
    assert part_shrink(replace(mold, shrink=0.5)) == 0.005
    mesh, about = shells("front_mold")["plug"].mesh, np.array([1.0, 2.0, 3.0])
    larger = grown(mesh, 0.005, about)
    assert larger.volume == pytest.approx(mesh.volume / 0.995**3)
    assert np.ptp(larger.vertices[:, 1]) == pytest.approx(np.ptp(mesh.vertices[:, 1]) / 0.995)
    assert grown(mesh, 0.0, about) is mesh


def test_flange_in_a_scallop_keeps_off_itself() -> None:
    """The demo with a scallop round each fork leg; crossing faces by libigl."""
    data = job_to_dict(read_job_sheet(DEMO / "front_21.toml"))
    data["opening"], data["laminate"] = [], {"plies": ["CSM 300", "CSM 300"]}
    data["mount"] |= {"pad": 24.0, "blend": 20.0}
    job = parse_job(data)
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    surface = trimmed(job, surface_of_quads(whole.points, whole.normals, whole.quads))
    wall = laminated_part(job, surface, [placed.seat for placed in placed_seats(job, mount_frame(job), surface)])
    assert job.laminate is not None
    face = touched_face(wall, job.laminate)
    shell = mold_shells(face, job.laminate, mold_drafts(face, job.laminate)[0].draft.pull, job.wall.thickness)[0].shell
    assert len(crossing_pairs(shell.mesh)) == 0
    assert shell.narrowed and shell.width.min() > 3.0 and shell.width.max() == 50.0
