# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan in any pose to wheel axes, with all that was measured on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..arrays import Array
from ..errors import JobError
from .alignment_warnings import alignment_warnings
from .axis import Axis
from .center_plane import CenterPlane, center_plane
from .find_tire import SAMPLED_POINTS, TireFound, find_tire
from .hints import Hints
from .mount_face import MountFace, mount_face
from .mount_numbers import MountNumbers, mount_numbers
from .scan_data import UNIT_MM, Scan, checked_scan, is_dense, points_on_triangles, random_rows
from .surface_samples import SurfaceSamples, surface_samples
from .symmetry_plane import SymmetryPlane, symmetry_plane
from .tire_section import TireSection, tire_section
from .wheel_frame import Clues, WheelFrame, wheel_frame

SEED = 20
"""The same scan gives the same result."""


@dataclass(frozen=True, eq=False)
class Alignment:
    """All in mm and scan coordinates times the unit, but for frame, which leads to wheel axes.

    axis : the axle, its point the wheel's center in the tire's center plane
    mount, face : None without the hints "mount" or "holes"; symmetry : None if the rest of the scan has no plane of symmetry
    """

    unit: str
    axis: Axis
    tire: TireFound
    center: CenterPlane
    section: TireSection
    frame: WheelFrame
    face: MountFace | None
    mount: MountNumbers | None
    symmetry: SymmetryPlane | None
    warnings: tuple[str, ...]

    @property
    def scan_to_wheel(self) -> Array:
        """(4, 4) from scan coordinates in the scan's unit to wheel axes in mm."""
        return self.frame.matrix(UNIT_MM[self.unit])


def align_scan(scan: Scan, hints: Hints | None = None, unit: str = "mm") -> Alignment:
    """Find the tire, fit its axle, center plane and section, and measure the mount.

    Raises JobError with one sentence if the scan cannot be used, nothing turns about an axis, or a hint holds nothing.
    """
    scan, hints = checked_scan(scan), hints or Hints()
    scale = UNIT_MM[unit]
    rng = np.random.default_rng(SEED)
    points = _surface(scan, rng) * scale
    marked = _marked(points, hints, scale)
    samples = surface_samples(random_rows(points, SAMPLED_POINTS, rng))
    tire = find_tire(points, samples, marked.get("tire"), rng)
    center = center_plane(tire.fit)
    section = tire_section(points, tire.fit, center)
    axis = tire.fit.axis.at(center.along)
    rest = _rest(samples, axis, section)
    face = mount_face(scan, scale, hints, axis.point, rng) if {"mount", "holes"} & set(hints.balls) else None
    frame = wheel_frame(axis, _clues(hints, marked, axis, face, rest, len(samples.points), section.crown_radius))
    mount, refusal = _mount(face, frame, tire, center, section)
    symmetry = symmetry_plane(rest, axis, section.crown_radius)
    alignment = Alignment(unit, axis, tire, center, section, frame, face, mount, symmetry, ())
    warnings = alignment_warnings(alignment, scan, hints)
    return replace(alignment, warnings=(*frame.assumed, *refusal, *warnings))


def _surface(scan: Scan, rng: np.random.Generator) -> Array:
    if len(scan.triangles) and not is_dense(scan):
        return points_on_triangles(scan.points, scan.triangles, 2 * SAMPLED_POINTS, rng)[0]
    return np.asarray(scan.points, dtype=np.float64)


LEAST_MARKED = {"tire": 200, "mount": 1, "holes": 1, "chassis": 1}
"""Points that the balls of a hint must hold. A mount of large faces holds few, and is sampled anew when it is measured."""


def _marked(points: Array, hints: Hints, scale: float) -> dict[str, Array]:
    """The points (m, 3) in the balls of each hint."""
    found = {}
    for region in hints.balls:
        found[region] = points[hints.inside(region, points / scale)]
        if len(found[region]) < LEAST_MARKED[region]:
            raise JobError(
                f"hints.{region}", f"its balls hold {len(found[region])} points of the scan, at least {LEAST_MARKED[region]} are needed"
            )
    return found


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
