# SPDX-License-Identifier: GPL-3.0-or-later
"""A growing file of JSON lines that another program writes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


class JsonLines:
    """Reads each whole line once."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._position = 0

    def new_lines(self) -> list[dict[str, Any]]:
        """The lines that were completed since the last call; none while the file is not there."""
        if not self._path.exists():
            return []
        with open(self._path, "rb") as file:
            file.seek(self._position)
            whole_lines, newline, _ = file.read().rpartition(b"\n")
        self._position += len(whole_lines) + len(newline)
        return [json.loads(line) for line in whole_lines.splitlines()]
