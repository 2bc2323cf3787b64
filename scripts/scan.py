# SPDX-License-Identifier: GPL-3.0-or-later
"""From a scan in any position to wheel axes: scan.py MESH [--hints FILE] [--unit mm|cm|m|in] [--out DIR].

Writes alignment.json. Ends with code 0, or with code 2, one sentence and nothing written.
"""

import argparse
import json
import os
import sys
import time
from pathlib import Path

import environment

UNITS = ("mm", "cm", "m", "in")


def main() -> int:
    parser = argparse.ArgumentParser(description="From a scan of the wheel in any position to wheel axes and measurements.")
    parser.add_argument("mesh", type=Path, metavar="MESH", help="PLY, STL, OBJ or glTF, mesh or bare points")
    parser.add_argument(
        "--hints",
        type=Path,
        metavar="FILE",
        help="JSON: for any of tire, mount, holes, chassis a list of balls [x, y, z, radius]; up and forward as [x, y, z]; "
        "position front or rear; all in the scan's coordinates",
    )
    parser.add_argument("--unit", choices=UNITS, default="mm", help="unit of the scan (default: %(default)s)")
    parser.add_argument(
        "--out", type=Path, default=environment.ROOT / "out", metavar="DIR", help="folder for alignment.json (%(default)s)"
    )
    options = parser.parse_args()
    # the arrays here are long and narrow: on a busy machine threads of linear algebra cost three times what they give
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    environment.enter("run")
    return run(options.mesh, options.hints, options.unit, options.out)


def run(mesh: Path, hints_file: Path | None, unit: str, out: Path) -> int:
    from addon.core.base.errors import JobError
    from addon.core.scan.alignment.align_scan import align_scan
    from addon.core.scan.alignment.alignment_file import alignment_dict
    from addon.core.scan.data.hints import parse_hints
    from addon.host.scan_import import import_scan
    from addon.output.atomic_output import atomic_output

    start = time.perf_counter()
    try:
        hints = parse_hints(read_json(hints_file)) if hints_file is not None else None
        scan = import_scan(mesh)
        read = time.perf_counter()
        alignment = align_scan(scan, hints, unit)
        done = time.perf_counter()
        values = alignment_dict(alignment)
        values["timings_s"] = {"read": round(read - start, 3), "align": round(done - read, 3)}
        with atomic_output(out) as folder:
            (folder / "alignment.json").write_text(json.dumps(values, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    except (JobError, OSError) as error:
        print(error, file=sys.stderr)
        return 2
    print(
        f"{len(scan.points)} points in {done - start:.1f} s: crown radius {values['crown_radius_mm']:.2f} mm, section width "
        f"{values['section_width_mm']:.2f} mm, {values['coverage_deg']:.0f} degrees covered"
    )
    for warning in alignment.warnings:
        print(f"- {warning}")
    return 0


def read_json(path: Path) -> object:
    from addon.core.base.errors import JobError

    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise JobError(str(path), f"cannot be read as JSON ({error})") from error


if __name__ == "__main__":
    environment.leave(main())
