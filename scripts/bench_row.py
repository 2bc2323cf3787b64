# SPDX-License-Identifier: GPL-3.0-or-later
"""One measurement of the bench."""

from __future__ import annotations

from dataclasses import dataclass


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
