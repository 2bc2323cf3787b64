# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand readings held against each other: contradictions named with their size and the likelier culprit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import cos, hypot, isfinite, pi, radians, sin, sqrt

from ..base.errors import JobError
from ..tables.hand_readings import CROWN_WEAR_MM, LOADED_DROP_MM, TAPE_THICKNESS_MM, WIDTH_BELOW_NOMINAL


@dataclass(frozen=True)
class Taken:
    """A reading and one standard deviation of it, mm or degrees."""

    value: float
    sigma: float


@dataclass(frozen=True)
class SizeLimits:
    """What the size code allows a new tire to measure, mm. basis : where the limits come from."""

    smallest_radius: float
    largest_radius: float
    nominal_width: float
    largest_width: float
    basis: str


@dataclass(frozen=True, kw_only=True)
class HandReadings:
    """What was read by hand; None where it was not. Lengths in mm, angles in degrees.

    radius : axle to crown, free. circumference : tape round the crown. ground_radius : axle to ground, laden
    width : calipers across the widest place. profile_half_width : largest offset of the profile
    height, ahead, tilt : as in the job sheet. axle_to_face : axle to the mount plane, square to the face
    height_ahead : (a, height) tape to the tire, square to the face, at a mm ahead of the pattern center
    """

    radius: Taken | None = None
    circumference: Taken | None = None
    ground_radius: Taken | None = None
    width: Taken | None = None
    profile_half_width: Taken | None = None
    height: Taken | None = None
    ahead: Taken | None = None
    tilt: Taken | None = None
    axle_to_face: Taken | None = None
    height_ahead: tuple[float, Taken] | None = None
    size: SizeLimits | None = None


@dataclass(frozen=True)
class CrossCheck:
    """One comparison. difference must lie in expected, both in mm; culprit is None if it does.

    readings : the ones that took part, the least trusted first, before others have their say
    """

    name: str
    readings: tuple[str, ...]
    difference: float
    expected: tuple[float, float]
    basis: str
    culprit: str | None = None
    sentence: str = ""

    @property
    def agrees(self) -> bool:
        return self.expected[0] <= self.difference <= self.expected[1]

    @property
    def size(self) -> float:
        """How far the difference lies outside of what is expected, mm; 0 if it agrees."""
        return max(self.expected[0] - self.difference, self.difference - self.expected[1], 0.0)


def cross_checks(readings: HandReadings, *, coverage: float = 2.0) -> tuple[CrossCheck, ...]:
    """Every comparison that the readings allow, contradictions first, the largest of them first.

    coverage : how many standard deviations of the difference are still expected
    The culprit of a contradiction is the reading with the most contradictions less agreements; where that does not decide,
    the one that is harder to take (stated in the check).
    Raises JobError(name, ...) if a reading is not finite or its sigma is negative.
    """
    for name, taken in vars(readings).items():
        pair = taken[1] if isinstance(taken, tuple) else taken
        if isinstance(pair, Taken) and not (isfinite(pair.value) and isfinite(pair.sigma) and pair.sigma >= 0.0):
            raise JobError(name, f"reading {pair.value:g} with sigma {pair.sigma:g}; both must be finite, sigma 0 or more")
    made = [check for make in _CHECKS if (check := make(readings, coverage)) is not None]
    return tuple(sorted((_judged(check, made) for check in made), key=lambda check: -check.size))


def height_over_tire(radius: float, height: float, ahead: float, tilt_deg: float, along: float) -> float:
    """Tape from the mount face to the tire, square to the face, at a place along mm ahead of the pattern center.

    height, ahead, tilt_deg : as in the job sheet. Returns mm; NaN where the tape passes the tire.
    The pattern center is at height cos tilt + sqrt(radius^2 - (ahead + height sin tilt)^2) above the axle (job sheet).
    """
    over, forward = _center_in_face_axes(radius, height, ahead, tilt_deg)
    inside = radius**2 - (forward + along) ** 2
    return over - sqrt(inside) if inside >= 0.0 else float("nan")


def _center_in_face_axes(radius: float, height: float, ahead: float, tilt_deg: float) -> tuple[float, float]:
    """Pattern center from the axle: (square to the face, along it), mm."""
    c, s = cos(radians(tilt_deg)), sin(radians(tilt_deg))
    inside = radius**2 - (ahead + height * s) ** 2
    if inside < 0.0:
        raise JobError("mount.ahead", f"{ahead:g} mm lies past the tire of radius {radius:g} mm: the tape would miss it")
    z = height * c + sqrt(inside)
    return z * c - ahead * s, z * s + ahead * c


def _circumference(readings: HandReadings, k: float) -> CrossCheck | None:
    if readings.radius is None or readings.circumference is None:
        return None
    around = readings.circumference.value / (2.0 * pi) - 0.5 * TAPE_THICKNESS_MM
    spread = k * hypot(readings.radius.sigma, readings.circumference.sigma / (2.0 * pi))
    return CrossCheck(
        "radius by tape against radius from circumference",
        ("radius", "circumference"),
        readings.radius.value - around,
        (-spread, spread),
        "a slip of the tape round the tire counts only by 1 / (2 pi); sighting past the hub to the axle is harder",
    )


def _ground(readings: HandReadings, k: float) -> CrossCheck | None:
    free, names = _free_radius(readings)
    if free is None or readings.ground_radius is None:
        return None
    spread = k * hypot(free.sigma, readings.ground_radius.sigma)
    return CrossCheck(
        "free radius against axle to ground, laden",
        ("ground_radius", *names),
        free.value - readings.ground_radius.value,
        (LOADED_DROP_MM[0] - spread, LOADED_DROP_MM[1] + spread),
        "a laden tire sits lower; by how much is from memory, no source",
    )


def _free_radius(readings: HandReadings) -> tuple[Taken | None, tuple[str, ...]]:
    if readings.circumference is not None:
        around = readings.circumference
        return Taken(around.value / (2.0 * pi) - 0.5 * TAPE_THICKNESS_MM, around.sigma / (2.0 * pi)), ("circumference",)
    return readings.radius, ("radius",)


def _radius_by_size(name: str) -> Callable[[HandReadings, float], CrossCheck | None]:
    def check(readings: HandReadings, k: float) -> CrossCheck | None:
        only = replace(readings, circumference=None if name == "radius" else readings.circumference)
        free, names = _free_radius(only)
        if free is None or readings.size is None or names != (name,):
            return None
        size, spread = readings.size, k * free.sigma
        return CrossCheck(
            f"{name} against the size code",
            (name, "size"),
            free.value - size.smallest_radius,
            (-spread - CROWN_WEAR_MM, size.largest_radius - size.smallest_radius + spread),
            f"smallest to largest new tire, {size.basis}; less a worn crown, from memory",
        )

    return check


def _width_by_size(readings: HandReadings, k: float) -> CrossCheck | None:
    if readings.width is None or readings.size is None:
        return None
    size, spread = readings.size, k * readings.width.sigma
    return CrossCheck(
        "width by calipers against the size code",
        ("width", "size"),
        readings.width.value - size.nominal_width,
        (-WIDTH_BELOW_NOMINAL * size.nominal_width - spread, size.largest_width - size.nominal_width + spread),
        f"nominal to largest new section, {size.basis}; how much narrower it may be is from memory",
    )


def _width_by_profile(readings: HandReadings, k: float) -> CrossCheck | None:
    if readings.width is None or readings.profile_half_width is None:
        return None
    spread = k * hypot(readings.width.sigma, 2.0 * readings.profile_half_width.sigma)
    # A profile may end before the widest place: then it is narrower, and no contradiction below half of the width.
    return CrossCheck(
        "twice the profile's largest offset against the width by calipers",
        ("profile_half_width", "width"),
        2.0 * readings.profile_half_width.value - readings.width.value,
        (-0.5 * readings.width.value, spread),
        "no place of the profile is wider than the calipers found; it may end before the widest place",
    )


def _face_over_axle(readings: HandReadings, k: float) -> CrossCheck | None:
    free, names = _free_radius(readings)
    if free is None or readings.height is None or readings.axle_to_face is None:
        return None
    ahead, tilt = readings.ahead or Taken(0.0, 0.0), readings.tilt or Taken(0.0, 0.0)
    over, forward = _center_in_face_axes(free.value, readings.height.value, ahead.value, tilt.value)
    # over = height + sqrt(radius^2 - forward^2): its slope with radius and with the place along the face.
    root = over - readings.height.value
    slip = forward / root * hypot(ahead.sigma, root * radians(tilt.sigma))
    spread = k * hypot(readings.height.sigma, free.value / root * free.sigma, slip, readings.axle_to_face.sigma)
    return CrossCheck(
        "mount height plus tire against axle to mount face",
        ("axle_to_face", "height", *names, "tilt", "ahead"),
        over - readings.axle_to_face.value,
        (-spread, spread),
        "the long tape past the hub is harder to hold square than the short one to the tire",
    )


def _tilt_by_heights(readings: HandReadings, k: float) -> CrossCheck | None:
    free, _ = _free_radius(readings)
    if free is None or readings.height is None or readings.height_ahead is None or readings.tilt is None:
        return None
    along, second = readings.height_ahead
    ahead = readings.ahead or Taken(0.0, 0.0)

    def predicted(radius: float, height: float, forward: float, tilt: float) -> float:
        return height_over_tire(radius, height, forward, tilt, along)

    at = (free.value, readings.height.value, ahead.value, readings.tilt.value)
    sigmas = (free.sigma, readings.height.sigma, ahead.sigma, readings.tilt.sigma)
    middle = predicted(*at)
    if not isfinite(middle):
        raise JobError("height_ahead", f"{along:g} mm ahead of the pattern center lies past the tire: take it nearer")
    parts = [predicted(*(v + (i == j) * 1e-4 for j, v in enumerate(at))) - middle for i in range(4)]
    spread = k * hypot(second.sigma, *(part / 1e-4 * sigma for part, sigma in zip(parts, sigmas, strict=True)))
    return CrossCheck(
        f"height read {along:g} mm ahead of the pattern center against the one that tilt and ahead give",
        ("tilt", "ahead", "height_ahead"),
        second.value - middle,
        (-spread, spread),
        "two heights over a known circle give the tilt; a level on a short face is the weaker reading",
    )


_CHECKS: tuple[Callable[[HandReadings, float], CrossCheck | None], ...] = (
    _circumference,
    _ground,
    _radius_by_size("radius"),
    _radius_by_size("circumference"),
    _width_by_size,
    _width_by_profile,
    _face_over_axle,
    _tilt_by_heights,
)


def _judged(check: CrossCheck, checks: Sequence[CrossCheck]) -> CrossCheck:
    low, high = check.expected
    found = f"{check.name}: difference {check.difference:+.1f} mm, expected {low:+.1f} to {high:+.1f} mm"
    if check.agrees:
        return replace(check, sentence=f"{found}; they agree.")
    culprit = max(check.readings, key=lambda name: (_blame(name, checks), -check.readings.index(name)))
    return replace(
        check,
        culprit=culprit,
        sentence=f"{found}; they contradict each other by {check.size:.1f} mm. "
        f"Likelier wrong: {_SPOKEN[culprit]} ({check.basis}).",
    )


def _blame(name: str, checks: Sequence[CrossCheck]) -> int:
    """Checks with this reading that fail, less those that agree."""
    return sum(-1 if check.agrees else 1 for check in checks if name in check.readings)


_SPOKEN = {
    "radius": "the radius by tape",
    "circumference": "the circumference",
    "ground_radius": "axle to ground",
    "width": "the width by calipers",
    "profile_half_width": "the profile",
    "height": "the mount height",
    "ahead": "the distance ahead",
    "tilt": "the tilt",
    "axle_to_face": "axle to mount face",
    "height_ahead": "the second height",
    "size": "the size code (another tire than the sheet says)",
}
