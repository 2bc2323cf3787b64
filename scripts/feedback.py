# SPDX-License-Identifier: GPL-3.0-or-later
"""Gaps read against printed gauges, turned into a corrected job sheet: feedback.py SHEET READINGS [--out FILE].

READINGS is TOML or JSON with the tables

    gauges = "gauges.json"                                    # beside the readings unless stated
    [[gap]]    station = -35.0  point = "L1"  mm = 24.3  sigma = 0.3
    [[direct]] quantity = "tilt"  value = 3.1  sigma = 0.3    # height, ahead, tilt, lateral, crown_radius

Ends with code 0, the table printed and the corrected sheet written beside the old one; with code 1 if the readings determine
nothing; with code 2 and one sentence if something cannot be read.
"""

import argparse
import json
import sys
import tomllib
from pathlib import Path
from typing import Any

import environment


def main() -> int:
    parser = argparse.ArgumentParser(description="From gaps read on the bike to a corrected job sheet.")
    parser.add_argument("sheet", type=Path, metavar="SHEET", help="the job sheet that the gauges were printed from")
    parser.add_argument("readings", type=Path, metavar="READINGS", help="TOML or JSON with the readings")
    parser.add_argument("--out", type=Path, metavar="FILE", help="the corrected sheet (default: SHEET with _corrected)")
    options = parser.parse_args()
    environment.enter("run")
    return run(options.sheet, options.readings, options.out)


def run(sheet: Path, readings: Path, out: Path | None) -> int:
    from addon.core.base.errors import JobError
    from addon.core.gauges.feedback import feedback
    from addon.core.gauges.feedback_readings import parse_readings
    from addon.core.job.job_sheet import parse_job, read_job_sheet
    from addon.output.sheet_file import write_sheet

    out = sheet.with_name(f"{sheet.stem}_corrected{sheet.suffix}") if out is None else out
    try:
        job = read_job_sheet(sheet)
        data = _read(readings)
        gauges = _read(readings.parent / str(data.get("gauges", "gauges.json")))
        result = feedback(job, parse_readings(job, data, gauges))
        for line in _lines(result):
            print(line)
        if all(item.undetermined for item in result.corrections):
            return 1
        write_sheet(out, parse_job(result.sheet))
    except (JobError, OSError, TypeError, ValueError) as error:
        print(error, file=sys.stderr)
        return 2
    print(f"Corrected sheet: {out}")
    return 0


def _read(path: Path) -> dict[str, Any]:
    text = path.read_text(encoding="utf-8-sig")
    data = json.loads(text) if path.suffix.lower() == ".json" else tomllib.loads(text)
    if not isinstance(data, dict):
        raise TypeError(f"{path.name}: holds no table")
    return data


def _lines(result: Any) -> list[str]:
    lines = [f"{'quantity':<14}{'sheet':>10}{'corrected':>12}{'std error':>12}"]
    for item in result.corrections:
        corrected = "undetermined" if item.undetermined else f"{item.corrected:.2f}"
        lines.append(f"{item.quantity:<14}{item.sheet:>10.2f}{corrected:>13}{item.standard_error:>11.2f}")
    lines += ["", f"{'reading':<30}{'off, mm':>9}{'leverage':>10}{'influence':>11}"]
    for item in result.influences:
        lines.append(f"{item.name:<30}{item.residual:>+9.2f}{item.leverage:>10.2f}{item.cook:>11.2f}")
    lines += [refusal.sentence for refusal in result.refusals]
    lines += [f"Note: {warning}" for warning in result.warnings]
    if result.repeat is not None:
        lines.append(f"Repeat first, as it has the largest influence: {result.repeat}.")
    return lines


if __name__ == "__main__":
    environment.leave(main())
