# SPDX-License-Identifier: GPL-3.0-or-later
"""Raised labels: what they say, and in which rows it fits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..base.errors import ShapeError
from ..drawing.lettering import advance, spelled, text_strokes
from ..job.job_sheet import Job
from ..mesh.triangle_mesh import TriangleMesh
from ..tables.gauge_rules import LARGEST_TEXT_MM, LEAST_LINE_MM, LEAST_TEXT_MM, RAISED_MM, SUNK_MM
from .prisms import Place, stroke_prisms


@dataclass(frozen=True)
class Row:
    """A place for one line of text: which face it is on, where it starts there, how long and high it may be, mm."""

    face: int
    start: tuple[float, float]
    length: float
    height: float


@dataclass(frozen=True)
class Line:
    """Text in a row."""

    row: Row
    text: str


def line_width(job: Job) -> float:
    """Width of a letter's line: two passes of the nozzle, never less than the table's."""
    return max(LEAST_LINE_MM, 2.0 * job.printer.nozzle)


def rows_on(face: int, corner: tuple[float, float], length: float, height: float, line: float) -> tuple[Row, ...]:
    """As many rows of full-size text as a field holds, the top one first. corner : lower left; none if the field is too low."""
    least = max(LEAST_TEXT_MM, 4.0 * line)
    count = int((height + line) // (least + line))
    if count < 1 or length <= 0.0:
        return ()
    each = min((height - (count - 1) * line) / count, max(LARGEST_TEXT_MM, least))
    pitch = each + line
    return tuple(Row(face, (corner[0], corner[1] + (count - 1 - i) * pitch), length, each) for i in range(count))


def fitted(
    rows: Sequence[Row], must: Sequence[str], name: str, line: float, what: str
) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    """Lines for texts that must be there, and the job's name in the longest room that is left, cut to it.

    Where the rows are short, letters get as small as the table allows, then dates lose their hyphens (ISO 8601 basic format).
    At last all texts but the first are left out. Returns the lines and cautions (what was cut or left out). Raises ShapeError
    naming `what` if the first text still finds no row.
    """
    least = max(LEAST_TEXT_MM, 4.0 * line)
    small = [replace(row, height=least) for row in rows]
    basic = [re.sub(r"(\d{4})-(\d\d)-(\d\d)", r"\1\2\3", text) for text in must]
    for used, texts in ((list(rows), must), (small, must), (small, basic), (small, basic[:1])):
        placed = _placed(used, texts, line)
        if placed is not None:
            made, cautions = _with_name(used, placed, name, line, what)
            lost = [repr(spelled(text)) for text in basic[len(texts) :]]
            by_hand = (f"{what}: the label has no room for {', '.join(lost)}; write it on by hand.",) if lost else ()
            return made, (*by_hand, *cautions)
    longest = max((row.length for row in rows), default=0.0)
    said = ", ".join(repr(spelled(text)) for text in basic)
    raise ShapeError(f"{what}: no room for the label {said}; its longest free row is {longest:.0f} mm")


def _room(row: Row, text: str, line: float) -> int:
    """Letters that still fit a row behind its text, after a blank."""
    return int((row.length + line) // advance(row.height, line)) - len(text) - bool(text)


def _placed(rows: Sequence[Row], must: Sequence[str], line: float) -> list[str] | None:
    """Text of each row, the longest texts first, each where it leaves the least room; None if one finds none."""
    texts = [""] * len(rows)
    for text in sorted(must, key=len, reverse=True):
        free = [i for i, row in enumerate(rows) if _room(row, texts[i], line) >= len(text)]
        if not free:
            return None
        at = min(free, key=lambda i: _room(rows[i], texts[i], line))
        texts[at] = f"{texts[at]} {text}".strip()
    return texts


def _with_name(
    rows: Sequence[Row], texts: list[str], name: str, line: float, what: str
) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    left = [_room(row, text, line) for row, text in zip(rows, texts, strict=True)]
    at = left.index(max(left))
    kept = spelled(name)[: max(left[at], 0)].rstrip()
    texts[at] = f"{kept} {texts[at]}".strip()
    cautions = () if kept == spelled(name) else (f"{what}: the job's name is cut to {kept!r} on the label.",)
    return tuple(Line(row, text) for row, text in zip(rows, texts, strict=True) if text), cautions


def raised(lines: Sequence[Line], places: Sequence[Place], line: float) -> tuple[TriangleMesh, ...]:
    """The bars of lines of text. places : for each face, (along the text, up the text, out of the face) to wheel axes."""
    bars: list[TriangleMesh] = []
    for text in lines:
        strokes = tuple(stroke + np.array(text.row.start) for stroke in text_strokes(text.text, text.row.height, line))
        bars += stroke_prisms(strokes, line, -SUNK_MM, RAISED_MM, places[text.row.face])
    return tuple(bars)
