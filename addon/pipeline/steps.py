# SPDX-License-Identifier: GPL-3.0-or-later
"""Long work in steps, so that whoever runs it can show how far it is, and give it up between two of them."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeVar

Result = TypeVar("Result")

Steps = Generator[str, None, Result]
"""Yields what is done next, in a few words, and returns the result; closing it gives the work up, with nothing left behind."""


def run_steps(steps: Steps[Result]) -> Result:
    """The result of all steps, run at once."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            result: Result = end.value
            return result
