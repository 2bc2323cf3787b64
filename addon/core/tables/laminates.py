# SPDX-License-Identifier: GPL-3.0-or-later
"""Plies, resins and what is mixed with them.

Marks: [S] read in the source named; [S2] second-hand copy; [M] from memory, not confirmed.
"""

from __future__ import annotations

from dataclasses import dataclass

E_GLASS = 2.56
"""g/cm3 of the fiber: 2.55 in a catalog of mats [S2], 2.56 in class rules [M]."""

CARBON = 1.79
"""g/cm3 of the fiber, as in the worked example of compositecalculator.com [S]."""


@dataclass(frozen=True)
class Ply:
    """A layer of dry fiber.

    kind : "mat", "woven" or "biaxial"; fiber : "glass" or "carbon"; areal : g/m2, dry; bound : True if styrene must dissolve its
    binder; bend : least radius that it lies down on without springing off, mm
    """

    kind: str
    fiber: str
    areal: float
    bound: bool = False
    bend: float = 6.0

    @property
    def density(self) -> float:
        """g/cm3 of its fiber."""
        return E_GLASS if self.fiber == "glass" else CARBON


PLIES: dict[str, Ply] = {
    "CSM 225": Ply("mat", "glass", 225.0, True, 3.0),
    "CSM 300": Ply("mat", "glass", 300.0, True, 4.0),
    "CSM 450": Ply("mat", "glass", 450.0, True, 5.0),
    "CSM 600": Ply("mat", "glass", 600.0, True, 6.0),
    "woven 160": Ply("woven", "glass", 160.0, bend=2.0),
    "woven 200": Ply("woven", "glass", 200.0, bend=3.0),
    "woven 300": Ply("woven", "glass", 300.0, bend=3.0),
    "biaxial 400": Ply("biaxial", "glass", 400.0, bend=5.0),
    "biaxial 600": Ply("biaxial", "glass", 600.0, bend=6.0),
    "carbon woven 200": Ply("woven", "carbon", 200.0, bend=3.0),
    "carbon biaxial 300": Ply("biaxial", "carbon", 300.0, bend=5.0),
}
"""Plies by area weight. The radii are from memory: 3 to 6 mm are accepted for mats [M]."""


@dataclass(frozen=True)
class Resin:
    """A resin as it is mixed.

    density : g/cm3, cured; hardener : percent of the resin's mass, least, usual and most; styrene : True if it holds styrene
    hardener_name : as the trade calls it; fibers : that it bonds to; basis : of the percentages
    """

    density: float
    hardener: tuple[float, float, float]
    styrene: bool
    hardener_name: str
    fibers: tuple[str, ...]
    basis: str


RESINS: dict[str, Resin] = {
    "polyester": Resin(1.20, (1.0, 2.0, 3.0), True, "MEKP catalyst", ("glass",), "published"),
    "vinyl ester": Resin(1.15, (1.0, 2.0, 3.0), True, "MEKP catalyst", ("glass", "carbon"), "published"),
    "epoxy": Resin(1.15, (10.0, 30.0, 120.0), False, "hardener", ("glass", "carbon"), "from memory"),
}
"""Densities: polyester 1.20, vinyl ester 1.12 to 1.15, epoxy 1.10 to 1.20 [M]. Catalyst 1 to 2 % of the resin: neo.co.th [S]; more
than 3 % is over the usual data sheet [M] and is refused. Hardener of epoxy is that of the can: the usual figure is [M]. Polyester
does not hold to the sizing of carbon cloth [M]."""

CATALYST_BY_TEMPERATURE = ((20.0, 1.0), (16.0, 2.0), (13.0, 3.0))
"""From this temperature on, deg C, so many percent of MEKP: East Coast Fibreglass catalyst guide [S]. Under 13 the guide names 4,
which is over what is allowed here: warm the room."""

WORKSHOP_C = (15.0, 20.0)
"""Temperature of the workshop: ecfibreglasssupplies.co.uk [S]; 18 to 21 with under 80 % humidity: wikisea.net [S]."""

USUAL_TEMPERATURE_C = 18.0
"""Where the sheet states none."""

MAT_RATIO = 2.5
"""Resin over glass by mass for mats: neo.co.th and ecfibreglasssupplies.co.uk [S]; 2.33 for tools: Valspar [S]; usage tables of
rayplex.ca come to 3.3 to 3.6 [S], which is wasteful."""

CLOTH_RATIO = 1.0
"""Resin over fiber by mass for cloth laid by hand: about half and half [S] (estimate page quoted on boatdesign.net)."""

GEL_COAT_MM = 0.5
"""0.4 to 0.6 mm: ecfibreglasssupplies.co.uk [S]; 18 to 25 mil wet: fiberglassblog.com [S]."""

GEL_COAT_MOST_MM = 0.8
"""Thicker ones crack [M]."""

GEL_COAT_DENSITY = 1.2
"""g/cm3, so that 0.5 mm are 600 g/m2; 1 kg covers about 1.6 m2: ecfibreglasssupplies.co.uk [S]."""

GEL_COAT_CATALYST = 2.0
"""Percent, always: East Coast Fibreglass catalyst guide [S]."""

WASTE = 0.15
"""Share that is cut off, stays in the pot or in the brush [M]."""

LINEAR_SHRINK = {"polyester": 0.004, "vinyl ester": 0.003, "epoxy": 0.001}
"""Linear shrinkage of a laminate, which the fiber holds back: 0.2 to 0.6 % for polyester [M], under 1 % [S] (fiberglassblog.com,
less than 3 % by volume); neat epoxy shrinks about a quarter of neat polyester by volume [S] (netcomposites.com)."""
