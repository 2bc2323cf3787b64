# SPDX-License-Identifier: GPL-3.0-or-later
"""The brackets that further seats bear on, as bodies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.tolerances import TOLERANCES
from ..job.job_sheet import Job
from ..seat.pad_prism import PadPrism
from ..seat.placed_seat import called, stated_seats


@dataclass(frozen=True, eq=False)
class Bracket:
    """What a further seat bears on: its name, and its body as far as it is known: the seat's outline, as thick as stated."""

    name: str
    body: PadPrism


def further_brackets(job: Job) -> tuple[Bracket, ...]:
    """Of each further seat that states its bracket's thickness, in the order of the sheet, mirror images behind their seats.

    Raises JobError where the hardware of such a seat does not go together.
    """
    found = []
    for placed in stated_seats(job):
        if placed.bracket is None:
            continue
        seat = placed.seat
        axes = np.stack([seat.x, seat.forward, seat.bracket_side])
        # facets at the seat's edge may stand over its plane by the chord error
        foot = seat.origin + TOLERANCES.chord * seat.bracket_side
        body = PadPrism(foot, axes, seat.bolts, seat.pad, placed.bracket)
        found.append(Bracket(f"bracket of {called(placed)}", body))
    return tuple(found)
