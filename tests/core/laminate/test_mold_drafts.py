# SPDX-License-Identifier: GPL-3.0-or-later
"""Draft of a mold in one piece and in two, what is told of it, and where the bed asks for cuts."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import point_at, station_of
from addon.core.job.job_sheet import Laminate
from addon.core.laminate.bed_cells import bed_cells
from addon.core.laminate.check_laminate import check_laminate
from addon.core.laminate.mold_drafts import draft_remarks, draft_report, mold_drafts, point_drafts
from addon.core.laminate.mold_shape import touched_face
from addon.core.mesh.open_surface import Surface
from tests.core.laminate.grids import cylinder
from tests.core.laminate.scenes import job_of, scene

PLAIN = Laminate(plies=("CSM 300",))


def tucked(reach_deg: float) -> Surface:
    """An arch about y, its middle up, that reaches so far down both sides; radius 50, 200 long."""
    points, triangles = cylinder(np.radians(np.linspace(-reach_deg, reach_deg, 361)))
    # the arch of the helper opens along x about z
    turned = np.stack([points[:, 1], points[:, 2] - 100.0, points[:, 0]], axis=1)
    normals = turned * [1.0, 0.0, 1.0] / 50.0
    return Surface(turned, normals, triangles)


def test_best_pull_of_the_demo_is_mirrored_and_beats_straight_up() -> None:
    found = scene("front_mold", 3)
    laminate = found.job.laminate
    assert laminate is not None
    face = touched_face(found.wall, laminate)
    (best,), (up,) = mold_drafts(face, laminate), mold_drafts(face, replace(laminate, pull=(0.0, 0.0, 1.0)))
    assert abs(best.draft.pull[0]) < 1e-9
    assert best.draft.least > up.draft.least > 0.0
    assert best.draft.undercut == 0.0


def test_two_pieces_take_tucked_sides_that_one_cannot() -> None:
    """An arch of 2 x 110 degrees: one piece leaves 2 x 20 degrees undercut; each of two covers 110, and its pull has 35 deg at both ends
    less what the parting face asks: the normals from up to 20 deg under level and the parting face's level one, half of 110."""
    face = tucked(110.0)
    (one,) = mold_drafts(face, replace(PLAIN, pull=(0.0, 0.0, 1.0)))
    assert one.draft.undercut == pytest.approx(50.0 * 200.0 * np.radians(40.0), rel=1e-2)
    left, right = mold_drafts(face, replace(PLAIN, pieces=2))
    assert (left.name, right.name) == ("left", "right")
    assert left.draft.undercut == right.draft.undercut == 0.0
    assert left.draft.least == pytest.approx(35.0, abs=0.5)
    np.testing.assert_allclose(left.draft.pull, right.draft.pull * [-1.0, 1.0, 1.0], atol=1e-6)


def test_stated_pull_of_the_left_piece_is_mirrored_for_the_right_one() -> None:
    left, right = mold_drafts(tucked(80.0), replace(PLAIN, pieces=2, pull=(3.0, 0.0, 4.0)))
    np.testing.assert_allclose(left.draft.pull, [0.6, 0.0, 0.8])
    np.testing.assert_allclose(right.draft.pull, [-0.6, 0.0, 0.8])


def test_drafts_at_points_follow_the_piece_on_their_side() -> None:
    face = tucked(80.0)
    drafts = mold_drafts(face, replace(PLAIN, pieces=2, pull=(1.0, 0.0, 0.0)))
    shown = point_drafts(face, drafts)
    expected = np.degrees(np.arcsin(np.abs(face.normals[:, 0])))
    np.testing.assert_allclose(shown, expected, atol=1e-6)


@pytest.mark.parametrize(
    ("reach", "words"),
    [
        (100.0, "is held by 34.9 cm2 of undercut"),
        (89.5, "under 1 it hardly comes off"),
        (88.5, "2 to 5 are advised"),
        (86.0, "5 or more are advised"),
    ],
)
def test_too_little_draft_is_told(reach: float, words: str) -> None:
    laminate = replace(PLAIN, pull=(0.0, 0.0, 1.0))
    (told,) = draft_remarks(mold_drafts(tucked(reach), laminate), laminate)
    assert words in told and "station" in told


def test_enough_draft_is_not_told_of() -> None:
    laminate = replace(PLAIN, pull=(0.0, 0.0, 1.0))
    assert draft_remarks(mold_drafts(tucked(80.0), laminate), laminate) == ()


def test_report_sums_up_the_pieces() -> None:
    laminate = replace(PLAIN, pieces=2, pull=(0.1, 0.0, 1.0))
    drafts = mold_drafts(tucked(110.0), laminate)
    report = draft_report(drafts, laminate)
    assert report["undercut_cm2"] == pytest.approx(sum(piece.draft.undercut for piece in drafts) / 100.0, abs=1e-3)
    assert report["least_deg"] == pytest.approx(min(piece.draft.least for piece in drafts), abs=1e-3)
    assert report["pull_basis"] == "stated" and len(report["pieces"]) == 2  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("laminate", "words"),
    [
        ({"pull": [0, 0, 0]}, "has no direction"),
        ({"pull": [0, 0, 1], "pieces": 2}, "runs along the split"),
        ({"pull": [-1, 0, 1], "pieces": 2}, "runs along the split"),
    ],
)
def test_pulls_that_cannot_be_are_refused(laminate: dict[str, object], words: str) -> None:
    with pytest.raises(JobError, match=r"laminate\.pull: \[") as caught:
        check_laminate(job_of("front_mold", **laminate))
    assert words in caught.value.sentence
    check_laminate(job_of("front_mold", pull=[0, 0, 1]))
    check_laminate(job_of("front_mold", pull=[1, 0, 1], pieces=2))


def test_printed_mold_goes_with_a_mold_in_one_piece_only() -> None:
    for laminate in ({"printed_mold": "yes", "pieces": 2}, {"printed_mold": "yes", "route": "buck"}):
        with pytest.raises(JobError, match=r"laminate\.printed_mold"):
            check_laminate(job_of("front_mold", **laminate))
    check_laminate(job_of("front_mold", printed_mold="yes"))


def test_cells_are_the_fewest_that_fit_and_leave_nothing_out() -> None:
    """Volumes by trimesh with manifold3d."""
    part = scene("front_mold", 3).wall.mesh
    whole = trimesh.Trimesh(part.vertices, part.triangles, process=False)

    def fits(points: np.ndarray) -> bool:
        return bool((np.sort(np.ptp(points, axis=0)) <= [150.0, 150.0, 200.0]).all())

    plain = bed_cells(part, np.zeros((0, 3)), fits)
    assert plain is not None and plain[0].room is not None
    # a bolt where the first cut would be
    rays = plain[0].room.vertices[np.linalg.norm(plain[0].room.vertices[:, 1:], axis=1) > 1.0]
    avoid = point_at(340.0, float(station_of(rays).max()), 60.0)[None]
    cells = bed_cells(part, avoid, fits)
    assert cells is not None and len(cells) > 1
    pieces = []
    for cell in cells:
        assert cell.room is not None
        room = trimesh.Trimesh(cell.room.vertices, cell.room.triangles)
        pieces.append(trimesh.boolean.intersection([whole, room], engine="manifold"))
    assert sum(piece.volume for piece in pieces) == pytest.approx(whole.volume, rel=1e-6)
    assert all(fits(piece.vertices) for piece in pieces)
    for cell in cells:  # no cut within reach of the bolt
        assert cell.room is not None
        rays = cell.room.vertices[np.linalg.norm(cell.room.vertices[:, 1:], axis=1) > 1.0][:, 1:]
        ends = rays / np.linalg.norm(rays, axis=1, keepdims=True)
        off = np.abs(avoid[0, 1] * ends[:, 1] - avoid[0, 2] * ends[:, 0])
        facing = ends @ avoid[0, 1:] > 0.0
        limits = np.isclose(ends @ ends[0], 1.0) | np.isclose(ends @ ends[3], 1.0)
        assert off[facing & limits].min(initial=np.inf) >= 8.99
    assert len({cell.name for cell in cells}) == len(cells)


def test_cells_where_all_fits_and_where_nothing_does() -> None:
    part = scene("front_mold", 3).wall.mesh
    alone = bed_cells(part, np.zeros((0, 3)), lambda points: True)
    assert alone is not None and [(cell.name, cell.room) for cell in alone] == [("", None)]
    assert bed_cells(part, np.zeros((0, 3)), lambda points: False) is None
