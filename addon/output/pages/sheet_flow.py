# SPDX-License-Identifier: GPL-3.0-or-later
"""Headings, text, tables and drawings one below the other on A4 pages, with a new page where there is no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...core.drawing.text_lines import text_lines
from ...core.tables.helvetica import CAPITAL_HEIGHT
from .pdf_page import Color, PdfDocument, PdfPage

A4 = (210.0, 297.0)
MARGIN = 14.0
WIDTH = A4[0] - 2.0 * MARGIN
TEXT = 2.2
SMALL = 1.85
HEADING = 2.9
_TITLE = 4.2
_LEADING = 1.85
"""Base line to base line over the height of capitals."""
_TOP = A4[1] - MARGIN - 12.0
_BOTTOM = MARGIN + 8.0
_CELL = 1.1
GRAY: Color = (0.4, 0.4, 0.4)
PALE: Color = (0.93, 0.93, 0.93)


@dataclass(frozen=True)
class Column:
    """Of a table. width : mm; anchor : "left" or "right" """

    title: str
    width: float
    anchor: str = "left"


class SheetFlow:
    """A document that is filled from top to bottom. y : where the next thing begins, mm from the bottom of the page."""

    def __init__(self, document: PdfDocument, job: str, date: str) -> None:
        self.document, self.job, self.date = document, job, date
        self.page: PdfPage
        self.y = 0.0
        self.title = ""

    def begin_page(self, title: str) -> None:
        """A new page with a title."""
        self.title = title
        self.page = self.document.add_page(A4)
        self.page.text(title, (MARGIN, A4[1] - MARGIN - 5.0), _TITLE, bold=True)
        self.page.text(self.job, (A4[0] - MARGIN, A4[1] - MARGIN - 5.0), HEADING, "right", color=GRAY)
        self._rule(A4[1] - MARGIN - 8.0, 0.5)
        self.y = _TOP

    def finish(self, foot: str) -> None:
        """The foot of all pages: a sentence, the date, and the number of the page."""
        pages = self.document.pages
        for number, page in enumerate(pages, start=1):
            self.page = page
            self._rule(MARGIN + 5.0, 0.2)
            page.text(foot, (MARGIN, MARGIN + 1.0), SMALL, color=GRAY)
            page.text(f"{self.date}   page {number} of {len(pages)}", (A4[0] - MARGIN, MARGIN + 1.0), SMALL, "right", color=GRAY)

    def _rule(self, y: float, width: float) -> None:
        self.page.rectangle(MARGIN, y, WIDTH, width, fill=(0.0, 0.0, 0.0))

    def room(self, height: float) -> float:
        """Make room for a height, on a new page if need be, and pass over it; returns the y of its lower end.

        Raises ValueError if it is higher than a page.
        """
        if height > _TOP - _BOTTOM:
            raise ValueError(f"{height:.0f} mm is higher than a page")
        if self.y - height < _BOTTOM:
            self.begin_page(self.title if self.title.endswith("continued") else f"{self.title}, continued")
        self.y -= height
        return self.y

    def space(self, height: float) -> None:
        """An empty strip, unless the page ends there."""
        self.y = max(self.y - height, _BOTTOM)

    def heading(self, text: str, with_next: float = 14.0) -> None:
        """A heading that stays on one page with as much of what follows."""
        self.space(2.5)
        self.room(HEADING * _LEADING + with_next)
        self.y += with_next
        self.page.text(text, (MARGIN, self.y + 1.2), HEADING, bold=True)

    def paragraph(self, text: str, *, capital: float = TEXT, indent: float = 0.0, color: Color = (0.0, 0.0, 0.0)) -> None:
        """A text over the whole width less the indent, never parted between pages."""
        lines = text_lines(text, WIDTH - indent, capital / CAPITAL_HEIGHT)
        step = capital * _LEADING
        low = self.room(step * len(lines) + 0.9)
        for row, line in enumerate(lines):
            self.page.text(
                line, (MARGIN + indent, low + 0.9 + step * (len(lines) - 1 - row) + 0.35 * capital), capital, color=color
            )

    def numbered(self, sentences: Sequence[str]) -> None:
        """Paragraphs with numbers."""
        for number, sentence in enumerate(sentences, start=1):
            self.paragraph(sentence, indent=6.0)
            self._before(sentence, f"{number}.")

    def bullets(self, sentences: Sequence[str], capital: float = TEXT) -> None:
        """Paragraphs with dots."""
        for sentence in sentences:
            self.paragraph(sentence, indent=4.0, capital=capital)
            self._before(sentence, "\u2022", 4.0, capital)

    def checks(self, lines: Sequence[str]) -> None:
        """Lines with a box to tick."""
        for line in lines:
            self.paragraph(line, indent=7.0)
            self.page.rectangle(MARGIN + 0.5, self._first_line(line, 7.0, TEXT) - 0.6, 3.4, 3.4, line=0.25)
            self.space(1.3)

    def _first_line(self, text: str, indent: float, capital: float) -> float:
        """Base line of the first line of the paragraph just written."""
        count = len(text_lines(text, WIDTH - indent, capital / CAPITAL_HEIGHT))
        return self.y + 0.9 + capital * _LEADING * (count - 1) + 0.35 * capital

    def _before(self, text: str, sign: str, indent: float = 6.0, capital: float = TEXT) -> None:
        self.page.text(sign, (MARGIN + indent - 2.0, self._first_line(text, indent, capital)), capital, "right")

    def table(
        self, columns: Sequence[Column], rows: Sequence[Sequence[str]], *, bold_from: int | None = None, least: float = 0.0
    ) -> None:
        """A table; its head, if it has titles, is written again on a new page.

        bold_from : index of the first row of sums; least : height of a row at least, mm
        """
        self._head(columns)
        for index, row in enumerate(rows):
            bold = bold_from is not None and index >= bold_from
            height = max(self._height(columns, row, bold), least)
            if self.y - height < _BOTTOM:
                self.room(height)
                self.y += height
                self._head(columns)
            self._row(columns, row, height, bold=bold)
        self.space(1.5)

    def _cells(self, columns: Sequence[Column], row: Sequence[str], bold: bool) -> list[list[str]]:
        size = SMALL / CAPITAL_HEIGHT
        return [text_lines(str(text), column.width - 2.0 * _CELL, size, bold) for column, text in zip(columns, row, strict=True)]

    def _height(self, columns: Sequence[Column], row: Sequence[str], bold: bool) -> float:
        return SMALL * _LEADING * max(len(lines) for lines in self._cells(columns, row, bold)) + 1.1

    def _head(self, columns: Sequence[Column]) -> None:
        titles = [column.title for column in columns]
        if any(titles):
            self._row(columns, titles, self._height(columns, titles, True), head=True)

    def _row(
        self, columns: Sequence[Column], row: Sequence[str], height: float, *, head: bool = False, bold: bool = False
    ) -> None:
        cells = self._cells(columns, row, head or bold)
        low = self.room(height)
        total = sum(column.width for column in columns)
        if head:
            self.page.rectangle(MARGIN, low, total, height, fill=PALE)
        x = MARGIN
        step = SMALL * _LEADING
        for column, lines in zip(columns, cells, strict=True):
            at = x + (column.width - _CELL if column.anchor == "right" else _CELL)
            for line_number, line in enumerate(lines):
                y = low + height - 0.55 - step * (line_number + 1) + 0.4 * SMALL
                self.page.text(line, (at, y), SMALL, column.anchor, bold=head or bold)
            x += column.width
        self.page.rectangle(MARGIN, low, total, 0.1, fill=GRAY)
