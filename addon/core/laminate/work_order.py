# SPDX-License-Identifier: GPL-3.0-or-later
"""The order of work of a laminate, in sentences for the workshop."""

from __future__ import annotations

from ..job.job_sheet import Laminate
from ..plies.schedule import Schedule
from ..tables.laminates import GEL_COAT_CATALYST, RESINS
from ..tables.mold_rules import LAY_ON_MM, MOLD_LAYERS, RELEASE


def work_order(laminate: Laminate, schedule: Schedule, material: str) -> tuple[str, ...]:
    """Steps from the print to the trimmed part. material : of the print

    Times hold for about 18 C and are from memory: the can comes first.
    """
    return (
        *_print_steps(laminate, material),
        *_mold_steps(laminate, schedule),
        *_ply_steps(laminate, schedule),
        *_last_steps(laminate),
    )


def _print_steps(laminate: Laminate, material: str) -> list[str]:
    what = "plug" if laminate.route == "mold" else "buck"
    return [
        f"Print the pieces of the {what} from laminate/, glue them edge to edge with epoxy and glass tape inside, and brace them.",
        RELEASE[0],
        *(
            ["Seal the print with two coats of epoxy or a barrier primer; let them get hard for a day."]
            if material in ("ABS", "ASA")
            else []
        ),
        RELEASE[1],
    ]


def _mold_steps(laminate: Laminate, schedule: Schedule) -> list[str]:
    if laminate.route == "buck":
        return []
    first = [
        f"Take the mold off the plug: tooling gel coat, then {MOLD_LAYERS}. Leave it on the plug for a week, a day at least."
    ]
    if laminate.pieces == 2:
        first = [
            "Tack the parting board on the center line of the plug, its keys to the left, and fill the gap with clay; wax both.",
            f"Lay the left piece of the mold up to it: tooling gel coat, then {MOLD_LAYERS}. After two days take the board off.",
            "Wax the left piece's face in the center plane, and lay the right piece up to it the same way.",
            "Drill the bolt holes through both faces before the pieces are parted; bolt them for each part, with wax on the seam.",
        ]
    said = [
        *first,
        "Ease the mold off all round with wedges of wood; wax it four times as the plug, with a day before its first part.",
    ]
    if schedule.gel_coat_mm > 0.0:
        amount = f"{schedule.gel_coat_catalyst:.1f} g of catalyst ({GEL_COAT_CATALYST:g} %, always)"
        if not RESINS[laminate.resin].styrene:
            amount = f"{schedule.gel_coat_catalyst:.1f} g of hardener in it"
        said.append(
            f"Brush {schedule.gel_coat:.0f} g of gel coat, {amount}, {schedule.gel_coat_mm:g} mm thick and even; go on when it is tacky but "
            "leaves nothing on the finger, in about two hours."
        )
    return said


def _ply_steps(laminate: Laminate, schedule: Schedule) -> list[str]:
    resin, more = RESINS[laminate.resin], 1.0 + schedule.waste
    share = schedule.hardener / schedule.resin
    layers = schedule.layers if laminate.route == "mold" else schedule.layers[::-1]
    steps = []
    for number, layer in enumerate(layers, start=1):
        poured = layer.resin * more / (1.0 if resin.styrene else 1.0 + share)
        steps.append(
            f"Ply {number} of {len(layers)}, {layer.name}: {poured:.0f} g of {laminate.resin} with {poured * share:.1f} g of "
            f"{resin.hardener_name}; wet the face first, lay the cloth {LAY_ON_MM:g} mm past the trim line, roll the air out from the middle."
        )
    steps.insert(
        min(1, len(steps)),
        "Lay no more than two plies at a time; go on when they are hard and cold to the hand, within a day, else sand first.",
    )
    return steps


def _last_steps(laminate: Laminate) -> list[str]:
    off = "the mold" if laminate.route == "mold" else "the buck, from the inside, in pieces if it holds"
    return [
        "Trim the overhang with a knife while it is like leather, one to three hours after the last ply; leave 3 mm.",
        f"Take the part off {off} after a day; cut and sand it to the scribed line, wet, with a respirator.",
        "Drill the bolt holes at the marks, checked by the 1:1 template, for the sleeves below, and seal every cut edge with resin.",
        "Let it stand warm for a week before it is ridden; weigh it against this sheet: much more is resin that carries nothing.",
    ]
