# SPDX-License-Identifier: GPL-3.0-or-later
"""The host's drawing state, lent."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import gpu

_STATE: Any = gpu.state


@contextmanager
def drawing_state(*, hides_what_is_behind: bool, blend: str = "NONE") -> Iterator[None]:
    """Draw only what nothing stands before; the state is left as it was.

    hides_what_is_behind : True for what is drawn after it and stands behind it to be hidden; blend : of the host's modes
    """
    depth, mask, before = _STATE.depth_test_get(), _STATE.depth_mask_get(), _STATE.blend_get()
    _STATE.depth_test_set("LESS_EQUAL")
    _STATE.depth_mask_set(hides_what_is_behind)
    _STATE.blend_set(blend)
    try:
        yield
    finally:
        _STATE.depth_test_set(depth)
        _STATE.depth_mask_set(mask)
        _STATE.blend_set(before)
