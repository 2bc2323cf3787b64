# SPDX-License-Identifier: GPL-3.0-or-later
"""How a piece may be printed: orientations with what each costs and how strong it comes out, best first."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Mask, frozen
from ..base.errors import JobError
from ..base.row_vectors import dot_rows
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..tables.materials import DENSITY, LAYER_STRENGTH, SHRINK, print_scale
from ..tables.printing_rules import (
    BRIM_CONTACT_MM2,
    LEAST_FOOT_MM2_PER_MM,
    LEAST_STRENGTH_KEPT,
    SUPPORT_DENSITY,
    flow_mm3_s,
    layer_height,
)
from .print_fit import PrintFit
from .print_orientations import Orientation, print_orientations
from .print_overhang import first_layer_area, overhang_area, overhangs, support_room
from .tongue_load import LayerStrength, TongueLoad, layer_strength, tongue_load

_MOST_OPTIONS = 8
SAME_WAY_DEG = 25.0
"""A way to print whose upward direction has turned by no more, as the shape changed, is still the one that was picked."""
_ROUNDING = 1e-9
GRAMS_FORMULA = "(volume of the piece + room under overhangs x support density) x density"
HOURS_FORMULA = "(volume of the piece + room under overhangs x support density) / (line width x layer height x speed)"
_STANDS = f"what stands on less than {LEAST_FOOT_MM2_PER_MM:g} mm2 for each mm of its height is not offered if anything else fits"
RANK_RULES = {
    "fit": f"for a fit on the bike: first what fits the bed, then least time; {_STANDS}",
    "road": (
        f"for the road: first what fits the bed, and of that what keeps {100.0 * LEAST_STRENGTH_KEPT:.0f} % of the strength where a push "
        "on the end pulls hardest; then least plastic, supports included and twice that on the face that is seen, over the share of the "
        f"strength; {_STANDS}"
    ),
    "plug": f"for a plug: first what fits the bed, then least support on the face that is seen, then least time; {_STANDS}",
}
"""By printer.purpose; of what does not fit, what lacks least comes first."""


@dataclass(frozen=True, eq=False)
class PrintOption:
    """One way to print a piece.

    fit : rotation, true size and bed fit, the last with the print scaled for shrinkage
    room_left_mm : (3,) float, bed less margin less scaled size; negative where it does not fit
    overhang_mm2 : area that leans over too far, show_mm2 : of that on the face away from the wheel; support_mm3 : room below it
    contact_mm2 : first layer
    layers : strength where it is least; grams, hours : with support; support_grams : of the support alone
    """

    name: str
    fit: PrintFit
    room_left_mm: Array
    overhang_mm2: float
    show_mm2: float
    support_mm3: float
    contact_mm2: float
    layers: LayerStrength
    grams: float
    support_grams: float
    hours: float
    brim: bool
    reason: str

    @property
    def cost(self) -> float:
        """Grams over the share of strength that is kept, more by the share of support that is on the face that is seen."""
        seen = self.show_mm2 / self.overhang_mm2 if self.overhang_mm2 > 0.0 else 0.0
        return (self.grams + seen * self.support_grams) / self.layers.kept

    @property
    def stands(self) -> bool:
        """True if its foot is large enough for its height."""
        return self.contact_mm2 >= LEAST_FOOT_MM2_PER_MM * float(self.fit.size[2])

    @property
    def is_weak(self) -> bool:
        """True if the layers keep less than LEAST_STRENGTH_KEPT."""
        return self.layers.kept < LEAST_STRENGTH_KEPT


@dataclass(frozen=True, eq=False)
class PrintPlan:
    """The ways to print a piece, best first; picked : index of the one that the files carry."""

    piece: str
    options: tuple[PrintOption, ...]
    picked: int = 0

    def nearest(self, up: ArrayLike) -> int:
        """The option whose upward direction is nearest to one in wheel axes, (3,) float of any length.

        Raises JobError if none is within SAME_WAY_DEG of it.
        """
        direction = np.asarray(up, dtype=np.float64) / np.linalg.norm(up)
        cosines = [float(option.fit.rotation[2] @ direction) for option in self.options]
        best = int(np.argmax(cosines))
        if cosines[best] < np.cos(np.radians(SAME_WAY_DEG)):
            asked = ", ".join(f"{value:.2f}" for value in direction)
            ways = "; ".join(option.name for option in self.options)
            raise JobError(
                f"lay of the {self.piece} piece",
                f"no way to print it has [{asked}] up, as the sheet picked; pick anew among: {ways}",
            )
        return best

    @property
    def option(self) -> PrintOption:
        """The one that is picked."""
        return self.options[self.picked]

    def pick(self, index: int) -> PrintPlan:
        """The plan with another option picked. Raises JobError if there is no such option."""
        if not 0 <= index < len(self.options):
            raise JobError(f"print option of the {self.piece} piece", f"{index} is not one of 0 to {len(self.options) - 1}")
        return replace(self, picked=index)


def print_plan(piece: str, mesh: TriangleMesh, job: Job, frame: MountFrame) -> PrintPlan:
    """Options for a piece, ranked by RANK_RULES.

    mesh : closed, wheel axes; frame : the mount that it is clamped at
    """
    load = tongue_load(mesh, frame)
    scale = print_scale(SHRINK[job.printer.material][0])
    ways = print_orientations(mesh, frame, job.printer.bed, job.printer.margin, scale)
    options = sorted((_option(way, mesh, job, load, scale) for way in ways), key=_RANKS[job.printer.purpose])
    standing = [option for option in options if option.stands]
    offered = standing if any(option.fit.fits for option in standing) else options
    return PrintPlan(piece, tuple(offered[:_MOST_OPTIONS]))


def _option(way: Orientation, mesh: TriangleMesh, job: Job, load: TongueLoad, scale: float) -> PrintOption:
    printer = job.printer
    layer = layer_height(printer.nozzle)
    lying = mesh.moved(way.rotation, np.array([0.0, 0.0, -float((mesh.vertices @ way.rotation[2]).min())]))
    size = np.ptp(lying.bounds, axis=0)
    room = np.array([printer.bed[0] - 2 * printer.margin, printer.bed[1] - 2 * printer.margin, printer.bed[2] - printer.margin])
    fill = float((scale * size / room).max())
    fit = PrintFit(frozen(way.rotation), frozen(size), fill <= 1.0 + _ROUNDING, fill)
    hanging = overhangs(lying, layer)
    support = support_room(lying, hanging)
    plastic = mesh.volume + SUPPORT_DENSITY * support
    contact = first_layer_area(lying, layer)
    layers = layer_strength(load, way.rotation[2], LAYER_STRENGTH[printer.material][0])
    return PrintOption(
        name=way.name,
        fit=fit,
        room_left_mm=frozen(room - scale * size),
        overhang_mm2=overhang_area(lying, hanging),
        show_mm2=overhang_area(lying, hanging & _is_seen(mesh)),
        support_mm3=support,
        contact_mm2=contact,
        layers=layers,
        grams=plastic * DENSITY[printer.material][0] / 1000.0,
        support_grams=SUPPORT_DENSITY * support * DENSITY[printer.material][0] / 1000.0,
        hours=plastic / flow_mm3_s(printer.nozzle) / 3600.0,
        brim=contact < BRIM_CONTACT_MM2,
        reason=_reason(fit, layers, support, contact),
    )


def _is_seen(mesh: TriangleMesh) -> Mask:
    """(m,) bool: triangles that face away from the axle, which others see. mesh : wheel axes"""
    middles = mesh.middles
    return np.asarray(dot_rows(mesh.area_vectors[:, 1:], middles[:, 1:]) > 0.0)


def _by_time(option: PrintOption) -> tuple[bool, float, float]:
    """What does not fit comes last, the one that is nearest to it first."""
    return (False, option.hours, 0.0) if option.fit.fits else (True, option.fit.fill, 0.0)


def _by_strength(option: PrintOption) -> tuple[bool, float, float]:
    """The same; what is weak comes behind what is not."""
    return (False, float(option.is_weak), option.cost) if option.fit.fits else (True, option.fit.fill, 0.0)


def _by_finish(option: PrintOption) -> tuple[bool, float, float]:
    """The same, by square centimeters of support on the face that is seen."""
    return (False, float(round(option.show_mm2 / 100.0)), option.hours) if option.fit.fits else (True, option.fit.fill, 0.0)


_RANKS = {"fit": _by_time, "road": _by_strength, "plug": _by_finish}


def _reason(fit: PrintFit, layers: LayerStrength, support: float, contact: float) -> str:
    said = []
    if not fit.fits:
        said.append(f"does not fit, it takes {100.0 * fit.fill:.0f} % of the bed's room")
    said.append(
        f"keeps {100.0 * layers.kept:.0f} % of the strength: at station {round(layers.station_deg):+d} the layers' normal is "
        f"{layers.angle_deg:.0f} deg from the pull"
    )
    said.append(f"support under {support / 1000.0:.0f} cm3 of overhangs" if support > 0.0 else "no support")
    said.append(f"stands on {contact:.0f} mm2" + (", so give it a brim" if contact < BRIM_CONTACT_MM2 else ""))
    return "; ".join(said)
