# SPDX-License-Identifier: GPL-3.0-or-later
"""How a piece may be printed: orientations with what each costs and how strong it comes out, best first."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, frozen
from ..base.errors import JobError
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.mount import MountFrame
from ..tables.materials import DENSITY, LAYER_STRENGTH, SHRINK, print_scale
from ..tables.printing_rules import BRIM_CONTACT_MM2, LEAST_STRENGTH_KEPT, SUPPORT_DENSITY, flow_mm3_s, layer_height
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
RANK_RULE = (
    f"first what fits the bed, and of that what keeps {100.0 * LEAST_STRENGTH_KEPT:.0f} % of the strength where a push on the end "
    "pulls hardest; then least plastic, supports included, over the share of the strength; of what does not fit, what lacks least"
)


@dataclass(frozen=True, eq=False)
class PrintOption:
    """One way to print a piece.

    fit : rotation, true size and bed fit, the last with the print scaled for shrinkage
    room_left_mm : (3,) float, bed less margin less scaled size; negative where it does not fit
    overhang_mm2 : area that leans over too far; support_mm3 : room below it; contact_mm2 : first layer
    layers : strength where it is least; grams, hours : with support
    """

    name: str
    fit: PrintFit
    room_left_mm: Array
    overhang_mm2: float
    support_mm3: float
    contact_mm2: float
    layers: LayerStrength
    grams: float
    hours: float
    brim: bool
    reason: str

    @property
    def cost(self) -> float:
        """Grams over the share of strength that is kept: what RANK_RULE makes small."""
        return self.grams / self.layers.kept

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
    """Options for a piece, ranked by RANK_RULE.

    mesh : closed, wheel axes; frame : the mount that it is clamped at
    """
    load = tongue_load(mesh, frame)
    scale = print_scale(SHRINK[job.printer.material][0])
    ways = print_orientations(mesh, frame, job.printer.bed, job.printer.margin, scale)
    options = sorted((_option(way, mesh, job, load, scale) for way in ways), key=_rank)
    return PrintPlan(piece, tuple(options[:_MOST_OPTIONS]))


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
        support_mm3=support,
        contact_mm2=contact,
        layers=layers,
        grams=plastic * DENSITY[printer.material][0] / 1000.0,
        hours=plastic / flow_mm3_s(printer.nozzle) / 3600.0,
        brim=contact < BRIM_CONTACT_MM2,
        reason=_reason(fit, layers, support, contact),
    )


def _rank(option: PrintOption) -> tuple[bool, bool, float]:
    """What does not fit comes last, the one that is nearest to it first; what is weak comes behind what is not."""
    if not option.fit.fits:
        return True, False, option.fit.fill
    return False, option.is_weak, option.cost


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
