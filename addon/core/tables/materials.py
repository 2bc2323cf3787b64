# SPDX-License-Identifier: GPL-3.0-or-later
"""Printing materials that a job sheet may use, and what is known of them."""

from __future__ import annotations

MATERIALS = ("PLA", "PETG", "PCTG", "ABS", "ASA", "PA-CF")
DENSITY = {
    "PLA": (1.24, "published"),
    "PETG": (1.27, "published"),
    "PCTG": (1.23, "from memory"),
    "ABS": (1.04, "published"),
    "ASA": (1.07, "published"),
    "PA-CF": (1.06, "published"),
}
"""g/cm3 of printed material, and its basis. PLA: TigerTag SpoolmanDB; PETG: middle of 1.25 to 1.29, additive.tools; ABS: TigerTag
and i-en-s.nl (ASTM D792); ASA: renato.design; PA-CF: SpoolmanDB, PA12 with 10 % carbon. A print of full density is assumed."""

HEAT_LIMIT = {
    "PLA": (50.0, "published"),
    "PETG": (60.0, "published"),
    "PCTG": (64.0, "published"),
    "ABS": (80.0, "published"),
    "ASA": (85.0, "published"),
    "PA-CF": (80.0, "from memory"),
}
"""Deg C that a loaded part may see for long. PLA, PETG, ABS, ASA: continuous service, filament-db wiki, table A.1, collected from
makers' data sheets; PCTG: heat deflection at 1.8 MPa, ISO 75, data sheet of Essentium on knowde.com."""

SHRINK = {
    "PLA": (0.002, "published"),
    "PETG": (0.003, "published"),
    "PCTG": (0.003, "from memory"),
    "ABS": (0.0065, "published"),
    "ASA": (0.0055, "published"),
    "PA-CF": (0.005, "from memory"),
}
"""Linear shrinkage of a print. Middles of PLA 0.1 to 0.3 %, PETG 0.2 to 0.4, ABS 0.4 to 0.9 and ASA 0.4 to 0.7: toolsfast.app and
minimal3dp.com. Brands differ: a printed bar of known length tells more."""

LAYER_STRENGTH = {
    "PLA": (0.53, "published"),
    "PETG": (0.5, "common practice"),
    "PCTG": (1.0, "published"),
    "ABS": (0.5, "common practice"),
    "ASA": (0.5, "common practice"),
    "PA-CF": (0.4, "from memory"),
}
"""Tensile strength across the layers over that along them. PLA: 12.2 over 23.2 MPa, Polymaker PolyTerra data sheet V5.3, ISO 527;
PCTG: 45.0 over 44.0 MPa, Essentium on knowde.com, taken as 1; 0.5 is the design rule where no test is at hand."""

MODULUS_MPA = {
    "PLA": (2000.0, "published"),
    "PETG": (2000.0, "published"),
    "PCTG": (1750.0, "published"),
    "ABS": (2000.0, "from memory"),
    "ASA": (2200.0, "published"),
    "PA-CF": (3000.0, "from memory"),
}
"""Young's modulus along the layers, MPa. PLA: Polymaker PolyTerra (1997); PETG: low end of 2 to 3 GPa, additive.tools; PCTG: 1.71 to
1.86 GPa, Essentium; ASA: 2.0 to 2.5 GPa, renato.design."""

ROAD_MATERIAL = "ASA"
"""What a part for the road is printed in where nothing else is stated: of the table it bears most heat, and sun; our choice."""

UV_STABLE = ("ASA",)
"""Materials that bear years of sun without paint; common practice, no source."""

HOT_PLACES = (
    ("dark part in summer sun", 70.0, "from memory"),
    ("beside an exhaust or its hot air", 100.0, "from memory"),
    ("under curing polyester or vinyl ester, thick or puddled", 150.0, "published"),
)
"""Places that a printed fender or plug may come to, and deg C. An unfilled polyester casting can pass 150 (East Coast Fibreglass
catalyst guide), a thin laminate stays far below; exhausts can be much hotter still: measure."""


def print_scale(shrink: float) -> float:
    """Factor that a model is scaled by so that it comes out right after linear shrinkage: 1 / (1 - s).

    shrink : share of the length, 0 to under 1; ValueError otherwise
    """
    if not 0.0 <= shrink < 1.0:
        raise ValueError(f"shrink {shrink:g}; allowed is 0 to under 1")
    return 1.0 / (1.0 - shrink)
