# SPDX-License-Identifier: GPL-3.0-or-later
"""Text broken into lines that fit a width, by the true widths of the letters."""

from __future__ import annotations

from ..tables.helvetica import advance


def text_lines(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The lines of a text.

    width : of the column, size : of the font, both in the same unit. A word that is wider than the column is broken.
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if advance(longer, bold) * size <= width:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for part in _broken(word, width, size, bold):
            lines[-1] = part
            lines.append("")
        lines.pop()
    return lines


def _broken(word: str, width: float, size: float, bold: bool) -> list[str]:
    parts = [word[:1]]
    for letter in word[1:]:
        if advance(parts[-1] + letter, bold) * size > width:
            parts.append(letter)
        else:
            parts[-1] += letter
    return parts
