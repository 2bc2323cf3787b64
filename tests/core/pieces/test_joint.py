# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the cut goes, what speaks against it, and the bodies that cut."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Split
from addon.core.pieces.cutters import piece_cuts
from addon.core.pieces.holes import SIDES, hole_cutter
from addon.core.pieces.joint import planned_joint
from addon.core.seat.bore import Bore
from addon.core.tables.edge_distance import edge_distance
from addon.core.wall.closed_wall import closed_wall
from tests.core.torus_surface import as_manifold, as_trimesh, crown_seat, torus_surface

PLAIN = Bore(hole=6.6, recess=0.0, depth=0.0, cone=False, floor=0.0, room=12.0, slots=np.zeros((4, 2)))
DISTANCE = edge_distance("M6", laminate=False)


def split(**changes: object) -> Split:
    return Split(**{"plane": "across", "joint": "butt", "lap": 20.0, "fit": 0.3, **changes})  # type: ignore[arg-type]


def test_edge_distance_of_m6() -> None:
    """2 x 6 + 1 = 13 mm: our choice, see tables/edge_distance.py."""
    assert DISTANCE == 13.0


@pytest.mark.parametrize("shift", [0.0, 7.0])
def test_cut_goes_through_the_middle_of_the_pattern(shift: float) -> None:
    seat = crown_seat(bolts=np.array([[20.0, 25.0 + shift], [-20.0, 25.0 + shift], [0.0, -25.0 + shift]]))
    joint = planned_joint(split(), seat, 3.0, DISTANCE, 0.4)
    assert joint is not None
    assert_allclose(joint.along(seat.place(seat.bolts)), [25.0, 25.0, -25.0])
    assert joint.names == ("front", "rear") and joint.half_length == 0.0
    along = planned_joint(split(plane="along"), crown_seat(), 3.0, DISTANCE, 0.4)
    assert along is not None
    assert along.names == ("left", "right")
    assert_allclose(along.along(np.array([[5.0, 1.0, 2.0]])), [5.0])
    assert planned_joint(split(plane="none"), seat, 3.0, DISTANCE, 0.4) is None


@pytest.mark.parametrize(
    ("changes", "bolts", "thickness", "words"),
    [
        ({}, [[20.0, 0.0], [-20.0, 0.0]], 3.0, r'split.joint: "butt" with the cut "across" leaves -0.2 mm.*full_lap.*"along"'),
        ({"plane": "along"}, [[0.0, 30.0], [0.0, -30.0]], 3.0, r'"butt" with the cut "along" leaves -0.2 mm.*"across"'),
        ({"joint": "lap"}, [[20.0, 20.0], [20.0, -20.0]], 3.0, r'"lap".*leaves 9.9 mm.*split.lap of at most 13.7 mm'),
        ({"joint": "lap"}, [[20.0, 40.0], [20.0, -40.0]], 1.5, r"halves the wall to 0.60 mm.*0.80 mm.*thickness of 1.9 mm"),
    ],
)
def test_joints_that_cannot_be_are_refused(
    changes: dict[str, object], bolts: list[list[float]], thickness: float, words: str
) -> None:
    with pytest.raises(JobError, match=words):
        planned_joint(split(**changes), crown_seat(bolts=np.array(bolts)), thickness, DISTANCE, 0.4)


def test_full_lap_holds_every_bolt_with_its_edge_distance() -> None:
    joint = planned_joint(split(joint="full_lap"), crown_seat(), 3.0, DISTANCE, 0.4)
    assert joint is not None
    # the lip of either half ends half a fit short of half_length
    assert_allclose(joint.half_length - 0.5 * joint.fit - 25.0, DISTANCE)


def test_offered_lap_is_accepted() -> None:
    bolts = np.array([[20.0, 20.0], [20.0, -20.0]])
    joint = planned_joint(split(joint="lap", lap=13.7), crown_seat(bolts=bolts), 3.0, DISTANCE, 0.4)
    assert joint is not None and joint.half_length == 6.85


def test_lap_longer_than_the_fender_is_refused() -> None:
    short = torus_surface(rear=-10.0, front=10.0)
    wall = closed_wall(short, 0.0, 3.0, "round")
    joint = planned_joint(split(joint="full_lap"), crown_seat(bolts=np.array([[20.0, 45.0], [20.0, -45.0]])), 3.0, DISTANCE, 0.4)
    assert joint is not None
    with pytest.raises(JobError, match="split.lap: the joint needs 59.1 mm"):
        piece_cuts(wall, joint)


@pytest.mark.parametrize("edge", ["round", "bead", "square"])
@pytest.mark.parametrize("plane", ["across", "along"])
def test_cutters_are_closed_bodies_that_part_the_wall_at_its_middle(edge: str, plane: str) -> None:
    wall = closed_wall(torus_surface(), 1.5, 1.5, edge, crown_seat(blend=30.0, solid=True))
    joint = planned_joint(
        split(joint="lap", plane=plane, lap=8.0, fit=0.2), crown_seat(bolts=np.array([[30, 40], [-30, -40]])), 3.0, 13.0, 0.4
    )
    assert joint is not None
    for cut, side in zip(piece_cuts(wall, joint), (-1.0, 1.0), strict=True):
        assert cut.layer is not None and cut.layer_room is not None
        for body in (cut.keep, cut.layer, cut.layer_room):
            assert body.is_closed and body.part_count == 1 and body.volume > 0
            assert as_manifold(body).genus() == 0
        # points of the wall half a millimeter off its middle, near the cut: inside the layer on one side only
        middle, half = 0.5 * (wall.outer + wall.inner), 0.5 * (wall.outer - wall.inner)
        across = half / np.linalg.norm(half, axis=1, keepdims=True)
        near = np.flatnonzero(np.abs(joint.along(middle)) < 3.0)[::7]
        body = as_trimesh(cut.layer)
        assert body.contains(middle[near] + side * 0.5 * across[near]).all()
        assert not body.contains(middle[near] - side * 0.5 * across[near]).any()
        # the fit opens by half on this side
        assert body.contains(middle[near] - side * 0.08 * across[near]).mean() > 0.95
        assert not body.contains(middle[near] - side * 0.14 * across[near]).any()


def test_hole_cutters_end_at_the_wall_under_them() -> None:
    seat = crown_seat(solid=True)
    wall = closed_wall(torus_surface(), 0.0, 3.0, "round", seat)
    cutter = hole_cutter(wall, seat, PLAIN)
    assert cutter.is_closed and cutter.part_count == 4
    heights = seat.height(cutter.vertices)
    assert_allclose(heights.max(), 1.0, atol=1e-9)
    # inner face under a bolt 20 mm off the crown line and 25 mm ahead: about 3 + 2.5 + 1 mm down, 1 mm to spare
    assert -12.0 < heights.min() < -7.0
    flat = seat.in_plane(cutter.vertices)
    away = np.linalg.norm(flat[:, None] - seat.bolts[None], axis=2).min(axis=1)
    assert_allclose(away, 3.3 / np.cos(np.pi / SIDES), rtol=1e-12)


def test_holes_that_meet_are_refused() -> None:
    seat = crown_seat(bolts=np.array([[0.0, 0.0], [8.0, 0.0]]))
    wall = closed_wall(torus_surface(), 0.0, 3.0, "round", seat)
    with pytest.raises(JobError, match="bolts 1 and 2 are 8.0 mm apart.*more than 9.9 mm"):
        hole_cutter(wall, seat, PLAIN)
