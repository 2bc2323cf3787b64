# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawings on paper: PDF pages at full size, tiled where a drawing is larger than a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path

import numpy as np
import pydyf

from ..core.arrays import Array
from ..core.drawing import Drawing, Mark, Stroke

POINTS_PER_MM = 72.0 / 25.4
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216, ANSI/ASME Y14.1."""
CHECK_BAR_MM = 100.0
MARGIN_MM = 12.0
_HEAD_MM = 16.0
_FOOT_MM = 46.0
_OVERLAP_MM = 10.0
_LINE_MM = 4.2
_TEXT_ROOM_MM = 14.0
"""Letters do not shrink with a drawing that is made to fit; this much is left for them."""
_CAPITAL = 0.718
"""Height of Helvetica's capitals over its size (its font metrics)."""
_LETTER = 0.5
"""Mean width of Helvetica's letters over its size, for breaking lines; a little over the true mean."""


@dataclass(frozen=True)
class Tile:
    """One page of a drawing. low : lower left corner (x, y) of what it shows, mm of the drawing; row, column : from 1"""

    low: tuple[float, float]
    row: int
    column: int


@dataclass(frozen=True)
class Layout:
    """How a drawing lies on its pages. page, field : (width, height), mm; scale : paper over drawing"""

    page: tuple[float, float]
    field: tuple[float, float]
    scale: float
    tiles: tuple[Tile, ...]
    rows: int
    columns: int


def write_paper(path: Path, drawings: Sequence[Drawing], head: str, cautions: Sequence[str], paper: str = "A4") -> int:
    """Write drawings as PDF, each on pages of its own with the 100 mm check bar and the cautions; returns the page count.

    head : line on top of each page, such as job and date. paper : "A4" or "Letter"
    Drawings to scale come out 1:1, on several pages with overlaps and crosses if need be; others are made to fit one page.
    Raises ValueError for another paper or no drawing, OSError if the file cannot be written. PDF 1.7: ISO 32000-1.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper: {paper!r}, allowed is {', '.join(PAPERS)}")
    if not drawings:
        raise ValueError("drawings: none; a paper needs at least one")
    document = pydyf.PDF()
    font = pydyf.Dictionary({"Type": "/Font", "Subtype": "/Type1", "BaseFont": "/Helvetica", "Encoding": "/WinAnsiEncoding"})
    document.add_object(font)
    count = 0
    for drawing in drawings:
        layout = page_layout(drawing, paper)
        for tile in layout.tiles:
            _add_page(document, font, _Page(drawing, layout, tile, head, cautions).stream(), layout.page)
            count += 1
    with open(path, "wb") as file:
        document.write(file)
    return count


def page_layout(drawing: Drawing, paper: str) -> Layout:
    """Upright or lying page, whichever needs fewer of them; upright if both are equal."""
    options = [_layout_on(drawing, page) for page in (PAPERS[paper], PAPERS[paper][::-1])]
    return min(options, key=lambda layout: (len(layout.tiles), -layout.scale))


def _layout_on(drawing: Drawing, page: tuple[float, float]) -> Layout:
    field = page[0] - 2.0 * MARGIN_MM, page[1] - 2.0 * MARGIN_MM - _HEAD_MM - _FOOT_MM
    low, high = _drawn_bounds(drawing)
    size = high - low
    if not drawing.to_scale:
        scale = min((field[0] - _TEXT_ROOM_MM) / size[0], (field[1] - _TEXT_ROOM_MM) / size[1], 1.0)
        corner = 0.5 * (low + high) - 0.5 * np.array(field) / scale
        return Layout(page, field, scale, (Tile((float(corner[0]), float(corner[1])), 1, 1),), 1, 1)
    step = np.array(field) - _OVERLAP_MM
    columns, rows = (max(1, ceil((size[k] - _OVERLAP_MM) / step[k])) for k in (0, 1))
    whole = np.array([columns, rows]) * step + _OVERLAP_MM
    start = 0.5 * (low + high) - 0.5 * whole
    tiles = [
        Tile((float(start[0] + column * step[0]), float(start[1] + row * step[1])), rows - row, column + 1)
        for row in reversed(range(rows))
        for column in range(columns)
    ]
    return Layout(page, field, 1.0, tuple(tiles), rows, columns)


def _drawn_bounds(drawing: Drawing) -> Array:
    """Bounds with room for the letters of marks."""
    bounds = [drawing.bounds]
    for mark in drawing.marks:
        width = _text_width(mark.text, mark.height)
        left = mark.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[mark.anchor] * width
        bounds.append(np.array([[left, mark.at[1] - 1.0], [left + width, mark.at[1] + mark.height + 1.0]]))
    stacked = np.stack(bounds)
    return np.stack([stacked[:, 0].min(axis=0), stacked[:, 1].max(axis=0)])


def _text_width(text: str, capital: float) -> float:
    return len(text) * _LETTER * capital / _CAPITAL


def _add_page(document: pydyf.PDF, font: pydyf.Dictionary, stream: pydyf.Stream, page: tuple[float, float]) -> None:
    document.add_object(stream)
    box = pydyf.Array([0, 0, page[0] * POINTS_PER_MM, page[1] * POINTS_PER_MM])
    fonts = pydyf.Dictionary({"F1": font.reference})
    document.add_page(
        pydyf.Dictionary(
            {
                "Type": "/Page",
                "Parent": document.pages.reference,
                "MediaBox": box,
                "Contents": stream.reference,
                "Resources": pydyf.Dictionary({"Font": fonts}),
            }
        )
    )


class _Page:
    """One page while it is drawn; coordinates in mm from its lower left corner."""

    def __init__(self, drawing: Drawing, layout: Layout, tile: Tile, head: str, cautions: Sequence[str]) -> None:
        self.drawing, self.layout, self.tile = drawing, layout, tile
        self.head, self.cautions = head, cautions
        self._stream = pydyf.Stream()

    def stream(self) -> pydyf.Stream:
        stream = self._stream
        stream.push_state()
        stream.set_matrix(POINTS_PER_MM, 0, 0, POINTS_PER_MM, 0, 0)
        self._head_lines()
        self._foot_lines()
        left, bottom = MARGIN_MM, MARGIN_MM + _FOOT_MM
        stream.push_state()
        stream.rectangle(left, bottom, *self.layout.field)
        stream.clip()
        stream.end()
        scale = self.layout.scale
        shift = np.array([left, bottom]) - scale * np.array(self.tile.low)
        for stroke in self.drawing.strokes:
            self._line(Stroke(stroke.points * scale + shift, stroke.width, stroke.dashed))
        for mark in self.drawing.marks:
            x, y = (np.array(mark.at) * scale + shift).tolist()
            self._text(Mark(mark.text, (x, y), max(mark.height * min(scale * 2.0, 1.0), 2.0), mark.anchor))
        stream.pop_state()
        if len(self.layout.tiles) > 1:
            self._crosses()
        stream.pop_state()
        return stream

    def _head_lines(self) -> None:
        top = self.layout.page[1] - MARGIN_MM
        layout, tile = self.layout, self.tile
        part = f", row {tile.row} of {layout.rows}, column {tile.column} of {layout.columns}" if len(layout.tiles) > 1 else ""
        self._text(Mark(f"{self.drawing.title}{part}", (MARGIN_MM, top - 4.0), 4.0, "left"))
        self._text(Mark(self.head, (MARGIN_MM, top - 11.0), 2.5, "left"))

    def _foot_lines(self) -> None:
        y = MARGIN_MM + _FOOT_MM - 8.0
        if self.drawing.to_scale:
            for x in (0.0, 50.0, CHECK_BAR_MM):
                self._line(Stroke(np.array([[MARGIN_MM + x, y - 2.0], [MARGIN_MM + x, y + 2.0]]), 0.2))
            self._line(Stroke(np.array([[MARGIN_MM, y], [MARGIN_MM + CHECK_BAR_MM, y]]), 0.2))
            self._text(Mark(f"{CHECK_BAR_MM:g} mm", (MARGIN_MM + CHECK_BAR_MM + 3.0, y - 1.2), 2.5, "left"))
        else:
            self._text(Mark("not to scale", (MARGIN_MM, y - 1.2), 2.5, "left"))
        y -= 6.0
        for sentence in (*self.drawing.notes, *self.cautions):
            for line in self._broken(sentence):
                self._text(Mark(line, (MARGIN_MM, y), 2.0, "left"))
                y -= _LINE_MM * 0.8

    def _broken(self, sentence: str) -> list[str]:
        room = self.layout.page[0] - 2.0 * MARGIN_MM
        lines = [""]
        for word in sentence.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and _text_width(longer, 2.0) > room:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

    def _crosses(self) -> None:
        """Crosses in the corners of the overlap: the same places of the drawing on neighboring pages."""
        x0, y0 = MARGIN_MM, MARGIN_MM + _FOOT_MM
        width, height = self.layout.field
        inset = 0.5 * _OVERLAP_MM
        for x in (x0 + inset, x0 + width - inset):
            for y in (y0 + inset, y0 + height - inset):
                self._line(Stroke(np.array([[x - 4.0, y], [x + 4.0, y]]), 0.15))
                self._line(Stroke(np.array([[x, y - 4.0], [x, y + 4.0]]), 0.15))

    def _line(self, stroke: Stroke) -> None:
        stream = self._stream
        stream.set_line_width(stroke.width)
        stream.set_dash([2.0, 1.2] if stroke.dashed else [], 0)
        points = np.round(stroke.points, 4).tolist()
        stream.move_to(*points[0])
        for x, y in points[1:]:
            stream.line_to(x, y)
        stream.stroke()

    def _text(self, mark: Mark) -> None:
        size = mark.height / _CAPITAL
        x = mark.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[mark.anchor] * _text_width(mark.text, mark.height)
        stream = self._stream
        stream.begin_text()
        stream.set_font_size("F1", round(size, 4))
        stream.set_text_matrix(1, 0, 0, 1, round(x, 4), round(mark.at[1], 4))
        encoded = mark.text.encode("cp1252", errors="replace")
        for special in (b"\\", b"(", b")"):
            encoded = encoded.replace(special, b"\\" + special)
        stream.stream.append(b"(" + encoded + b") Tj")
        stream.end_text()
