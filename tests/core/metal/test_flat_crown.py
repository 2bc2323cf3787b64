# SPDX-License-Identifier: GPL-3.0-or-later
"""The crown laid flat, against closed forms of torus and cylinder."""

import numpy as np
import pytest

from addon.core.base.wheel_axes import point_at
from addon.core.metal.flat_crown import crown_pattern, flat_crown
from addon.core.metal.region import ring_area


def _torus(ring: float, tube: float) -> tuple[np.ndarray, np.ndarray]:
    angle, station = np.linspace(-1.3, 1.3, 201), np.linspace(-60.0, 50.0, 201)
    s, a = np.meshgrid(station, angle, indexing="ij")
    return _grid(point_at(ring + tube * np.cos(a), s, tube * np.sin(a)))


def _grid(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    rows, columns = points.shape[:2]
    i = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    quads = np.column_stack([i, i + columns, i + columns + 1, i + 1])
    return points.reshape(-1, 3), quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)


@pytest.mark.parametrize("strain", [0.002, 0.005, 0.01])
def test_width_on_a_torus_is_that_of_its_circles(strain: float) -> None:
    """Circles along, an arc u off the crown, are (a + r cos(u / r)) / (a + r) as long as the crown."""
    ring, tube = 240.0, 70.0
    found = flat_crown(*_torus(ring, tube), strain)
    widest = tube * np.arccos(1.0 - strain * (ring + tube) / tube)
    assert found.half_width.min() == pytest.approx(widest, abs=1.1) and found.half_width.max() == pytest.approx(widest, abs=1.1)
    assert found.strain <= strain
    assert found.along[-1] == pytest.approx((ring + tube) * np.radians(110.0), abs=13.0)


def test_cylinder_about_the_axle_lies_flat_whole() -> None:
    x, station = np.meshgrid(np.linspace(-40.0, 40.0, 81), np.linspace(-40.0, 40.0, 201))
    points, triangles = _grid(point_at(300.0, station, x))
    found = flat_crown(points, triangles, 1e-3)
    assert found.half_width.min() >= 39.0 and found.strain < 3e-4


def test_pattern_is_as_wide_as_the_strip_and_counterclockwise() -> None:
    strip = flat_crown(*_torus(240.0, 70.0), 0.005)
    part = crown_pattern(strip)
    trapezoids = (strip.half_width[1:] + strip.half_width[:-1]) * np.diff(strip.along)
    assert ring_area(part.rings[0]) == pytest.approx(trapezoids.sum())
    assert f"{100.0 * strip.strain:.2f} %" in part.notes[0]


def test_face_beside_the_center_plane_is_refused() -> None:
    points, triangles = _torus(240.0, 70.0)
    with pytest.raises(ValueError, match="center plane"):
        flat_crown(points + [200.0, 0.0, 0.0], triangles, 0.01)
