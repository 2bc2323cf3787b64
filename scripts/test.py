# SPDX-License-Identifier: GPL-3.0-or-later
"""All tests: test.py [pytest arguments].

They run on as many processes as there are processors, each file in one of them, each with one thread for linear algebra: more
would only wait for each other. `-n 0` runs them in one process, as a debugger and `-s` need.
"""

import os
import subprocess
import sys

import environment

IN_ONE_PROCESS = {"-s", "--capture=no", "--pdb", "--version", "--collect-only", "--co"}


def main() -> int:
    environment.enter("test")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    command = [sys.executable, "-m", "pytest", *parallel(sys.argv[1:]), *sys.argv[1:]]
    return subprocess.run(command, cwd=environment.ROOT, check=False).returncode


def parallel(arguments: list[str]) -> list[str]:
    """The options that spread the tests over the processors, unless the arguments say how, or want to see one process."""
    told = any(argument.startswith(("-n", "--numprocesses")) or argument in IN_ONE_PROCESS for argument in arguments)
    return [] if told else ["-n", str(os.cpu_count() or 1), "--dist", "loadfile"]


if __name__ == "__main__":
    sys.exit(main())
