# SPDX-License-Identifier: GPL-3.0-or-later
"""All tests: test.py [pytest arguments]."""

import subprocess
import sys

import environment


def main() -> int:
    environment.enter("test")
    return subprocess.run([sys.executable, "-m", "pytest", *sys.argv[1:]], cwd=environment.ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
