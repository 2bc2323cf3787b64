# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a half along the bike is cut again, beside the pins or keys that are there."""

import numpy as np
from numpy.testing import assert_allclose

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at, station_of
from addon.core.job.job_sheet import Split
from addon.core.pieces.further_cuts import further_cuts
from addon.core.pieces.joint import planned_joint
from addon.core.tables.edge_distance import edge_distance
from addon.core.wall.closed_wall import closed_wall
from tests.core.torus_surface import crown_seat, torus_surface

RADIUS = 320.0


def stations(taken: Array, locate: str) -> Array:
    """Of the cuts through the left half of a fender of 160 degrees that is to fit a bed of 500 mm."""
    split = Split(plane="along", joint="butt", locate=locate)
    seat = crown_seat()
    joint = planned_joint(split, seat, 3.0, edge_distance("M6", laminate=False), 0.4)
    assert joint is not None
    wall = closed_wall(torus_surface(rear=-120.0, front=40.0), 0.0, 3.0, "round", seat)
    points = wall.mesh.vertices[wall.mesh.vertices[:, 0] > 0.0]
    cuts = further_cuts(points, wall, joint, True, split, 0.4, taken, lambda piece: bool(np.ptp(piece, axis=0).max() < 500.0))
    assert cuts is not None
    assert all(cut.reach == (6.0 if locate == "keys" else 0.0) and cut.half_length == 10.0 for cut in cuts.joints)
    return np.array([float(station_of(np.cross(cut.normal, [1.0, 0.0, 0.0]))) for cut in cuts.joints])


def test_cuts_pass_between_what_stands_along_the_bike() -> None:
    """A lap of 20, key of 6 in the joint, 2 mm between: at least 10 + 3 + 2 mm, and 6 more where the lap has keys that go 6 on."""
    for locate, least in (("bolts", 15.0), ("keys", 21.0)):
        free = stations(np.empty((0, 3)), locate)
        assert len(free)
        taken = point_at(np.full(len(free), RADIUS), free + 0.5, np.zeros(len(free)))
        moved = stations(taken, locate)
        assert len(moved) == len(free)
        away = np.radians(np.abs(moved[:, None] - free - 0.5)) * RADIUS
        assert away.min() > least
        assert_allclose(moved, free, atol=np.degrees(2.0 * least / RADIUS))
