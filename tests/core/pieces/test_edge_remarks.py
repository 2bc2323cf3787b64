# SPDX-License-Identifier: GPL-3.0-or-later
"""Edge distances to real edges: a caution under the rule of practice, refused under the washer."""

import numpy as np
import pytest

from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Mount
from addon.core.pieces.edge_remarks import edge_remarks
from addon.core.pieces.joint import Joint
from addon.core.seat.bore import bore_of
from addon.core.seat.placed_seat import PlacedSeat
from addon.core.tables.edge_distance import SOURCE, edge_distance
from addon.core.wall.closed_wall import ClosedWall, closed_wall
from tests.core.torus_surface import crown_seat, plane_surface


def placed(x: float, y: float = 30.0) -> tuple[ClosedWall, PlacedSeat]:
    """Two M6 with large washers: 18 mm across, so that 10 mm must lie under them, and 13 mm should (2 x 6 + 1)."""
    bolts = ((x, y), (-x, -y))
    seat = crown_seat(0.0, bolts=np.array(bolts), pad=6.0, blend=30.0)
    mount = Mount(height=50.0, bolts=bolts, thread="M6", pad=10.0)
    wall = closed_wall(plane_surface(np.linspace(-60.0, 60.0, 25), np.linspace(-80.0, 80.0, 33)), 0.0, 3.0, "round", seat)
    return wall, PlacedSeat("mount", seat, mount, bore_of("mount", mount), edge_distance("M6", laminate=False), None)


def test_far_from_all_edges_nothing_is_said() -> None:
    wall, seat = placed(20.0)
    assert edge_remarks(wall, [seat], None, False) == ()


def test_under_the_rule_is_a_caution_and_under_the_washer_refused() -> None:
    """A plate 120 mm wide: the middle of its rim's wall is 1.5 mm under the seat, at x = 60 mm or a little less."""
    near, seat = placed(48.5)
    said = edge_remarks(near, [seat], None, False)
    assert len(said) == 2 and "from the fender's edge" in said[0] and "less than 13 mm" in said[0] and SOURCE in said[0]
    assert float(said[0].split(" is ")[1].split()[0]) == pytest.approx(np.hypot(60.0 - 48.5, 1.5), abs=0.1)
    over, seat = placed(50.5)
    with pytest.raises(JobError, match="at least 10.0 mm is needed") as refused:
        edge_remarks(over, [seat], None, False)
    assert refused.value.key == "mount.bolts"


def test_a_cut_is_an_edge_but_for_the_lap_that_bolts_lie_in() -> None:
    wall, seat = placed(20.0, 21.0)
    joint = Joint(seat.seat.origin, seat.seat.forward, 10.0, 0.3, ("front", "rear"))
    said = edge_remarks(wall, [seat], joint, False)
    assert len(said) == 2 and "is 10.8 mm from the joint" in said[0]
    assert edge_remarks(wall, [seat], joint, True) == ()
