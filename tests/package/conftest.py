# SPDX-License-Identifier: GPL-3.0-or-later
"""The built zip, and what a host says that has installed it."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import build


@pytest.fixture(scope="session")
def package(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The zip, built by scripts/build.py."""
    return build.build(tmp_path_factory.mktemp("dist"))


@pytest.fixture(scope="session")
def installed(package: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What installed_extension.py found in a host of its own with user files of its own."""
    folder = tmp_path_factory.mktemp("installed")
    command = [sys.executable, str(Path(__file__).with_name("installed_extension.py")), str(package), str(folder / "found.json")]
    environment = {**os.environ, "BLENDER_USER_RESOURCES": str(folder), "PYTHONPATH": ""}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    found: dict[str, Any] = json.loads((folder / "found.json").read_text(encoding="utf-8"))
    return {**found, "printed": done.stdout + done.stderr}
