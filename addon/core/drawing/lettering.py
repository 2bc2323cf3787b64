# SPDX-License-Identifier: GPL-3.0-or-later
"""Single-stroke capitals for raised labels on gauges and for drawings."""

from __future__ import annotations

import unicodedata

import numpy as np

from ..base.arrays import Array

GRID_WIDTH, GRID_HEIGHT = 4.0, 6.0
UP, LEFT, RIGHT = "\u2191", "\u2190", "\u2192"
"""Arrows of the table."""

_STROKES = {
    "A": "0004264440 0242",
    "B": "0006 063645443303 3342413000",
    "C": "4536160501103041",
    "D": "00062644422000",
    "E": "46060040 0333",
    "F": "460600 0333",
    "G": "4536160501103041 414323",
    "H": "0006 4046 0343",
    "I": "1030 1636 2026",
    "J": "0110304146",
    "K": "0006 4603 0340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "100105163645413010",
    "P": "0006 063645443303",
    "Q": "100105163645413010 2240",
    "R": "0006 063645443303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2620",
    "U": "060110304146",
    "V": "062046",
    "W": "0610233046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "0": "20020426444220",
    "1": "152620 1030",
    "2": "05163645440040",
    "3": "0516364544334241301001 1333",
    "4": "303602 0242",
    "5": "4606033342413000",
    "6": "361605011030414233 3303",
    "7": "064620",
    "8": "130405163645443313 130201103041423313",
    "9": "103041453616050413 1343",
    "-": "0343",
    "+": "0343 2125",
    ".": "2021",
    ",": "2110",
    ":": "2122 2425",
    "/": "0046",
    "_": "0040",
    "=": "0242 0444",
    "(": "36252130",
    ")": "16252110",
    "'": "2624",
    "?": "05163645442322 2021",
    UP: "2026 042644",
    LEFT: "0343 250321",
    RIGHT: "0343 254321",
}
"""Character: strokes as pairs of digits (x 0..4, y 0..6 on the grid); a stroke that ends where it began is closed."""


def spelled(text: str) -> str:
    """The text in characters of the table: capitals, accents dropped, every other character a question mark."""
    plain = unicodedata.normalize("NFKD", text.upper().replace("\u00df", "SS"))
    kept = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return "".join(letter if letter in _STROKES or letter == " " else "?" for letter in kept)


def advance(height: float, line: float) -> float:
    """From one character to the next, mm: its width and a gap of one line. height : over all, with the line's width."""
    return (height - line) * GRID_WIDTH / GRID_HEIGHT + 2.0 * line


def text_width(text: str, height: float, line: float) -> float:
    """Width of a line of text over all, mm. ValueError unless height is more than the line's width."""
    if not height > line > 0.0:
        raise ValueError(f"height {height:g} mm with a line of {line:g} mm; the height must be the larger one, both over 0")
    return max(len(spelled(text)) * advance(height, line) - line, 0.0)


def text_strokes(text: str, height: float, line: float) -> tuple[Array, ...]:
    """Center lines of the strokes of one line of text, its lower left corner over all at (0, 0), running to +x.

    height : over all, mm; line : width that the strokes will have, mm
    Returns polylines (n, 2) float, mm; closed ones end where they begin.
    """
    text_width(text, height, line)
    scale = (height - line) / GRID_HEIGHT
    strokes = []
    for place, letter in enumerate(spelled(text)):
        corner = np.array([place * advance(height, line) + 0.5 * line, 0.5 * line])
        for code in _STROKES.get(letter, "").split():
            grid = np.array([int(digit) for digit in code], dtype=np.float64).reshape(-1, 2)
            strokes.append(grid * scale + corner)
    return tuple(strokes)
