# SPDX-License-Identifier: GPL-3.0-or-later
"""Keys and mouse: one xdotool that takes commands as long as the window is there."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from tests.gui.real_host import RealHost


class Hands:
    """Does one command after the other; each has reached the window system when `do` returns."""

    def __init__(self, host: RealHost, shared: Path, environment: dict[str, str]) -> None:
        # unbuffered by line, as its answers are waited for
        self._process = subprocess.Popen(
            host.command(["stdbuf", "-oL", "xdotool", "-"], shared),
            env={**os.environ, **environment},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            bufsize=1,
        )

    def do(self, command: str) -> None:
        """Do a command of xdotool. Raises RuntimeError if xdotool has ended."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(f"{command}\ngetmouselocation\n")
        if not self._process.stdout.readline().startswith("x:"):
            raise RuntimeError(f"xdotool ended at: {command}")

    def end(self) -> None:
        self._process.terminate()
        self._process.communicate()
