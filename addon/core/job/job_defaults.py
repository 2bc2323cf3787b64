# SPDX-License-Identifier: GPL-3.0-or-later
"""Defaults of the job sheet that depend on its other keys."""

from __future__ import annotations

import math
from typing import Any

from ..tables.edge_distance import edge_distance
from .tire_code import parse_tire_code
from .tire_size import tire_size

_STATIONS = {"front": (35.0, -80.0), "rear": (75.0, -20.0)}
"""Front and rear station by the position of the wheel; a rear hugger hangs on the swingarm ahead of the wheel."""

_OVERHANG_MM = 10.0
"""Guard past the tire on each side: thumb rule of 10 mm a side (vehiclestire.com [S2]); no rule asks for less than the
section width (ADR 42/05 17.1.1 [S])."""

_SIDE_DROP_SHARE = 0.35
"""Side drop over half width: lets the section follow an ordinary crown; our choice."""


def fill_defaults(read: dict[str, dict[str, Any]]) -> None:
    """Fill in keys that are not stated. read : section -> key -> value, changed in place; required keys are there.

    Raises JobError if the size code is unknown.
    """
    mount, cage = read["mount"], read["cage"]
    longest = max((way for way, _ in mount.get("slots") or ()), default=0.0)
    mount.setdefault("pad", edge_distance(mount["thread"], bool(read["laminate"])) + 0.5 * max(longest, 0.0))
    front, rear = _STATIONS[read["wheel"].get("position", "front")]
    cage.setdefault("front", front)
    cage.setdefault("rear", rear)
    tire = read["tire"]
    size = tire_size(parse_tire_code(tire["size"]), tire.get("use", "normal"))
    widest = max(size.largest_new_width_mm, tire.get("measured_width", 0.0))
    outermost = max((abs(x) for x, _ in mount["bolts"]), default=0.0) + mount["pad"]
    cage.setdefault("half_width", float(math.ceil(max(widest / 2 + _OVERHANG_MM, outermost))))
    cage.setdefault("side_drop", float(round(_SIDE_DROP_SHARE * cage["half_width"])))
