# SPDX-License-Identifier: GPL-3.0-or-later
"""What the panel tells of an aligned scan: kept with the scan object, so that undo and files keep it too."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from functools import lru_cache

import bpy

from ...core.scan.alignment.alignment import Alignment
from ...core.scan.alignment.alignment_rows import Row, alignment_rows
from ...core.scan.alignment.residual_colors import LegendField, residual_legend, residual_range

REPORT = "fenderwright_scan_report"


@dataclass(frozen=True)
class ScanReport:
    """rows : label and value; warnings : sentences; range_mm : where the colors of the residuals end"""

    rows: tuple[Row, ...]
    warnings: tuple[str, ...]
    range_mm: float

    @property
    def legend(self) -> tuple[LegendField, ...]:
        return residual_legend(self.range_mm)


def report_of(alignment: Alignment) -> ScanReport:
    return ScanReport(alignment_rows(alignment), alignment.warnings, residual_range(alignment.section.residual_rms))


def keep_report(ob: bpy.types.Object, report: ScanReport) -> None:
    ob[REPORT] = json.dumps(asdict(report))


def forget_report(ob: bpy.types.Object) -> None:
    if ob.get(REPORT) is not None:
        del ob[REPORT]


def kept_report(ob: bpy.types.Object) -> ScanReport | None:
    """The report of an object; None if it was not aligned."""
    text = ob.get(REPORT)
    return None if text is None else _read(text)


@lru_cache(maxsize=4)
def _read(text: str) -> ScanReport:
    data = json.loads(text)
    return ScanReport(tuple((left, right) for left, right in data["rows"]), tuple(data["warnings"]), data["range_mm"])
