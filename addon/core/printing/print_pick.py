# SPDX-License-Identifier: GPL-3.0-or-later
"""The ways to print that the builder has picked."""

from __future__ import annotations

from collections.abc import Sequence

from ..base.errors import JobError
from ..job.job_sheet import Lay
from .print_plan import PrintPlan


def picked_plans(plans: Sequence[PrintPlan], lays: Sequence[Lay]) -> tuple[PrintPlan, ...]:
    """The plans, each with the way picked that the sheet asks for; with the best one where it asks for none.

    Raises JobError if a lay is of no piece, or of a way that its piece has no more.
    """
    pieces = [plan.piece for plan in plans]
    for i, lay in enumerate(lays):
        if lay.name not in pieces:
            raise JobError(f"lay[{i}].name", f'"{lay.name}" is no piece of this fender; allowed is {", ".join(pieces)}')
    up = {lay.name: lay.up for lay in lays}
    return tuple(plan.pick(plan.nearest(up[plan.piece])) if plan.piece in up else plan for plan in plans)
