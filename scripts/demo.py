# SPDX-License-Identifier: GPL-3.0-or-later
"""A whole job without a window: demo.py [SHEET] [--out DIR].

Ends with code 0 and all files in place, or with code 2, one sentence and nothing written.
"""

import argparse
import sys
import time
from pathlib import Path

import environment

DEMO_SHEET = environment.ROOT / "blend_demo" / "front_17.toml"


def main() -> int:
    parser = argparse.ArgumentParser(description="From a job sheet to two printable halves, without a window.")
    parser.add_argument(
        "sheet", nargs="?", type=Path, default=DEMO_SHEET, metavar="SHEET", help="job sheet (default: %(default)s)"
    )
    parser.add_argument(
        "--out", type=Path, default=environment.ROOT / "out", metavar="DIR", help="folder for the files (%(default)s)"
    )
    options = parser.parse_args()
    environment.enter("run")
    return run(options.sheet, options.out)


def run(sheet: Path, out: Path) -> int:
    import addon

    addon.register()
    try:
        return run_registered(sheet, out)
    finally:
        addon.unregister()  # the host does not end while one of our classes is registered


def run_registered(sheet: Path, out: Path) -> int:
    from addon.core.base.errors import CageError, JobError, ShapeError
    from addon.host.job_run import run_job
    from addon.ui.shape.scene_setup import save_scene

    start = time.perf_counter()

    def progress(step: str) -> None:
        print(f"{time.perf_counter() - start:6.2f} s  {step}", flush=True)

    try:
        result = run_job(sheet, out, progress, save_scene)
    except (CageError, JobError, OSError, ShapeError) as error:
        print(error, file=sys.stderr)
        return 2
    print()
    for line in result.summary:
        print(line)
    return 0


if __name__ == "__main__":
    environment.leave(main())
