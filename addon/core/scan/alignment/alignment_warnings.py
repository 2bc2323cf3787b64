# SPDX-License-Identifier: GPL-3.0-or-later
"""What the builder should know before trusting an alignment, a sentence each."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...base.row_vectors import dot_rows
from ..data.scan_data import UNIT_MM, Scan
from ..data.unit_check import unit_warning
from ..holes.thread_choice import thread_choice
from ..wheel.tire_section import NO_CROWN
from .alignment import Alignment

SURE = 0.5
SHORT_ARC_DEG = 60.0
NOTED_MM, NOTED_DEG = 1.0, 1.0
"""Differences from what the job sheet assumes (asymmetry, roll, offsets) that are worth a sentence."""
TOLD_UNDER_MM = 0.3
"""How far a mean section must lie under the tops to be told."""
OUT_OF_TRUE_MM = 3.0
"""Run-out from which a wheel is looked at again; common practice, no source."""


def alignment_warnings(alignment: Alignment, scan: Scan) -> list[str]:
    """All sentences that apply to an alignment of this scan."""
    found: list[str] = []
    for check in (_tire, _tread, _center, _mount, _symmetry):
        found.extend(check(alignment))
    found.extend(_sides(alignment, scan))
    if alignment.face is None:
        found.append(
            "No mount: no face with bolt holes was found outside of the tire. Mark the mount to have its height, tilt and bolts."
        )
    return found


def _tire(alignment: Alignment) -> Iterator[str]:
    section, fit = alignment.section, alignment.tire.fit
    unit = unit_warning(section.crown_radius, alignment.unit)
    if unit is not None:
        yield unit
    if alignment.tire.confidence < SURE:
        yield (
            f"The tire was found with a confidence of {alignment.tire.confidence:.2f} only: another part of the scan turns "
            "about another axis nearly as well. Mark the tire."
        )
    if section.coverage_deg < SHORT_ARC_DEG:
        yield (
            f"Only {section.coverage_deg:.0f} degrees of the tire are covered: the axle is known to "
            f"{np.sqrt(np.linalg.eigvalsh(fit.covariance[:2, :2])[-1]):.2g} mm (one standard deviation), scan more of it."
        )
    for value, what in ((section.run_out_radial, "Radial"), (section.run_out_lateral, "Lateral")):
        if value > OUT_OF_TRUE_MM:
            yield f"{what} run-out of {value:.1f} mm: the wheel is out of true, or the scan drifted. Turn the wheel and look."


def _tread(alignment: Alignment) -> Iterator[str]:
    tread = alignment.tread
    if tread is not None and tread.under > TOLD_UNDER_MM:
        yield (
            f"The tread has grooves {tread.depth:.1f} mm deep and {100.0 * tread.land:.0f} % land: the section is the one over the "
            f"tops of the knobs. The mean of all points lies {tread.under:.1f} mm lower at the crown and would be too small."
        )


def _center(alignment: Alignment) -> Iterator[str]:
    center = alignment.center
    if center.bands < 4:
        yield (
            "Only one side of the tire is scanned, so the center plane along the axle is not determined (one standard "
            f"deviation: {center.sigma:.0f} mm); neither is the section width. Scan the other side too."
        )
    elif not alignment.section.crown_seen:
        yield f"No crown: {NO_CROWN}."
    elif center.sided:
        yield (
            f"Mostly one side of the tire is scanned: the center plane rests on the crown alone, one standard deviation "
            f"{center.sigma:.2g} mm. Scan the other side too."
        )
    if alignment.section.asymmetry > NOTED_MM:
        yield f"Left and right of the tire's section differ by {2.0 * alignment.section.asymmetry:.1f} mm: worn, or badly scanned."


def _mount(alignment: Alignment) -> Iterator[str]:
    mount, face = alignment.mount, alignment.face
    if mount is None or face is None:
        return
    if alignment.face_found:
        yield (
            f"The mount was not marked: a flat face with {len(face.holes)} bolt holes {mount.height:.1f} mm from the tire is taken for "
            "it. If that is another face, mark the mount."
        )
    choice = thread_choice(face.pattern.sizes)
    if choice is not None and choice.ask is not None:
        yield choice.ask
    if not face.holes:
        yield "The mount face shows no round hole: ahead is that of the face's middle, and the bolts are missing."
    if abs(mount.roll) > NOTED_DEG:
        yield f"The mount face leans {abs(mount.roll):.1f} degrees to the {'left' if mount.roll > 0 else 'right'}; the job sheet takes it as level."
    if abs(mount.lateral) > NOTED_MM:
        yield (
            f"The middle of the holes lies {abs(mount.lateral):.1f} mm to the {'left' if mount.lateral > 0 else 'right'} of the "
            "tire's center plane; the bolts are given from the center plane."
        )
    if face.second_face_mm is not None:
        yield f"The marked mount has two parallel faces {face.second_face_mm:.1f} mm apart; the one toward the tire is used."


def _symmetry(alignment: Alignment) -> Iterator[str]:
    symmetry = alignment.symmetry
    if symmetry is None:
        yield (
            "No plane of symmetry of the front end was found near the tire's center plane, so nothing checks that plane: too little "
            "of both sides is scanned, or the wheel is steered or leans in the fork by several degrees."
        )
    if symmetry is not None and abs(symmetry.offset_mm) > max(NOTED_MM, 3.0 * alignment.center.sigma):
        yield (
            f"The plane of symmetry of the front end lies {abs(symmetry.offset_mm):.1f} mm beside the tire's center plane at the "
            "axle: the wheel is spaced off center, or one of the two is wrong."
        )
    if symmetry is not None and symmetry.angle_deg > NOTED_DEG:
        yield f"The plane of symmetry of the front end is turned {symmetry.angle_deg:.1f} degrees against the wheel: the wheel is steered or leans in the fork."


def _sides(alignment: Alignment, scan: Scan) -> Iterator[str]:
    outward = outward_share(alignment, scan)
    if outward is not None and outward < 0.3:
        yield (
            "The surface of the tire faces inward: the scan is mirrored (left-handed coordinates) or its faces are turned over. "
            "If text on the tire reads backward, mirror the scan first."
        )
    else:
        yield (
            "A mirrored scan cannot be told from a true one by its shape: see that text on the tire reads forward, and that "
            "brake or chain lie on their own side."
        )


def outward_share(alignment: Alignment, scan: Scan) -> float | None:
    """Share of the tire's faces (else of the stored normals) that look away from the tire; None if there are neither."""
    if len(scan.triangles):
        some = scan.points[scan.triangles[:: max(len(scan.triangles) // 50_000, 1)]]
        middle = some.mean(axis=1)
        normals = np.cross(some[:, 1] - some[:, 0], some[:, 2] - some[:, 0])
    elif scan.normals is not None:
        step = max(len(scan.points) // 50_000, 1)
        middle, normals = scan.points[::step], scan.normals[::step]
    else:
        return None
    fit = alignment.tire.fit
    middle = middle * UNIT_MM[alignment.unit]
    rho, along = fit.axis.meridian(middle)
    distance, out, up = fit.section.distance(rho, along)
    _, angle = fit.section.polar(rho, along)
    # faces are chords of the curve: allow for the sag of coarse ones
    near = (np.abs(distance) < 0.01 * fit.crown_radius) & (angle > fit.section.start) & (angle < fit.section.end)
    if np.count_nonzero(near) < 10:
        return None
    away = middle[near] - fit.axis.point
    radial = away - (away @ fit.axis.direction)[:, None] * fit.axis.direction
    outward = (out[near] / rho[near])[:, None] * radial + up[near, None] * fit.axis.direction
    return float(np.mean(dot_rows(outward, normals[near]) > 0.0))
