# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether plies, resin and what is mixed go together."""

from __future__ import annotations

import math

from ..base.errors import JobError
from ..job.job_sheet import Job, Laminate
from ..tables.laminates import GEL_COAT_MOST_MM, PLIES, RESINS
from ..tables.mold_rules import FAIL_DRAFT_DEG
from .mold_shape import part_edge_width


def check_laminate(job: Job) -> None:
    """Raise JobError(key, sentence) at the first choice of the laminate that cannot be right; nothing without a laminate."""
    if job.laminate is None:
        return
    _check_fibers(job.laminate)
    _check_hardener(job.laminate)
    _check_gel_coat(job.laminate)
    _check_pull(job.laminate)
    _check_printed_mold(job.laminate)
    _check_edge(job, job.laminate)


def _check_fibers(laminate: Laminate) -> None:
    resin = RESINS[laminate.resin]
    for i, name in enumerate(laminate.plies):
        ply = PLIES[name]
        if ply.fiber not in resin.fibers:
            fitting = ", ".join(f'"{other}"' for other, each in RESINS.items() if ply.fiber in each.fibers)
            raise JobError(
                f"laminate.plies[{i}]",
                f'"{name}" does not bond to {laminate.resin}, which the sizing of {ply.fiber} is not made for (from memory); '
                f"allowed with it is {fitting}",
            )
        if ply.bound and not resin.styrene:
            raise JobError(
                f"laminate.plies[{i}]",
                f'"{name}" stays stiff and dry in {laminate.resin}: its binder needs styrene to dissolve (from memory); choose woven or '
                "biaxial plies, or polyester or vinyl ester",
            )


def _check_hardener(laminate: Laminate) -> None:
    resin = RESINS[laminate.resin]
    least, _, most = resin.hardener
    if laminate.hardener is not None and not least <= laminate.hardener <= most:
        why = "more makes it brittle and hot, less leaves it soft" if resin.styrene else "it is stated on the can, by mass"
        raise JobError(
            "laminate.hardener",
            f"{laminate.hardener:g} percent is no amount of {resin.hardener_name} for {laminate.resin}; allowed is {least:g} to "
            f"{most:g} percent of the resin's mass ({why})",
        )


def _check_gel_coat(laminate: Laminate) -> None:
    coat = laminate.gel_coat
    if coat is None or coat == 0.0:
        return
    if coat > GEL_COAT_MOST_MM:
        raise JobError(
            "laminate.gel_coat",
            f"{coat:g} mm is too thick, it cracks (from memory); allowed is up to {GEL_COAT_MOST_MM:g} mm, usual are 0.4 to 0.6",
        )
    if laminate.route == "buck":
        raise JobError(
            "laminate.gel_coat",
            f"{coat:g} mm cannot be: over a buck the outside is laid last and is filled and painted; leave it out, or choose the mold route",
        )


def _check_pull(laminate: Laminate) -> None:
    pull = laminate.pull
    if pull is None:
        return
    length = math.hypot(*pull)
    shown = f"[{', '.join(f'{value:g}' for value in pull)}]"
    if length == 0.0:
        raise JobError("laminate.pull", f"{shown} has no direction; it may not be all zero")
    if laminate.pieces == 2 and pull[0] < math.sin(math.radians(FAIL_DRAFT_DEG)) * length:
        raise JobError(
            "laminate.pull",
            f"{shown} runs along the split of the mold, or across to the other piece; the left piece must leave the center plane by "
            f"{FAIL_DRAFT_DEG:g} deg or more, so that x is over 0, or leave laminate.pull out",
        )


def _check_printed_mold(laminate: Laminate) -> None:
    if laminate.printed_mold == "no":
        return
    if laminate.route == "buck":
        raise JobError("laminate.printed_mold", '"yes" goes with the mold route only; over a buck there is no mold')
    if laminate.pieces == 2:
        raise JobError(
            "laminate.printed_mold",
            '"yes" prints a mold in one piece only; take laminate.pieces = 1, or lay the mold of two pieces up over the plug',
        )


def _check_edge(job: Job, laminate: Laminate) -> None:
    if laminate.edge == "trim":
        return
    if job.openings:
        raise JobError("laminate.edge", f'"{laminate.edge}" does not go with openings, whose edges are cut; allowed is "trim"')
    if laminate.route == "mold" and part_edge_width(laminate) + _PAST_EDGE_MM > laminate.flange:
        raise JobError(
            "laminate.flange",
            f"{laminate.flange:g} mm is too narrow for a return of {laminate.edge_size:g} mm; allowed is "
            f"{part_edge_width(laminate) + _PAST_EDGE_MM:g} mm or more",
        )


_PAST_EDGE_MM = 20.0
"""Of the flange past the part's own edge, for bolts and keys; our choice."""
