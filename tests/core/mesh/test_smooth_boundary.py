# SPDX-License-Identifier: GPL-3.0-or-later
"""Small dents of the trimmed edge are drawn smooth, so that the rim goes round them; what was drawn stays."""

import numpy as np
import pytest

from addon.core.base.errors import ShapeError
from addon.core.base.wheel_axes import point_at
from addon.core.mesh.cut_surface import cut_surface
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.simplify_boundary import simplify_boundary
from addon.core.mesh.smooth_boundary import FARTHEST, smooth_boundary
from addon.core.trim.view_field import drop_field
from addon.core.wall.closed_wall import closed_wall

RADIUS = 40.0
WALL = 3.0


def disk(dent: float, wide: float = 0.4) -> Surface:
    """A flat disk, its edge dented on both sides of the bike by a bump of this depth, mm, about `wide` broad."""
    x = np.linspace(-60.0, 60.0, 41)
    points = np.stack([*np.meshgrid(x, x, indexing="ij"), np.zeros((41, 41))], axis=-1).reshape(-1, 3)
    i = (np.arange(40)[:, None] * 41 + np.arange(40)).ravel()
    flat = surface_of_quads(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), np.stack([i, i + 41, i + 42, i + 1], axis=1))

    def values(at: np.ndarray, normals: np.ndarray) -> np.ndarray:
        along = RADIUS * np.arctan2(at[:, 1], np.abs(at[:, 0]))
        return np.asarray(RADIUS - dent * np.exp(-((along / wide) ** 2)) - np.hypot(at[:, 0], at[:, 1]))

    return simplify_boundary(cut_surface(flat, values, 0.005), 0.3)


def test_a_small_dent_goes_and_the_rim_goes_round() -> None:
    """Without it the half-round rim of the wall, 1.5 mm wide, has no way through the hollow."""
    dented = disk(0.3)
    with pytest.raises(ShapeError, match="edge of the skin"):
        closed_wall(dented, 0.5 * WALL, 0.5 * WALL)
    fair = smooth_boundary(dented, 0.5 * WALL)
    assert closed_wall(fair, 0.5 * WALL, 0.5 * WALL).mesh.is_closed
    moved = np.linalg.norm(fair.points - dented.points, axis=1)
    assert 0.02 < moved.max() <= FARTHEST + 1e-12
    assert (np.abs(fair.points[moved > 0, 1]) < 4.0).all() and (fair.points[:, 2] == 0.0).all()
    flip = np.array([-1.0, 1.0, 1.0])
    image = smooth_boundary(Surface(dented.points * flip, dented.normals, dented.triangles[:, ::-1]), 0.5 * WALL)
    assert (image.points == fair.points * flip).all()


def test_a_smooth_edge_and_a_deep_notch_stay() -> None:
    smooth = disk(0.0)
    assert smooth_boundary(smooth, 0.5 * WALL) is smooth
    notched = disk(3.0, 0.8)
    with pytest.raises(ShapeError):
        closed_wall(smooth_boundary(notched, 0.5 * WALL), 0.5 * WALL, 0.5 * WALL)


def test_a_drop_is_measured_from_a_crown_that_goes_on_straight() -> None:
    """Corners of a skin reach past the end of its crown: the slope of the edge there must not jump, or arcs get a dent."""
    stations = np.linspace(-40.0, 25.0, 45)
    crown = stations, 350.0 + 0.6 * stations - 0.004 * stations**2
    field = drop_field(np.array([-40.0, 0.0, 25.0]), np.array([15.0, 18.0, 16.0]), crown)
    for end in (crown[0][0], crown[0][-1]):
        stations = end + np.linspace(-1.5, 1.5, 121)
        points = point_at(np.full(121, 340.0), stations, np.full(121, 30.0))
        value, gradient = field(points, np.zeros_like(points))
        forward = point_at(1.0, stations + 90.0)
        slope = (gradient * forward).sum(axis=1)
        assert np.abs(np.diff(slope)).max() < 0.006
        assert np.abs(np.diff(value, 2)).max() < 1e-3
