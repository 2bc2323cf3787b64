# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan in any pose to wheel axes, with all that was measured on the way."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import numpy as np

from ...base.arrays import Array
from ...base.errors import JobError
from ..data.hints import Hints, checked_hints
from ..data.marked_points import marked_points, mount_points, with_hole_balls
from ..data.scan_data import UNIT_MM, Scan, checked_scan, is_dense, points_on_triangles, random_rows
from ..data.surface_samples import SurfaceSamples, surface_samples
from ..mount.find_mount import find_mount
from ..mount.mount_face import MountFace, mount_face
from ..mount.mount_numbers import MountNumbers, mount_numbers
from ..wheel.axis import Axis
from ..wheel.center_plane import CenterPlane, center_plane
from ..wheel.find_tire import SAMPLED_POINTS, TireFound, find_tire
from ..wheel.symmetry_plane import symmetry_plane
from ..wheel.tire_section import TireSection, tire_section
from ..wheel.tread import tread_of
from ..wheel.wheel_frame import Clues, WheelFrame, wheel_frame
from .alignment import Alignment
from .alignment_warnings import alignment_warnings

SEED = 20
"""The same scan gives the same result."""
STEPS = 5


def align_scan(scan: Scan, hints: Hints | None = None, unit: str = "mm") -> Alignment:
    """Find the tire, fit its axle, center plane and section, and measure the mount, marked or found.

    Raises JobError with one sentence if the scan cannot be used, nothing turns about an axis, or a hint holds nothing.
    """
    steps = alignment_steps(scan, hints, unit)
    while True:
        try:
            next(steps)
        except StopIteration as end:
            found: Alignment = end.value
            return found


def alignment_steps(scan: Scan, hints: Hints | None = None, unit: str = "mm") -> Generator[str, None, Alignment]:
    """The work of `align_scan` in STEPS steps: says what is done next, and returns the alignment."""
    scan, scale = checked_scan(scan), UNIT_MM[unit]
    hints = with_hole_balls(scan, checked_hints(hints or Hints(), len(scan.points)), scale)
    rng = np.random.default_rng(SEED)
    yield "Spreading points"
    surface = _surface(scan, rng)
    marked = {region: marked_points(scan, surface, hints, region, rng) * scale for region in hints.regions}
    points = surface * scale
    samples = surface_samples(random_rows(points, SAMPLED_POINTS, rng))
    yield "Looking for the tire"
    tire = find_tire(points, samples, marked.get("tire"), rng)
    yield "Measuring the tire"
    tread = tread_of(points, tire.fit, rng)
    if tread is not None:
        tire = replace(tire, fit=tread.fit)
    center = center_plane(tire.fit)
    section = tire_section(points if tread is None else tread.points, tire.fit, center, tread is not None)
    axis = tire.fit.axis.at(center.along)
    rest = _rest(samples, axis, section)
    yield "Measuring the mount"
    face, found = _mount_face(scan, hints, scale, points, axis, section, rng)
    frame = wheel_frame(axis, _clues(hints, marked, axis, face, rest, len(samples.points), section.crown_radius))
    mount, refusal = _mount(face, frame, tire, center, section)
    yield "Looking for symmetry"
    symmetry = symmetry_plane(rest, axis, section.crown_radius)
    alignment = Alignment(unit, axis, tire, center, section, tread, frame, face, found, mount, symmetry, ())
    warnings = alignment_warnings(alignment, scan)
    return replace(alignment, warnings=(*frame.assumed, *refusal, *warnings))


def _surface(scan: Scan, rng: np.random.Generator) -> Array:
    if len(scan.triangles) and not is_dense(scan):
        return points_on_triangles(scan.points, scan.triangles, 2 * SAMPLED_POINTS, rng)[0]
    return np.asarray(scan.points, dtype=np.float64)


def _mount_face(
    scan: Scan, hints: Hints, scale: float, points: Array, axis: Axis, section: TireSection, rng: np.random.Generator
) -> tuple[MountFace | None, bool]:
    """The marked face, else one that is found, and whether it was found."""
    if hints.regions & {"mount", "holes"}:
        holes = hints.balls["holes"] * scale if "holes" in hints.balls else None
        around = None if len(scan.triangles) else points  # the corners of a mesh crowd at its edges
        return mount_face(mount_points(scan, hints, rng) * scale, holes, axis.point, rng, around), False
    own = find_mount(points, axis, section.crown_radius, section.section_width, rng)
    return (None, False) if own is None else (mount_face(own, None, axis.point, rng, points), True)


def _rest(samples: SurfaceSamples, axis: Axis, section: TireSection) -> SurfaceSamples:
    """Samples that do not belong to the wheel."""
    rho, along = axis.meridian(samples.points)
    other = (rho > 1.03 * section.crown_radius) | (np.abs(along) > 0.6 * section.section_width)
    return SurfaceSamples(samples.points[other], samples.normals[other], samples.cell)


def _clues(
    hints: Hints, marked: dict[str, Array], axis: Axis, face: MountFace | None, rest: SurfaceSamples, count: int, radius: float
) -> Clues:
    away = rest.points.mean(axis=0) - axis.point if len(rest.points) > 0.05 * count else None
    return Clues(
        up=hints.directions.get("up"),
        forward=hints.directions.get("forward"),
        mount=None if face is None else face.center - axis.point,
        chassis=marked["chassis"].mean(axis=0) - axis.point if "chassis" in marked else None,
        rest=away if away is not None and np.linalg.norm(np.cross(away, axis.direction)) > 0.2 * radius else None,
        chassis_ahead=hints.position == "rear",
    )


def _mount(
    face: MountFace | None, frame: WheelFrame, tire: TireFound, center: CenterPlane, section: TireSection
) -> tuple[MountNumbers | None, tuple[str, ...]]:
    if face is None:
        return None, ()
    try:
        return mount_numbers(face, frame, tire.fit, center, section.crown_radius), ()
    except JobError as error:
        return None, (f"The mount is left out: {error}.",)
