# SPDX-License-Identifier: GPL-3.0-or-later
"""An alignment as the plain values of alignment.json."""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np

from ..data.scan_data import UNIT_MM
from ..holes.thread_choice import thread_choice
from .alignment import Alignment


def alignment_dict(alignment: Alignment) -> dict[str, Any]:
    """Values for JSON; what is not known is None.

    scan_to_wheel : scan coordinates in the scan's unit to wheel axes in mm. axis, center, symmetry.point : scan coordinates
    in the scan's unit. mount.thread : None where the scan leaves it open, then mount.ask says between which. All else in mm and degrees. crown_radius_mm : outer radius of the tire, axle to crown. sigma : one
    standard deviation each; of a position or direction in two dimensions, that in its worst direction.
    """
    scale, section = UNIT_MM[alignment.unit], alignment.section
    return {
        "unit": alignment.unit,
        "scan_to_wheel": alignment.scan_to_wheel.tolist(),
        "axis": {"point": (alignment.axis.point / scale).tolist(), "direction": alignment.frame.rotation[0].tolist()},
        "center": (alignment.axis.point / scale).tolist(),
        "profile": section.profile.round(4).tolist(),
        "crown_radius_mm": section.crown_radius,
        "section_width_mm": section.section_width,
        "tread": _tread(alignment),
        "mount": _mount(alignment),
        "symmetry": _symmetry(alignment, scale),
        "residual_rms_mm": section.residual_rms,
        "coverage_deg": section.coverage_deg,
        "confidence": alignment.tire.confidence,
        "run_out_radial_mm": _known(section.run_out_radial),
        "run_out_lateral_mm": _known(section.run_out_lateral),
        "asymmetry_mm": _known(section.asymmetry),
        "up": alignment.frame.up_basis,
        "sigma": sigmas(alignment),
        "warnings": list(alignment.warnings),
    }


def sigmas(alignment: Alignment) -> dict[str, float]:
    """One standard deviation of each measured value, keys ending in the unit."""
    fit, center = alignment.tire.fit, alignment.center
    lever = np.hstack([np.eye(2), center.along * np.eye(2)])
    shift = lever @ fit.covariance[:4, :4] @ lever.T
    found = {
        "axis_point_mm": float(np.sqrt(np.linalg.eigvalsh(shift)[-1])),
        "axis_direction_deg": float(np.degrees(np.sqrt(np.linalg.eigvalsh(fit.covariance[2:4, 2:4])[-1]))),
        "center_along_axis_mm": center.sigma,
        "crown_radius_mm": alignment.section.crown_radius_sigma,
        "section_width_mm": alignment.section.section_width_sigma,
    }
    if alignment.mount is not None:
        units = {"height": "mm", "ahead": "mm", "tilt": "deg", "roll": "deg", "lateral": "mm"}
        found |= {f"mount_{name}_{units[name]}": value for name, value in alignment.mount.sigma.items()}
    return found


def _tread(alignment: Alignment) -> dict[str, float] | None:
    """Of a tire with grooves: the profile is then the section over the tops of the knobs."""
    tread = alignment.tread
    if tread is None:
        return None
    return {"depth_mm": tread.depth, "land_share": tread.land, "mean_under_tops_mm": tread.under}


def _mount(alignment: Alignment) -> dict[str, Any] | None:
    mount, face = alignment.mount, alignment.face
    if mount is None or face is None:
        return None
    holes: list[dict[str, Any]] = [{} for _ in face.holes]
    for size in face.pattern.sizes:
        own = thread_choice((size,))
        for i in size.members:
            hole = face.holes[i]
            holes[i] = {"diameter_mm": hole.diameter, "sigma_mm": hole.diameter_sigma, "center_sigma_mm": hole.center_sigma}
            holes[i] |= {"thread": own.thread, "fit": own.fit} if own is not None else {}
    choice = thread_choice(face.pattern.sizes)
    return {
        "height": mount.height,
        "ahead": mount.ahead,
        "tilt": mount.tilt,
        "bolts": mount.bolts.tolist(),
        "roll": mount.roll,
        "lateral": mount.lateral,
        "holes": holes,
        "layout": face.pattern.layout,
        "spans_mm": list(face.pattern.spans),
        "thread": None if choice is None else choice.thread,
        "fit": None if choice is None else choice.fit,
        "thread_candidates": [] if choice is None else list(choice.candidates),
        "ask": None if choice is None else choice.ask,
        "face_rms_mm": face.plane.rms_mm,
    }


def _symmetry(alignment: Alignment, scale: float) -> dict[str, Any] | None:
    symmetry = alignment.symmetry
    if symmetry is None:
        return None
    return {
        "point": (symmetry.point / scale).tolist(),
        "normal": symmetry.normal.tolist(),
        "offset_mm": symmetry.offset_mm,
        "angle_deg": symmetry.angle_deg,
        "share": symmetry.share,
        "rms_mm": symmetry.rms_mm,
    }


def _known(value: float) -> float | None:
    return value if isfinite(value) else None
