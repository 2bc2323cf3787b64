# SPDX-License-Identifier: GPL-3.0-or-later
"""A job sheet filled from a scan."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...base.errors import JobError
from ..holes.thread_choice import thread_choice
from ..mount.mount_face import MountFace
from ..mount.mount_numbers import MountNumbers
from ..wheel.tire_section import NO_CROWN
from .alignment import Alignment
from .alignment_file import sigmas

ROWS = 25
"""Rows of the profile in the sheet."""


@dataclass(frozen=True, eq=False)
class FilledSheet:
    """data : the job sheet as decoded TOML; sigma : dotted key -> one standard deviation of what was filled in."""

    data: dict[str, Any]
    sigma: dict[str, float]


def job_from_alignment(alignment: Alignment, base: dict[str, Any]) -> FilledSheet:
    """The base sheet with tire and mount taken from the scan; all else stays as it is in base.

    base : decoded TOML of a job sheet, which need not hold what the scan tells
    tire.sigma becomes the largest doubt of radius and half width, including half the left-right difference, so that the
    budget carries it. The mount is filled only if the scan shows it, its bolts only if it shows holes, and the thread only if the
    holes are for no other; else base keeps its own, or none, so that it is asked for.
    Raises JobError if the scan's center plane is not determined, as then neither width nor profile are, or if the crown is
    not seen, as then the radius is that of a shoulder.
    """
    section, center = alignment.section, alignment.center
    if center.bands < 4:
        raise JobError("tire.profile", "only one side of the tire is scanned, scan both sides before filling the sheet from it")
    if not section.crown_seen:
        raise JobError("tire.measured_radius", NO_CROWN)
    data, doubts = deepcopy(base), sigmas(alignment)
    tire = data.setdefault("tire", {})
    tire["measured_radius"] = round(section.crown_radius, 3)
    tire["measured_width"] = round(section.section_width, 3)
    tire["profile"] = _rows(alignment)
    half_width = 0.5 * doubts["section_width_mm"]
    shape = float(np.hypot(max(doubts["crown_radius_mm"], half_width), np.nan_to_num(section.asymmetry)))
    tire["sigma"] = round(shape, 4)
    sigma = {
        "tire.measured_radius": doubts["crown_radius_mm"],
        "tire.measured_width": doubts["section_width_mm"],
        "tire.profile": shape,
    }
    if alignment.mount is not None and alignment.face is not None:
        sigma |= _fill_mount(alignment.mount, alignment.face, data.setdefault("mount", {}))
    return FilledSheet(data, sigma)


def _rows(alignment: Alignment) -> list[list[float]]:
    """The profile by about 25 rows evenly spread along its length; its own rows, as a row between them would be a guess."""
    profile = alignment.section.profile
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(profile, axis=0).T))])
    wanted = np.linspace(0.0, length[-1], ROWS)
    rows = np.unique(np.abs(length[:, None] - wanted).argmin(axis=0))
    return [[round(float(offset), 3), round(float(drop), 3)] for offset, drop in profile[rows]]


def _fill_mount(mount: MountNumbers, face: MountFace, sheet: dict[str, Any]) -> dict[str, float]:
    sheet.update(height=round(mount.height, 3), ahead=round(mount.ahead, 3), tilt=round(mount.tilt, 4))
    sigma = {f"mount.{name}": mount.sigma[name] for name in ("height", "ahead", "tilt")}
    if face.holes:
        sheet["bolts"] = mount.bolts.round(3).tolist()
        choice = thread_choice(face.pattern.sizes)
        if choice is not None and choice.thread is not None:
            sheet["thread"], sheet["fit"] = choice.thread, choice.fit
        sigma["mount.bolts"] = max(hole.center_sigma for hole in face.holes)
    return sigma
