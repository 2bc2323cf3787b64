# SPDX-License-Identifier: GPL-3.0-or-later
"""Defaults of the job sheet that depend on its other keys."""

from __future__ import annotations

from typing import Any

from .tables.edge_distance import edge_distance

_STATIONS = {"front": (35.0, -80.0), "rear": (75.0, -20.0)}
"""Front and rear station by the position of the wheel; a rear hugger hangs on the swingarm ahead of the wheel."""


def fill_defaults(read: dict[str, dict[str, Any]]) -> None:
    """Fill in keys that are not stated. read : section -> key -> value, changed in place; required keys are there."""
    mount, cage = read["mount"], read["cage"]
    mount.setdefault("pad", edge_distance(mount["thread"], bool(read["laminate"])))
    front, rear = _STATIONS[read["wheel"].get("position", "front")]
    cage.setdefault("front", front)
    cage.setdefault("rear", rear)
    cage.setdefault("half_width", 75.0)
    cage.setdefault("side_drop", 25.0)
