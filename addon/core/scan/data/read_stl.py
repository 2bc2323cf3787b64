# SPDX-License-Identifier: GPL-3.0-or-later
"""STL files, binary and ASCII."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from ...base.errors import JobError
from .scan_data import Scan

HEADER = 84
RECORD = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def read_stl(path: Path) -> Scan:
    """The scan in an STL file; corners in one place become one point.

    Raises JobError if the file is neither a binary nor an ASCII STL.
    Binary: 80 bytes, uint32 count, 50 bytes a triangle, so 84 + 50 n in all; that decides, as some binary files start
    with "solid" too.
    """
    data = path.read_bytes()
    count = int(np.frombuffer(data, "<u4", 1, 80)[0]) if len(data) >= HEADER else -1
    if len(data) == HEADER + RECORD.itemsize * count:
        corners = np.frombuffer(data, RECORD, count, HEADER)["corners"].reshape(-1, 3)
    elif data.lstrip().startswith(b"solid"):
        numbers = re.findall(rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)", data)
        corners = np.array(numbers, dtype="S32").astype(np.float64).reshape(-1, 3)
    else:
        raise JobError(path.name, f"{len(data)} bytes are no STL file of {max(count, 0)} triangles, nor does it start with solid")
    if len(corners) == 0 or len(corners) % 3:
        raise JobError(path.name, f"the STL file holds {len(corners)} corners, which make no triangles")
    # one sort of packed rows: merging by value with np.unique(axis=0) costs ten times as much
    packed = (
        np.ascontiguousarray(corners.astype(np.float32) + np.float32(0.0)).view("V12").ravel().view([("a", "<u8"), ("b", "<u4")])
    )
    _, first, place = np.unique(packed, return_index=True, return_inverse=True)
    return Scan(corners[first].astype(np.float64), place.reshape(-1, 3).astype(np.int64))
