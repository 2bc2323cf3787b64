# SPDX-License-Identifier: GPL-3.0-or-later
"""Tire size codes: metric, inch and alpha, in all the spellings that occur in print."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..base.errors import JobError
from ..tables.tire_rules import (
    ALPHA_WIDTH_FROM_MEMORY,
    ALPHA_WIDTH_MM,
    FULL_SECTION_ASPECT,
    LOAD_KG,
    LOW_SECTION_ASPECT,
    LOW_SECTION_INCH,
    MM_PER_INCH,
    SPEED_KMH,
)
from .sheet_keys import shown

KEY = "tire.size"
ACCEPTED = '"120/70 ZR17 M/C (58W)", "100/90-18 56H", "130/90 B16", "3.25-19", "4.25/85-18", "MT90 B16"'


@dataclass(frozen=True)
class TireCode:
    """What a size code says.

    kind : "metric", "inch" or "alpha"; width_mm : nominal width; aspect : section height in percent of the width
    structure : "diagonal", "belted" or "radial"
    speed_symbol : letter or None; beyond_symbol : True if the symbol stands in brackets, or is Z: capable of more
    use : "normal", "snow" or "special", as far as marked; notes : what a reader should know
    """

    text: str
    kind: str
    width_mm: float
    aspect: float
    rim_code: int
    structure: str
    load_index: int | None
    speed_symbol: str | None
    beyond_symbol: bool
    motorcycle_mark: bool
    reinforced: bool
    use: str
    notes: tuple[str, ...]

    @property
    def load_kg(self) -> float | None:
        """Load by the load index, if it is stated and in the table."""
        return None if self.load_index is None else LOAD_KG.get(self.load_index)

    @property
    def speed_kmh(self) -> float | None:
        """Speed by the symbol; where beyond_symbol is True the tire may go faster."""
        return None if self.speed_symbol is None else SPEED_KMH[self.speed_symbol]


_LETTERS = "".join(SPEED_KMH)
_GAP = r"[\s\-X]*"
_RIM = rf"{_GAP}(?P<speed>[{_LETTERS}])?\s*(?P<structure>[RBD])?{_GAP}(?P<rim>\d{{1,2}})(?![\d.])"
_METRIC = re.compile(rf"(?P<width>\d{{2,3}})\s*[/X\-\s]\s*(?P<aspect>\d{{2,3}})(?!\d){_RIM}")
_INCH = re.compile(rf"(?P<width>\d{{1,2}}\.\d{{1,2}})(?:\s*/\s*(?P<aspect>\d{{2,3}}))?(?!\d){_RIM}")
_ALPHA = re.compile(rf"M(?P<letter>[A-Z])\s*-?\s*(?P<aspect>\d{{2,3}})(?!\d){_RIM}")
_BEADED_EDGE = re.compile(r"(?:\d{2}|[4-9]\d{2})\s*X\s*\d{1,3}(?:\.\d+|\s+\d/\d)?")
_SERVICE = re.compile(r"\(\s*(?P<inner>(?:\d{2,3}\s*)?[A-Z])\s*\)|(?P<plain>\d{2,3}\s*[A-Z])(?![A-Z0-9/])")
_MARKS = re.compile(
    r"(?P<motorcycle>M/?C)|(?P<reinforced>REINF(?:ORCED|\.)?|EXTRA\s*LOAD|XL)|(?P<special>MST)|(?P<snow>M\s*[+&/]\s*S)"
    r"|(?P<plain>TUBELESS|TUBE\s*TYPE|TL|TT|DP|MOPED|(?P<plies>\d{1,2}\s*P\.?R\.?))"
)
_STRUCTURES = {"R": "radial", "B": "belted", "D": "diagonal", None: "diagonal"}


def parse_tire_code(text: str) -> TireCode:
    """A tire size code, tolerant of case, blanks, "x", decimal comma and the order of the marks behind it.

    Raises JobError("tire.size", sentence) with accepted examples. Forms: UN R75 (metric, code-designated, low-section),
    alpha sizes by the US trade; letters read alone before the rim code are R, B, D structure, all others speed.
    """
    plain = re.sub(r"\s+", " ", text.upper().replace(",", ".").replace("×", "X").replace("–", "-")).strip()
    for pattern, kind in ((_INCH, "inch"), (_ALPHA, "alpha"), (_METRIC, "metric")):
        match = pattern.match(plain)
        if match:
            return _code(text, kind, match, plain[match.end() :])
    if _BEADED_EDGE.fullmatch(plain):
        raise JobError(
            KEY,
            f"{shown(text)} is a beaded-edge size (outer diameter x width), which states no rim; measure the tire and give the "
            f"nearest size with a rim code, such as {ACCEPTED}",
        )
    raise JobError(KEY, f"{shown(text)} is not a known size code; accepted are codes such as {ACCEPTED}")


def _code(text: str, kind: str, match: re.Match[str], rest: str) -> TireCode:
    notes: list[str] = []
    width, aspect = _width_and_aspect(text, kind, match, notes)
    rim_code = int(match["rim"])
    _check_ranges(text, width, aspect, rim_code)
    speed, structure = match["speed"], match["structure"]
    if structure is None and speed in ("R", "B"):
        speed, structure = None, speed
    marks = _read_marks(text, rest)
    symbol = marks.speed or speed
    return TireCode(
        text=text.strip(),
        kind=kind,
        width_mm=width,
        aspect=aspect,
        rim_code=rim_code,
        structure=_STRUCTURES[structure],
        load_index=marks.load_index,
        speed_symbol=symbol,
        beyond_symbol=marks.beyond or symbol == "Z",
        motorcycle_mark=marks.motorcycle,
        reinforced=marks.reinforced,
        use=marks.use,
        notes=(*notes, *marks.notes),
    )


def _width_and_aspect(text: str, kind: str, match: re.Match[str], notes: list[str]) -> tuple[float, float]:
    if kind == "metric":
        return float(match["width"]), float(match["aspect"])
    if kind == "alpha":
        letter = match["letter"]
        if letter not in ALPHA_WIDTH_MM:
            known = ", ".join(f"M{name}" for name in ALPHA_WIDTH_MM)
            raise JobError(KEY, f"{shown(text)} has an unknown width letter M{letter}; known are {known}")
        if letter in ALPHA_WIDTH_FROM_MEMORY:
            notes.append(f"the width of M{letter} sizes is from memory")
        return float(ALPHA_WIDTH_MM[letter]), float(match["aspect"])
    inches = float(match["width"])
    if match["aspect"]:
        return inches * MM_PER_INCH, float(match["aspect"])
    return inches * MM_PER_INCH, LOW_SECTION_ASPECT if inches in LOW_SECTION_INCH else FULL_SECTION_ASPECT


def _check_ranges(text: str, width_mm: float, aspect: float, rim_code: int) -> None:
    for value, low, high, what in (
        (width_mm, 40.0, 400.0, "width in mm"),
        (aspect, 25.0, 110.0, "aspect in percent"),
        (float(rim_code), 4.0, 30.0, "rim code"),
    ):
        if not low <= value <= high:
            raise JobError(KEY, f"{shown(text)} has the {what} {value:g}; allowed is {low:g} to {high:g}")


@dataclass
class _Marks:
    load_index: int | None = None
    speed: str | None = None
    beyond: bool = False
    motorcycle: bool = False
    reinforced: bool = False
    use: str = "normal"
    notes: tuple[str, ...] = ()


def _read_marks(text: str, rest: str) -> _Marks:
    marks = _Marks()
    place = 0
    while place < len(rest):
        if rest[place] in " -;":
            place += 1
            continue
        match = _MARKS.match(rest, place) or _SERVICE.match(rest, place)
        if match is None:
            raise JobError(KEY, f"{shown(text)} ends in {shown(rest[place:])}, which is not understood; accepted are {ACCEPTED}")
        _take(text, marks, match)
        place = match.end()
    return marks


def _take(text: str, marks: _Marks, match: re.Match[str]) -> None:
    named = match.groupdict()
    if match.re is _SERVICE:
        _take_service(text, marks, (named["inner"] or named["plain"]).replace(" ", ""), bracketed=named["inner"] is not None)
    elif named["motorcycle"]:
        marks.motorcycle = True
    elif named["reinforced"]:
        marks.reinforced = True
    elif named["special"]:
        marks.use = "special"
    elif named["snow"] and marks.use == "normal":
        marks.use = "snow"


def _take_service(text: str, marks: _Marks, service: str, *, bracketed: bool) -> None:
    symbol, digits = service[-1], service[:-1]
    if symbol not in SPEED_KMH:
        raise JobError(KEY, f"{shown(text)} has the speed symbol {symbol}; known are {', '.join(SPEED_KMH)}")
    if marks.speed is not None:
        raise JobError(KEY, f"{shown(text)} states two speed symbols, {marks.speed} and {symbol}; keep one of them")
    marks.speed, marks.beyond = symbol, bracketed
    if digits:
        marks.load_index = int(digits)
        if marks.load_index not in LOAD_KG:
            marks.notes = (f"load index {digits} is not in the table",)
