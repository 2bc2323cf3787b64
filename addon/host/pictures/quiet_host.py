# SPDX-License-Identifier: GPL-3.0-or-later
"""Keeps the host's own console lines away from a builder's terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def quiet_host() -> Iterator[None]:
    """Drop what the host prints of its own progress; errors still come as exceptions and on the error stream."""
    sys.stdout.flush()
    kept = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
