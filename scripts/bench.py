# SPDX-License-Identifier: GPL-3.0-or-later
"""Measurements: bench.py [--small] [--json FILE] [NAME ...].

Each module of scripts/bench_rows has a function rows() that returns a list of BenchRow. Each runs in a process of its own,
one after the other, so that none disturbs or hides another. Ends with code 1 if a module fails. With --small they only show
that they run: their figures mean nothing.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import environment

FOLDER = Path(__file__).resolve().parent / "bench_rows"
ONE_MODULE = """
import dataclasses, importlib, json, sys
sys.path[:0] = sys.argv[3:]
rows = importlib.import_module("bench_rows." + sys.argv[1]).rows()
with open(sys.argv[2], "w", encoding="utf-8") as file:
    json.dump([{**dataclasses.asdict(row), "ratio": row.ratio} for row in rows], file)
"""


def main() -> int:
    modules = sorted(path.stem for path in FOLDER.glob("*.py") if not path.stem.startswith("_"))
    parser = argparse.ArgumentParser(description="Measurements, one row each: name, ours, reference, ratio.")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the rows there too")
    parser.add_argument("--small", action="store_true", help="sizes that only show that every row runs")
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"which to run, all by default: {', '.join(modules)}")
    options = parser.parse_args()
    unknown = sorted(set(options.names) - set(modules))
    if unknown:
        parser.error(f"no measurement is named {', '.join(unknown)}; there are {', '.join(modules)}")
    environment.enter("test")
    if options.small:
        os.environ["FENDERWRIGHT_BENCH_SIZE"] = "small"
    rows: list[dict[str, Any]] = []
    failed: list[str] = []
    print(table_line("name", "ours", "reference", "ratio", "goal"))
    for module in options.names or modules:
        measured = rows_of(module)
        if measured is None:
            failed.append(module)
            continue
        rows += measured
        for row in measured:
            print(table_line(row["name"], *(figure(row[key]) for key in ("ours", "reference", "ratio", "goal"))), flush=True)
    if options.json:
        options.json.parent.mkdir(parents=True, exist_ok=True)
        options.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    if failed:
        print(f"failed: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


def rows_of(module: str) -> list[dict[str, Any]] | None:
    """The rows of one module; None, with what it printed on the error stream, if it fails."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "rows.json"
        command = [sys.executable, "-c", ONE_MODULE, module, str(file), str(FOLDER.parent), str(environment.ROOT)]
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
        if done.returncode or not file.exists():
            print(f"{module}: code {done.returncode}\n{done.stdout}", file=sys.stderr)
            return None
        rows: list[dict[str, Any]] = json.loads(file.read_text(encoding="utf-8"))
        return rows


def figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.4g}"


def table_line(name: str, *figures: str) -> str:
    return f"{name:<70}" + "".join(f"{text:>12}" for text in figures)


if __name__ == "__main__":
    sys.exit(main())
