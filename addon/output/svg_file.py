# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat parts as SVG in millimeters; SVG 1.1, W3C Recommendation, second edition."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from ..core.base.arrays import Array
from ..core.drawing.flat_part import FlatPart

CUT_COLOR, MARK_COLOR = "#ff0000", "#0000ff"
"""Red to cut and blue to mark, as laser shops mostly take them (common practice)."""
_EDGE_MM = 5.0
_HAIRLINE_MM = 0.1
_ANCHOR = {"left": "start", "center": "middle", "right": "end"}


def write_svg(path: Path, parts: Sequence[FlatPart], title: str) -> None:
    """Write parts where they lie, x to the right and y up, 1:1: one user unit is one mm; groups "cut" and "mark" a part.

    Raises ValueError if there is no part, OSError if the file cannot be written.
    """
    if not parts:
        raise ValueError("parts: none; a drawing needs at least one")
    bounds = np.stack([part.bounds for part in parts])
    low, high = bounds[:, 0].min(axis=0) - _EDGE_MM, bounds[:, 1].max(axis=0) + _EDGE_MM
    width, height = (high - low).tolist()
    size = {"width": f"{width:.3f}mm", "height": f"{height:.3f}mm", "viewBox": f"0 0 {width:.3f} {height:.3f}"}
    root = ElementTree.Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "version": "1.1", **size})
    ElementTree.SubElement(root, "title").text = title
    for part in parts:
        group = ElementTree.SubElement(root, "g", {"id": part.name})
        _add_part(group, part, np.array([low[0], high[1]]))
    ElementTree.indent(root)
    path.write_bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


def _add_part(group: ElementTree.Element, part: FlatPart, corner: Array) -> None:
    cut = ElementTree.SubElement(
        group, "path", {"class": "cut", "fill": "none", "stroke": CUT_COLOR, "stroke-width": f"{_HAIRLINE_MM}"}
    )
    cut.set("d", " ".join(f"{_path(ring, corner)} Z" for ring in part.rings))
    for line in part.lines:
        style = {"class": "mark", "fill": "none", "stroke": MARK_COLOR, "stroke-width": f"{_HAIRLINE_MM}"}
        ElementTree.SubElement(group, "path", {**style, "d": _path(line, corner)})
    for label in part.labels:
        x, y = (np.array(label.at) - corner) * [1.0, -1.0]
        style = {"fill": MARK_COLOR, "font-family": "sans-serif", "text-anchor": _ANCHOR[label.anchor]}
        place = {"x": f"{x:.3f}", "y": f"{y:.3f}", "font-size": f"{label.height * _SIZE_OVER_CAPITAL:.2f}"}
        ElementTree.SubElement(group, "text", {**style, **place}).text = label.text


_SIZE_OVER_CAPITAL = 1.4
"""Font size over the height of capitals of common sans-serif faces (common practice)."""


def _path(points: Array, corner: Array) -> str:
    flat = (points - corner) * [1.0, -1.0]
    return "M " + " L ".join(f"{x:.4f} {y:.4f}" for x, y in flat)
