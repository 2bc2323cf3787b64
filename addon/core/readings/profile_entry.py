# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire's profile by contour gauge, by calipers at drops, or traced from a photograph: rows (offset, drop) and doubts."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array
from ..base.errors import JobError

_KEY = "tire.profile"
_ROWS = 15
_GRID = 81
_LEAST_WIDTH = 20.0
_ASYMMETRY = 1.5
_STEEP_CHANGE = 3.0


@dataclass(frozen=True, eq=False)
class ProfileEntry:
    """rows : (n, 2) float, mm, (offset, drop) from (0, 0) outward, as the sheet's tire.profile.

    asymmetry : largest difference of drop between left and right, mm; None if only one side was read
    warnings : sentences to read before the rows are used
    """

    rows: Array
    asymmetry: float | None
    warnings: tuple[str, ...]


def profile_from_widths(widths: ArrayLike) -> ProfileEntry:
    """From calipers set across the tire at drops below the crown.

    widths : (n, 2) float, mm, rows (drop, width), n >= 2, any order; drops over 0, each once
    Raises JobError if a value cannot be; a width that shrinks with the drop is kept out (the fender cannot see it) and named.
    """
    table = _plane_points(widths, 2, "rows (drop, width)")
    table = table[np.argsort(table[:, 0])]
    if table[0, 0] <= 0.0 or table[:, 1].min() <= 0.0:
        raise JobError(_KEY, f"drop {table[0, 0]:g} mm, width {table[:, 1].min():g} mm; both must be more than 0")
    if (np.diff(table[:, 0]) <= 0.0).any():
        raise JobError(_KEY, "two widths are given for the same drop; average them first")
    rows = np.vstack([[0.0, 0.0], np.column_stack([0.5 * table[:, 1], table[:, 0]])])
    return _entry(rows, None)


def profile_from_contour(points: ArrayLike, *, center: tuple[float, float] | None = None, turned: bool = False) -> ProfileEntry:
    """From points of a contour gauge, or of its outline drawn on paper, over both sides of the crown.

    points : (n, 2) float, mm, (across, up), n >= 7, any order; up is away from the axle
    center : the crown's mark (the middle of the tread) if it was marked, in the same axes; else it is found as the axis
        about which both sides are most alike, which trusts that across was held parallel to the axle
    turned : True if the outline may be turned on the paper; then the turn is found, and center must be given (turn and
        shift of a round crown cannot be told apart)
    Left and right are averaged; half of their difference is reported, not hidden.
    Raises JobError if the points do not reach both sides or lie too close together.
    """
    outline = _plane_points(points, 7, "points (across, up) of a contour")
    if turned and center is None:
        raise JobError(_KEY, "a contour that may be turned on the paper needs the mark of the crown's center")
    outline = outline[np.argsort(outline[:, 0], kind="stable")]
    if np.ptp(outline[:, 0]) < _LEAST_WIDTH:
        raise JobError(_KEY, f"the contour is {np.ptp(outline[:, 0]):.1f} mm wide; at least {_LEAST_WIDTH:g} mm are needed")
    middle = np.array([_most_alike_center(outline), 0.0]) if center is None else np.array(center, dtype=np.float64)
    local = outline - middle
    if turned:
        local = _leveled(local)
    return _folded(local)


def profile_from_photograph(
    pixels: ArrayLike,
    known_ends: ArrayLike,
    known_mm: float,
    *,
    center: tuple[float, float] | None = None,
    distance_mm: float | None = None,
    depth_mm: float = 0.0,
) -> ProfileEntry:
    """From a curve traced over a photograph taken along the tire's tangent, scaled by a length that is in the picture.

    pixels : (n, 2) float, traced points, (right, down) in pixels. known_ends : (2, 2) float, ends of the known length
    known_mm : its length. center : mark of the crown's center in pixels; None: found by symmetry
    distance_mm : camera to the traced edge, depth_mm : how much farther away the known length lies (negative: nearer);
        with both the scale is corrected for the perspective, by (distance) / (distance + depth)
    Raises JobError as profile_from_contour, or if the known length is shorter than 50 pixels or not positive.
    """
    trace, ends = _plane_points(pixels, 7, "traced points"), _plane_points(known_ends, 2, "ends of the known length")
    length = hypot(*(ends[1] - ends[0]).tolist())
    if not known_mm > 0.0 or length < 50.0:
        raise JobError(
            _KEY, f"known length of {known_mm:g} mm over {length:.0f} pixels; needed are more than 0 mm over 50 pixels or more"
        )
    if distance_mm is not None and distance_mm + min(depth_mm, 0.0) <= 0.0:
        raise JobError(_KEY, f"camera distance {distance_mm:g} mm with depth {depth_mm:g} mm; the camera must stand before both")
    scale = known_mm / length * (1.0 if distance_mm is None else distance_mm / (distance_mm + depth_mm))
    to_mm = np.array([scale, -scale])
    mark = None if center is None else (center[0] * scale, -center[1] * scale)
    entry = profile_from_contour(trace * to_mm, center=mark)
    doubt = f"one pixel is {scale:.2f} mm"
    if distance_mm is None:
        doubt += (
            "; the known length must lie as far from the camera as the edge that was traced, else the scale is off by the ratio"
        )
    return ProfileEntry(entry.rows, entry.asymmetry, (*entry.warnings, f"traced from a photograph: {doubt}."))


def _plane_points(values: ArrayLike, least: int, what: str) -> Array:
    points = np.array(values, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < least or not np.isfinite(points).all():
        raise JobError(_KEY, f"shape {points.shape}; expected at least {least} finite {what}")
    return points


def _most_alike_center(outline: Array) -> float:
    """The across about which the outline and its mirror image differ least, refined by golden section."""
    across, up = outline.T
    reach = 0.35 * np.ptp(across)
    middle = 0.5 * (across[0] + across[-1])
    crown = float(across[np.argmax(up)])

    def unlike(center: float) -> float:
        half = min(center - across[0], across[-1] - center)
        offsets = np.linspace(0.0, half, _GRID)
        return float(np.mean((np.interp(center + offsets, across, up) - np.interp(center - offsets, across, up)) ** 2))

    tried = np.linspace(middle - reach, middle + reach, 141)
    # A flat crown makes several centers alike: of those within a hair of the best, the nearest to the highest point.
    values = np.array([unlike(center) for center in tried])
    best = float(tried[np.lexsort((np.abs(tried - crown), np.round(values, 6)))[0]])
    step = float(tried[1] - tried[0])
    low, high = best - step, best + step
    ratio = 0.5 * (5.0**0.5 - 1.0)
    while high - low > 1e-4:
        a, b = high - ratio * (high - low), low + ratio * (high - low)
        low, high = (low, b) if unlike(a) < unlike(b) else (a, high)
    return 0.5 * (low + high)


def _leveled(local: Array) -> Array:
    """Turn about the center mark so that left and right are alike; secant steps on the mean slope of their difference."""

    def slope(angle: float) -> float:
        turned = _turn(local, angle)
        half = min(-turned[0, 0], turned[-1, 0])
        offsets = np.linspace(0.0, half, _GRID)
        odd = np.interp(offsets, *turned.T) - np.interp(-offsets, *turned.T)
        return float(odd @ offsets / (offsets @ offsets))

    first, second = 0.0, 0.01
    value, after = slope(first), slope(second)
    for _ in range(50):
        if abs(second - first) < 1e-9 or after == value:
            break
        first, second, value = second, second - after * (second - first) / (after - value), after
        after = slope(second)
    if abs(second) > 0.8:
        raise JobError(_KEY, f"the contour is turned by {np.degrees(second):.0f} degrees; draw it at most 45 degrees from level")
    return _turn(local, second)


def _turn(local: Array, angle: float) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    turned: Array = local @ np.array([[c, s], [-s, c]])
    return np.ascontiguousarray(turned[np.argsort(turned[:, 0], kind="stable")])


def _folded(local: Array) -> ProfileEntry:
    left, right = -local[0, 0], local[-1, 0]
    half = min(left, right)
    if half < 0.5 * _LEAST_WIDTH:
        raise JobError(_KEY, f"the contour reaches {left:.1f} mm left and {right:.1f} mm right of the center; take both sides")
    offsets = np.linspace(0.0, half, _GRID)
    on_right, on_left = np.interp(offsets, *local.T), np.interp(-offsets, *local.T)
    crown = on_right[0]
    drops = crown - 0.5 * (on_right + on_left)
    asymmetry = float(np.abs(on_right - on_left).max())
    length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(offsets), np.diff(drops)))])
    at = np.interp(np.linspace(0.0, length[-1], _ROWS), length, offsets)
    rows = np.column_stack([at, np.interp(at, offsets, drops)])
    rows[0] = 0.0
    return _entry(rows, asymmetry)


def _entry(rows: Array, asymmetry: float | None) -> ProfileEntry:
    warnings = []
    widest = np.maximum.accumulate(rows[:, 0])
    kept = np.concatenate([[True], rows[1:, 0] > widest[:-1]])
    if not kept.all():
        where = ", ".join(f"{drop:.1f}" for drop in rows[~kept, 1])
        warnings.append(
            f"the tire is no wider at the drop {where} mm than higher up; that part is hidden under the widest place."
        )
    rows = rows[kept]
    if rows[:, 1].min() < -0.5:
        warnings.append(f"the profile rises {-rows[:, 1].min():.1f} mm above the crown: a hollow center, or the mark is off.")
    rows = np.column_stack([rows[:, 0], np.maximum(rows[:, 1], 0.0)])
    fall = np.diff(rows[:, 1])
    if (fall < -0.3).any():
        at = rows[1:][fall < -0.3][0]
        warnings.append(f"the profile climbs again at the offset {at[0]:.1f} mm; a tire does not: read there again.")
    hollow = _hollow(rows)
    if hollow > _STEEP_CHANGE:
        warnings.append(f"the profile is hollow by {hollow:.1f} mm; the convex envelope bridges it, but read there again.")
    if asymmetry is not None and asymmetry > _ASYMMETRY:
        warnings.append(
            f"left and right differ by up to {asymmetry:.1f} mm; the gauge was not level, or the tire is worn to one side."
        )
    # The sheet wants a drop that never shrinks; ripples of the reading are no shape.
    rows = np.column_stack([rows[:, 0], np.maximum.accumulate(rows[:, 1])])
    return ProfileEntry(rows, asymmetry, tuple(warnings))


def _hollow(rows: Array) -> float:
    """Largest depth of a row under the chord of its neighbors, mm."""
    if len(rows) < 3:
        return 0.0
    before, here, after = rows[:-2], rows[1:-1], rows[2:]
    chord = before[:, 1] + (after[:, 1] - before[:, 1]) * (here[:, 0] - before[:, 0]) / (after[:, 0] - before[:, 0])
    return float(max((here[:, 1] - chord).max(), 0.0))
