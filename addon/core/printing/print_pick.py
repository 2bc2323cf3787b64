# SPDX-License-Identifier: GPL-3.0-or-later
"""The ways to print that the builder has picked."""

from __future__ import annotations

from collections.abc import Sequence

from ..base.errors import JobError
from ..job.job_sheet import Lay
from .print_plan import PrintPlan


def picked_plans(plans: Sequence[PrintPlan], lays: Sequence[Lay]) -> tuple[PrintPlan, ...]:
    """The plans, each with the way picked that the sheet asks for; with the best one where it asks for none.

    A right piece for which nothing is asked lies as the mirror image of its left one, so that both come out alike.

    Raises JobError if a lay is of no piece, or of a way that its piece has no more.
    """
    pieces = [plan.piece for plan in plans]
    for i, lay in enumerate(lays):
        if lay.name not in pieces:
            raise JobError(f"lay[{i}].name", f'"{lay.name}" is no piece of this fender; allowed is {", ".join(pieces)}')
    up = {lay.name: lay.up for lay in lays}
    picked = {plan.piece: plan.pick(plan.nearest(up[plan.piece])) if plan.piece in up else plan for plan in plans}
    for name, plan in picked.items():
        other = name.replace("left", "right")
        if other != name and other in picked and other not in up:
            picked[other] = _mirrored(plan, picked[other])
    return tuple(picked.values())


def _mirrored(left: PrintPlan, right: PrintPlan) -> PrintPlan:
    """The plan of a right piece with the mirror image of the left one's way picked, if it has one."""
    try:
        return right.pick(right.nearest(left.option.fit.rotation[2] * [-1.0, 1.0, 1.0]))
    except JobError:
        return right
