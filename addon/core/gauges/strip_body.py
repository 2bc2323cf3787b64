# SPDX-License-Identifier: GPL-3.0-or-later
"""The strip itself: the wall's section moved straight along the wheel's tangent, with its label and notches."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.wheel_axes import point_at
from ..drawing.lettering import UP
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.gauge_rules import NOTCH_RADIUS_MM, STRUT_WIDTH_MM
from .label import Row, fitted, line_width, raised, rows_on
from .prisms import Place, band_prism, cylinder, frame_place
from .strip_points import at_offset, reading_offsets

_SIDE_MARGIN_MM = 0.4
_END_MARGIN_MM = 3.0


class StripBody:
    """Pieces of one strip in wheel axes; whole, or the half on the rider's left, which reaches past the arm.

    inner, outer : (n, 2) float, mm, faces of the wall from +x to -x. width : along the wheel, mm
    """

    def __init__(self, job: Job, inner: Array, outer: Array, station_deg: float, width: float, half: bool) -> None:
        self.job, self.station, self.width, self.half = job, station_deg, width, half
        self._points = {name: x for name, x in reading_offsets(job, inner).items() if not (half and x < 0.0)}
        out, ahead = point_at(1.0, station_deg), point_at(1.0, station_deg + 90.0)
        self._place: Place = frame_place(np.zeros(3), [1.0, 0.0, 0.0], out, ahead)
        keep = inner[:, 0] > -0.5 * STRUT_WIDTH_MM if half else np.ones(len(inner), bool)
        self.inner, self.outer = inner[keep], outer[keep]
        self._along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.outer, axis=0).T))])
        tangent = np.gradient(self.outer, self._along, axis=0)
        # From +x to -x over the crown, outward is the tangent (dx, drho) turned to (drho, -dx).
        self._normal = np.column_stack([tangent[:, 1], -tangent[:, 0]]) / np.hypot(*tangent.T)[:, None]

    @property
    def points(self) -> tuple[str, ...]:
        """Names of the reading points that are on it."""
        return tuple(self._points)

    def solid(self) -> TriangleMesh:
        return band_prism(self.inner, self.outer, -0.5 * self.width, 0.5 * self.width, self._place)

    def label(self, blocked: float, date: str, what: str) -> tuple[tuple[TriangleMesh, ...], tuple[str, ...]]:
        """Bars of the label on the outer face, and cautions. blocked : half width about the center to leave free, mm."""
        line = line_width(self.job)
        lines, cautions = fitted(self._rows(blocked, line), (f"ST{self.station:+.0f} {UP}", date), self.job.name, line, what)
        return raised(lines, (self._over_outer,), line), cautions

    def notches(self) -> tuple[TriangleMesh, ...]:
        """Cutters through the wall at the front edge, one at each reading point."""
        return tuple(self._notch(x) for x in self._points.values())

    def _rows(self, blocked: float, line: float) -> tuple[Row, ...]:
        x = self.outer[:, 0]
        low = -0.5 * self.width + _SIDE_MARGIN_MM
        height = self.width - NOTCH_RADIUS_MM - 3.0 * _SIDE_MARGIN_MM
        end = float(np.interp(-blocked, -x, self._along)) - _SIDE_MARGIN_MM
        rows = rows_on(0, (_END_MARGIN_MM, low), end - _END_MARGIN_MM, height, line)
        if self.half:
            return rows
        begin = float(np.interp(blocked, -x, self._along)) + _SIDE_MARGIN_MM
        return rows + rows_on(0, (begin, low), float(self._along[-1]) - _END_MARGIN_MM - begin, height, line)

    def _over_outer(self, local: Array) -> Array:
        """Local (along the section, along the wheel, out of the outer face) to wheel axes."""
        at = np.column_stack([np.interp(local[:, 0], self._along, column) for column in (*self.outer.T, *self._normal.T)])
        return self._place(np.column_stack([at[:, :2] + local[:, 2:] * at[:, 2:], local[:, 1]]))

    def _notch(self, x: float) -> TriangleMesh:
        inner, outer = at_offset(self.inner, x), at_offset(self.outer, x)
        thick = float(np.hypot(*(outer - inner)))
        through = (outer - inner) / thick
        middle = np.array([*(0.5 * (inner + outer)), 0.5 * self.width])
        zero = self._place(np.zeros((1, 3)))
        side, ahead, out = self._place(np.array([[-through[1], through[0], 0.0], [0.0, 0.0, 1.0], [*through, 0.0]])) - zero
        place = frame_place(self._place(middle[None])[0], side, ahead, out)
        return cylinder([0.0, 0.0], NOTCH_RADIUS_MM, -0.5 * thick - 2.0, 0.5 * thick + 2.0, place, sides=24)
