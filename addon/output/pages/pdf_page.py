# SPDX-License-Identifier: GPL-3.0-or-later
"""Pages of a PDF, drawn in millimeters from the lower left corner; PDF 1.7, ISO 32000-1."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pydyf

from ...core.base.arrays import Array
from ...core.tables.helvetica import CAPITAL_HEIGHT, advance

POINTS_PER_MM = 72.0 / 25.4
_SHARE_BEFORE = {"left": 0.0, "center": 0.5, "right": 1.0}
Color = tuple[float, float, float]
BLACK: Color = (0.0, 0.0, 0.0)
_PNG_RGB = 2
_ROUND_CAP = 1


def text_width(text: str, capital: float, bold: bool = False) -> float:
    """Width of a line of text, mm. capital : height of its capitals, mm"""
    return advance(text, bold) * capital / CAPITAL_HEIGHT


@dataclass(frozen=True, eq=False)
class PdfImage:
    """A picture in the document. aspect : width over height"""

    reference: Any
    aspect: float


class PdfDocument:
    """A document under way: owns its fonts, pictures and pages."""

    def __init__(self, compress: bool = False) -> None:
        self._pdf = pydyf.PDF()
        self._compress = compress
        self._pages: list[PdfPage] = []
        self._fonts = {}
        for name, face in (("F1", "/Helvetica"), ("F2", "/Helvetica-Bold")):
            font = pydyf.Dictionary({"Type": "/Font", "Subtype": "/Type1", "BaseFont": face, "Encoding": "/WinAnsiEncoding"})
            self._pdf.add_object(font)
            self._fonts[name] = font.reference

    @property
    def pages(self) -> tuple[PdfPage, ...]:
        """All pages so far."""
        return tuple(self._pages)

    def add_page(self, size: tuple[float, float]) -> PdfPage:
        """A new, empty page. size : width and height, mm"""
        page = PdfPage(size, self._compress)
        self._pages.append(page)
        return page

    def add_png(self, path: Path) -> PdfImage:
        """A picture from a PNG file of 8 bits a channel in red, green and blue, not interlaced; its data are taken as they are.

        Raises ValueError for another file. PNG: ISO/IEC 15948; the same compression and predictors are ISO 32000-1, 7.4.4.4.
        """
        content = path.read_bytes()
        if content[:8] != b"\x89PNG\r\n\x1a\n":
            raise ValueError(f"{path.name} is not a PNG file")
        width, height, depth, kind, _, _, interlaced = struct.unpack(">IIBBBBB", content[16:29])
        if (depth, kind, interlaced) != (8, _PNG_RGB, 0):
            raise ValueError(
                f"{path.name}: depth {depth}, color type {kind}, interlace {interlaced}; allowed is 8, {_PNG_RGB}, 0"
            )
        parameters = pydyf.Dictionary({"Predictor": 15, "Colors": 3, "BitsPerComponent": 8, "Columns": width})
        header = {
            "Type": "/XObject",
            "Subtype": "/Image",
            "Width": width,
            "Height": height,
            "ColorSpace": "/DeviceRGB",
            "BitsPerComponent": 8,
            "Filter": "/FlateDecode",
            "DecodeParms": parameters,
        }
        image = pydyf.Stream([b"".join(_png_data(content))], header)
        self._pdf.add_object(image)
        return PdfImage(image.reference, width / height)

    def write(self, path: Path) -> None:
        """Write all pages. Raises OSError if the file cannot be written."""
        for page in self._pages:
            self._add(page)
        with open(path, "wb") as file:
            self._pdf.write(file)

    def _add(self, page: PdfPage) -> None:
        stream = page.finished()
        self._pdf.add_object(stream)
        resources = {"Font": pydyf.Dictionary(self._fonts)}
        if page.images:
            resources["XObject"] = pydyf.Dictionary({f"I{i}": image.reference for i, image in enumerate(page.images)})
        box = pydyf.Array([0, 0, page.size[0] * POINTS_PER_MM, page.size[1] * POINTS_PER_MM])
        self._pdf.add_page(
            pydyf.Dictionary(
                {
                    "Type": "/Page",
                    "Parent": self._pdf.pages.reference,
                    "MediaBox": box,
                    "Contents": stream.reference,
                    "Resources": pydyf.Dictionary(resources),
                }
            )
        )


def _png_data(content: bytes) -> Iterator[bytes]:
    """The data chunks of a PNG file."""
    at = 8
    while at < len(content):
        (length,) = struct.unpack(">I", content[at : at + 4])
        if content[at + 4 : at + 8] == b"IDAT":
            yield content[at + 8 : at + 8 + length]
        at += 12 + length


class PdfPage:
    """One page while it is drawn. Lengths in mm, x to the right, y up; colors are red, green, blue, 0 to 1."""

    def __init__(self, size: tuple[float, float], compress: bool = False) -> None:
        self.size = size
        self.images: list[PdfImage] = []
        self._stream = pydyf.Stream(compress=compress)
        self._stream.push_state()
        self._stream.set_matrix(POINTS_PER_MM, 0, 0, POINTS_PER_MM, 0, 0)

    def finished(self) -> pydyf.Stream:
        """The content of the page, to which nothing is added any more."""
        self._stream.pop_state()
        return self._stream

    @contextmanager
    def clipped(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """Nothing is drawn outside of the rectangle while this is entered."""
        stream = self._stream
        stream.push_state()
        stream.rectangle(x, y, width, height)
        stream.clip()
        stream.end()
        yield
        stream.pop_state()

    def line(self, points: Array, width: float = 0.3, dash: tuple[float, ...] = (), color: Color = BLACK) -> None:
        """A polyline. points : (n, 2) float"""
        stream = self._stream
        self._pen(width, dash, color)
        self._path(points)
        stream.stroke()

    def stretches(self, ends: Array, width: float = 0.3, color: Color = BLACK) -> None:
        """Many separate lines. ends : (n, 2, 2) float"""
        stream = self._stream
        stream.push_state()
        stream.set_line_cap(_ROUND_CAP)
        self._pen(width, (), color)
        for pair in np.asarray(ends):
            self._path(pair)
        stream.stroke()
        stream.pop_state()

    def filled(self, rings: tuple[Array, ...], color: Color) -> None:
        """The area inside of closed polylines (n, 2), holes left free where they overlap."""
        stream = self._stream
        stream.set_color_rgb(*color)
        for ring in rings:
            self._path(ring)
            stream.close()
        stream.fill(even_odd=True)

    def rectangle(self, x: float, y: float, width: float, height: float, *, line: float = 0.3, fill: Color | None = None) -> None:
        """A rectangle, filled or drawn with a line."""
        corners = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height], [x, y]])
        if fill is not None:
            self.filled((corners,), fill)
        else:
            self.line(corners, line)

    def text(
        self, text: str, at: tuple[float, float], capital: float, anchor: str = "left", bold: bool = False, color: Color = BLACK
    ) -> None:
        """A line of text. at : its base line; capital : height of capitals; anchor : "left", "center" or "right" is at x"""
        x = at[0] - _SHARE_BEFORE[anchor] * text_width(text, capital, bold)
        stream = self._stream
        stream.set_color_rgb(*color)
        stream.begin_text()
        stream.set_font_size("F2" if bold else "F1", round(capital / CAPITAL_HEIGHT, 4))
        stream.set_text_matrix(1, 0, 0, 1, round(x, 4), round(at[1], 4))
        encoded = text.encode("cp1252", errors="replace")
        for special in (b"\\", b"(", b")"):
            encoded = encoded.replace(special, b"\\" + special)
        stream.stream.append(b"(" + encoded + b") Tj")
        stream.end_text()

    def image(self, image: PdfImage, x: float, y: float, width: float) -> None:
        """A picture with its lower left corner at x, y."""
        self._stream.push_state()
        self._stream.set_matrix(width, 0, 0, width / image.aspect, x, y)
        self._stream.draw_x_object(f"I{len(self.images)}")
        self._stream.pop_state()
        self.images.append(image)

    def _pen(self, width: float, dash: tuple[float, ...], color: Color) -> None:
        self._stream.set_color_rgb(*color, stroke=True)
        self._stream.set_line_width(width)
        self._stream.set_dash(list(dash), 0)

    def _path(self, points: Array) -> None:
        rows = np.round(points, 4).tolist()
        self._stream.move_to(*rows[0])
        for x, y in rows[1:]:
            self._stream.line_to(x, y)
