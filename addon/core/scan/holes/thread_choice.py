# SPDX-License-Identifier: GPL-3.0-or-later
"""Which thread bolt holes are for, where their size leaves one only; else which may be meant."""

from __future__ import annotations

from dataclasses import dataclass

from ...tables.fasteners import CLEARANCE_HOLE, hole_tolerance
from .hole_pattern import HoleSize

SURE_SIGMAS = 2.576
"""Standard deviations of a measured diameter that are allowed for: 99 % of a normal law."""
EDGE_MM = 0.1
"""Allowed besides, for paint, burrs and the way a scanner rounds edges; our judgment."""


@dataclass(frozen=True)
class ThreadChoice:
    """thread, fit : of ISO 273, None if more than one thread, or none, has such a hole
    candidates : the threads to choose from, the nearest first; ask : the sentence that asks, None if thread is known
    """

    thread: str | None
    fit: str | None
    candidates: tuple[str, ...]
    ask: str | None


def thread_choice(sizes: tuple[HoleSize, ...]) -> ThreadChoice | None:
    """The thread that all sizes of hole are for; None without holes.

    A thread stands if its clearance hole, from its nominal to its largest size, lies within the allowed doubt of the measured
    one, and is filled in only if no other does.
    """
    if not sizes:
        return None
    each = [possible_threads(size.diameter, size.sigma) for size in sizes]
    first = each[0]
    if all(len(one) == 1 and one[0] == first[0] for one in each):
        return ThreadChoice(first[0], _nearest_fit(first[0], sizes[0].diameter), tuple(first), None)
    named = [found or list(_neighbors(size.diameter)) for found, size in zip(each, sizes, strict=True)]
    candidates = tuple(dict.fromkeys(thread for names in named for thread in names))
    return ThreadChoice(None, None, candidates, _question(sizes, each, named))


def possible_threads(diameter: float, sigma: float) -> list[str]:
    """Threads that a hole of this diameter may be for, the nearest first. diameter, sigma : mm"""
    allowed = SURE_SIGMAS * sigma + EDGE_MM
    off = {thread: _off(diameter, thread) for thread in CLEARANCE_HOLE}
    return sorted((thread for thread in off if off[thread] <= allowed), key=lambda thread: _from_nominal(diameter, thread))


def _off(diameter: float, thread: str) -> float:
    """How far a diameter lies outside of the holes of a thread, mm."""
    fits = CLEARANCE_HOLE[thread].items()
    return min(max(hole - diameter, diameter - hole - hole_tolerance(hole, fit), 0.0) for fit, hole in fits)


def _from_nominal(diameter: float, thread: str) -> float:
    return min(abs(diameter - hole) for hole in CLEARANCE_HOLE[thread].values())


def _nearest_fit(thread: str, diameter: float) -> str:
    fits = CLEARANCE_HOLE[thread]
    return min(fits, key=lambda fit: abs(fits[fit] - diameter))


def _neighbors(diameter: float) -> tuple[str, ...]:
    """The threads below and above a diameter that is between all holes."""
    below = [thread for thread, fits in CLEARANCE_HOLE.items() if fits["coarse"] < diameter]
    above = [thread for thread, fits in CLEARANCE_HOLE.items() if fits["fine"] > diameter]
    return (*below[-1:], *above[:1])


def _question(sizes: tuple[HoleSize, ...], each: list[list[str]], named: list[list[str]]) -> str:
    parts = []
    for size, found, names in zip(sizes, each, named, strict=True):
        count = f"{len(size.members)} of " if len(sizes) > 1 else ""
        what = f"{count}{size.diameter:.1f} \u00b1 {size.sigma:.1g} mm"
        fits = " or ".join(names)
        parts.append(f"{what}, which {'may be for' if found else 'is the hole of no thread, nearest are'} {fits}")
    return f"The thread is not filled in: the bolt holes measure {'; '.join(parts)}. Look at the bolt and state the thread."
