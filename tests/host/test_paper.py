# SPDX-License-Identifier: GPL-3.0-or-later
"""Paper at full size: lengths are measured in the PDF's own units, by a reader written for it here."""

import re
from pathlib import Path

import numpy as np
import pytest

from addon.core.drawing.drawing import Drawing, Mark, Stroke, circle
from addon.output.pages.paper import MARGIN_MM, PAPERS, page_layout, write_paper

POINT_MM = 25.4 / 72.0


def _pages(path: Path) -> list[tuple[tuple[float, float], list[np.ndarray], list[str]]]:
    """Of each page: size in points, stroked polylines in points, texts."""
    raw = path.read_bytes()
    boxes = [tuple(float(v) for v in box.split()[2:]) for box in re.findall(rb"/MediaBox \[([^\]]*)\]", raw)]
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", raw, re.DOTALL)
    pages = []
    for box, stream in zip(boxes, streams, strict=True):
        matrix, lines, texts = np.eye(3), [], []
        for row in stream.split(b"\n"):
            words = row.split()
            if not words:
                continue
            if words[-1] == b"cm":
                a, b, c, d, e, f = (float(word) for word in words[:6])
                matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
            elif words[-1] == b"m":
                lines.append([[float(words[0]), float(words[1]), 1.0]])
            elif words[-1] == b"l":
                lines[-1].append([float(words[0]), float(words[1]), 1.0])
            elif words[-1] == b"Tj":
                texts.append(row.decode("cp1252")[1:-4])
        pages.append((box, [(np.array(line) @ matrix)[:, :2] for line in lines], texts))
    return pages


def _square(size: float, to_scale: bool = True) -> Drawing:
    corners = np.array([[0.0, 0.0], [size, 0.0], [size, size], [0.0, size], [0.0, 0.0]])
    strokes = (Stroke(corners, 0.5), circle((0.5 * size, 0.5 * size), 0.25 * size))
    return Drawing("square", "Square (1:1)", strokes, (Mark("m\u00fc \u2191", (0.0, 0.0)),), ("A note.",), to_scale)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_lengths_on_the_page_are_true(tmp_path: Path, paper: str) -> None:
    assert write_paper(tmp_path / "a.pdf", [_square(150.0)], "Job", ("Beware of wheels.",), paper) == 1
    ((box, lines, texts),) = _pages(tmp_path / "a.pdf")
    assert np.array(box) * POINT_MM == pytest.approx(PAPERS[paper], abs=0.01)
    widths = [float(np.ptp(line[:, 0])) * POINT_MM for line in lines]
    assert any(abs(width - 100.0) < 0.01 for width in widths), "check bar"
    square = next(line for line in lines if len(line) == 5)
    assert np.ptp(square, axis=0) * POINT_MM == pytest.approx([150.0, 150.0], abs=0.01)
    assert (square > MARGIN_MM / POINT_MM - 0.01).all() and (square < np.array(box) - MARGIN_MM / POINT_MM + 0.01).all()
    round_one = next(line for line in lines if len(line) > 20)
    assert np.ptp(round_one, axis=0) * POINT_MM == pytest.approx([75.0, 75.0], abs=0.01)
    assert any("100 mm" in text for text in texts) and any("Beware of wheels." in text for text in texts)
    assert any(text == "Square \\(1:1\\)" for text in texts) and any(text == "m\u00fc ?" for text in texts)


def test_large_drawing_is_tiled_with_crosses_that_meet(tmp_path: Path) -> None:
    drawing = _square(320.0)
    layout = page_layout(drawing, "A4")
    count = write_paper(tmp_path / "a.pdf", [drawing], "Job", (), "A4")
    assert count == len(layout.tiles) == layout.rows * layout.columns and count > 1
    pages = _pages(tmp_path / "a.pdf")
    field = np.array([MARGIN_MM, layout.page[1] - MARGIN_MM - 16.0 - layout.field[1]])
    crosses: dict[tuple[float, float], int] = {}
    for tile, (_, lines, texts) in zip(layout.tiles, pages, strict=True):
        assert any(f"row {tile.row} of {layout.rows}, column {tile.column} of {layout.columns}" in text for text in texts)
        square = next(line for line in lines if len(line) == 5)
        assert np.ptp(square, axis=0) * POINT_MM == pytest.approx([320.0, 320.0], abs=0.01)
        for line in lines:
            if len(line) == 2 and np.ptp(line[:, 0]) * POINT_MM == pytest.approx(8.0, abs=1e-3):
                at = line.mean(axis=0) * POINT_MM - field + tile.low
                key = (round(float(at[0]), 2), round(float(at[1]), 2))
                crosses[key] = crosses.get(key, 0) + 1
    shared = [number for number in crosses.values() if number > 1]
    assert len(shared) >= 2 * (layout.rows * (layout.columns - 1) + layout.columns * (layout.rows - 1)) // 2
    low = np.min([tile.low for tile in layout.tiles], axis=0)
    high = np.max([np.array(tile.low) + layout.field for tile in layout.tiles], axis=0)
    assert (low <= 0.0).all() and (high >= 320.0).all()


def test_drawing_that_is_not_to_scale_fits_one_page(tmp_path: Path) -> None:
    assert write_paper(tmp_path / "a.pdf", [_square(900.0, to_scale=False)], "Job", (), "Letter") == 1
    ((box, lines, texts),) = _pages(tmp_path / "a.pdf")
    square = next(line for line in lines if len(line) == 5)
    assert np.ptp(square, axis=0).max() < min(box) and "not to scale" in texts and not any("100 mm" in text for text in texts)


def test_other_paper_or_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="allowed is A4, Letter"):
        write_paper(tmp_path / "a.pdf", [_square(10.0)], "", (), "A0")
    with pytest.raises(ValueError, match="at least one"):
        write_paper(tmp_path / "a.pdf", [], "", ())
