# SPDX-License-Identifier: GPL-3.0-or-later
"""The figures that variants are compared by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class VariantFigures:
    """What a finished variant comes to.

    to_spare_mm : least clearance to the tire over what is required; mass_g, hours : of all pieces as printed, hours None where the
    plan has none; pieces : how many, all_fit : whether each fits the bed
    flex_mm : how far it gives way under a hand or in the wind; above, behind : share of the tire that is hidden, 0 to 1
    """

    name: str
    to_spare_mm: float
    mass_g: float
    pieces: int
    all_fit: bool
    hours: float
    flex_mm: float
    above: float
    behind: float


COLUMNS = ("Variant", "To Spare, mm", "Mass, g", "Pieces", "Hours", "Gives, mm", "Hidden Above", "Hidden Behind")


def variant_cells(figures: VariantFigures) -> tuple[str, ...]:
    """One row of the table, under COLUMNS."""
    return (
        figures.name,
        f"{figures.to_spare_mm:.1f}",
        f"{figures.mass_g:.0f}",
        f"{figures.pieces}" if figures.all_fit else f"{figures.pieces}, too big",
        f"{figures.hours:.1f}",
        f"{figures.flex_mm:.1f}",
        f"{100.0 * figures.above:.0f} %",
        f"{100.0 * figures.behind:.0f} %",
    )


def variant_table(rows: Sequence[VariantFigures]) -> tuple[str, ...]:
    """The table as lines of text, columns side by side."""
    cells = [COLUMNS, *(variant_cells(row) for row in rows)]
    widths = [max(len(line[i]) for line in cells) for i in range(len(COLUMNS))]
    return tuple(
        "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width) for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        )
        for line in cells
    )


def variant_report(figures: VariantFigures) -> dict[str, Any]:
    """A row as JSON holds it."""
    return {key: round(value, 4) if isinstance(value, float) else value for key, value in asdict(figures).items()}


def variant_words(figures: VariantFigures) -> str:
    """The row as a sentence."""
    fits = "" if figures.all_fit else ", too big for the bed"
    return (
        f"{figures.to_spare_mm:.1f} mm to spare; {figures.mass_g:.0f} g in {figures.pieces} pieces{fits}; {figures.hours:.1f} h; gives "
        f"{figures.flex_mm:.1f} mm; hides {100.0 * figures.above:.0f} % above, {100.0 * figures.behind:.0f} % behind"
    )
