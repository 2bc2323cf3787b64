# SPDX-License-Identifier: GPL-3.0-or-later
"""One measurement of the bench, and how it is timed."""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

Size = TypeVar("Size")

SMALL = os.environ.get("FENDERWRIGHT_BENCH_SIZE") == "small"
"""Whether the rows run in a size that only shows that they run; see bench.py --small."""


@dataclass(frozen=True)
class BenchRow:
    """A figure of ours beside a reference of the same run.

    name : what was measured, with its size and unit, such as "distance, 100,000 points (ms)"
    ours, reference : in the same unit; reference is None where there is nothing to compare with
    goal : largest `ours` that is wanted, None if there is none
    """

    name: str
    ours: float
    reference: float | None = None
    goal: float | None = None

    @property
    def ratio(self) -> float | None:
        """ours / reference."""
        return None if not self.reference else self.ours / self.reference


def sized(full: Size, small: Size) -> Size:
    """The full size of a measurement, or the small one where the rows must only run."""
    return small if SMALL else full


def seconds(run: Callable[[], object], times: int, warm_up: bool = True) -> list[float]:
    """Seconds of each of `times` runs, after one that is not counted; of a single run where the rows must only run."""
    if warm_up and not SMALL:
        run()
    taken = []
    for _ in range(sized(times, 1)):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return taken


def median_ms(run: Callable[[], object], times: int = 5) -> float:
    """Median of several runs, ms."""
    return 1000.0 * statistics.median(seconds(run, times))
