# SPDX-License-Identifier: GPL-3.0-or-later
"""What an alignment measured, as rows of a label and a value with its standard deviation."""

from __future__ import annotations

from math import isfinite

from ..holes.thread_choice import thread_choice
from ..mount.mount_face import MountFace
from .alignment import Alignment
from .alignment_file import sigmas

Row = tuple[str, str]


def alignment_rows(alignment: Alignment) -> tuple[Row, ...]:
    """Rows in the order of the work: tire, mount, checks. What was not measured says so."""
    section, doubt = alignment.section, sigmas(alignment)
    rows = [
        ("Tire, how sure", f"{100.0 * alignment.tire.confidence:.0f} %"),
        ("Covered", f"{section.coverage_deg:.0f} deg"),
        ("Axle known to", f"{doubt['axis_point_mm']:.2g} mm, {doubt['axis_direction_deg']:.2g} deg"),
        ("Crown radius", _value(section.crown_radius, doubt["crown_radius_mm"], "mm")),
        ("Section width", _value(section.section_width, doubt["section_width_mm"], "mm")),
        ("Run-out radial, lateral", f"{_known(section.run_out_radial)}, {_known(section.run_out_lateral)}"),
        ("Left against right", _known(section.asymmetry)),
        ("Residual", f"{section.residual_rms:.2g} mm"),
        *_tread(alignment),
        *_mount(alignment),
    ]
    if alignment.symmetry is not None:
        rows.append(
            ("Front end beside wheel", f"{alignment.symmetry.offset_mm:+z.1f} mm, {alignment.symmetry.angle_deg:.1f} deg")
        )
    rows.append(("Up rests on", alignment.frame.up_basis))
    return tuple(rows)


def _tread(alignment: Alignment) -> list[Row]:
    tread = alignment.tread
    if tread is None:
        return []
    return [
        ("Tread", f"{tread.depth:.1f} mm deep, {100.0 * tread.land:.0f} % land"),
        ("Mean of all points", f"{tread.under:.1f} mm under the tops at the crown"),
    ]


def _mount(alignment: Alignment) -> list[Row]:
    mount, face = alignment.mount, alignment.face
    if mount is None or face is None:
        return [("Mount", "not measured")]
    rows = [
        ("Mount height", _value(mount.height, mount.sigma["height"], "mm")),
        ("Mount ahead", _value(mount.ahead, mount.sigma["ahead"], "mm")),
        ("Mount tilt", _value(mount.tilt, mount.sigma["tilt"], "deg")),
    ]
    if not face.holes:
        return [*rows, ("Bolt holes", "none seen")]
    return [*rows, *_holes(face)]


def _holes(face: MountFace) -> list[Row]:
    pattern, choice = face.pattern, thread_choice(face.pattern.sizes)
    sizes = [f"{len(size.members)} of {_value(size.diameter, size.sigma, 'mm')}" for size in pattern.sizes]
    rows = [("Bolt holes", ", ".join(sizes))]
    if pattern.layout is not None:
        rows.append(("Hole pattern", f"{pattern.layout}, {' by '.join(f'{span:.1f}' for span in pattern.spans)} mm"))
    if choice is not None and choice.thread is not None:
        rows.append(("Thread", f"{choice.thread}, {choice.fit} fit"))
    elif choice is not None:
        rows.append(("Thread", f"ask: {' or '.join(choice.candidates)}"))
    return rows


def _value(value: float, sigma: float, unit: str) -> str:
    digits = 2 if sigma < 0.5 else 1
    return f"{value:.{digits}f} \u00b1 {sigma:.2g} {unit}"


def _known(value: float) -> str:
    return f"{value:.2f} mm" if isfinite(value) else "not seen"
