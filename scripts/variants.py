# SPDX-License-Identifier: GPL-3.0-or-later
"""Several shapes for one job compared, without a window: variants.py SHEET SHEET [SHEET ...] [--out DIR].

Ends with code 0 and all files in place, or with code 2, one sentence and nothing written.
"""

import argparse
import sys
import time
from pathlib import Path

import environment


def main() -> int:
    parser = argparse.ArgumentParser(description="Several job sheets of one wheel and mount, made and compared.")
    parser.add_argument(
        "sheets", nargs="+", type=Path, metavar="SHEET", help="job sheets; the first is what shapes are compared with"
    )
    parser.add_argument(
        "--out",
        type=Path,
        default=environment.ROOT / "out" / "variants",
        metavar="DIR",
        help="folder for the files (%(default)s)",
    )
    options = parser.parse_args()
    environment.enter("run")
    return run(options.sheets, options.out)


def run(sheets: list[Path], out: Path) -> int:
    import addon

    addon.register()
    try:
        return run_registered(sheets, out)
    finally:
        addon.unregister()  # the host does not end while one of our classes is registered


def run_registered(sheets: list[Path], out: Path) -> int:
    from addon.core.base.errors import CageError, JobError, ShapeError
    from addon.host.variants_run import run_variants
    from addon.ui.shape.scene_setup import save_scene

    start = time.perf_counter()

    def progress(step: str) -> None:
        print(f"{time.perf_counter() - start:6.2f} s  {step}", flush=True)

    try:
        table = run_variants(sheets, out, progress, save_scene)
    except (CageError, JobError, OSError, ShapeError) as error:
        print(error, file=sys.stderr)
        return 2
    print()
    for line in table:
        print(line)
    print(f"Files are in {out}")
    return 0


if __name__ == "__main__":
    environment.leave(main())
