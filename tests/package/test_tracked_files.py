# SPDX-License-Identifier: GPL-3.0-or-later
"""No file names a path of one machine or the host of a package registry."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FORBIDDEN = {
    "path of one machine": re.compile(r"(?<![\w.$}])/(?:home|mnt|opt|root|srv|work|Users)/\w|[A-Z]:\\Users"),
    "host of a package registry": re.compile(r"(?:pypi|pythonhosted|npmjs)\.(?:org|io|com)|(?:deb|security|ftp)\.debian\.org"),
}


def tracked_texts() -> dict[str, str]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    texts = {}
    for name in filter(None, listed.split("\0")):
        path = ROOT / name
        content = path.read_bytes() if path.is_file() else b""
        if b"\0" not in content:
            texts[name] = content.decode("utf-8")
    return texts


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_tracked_file_names_a(what: str) -> None:
    texts = tracked_texts()
    assert "pyproject.toml" in texts
    found = [
        f"{name}:{number}: {line.strip()}"
        for name, text in texts.items()
        for number, line in enumerate(text.splitlines(), 1)
        if FORBIDDEN[what].search(line)
    ]
    assert not found, "\n".join(found)


def test_patterns_find_what_they_should() -> None:
    machine, registry = FORBIDDEN.values()
    assert machine.search("open('" + "/ho" + "me/somebody/x')")
    assert not machine.search("https://example.net/home")
    assert registry.search("https://py" + "pi.org/simple")


def test_tracked_files_are_small() -> None:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    sizes = {name: (ROOT / name).stat().st_size for name in filter(None, listed.split("\0")) if (ROOT / name).is_file()}
    assert {name: size for name, size in sizes.items() if size > 1_000_000} == {}
