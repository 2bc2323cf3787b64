# SPDX-License-Identifier: GPL-3.0-or-later
"""What report.json says of the laminated part."""

from __future__ import annotations

from typing import Any

from ..clearance.proof import Proof
from ..job.job_sheet import Laminate
from ..plies.schedule import Schedule
from ..tables.laminates import PLIES, RESINS


def laminate_report(laminate: Laminate, schedule: Schedule, tire: Proof, required_mm: float) -> dict[str, Any]:
    """The part of the report on the laminate.

    tire : least clearance of the laminated part to the tire at its largest; required_mm : what it must keep from it
    Plies hold what is in the part; resin_g, hardener_g and gel_coat_g are to be mixed, waste on top. The hardener of epoxy is
    counted with the resin of its ply.
    """
    fiber = sum(layer.fiber for layer in schedule.layers)
    return {
        "route": laminate.route,
        "resin": laminate.resin,
        "thickness_mm": round(schedule.thickness, 4),
        "mass_g": round(schedule.mass, 2),
        "fiber_mass_fraction": round(fiber / schedule.mass, 4),
        "plies": [
            {
                "name": layer.name,
                "area_cm2": round(layer.area / 100.0, 2),
                "fiber": PLIES[layer.name].fiber,
                "fiber_g": round(layer.fiber, 2),
                "glass_g": round(layer.fiber, 2) if PLIES[layer.name].fiber == "glass" else 0.0,
                "resin_g": round(layer.resin, 2),
                "thickness_mm": round(layer.thickness, 4),
                "fiber_volume": round(layer.volume, 4),
            }
            for layer in schedule.layers
        ],
        "gel_coat_mm": round(schedule.gel_coat_mm, 3),
        "resin_g": round(schedule.resin, 1),
        "hardener_g": round(schedule.hardener, 2),
        "hardener_basis": "stated" if laminate.hardener is not None else RESINS[laminate.resin].basis,
        "gel_coat_g": round(schedule.gel_coat, 1),
        "gel_coat_hardener_g": round(schedule.gel_coat_catalyst, 2),
        "waste": round(schedule.waste, 4),
        "final_clearance": {
            "min_mm": round(tire.min_mm, 4),
            "proven_min_mm": round(tire.proven_min_mm, 4),
            "required_mm": round(required_mm, 4),
        },
    }
