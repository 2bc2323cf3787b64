# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawings on paper: PDF pages at full size, tiled where a drawing is larger than a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path

import numpy as np

from ...core.base.arrays import Array
from ...core.drawing.drawing import Drawing
from ...core.drawing.text_lines import text_lines
from ...core.tables.helvetica import CAPITAL_HEIGHT
from .pdf_drawing import check_bar, draw_drawing
from .pdf_page import PdfDocument, PdfPage, text_width

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216, ANSI/ASME Y14.1."""
MARGIN_MM = 12.0
_HEAD_MM = 16.0
_FOOT_MM = 46.0
_OVERLAP_MM = 10.0
_LINE_MM = 4.2
_TEXT_ROOM_MM = 14.0
"""Letters do not shrink with a drawing that is made to fit; this much is left for them."""
_SMALL = 2.0


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
    document = PdfDocument()
    for drawing in drawings:
        layout = page_layout(drawing, paper)
        for tile in layout.tiles:
            _Page(document.add_page(layout.page), drawing, layout, tile).draw(head, cautions)
    document.write(path)
    return len(document.pages)


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
        width = text_width(mark.text, mark.height)
        left = mark.at[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[mark.anchor] * width
        bounds.append(np.array([[left, mark.at[1] - 1.0], [left + width, mark.at[1] + mark.height + 1.0]]))
    stacked = np.stack(bounds)
    return np.stack([stacked[:, 0].min(axis=0), stacked[:, 1].max(axis=0)])


class _Page:
    """One page of a drawing while it is drawn."""

    def __init__(self, page: PdfPage, drawing: Drawing, layout: Layout, tile: Tile) -> None:
        self.page, self.drawing, self.layout, self.tile = page, drawing, layout, tile

    def draw(self, head: str, cautions: Sequence[str]) -> None:
        self._head_lines(head)
        self._foot_lines(cautions)
        corner = np.array([MARGIN_MM, MARGIN_MM + _FOOT_MM])
        scale = self.layout.scale
        width, height = self.layout.field
        with self.page.clipped(MARGIN_MM, MARGIN_MM + _FOOT_MM, width, height):
            draw_drawing(self.page, self.drawing, scale, corner - scale * np.array(self.tile.low))
        if len(self.layout.tiles) > 1:
            self._crosses()

    def _head_lines(self, head: str) -> None:
        top = self.layout.page[1] - MARGIN_MM
        layout, tile = self.layout, self.tile
        part = f", row {tile.row} of {layout.rows}, column {tile.column} of {layout.columns}" if len(layout.tiles) > 1 else ""
        self.page.text(f"{self.drawing.title}{part}", (MARGIN_MM, top - 4.0), 4.0)
        self.page.text(head, (MARGIN_MM, top - 11.0), 2.5)

    def _foot_lines(self, cautions: Sequence[str]) -> None:
        y = MARGIN_MM + _FOOT_MM - 8.0
        if self.drawing.to_scale:
            check_bar(self.page, MARGIN_MM, y)
        else:
            self.page.text("not to scale", (MARGIN_MM, y - 1.2), 2.5)
        y -= 6.0
        for sentence in (*self.drawing.notes, *cautions):
            for line in text_lines(sentence, self.layout.page[0] - 2.0 * MARGIN_MM, _SMALL / CAPITAL_HEIGHT):
                self.page.text(line, (MARGIN_MM, y), _SMALL)
                y -= _LINE_MM * 0.8

    def _crosses(self) -> None:
        """Crosses in the corners of the overlap: the same places of the drawing on neighboring pages."""
        x0, y0 = MARGIN_MM, MARGIN_MM + _FOOT_MM
        width, height = self.layout.field
        inset = 0.5 * _OVERLAP_MM
        for x in (x0 + inset, x0 + width - inset):
            for y in (y0 + inset, y0 + height - inset):
                self.page.line(np.array([[x - 4.0, y], [x + 4.0, y]]), 0.15)
                self.page.line(np.array([[x, y - 4.0], [x, y + 4.0]]), 0.15)
