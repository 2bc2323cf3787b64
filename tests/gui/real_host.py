# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a real host is, and how its programs are started: on this machine, or in a folder that holds a Debian."""

from __future__ import annotations

import json
import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

ENTER_FOLDER = """set -e
mount -t proc proc "$1/proc"
mount --rbind /dev "$1/dev"
mkdir -p "$1$2"
mount --bind "$2" "$1$2"
folder=$1
shift 2
exec chroot "$folder" "$@"
"""
"""Mounts are made in a name space of the command's own, so that they end with it; the shared folder keeps its path."""


@dataclass(frozen=True)
class RealHost:
    """A host with a window system.

    program : the host's program
    debian : folder of a Debian in which it is installed, with Xvfb, xdotool and ImageMagick; None: all on this machine
    extension : the built zip
    pictures : folder for the pictures
    """

    program: str
    debian: str | None
    extension: str
    pictures: str

    def command(self, arguments: list[str], shared: Path) -> list[str]:
        """The command that runs a program where the host is. shared : folder that both sides see under one path."""
        if self.debian is None:
            return arguments
        return ["unshare", "--mount", "sh", "-c", ENTER_FOLDER, "sh", self.debian, str(shared), *arguments]

    def forget(self, shared: Path) -> None:
        """Remove what `command` has left of the shared folder where the host is."""
        if self.debian is not None:
            left = Path(self.debian + str(shared))
            if left.exists():
                left.rmdir()

    def run(self, arguments: list[str], shared: Path, environment: dict[str, str]) -> str:
        """Output of a program that ends by itself. Raises RuntimeError with what it printed if it fails."""
        done = subprocess.run(
            self.command(arguments, shared),
            env={**os.environ, **environment},
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{' '.join(arguments)}: code {done.returncode}\n{done.stdout}\n{done.stderr}")
        return done.stdout


def real_host_of_environment() -> RealHost:
    """The host that scripts/gui.py has prepared. Raises RuntimeError outside of it."""
    settings = os.environ.get("FENDERWRIGHT_REAL_HOST")
    if not settings:
        raise RuntimeError("tests in a real window are started by scripts/gui.py")
    return RealHost(**json.loads(settings))
