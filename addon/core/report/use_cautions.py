# SPDX-License-Identifier: GPL-3.0-or-later
"""What use on the road does to a printed fender, and what is easily forgotten around it."""

from __future__ import annotations

from ..job.job_sheet import Job
from ..tables.materials import HEAT_LIMIT, HOT_PLACES, ROAD_MATERIAL, UV_STABLE

SCREW_LOCK = (
    "Lock nuts hold every screw; thread lock only where a screw runs in metal, and never on the print, since it cracks many plastics "
    "(common practice)."
)
ROAD_GAP_MM = 20.0
"""Under it mud and stones pack between tire and fender; builders of off-road bikes leave 30 mm and more: common practice, no source."""

_LAW = "How far round the wheel and how wide a fender must reach is for local law to say; ask before it is shaped to an end."


def use_cautions(job: Job) -> tuple[str, ...]:
    """Sentences on material, mud, hoses, vibration and law, as far as they apply to a job."""
    return (*_material(job), *_around(job), _LAW)


def _material(job: Job) -> list[str]:
    printer, said = job.printer, []
    sun = next(heat for place, heat, _ in HOT_PLACES if "sun" in place)
    road = printer.purpose == "road" and job.laminate is None
    if road and HEAT_LIMIT[printer.material][0] < sun:
        said.append(
            f"{printer.material} is no material for a dark part in summer sun ({HEAT_LIMIT[printer.material][0]:.0f} C against {sun:.0f} "
            f"C): print road parts in {ROAD_MATERIAL}, and keep {printer.material} for fitting."
        )
    if road and printer.material not in UV_STABLE:
        said.append(f"{printer.material} goes brittle in the sun within seasons (common practice): paint it.")
    if road:
        said.append(
            "Brake fluid, fuel and solvents attack paint and many plastics: wipe them off at once, and try the paint on a scrap first "
            "(common practice)."
        )
        if job.mount.hardware == "countersink" or any(seat.hardware == "countersink" for seat in job.seats):
            said.append(
                "A countersunk head wedges plastic apart under vibration: for the road choose a counterbore or a washer, or bond a metal "
                "cup washer in (common practice)."
            )
        if job.mount.washer != "rubber":
            said.append(
                "Hard mounts crack by vibration and by strain at assembly (motorcyclenews.com, 2011, of factory mudguards): choose "
                'mount.washer = "rubber", or put shouldered sleeves through the holes, and mount without strain.'
            )
    return said


def _around(job: Job) -> list[str]:
    said = []
    if job.clearance.gap < ROAD_GAP_MM:
        said.append(
            f"A gap of {job.clearance.gap:g} mm is for roads: off them mud and stones pack under the fender and can stop the wheel (common "
            "practice)."
        )
    if job.wheel.position == "front":
        said.append(
            "Brake hose and sensor wire need clips of their own, through full lock and travel, off every edge of the fender."
        )
    else:
        said.append(
            "The chain moves up and down and sideways: keep its run, the guard and its bolts off the fender through all travel."
        )
    return said
