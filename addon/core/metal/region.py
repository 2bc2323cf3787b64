# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat regions in the plane, bounded by rings, by the cross sections of the bundled geometry library."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from manifold3d import CrossSection, FillRule, OpType

from ..base.arrays import Array

_DISC_SIDES = 48


def region(rings: Sequence[Array]) -> CrossSection:
    """The region inside of rings (n, 2) float, mm; what rings of opposite turns both go round is left out."""
    return CrossSection([np.ascontiguousarray(ring, dtype=np.float64) for ring in rings], FillRule.NonZero)


def common(regions: Sequence[CrossSection]) -> CrossSection:
    """What all regions share."""
    return CrossSection.batch_boolean(list(regions), OpType.Intersect)


def without(whole: CrossSection, cuts: Sequence[CrossSection]) -> CrossSection:
    """A region without the cuts."""
    return CrossSection.batch_boolean([whole, *cuts], OpType.Subtract) if cuts else whole


def strip(begin: Array, end: Array, width: float) -> CrossSection:
    """A straight strip of a width about the line from begin to end, (2,) float, mm."""
    way = (end - begin) / np.hypot(*(end - begin))
    side = 0.5 * width * np.array([-way[1], way[0]])
    return region([np.array([begin - side, end - side, end + side, begin + side])])


def discs(centers: Array, radii: Array) -> CrossSection:
    """The union of discs. centers : (n, 2) float; radii : (n,) float, mm; their polygons hold the discs."""
    angle = np.linspace(0.0, 2.0 * np.pi, _DISC_SIDES, endpoint=False)
    unit = np.column_stack([np.cos(angle), np.sin(angle)]) / np.cos(np.pi / _DISC_SIDES)
    polygons = [CrossSection([center + radius * unit]) for center, radius in zip(centers, radii, strict=True)]
    return CrossSection.batch_boolean(polygons, OpType.Add) if polygons else CrossSection()


def rings_of(of: CrossSection, chord: float) -> tuple[Array, ...]:
    """The rings (n, 2) float of a region, outer ones counterclockwise, the largest first; corners off a line by under chord are left out."""
    rings = [np.asarray(ring, dtype=np.float64) for ring in of.simplify(chord).to_polygons()]
    return tuple(sorted(rings, key=lambda ring: -abs(ring_area(ring))))


def ring_area(ring: Array) -> float:
    """Area inside of a ring (n, 2), mm2, positive if it is counterclockwise; the shoelace formula."""
    after = np.roll(ring, -1, axis=0)
    return float(0.5 * (ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum())
