# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire's center plane, from the symmetry of its section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...base.arrays import Array
from ...fits.directions import across
from ...fits.robust import biweight
from .meridian_spline import MeridianSpline
from .revolution_fit import FIRST_CUT, RevolutionFit

BAND = np.radians(5.0)
"""Bands of the section whose left-right difference counts as one error."""
FEW_BANDS = 12
"""Fewer bands than this (30 degrees on both sides of the crown) show one side of the tire and not the other."""


@dataclass(frozen=True, eq=False)
class CenterPlane:
    """Place of the center plane along the axis from the fit's axis point, and its standard deviation, mm.

    bands : how many bands of 5 degrees of the section have a counterpart; sided : True if they are few, so that
        the plane rests on the crown alone
    """

    along: float
    sigma: float
    bands: int

    @property
    def sided(self) -> bool:
        return self.bands < FEW_BANDS


def center_plane(fit: RevolutionFit) -> CenterPlane:
    """The plane across the axis about which the section is its own mirror image, in the robust least-squares sense.

    The standard deviation takes each band's left-right difference as one error, so that an unequal section shows in it, and
    widens it when few bands decide (their number in effect is 1 / sum of squared shares of the information). A section without counterpart (one side, no crown) gets the crown's end and a quarter of the tire's radius as sigma.
    """
    rho, along = fit.axis.meridian(fit.points)
    _, out, up = fit.section.distance(rho, along)
    reach = 0.25 * fit.crown_radius
    tries = np.linspace(-reach, reach, 201)
    some = slice(None, None, max(len(rho) // 4000, 1))
    cut = FIRST_CUT * fit.crown_radius
    scores = [_mirrored(fit.section, rho[some], along[some], out[some], up[some], place, cut)[1].sum() for place in tries]
    place = float(tries[int(np.argmax(scores))])
    for narrow in np.geomspace(cut, max(fit.cut, 5e-4 * fit.crown_radius), 12):
        errors, weights, slopes = _mirrored(fit.section, rho, along, out, up, place, narrow)
        information = float((weights * slopes**2).sum())
        if information <= 1e-9 * len(rho):
            return CenterPlane(_highest(fit.section), reach, 0)
        place -= float(np.clip((weights * slopes * errors).sum() / information, -narrow, narrow))
    _, angle = fit.section.polar(rho, along - place)
    band = np.floor(np.abs(angle) / BAND).astype(np.int64)
    sums = np.bincount(band, weights=weights * slopes * errors)
    shares = np.bincount(band, weights=weights * slopes**2) / information
    bands = int(np.count_nonzero(np.bincount(band, weights=weights) > 0.04 * len(rho) / (int(band.max()) + 1)))
    telling = 1.0 / float((shares**2).sum())
    if bands < 2 or telling < 1.2:
        return CenterPlane(_highest(fit.section), reach, 2 * bands)
    variance = float((sums**2).sum()) / information**2 * telling / (telling - 1.0)
    if 2 * bands < FEW_BANDS:  # then the highest point is as good a guess, and their difference is doubt
        variance += (place - _highest(fit.section)) ** 2
    return CenterPlane(place, float(np.sqrt(variance + _lean_variance(fit))), 2 * bands)


def _lean_variance(fit: RevolutionFit) -> float:
    """What the doubt of the axis direction adds: on an arc, a tilt moves the points along the axis."""
    lever = ((fit.points - fit.axis.point) @ across(fit.axis.direction).T).mean(axis=0)
    return float(lever @ fit.covariance[2:4, 2:4] @ lever)


def _mirrored(
    section: MeridianSpline, rho: Array, along: Array, out: Array, up: Array, place: float, cut: float
) -> tuple[Array, Array, Array]:
    """Distance (n,) of the mirrored points from the section, weights (n,), and how the distance grows with the place.

    Points whose mirror image falls off the section's ends, or onto a side that faces the other way, weigh nothing.
    """
    image = 2.0 * place - along
    _, angle = section.polar(rho, image)
    errors, image_out, image_up = section.distance(rho, image)
    inside = (angle > section.start) & (angle < section.end) & (out * image_out - up * image_up > 0.7)
    return errors, biweight(errors, cut) * inside, 2.0 * image_up


def _highest(section: MeridianSpline) -> float:
    angle = np.linspace(section.start, section.end, 400)
    rho, along = section.curve(angle)
    return float(along[int(np.argmax(rho))])
