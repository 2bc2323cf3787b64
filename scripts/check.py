# SPDX-License-Identifier: GPL-3.0-or-later
"""Lint and types: check.py."""

import subprocess
import sys

import environment

TOOLS = (("ruff", "check", "."), ("mypy",))


def main() -> int:
    environment.enter("test")
    codes = [subprocess.run([sys.executable, "-m", *tool], cwd=environment.ROOT, check=False).returncode for tool in TOOLS]
    return max(codes)


if __name__ == "__main__":
    sys.exit(main())
