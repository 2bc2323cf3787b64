# SPDX-License-Identifier: GPL-3.0-or-later
"""The built zip: what is in it, what its manifest says, and that a host installs it."""

import re
import subprocess
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import pytest

import build
import environment

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def names(package: Path) -> set[str]:
    with zipfile.ZipFile(package) as content:
        assert content.testzip() is None
        return {name for name in content.namelist() if not name.endswith("/")}


@pytest.fixture(scope="module")
def manifest(package: Path) -> dict[str, Any]:
    with zipfile.ZipFile(package) as content:
        return tomllib.loads(content.read("blender_manifest.toml").decode("utf-8"))


def test_zip_holds_the_extension_and_nothing_else(names: set[str], manifest: dict[str, Any]) -> None:
    listed = subprocess.run(["git", "ls-files", "-z", "addon"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    tracked = {name.removeprefix("addon/") for name in listed.split("\0") if name and (ROOT / name).exists()}
    wheels = {wheel.removeprefix("./") for wheel in manifest["wheels"]}
    assert tracked | wheels <= names
    assert {Path(name).suffix for name in names} <= {".py", ".toml", ".whl", ".blend"}
    assert not [name for name in names if "__pycache__" in name or name.startswith("tests")]


def test_manifest_follows_the_hosts_rules(manifest: dict[str, Any]) -> None:
    assert manifest["id"] == "fenderwright"
    assert manifest["license"] == ["SPDX:GPL-3.0-or-later"]
    assert tuple(map(int, manifest["blender_version_min"].split("."))) <= (4, 5, 0)
    assert "blender_version_max" not in manifest
    assert set(manifest["permissions"]) == {"files"}
    for sentence in (manifest["tagline"], *manifest["permissions"].values()):
        assert len(sentence) <= 64 and not sentence.endswith("."), sentence


@pytest.mark.parametrize("series", environment.HOSTS.values())
def test_bundled_wheels_are_the_tested_ones(manifest: dict[str, Any], series: str) -> None:
    text = (ROOT / "requirements" / f"run-{series}.txt").read_text(encoding="utf-8")
    pinned = {name.lower().replace("-", "_"): version for name, version in re.findall(r"^(\S+)==(\S+)$", text, re.MULTILINE)}
    for wheel in manifest["wheels"]:
        parts = build.WHEEL_NAME.fullmatch(Path(wheel).name)
        assert parts is not None and pinned[parts["name"].lower()] == parts["version"]


PLATFORMS = ["manylinux\\w*_x86_64", "win_amd64", "macosx_\\w+_(?:universal2|arm64)", "macosx_\\w+_(?:universal2|x86_64)"]


@pytest.mark.parametrize("platform", PLATFORMS)
def test_lib3mf_is_there_for_each_platform(manifest: dict[str, Any], platform: str) -> None:
    assert [wheel for wheel in manifest["wheels"] if re.search(rf"/lib3mf-.*-{platform}\.whl$", wheel)]


@pytest.mark.parametrize("python", ["cp{}{}".format(*version) for version in environment.HOSTS])
@pytest.mark.parametrize("platform", [*PLATFORMS, "manylinux\\w*_aarch64", "win_arm64"])
def test_the_modeler_is_there_for_each_host_and_platform(manifest: dict[str, Any], python: str, platform: str) -> None:
    """Nothing is finished without it, and the host has builds for all of these."""
    assert modeler_wheels(manifest, python, platform)


@pytest.mark.parametrize("platform", ["manylinux\\w*_x86_64", "manylinux\\w*_aarch64"])
def test_the_modeler_is_there_for_hosts_that_debian_builds_with_its_own_python(manifest: dict[str, Any], platform: str) -> None:
    assert modeler_wheels(manifest, "cp314", platform)


def modeler_wheels(manifest: dict[str, Any], python: str, platform: str) -> list[str]:
    return [wheel for wheel in manifest["wheels"] if re.search(rf"/manifold3d-[^-]+-{python}-{python}-.*{platform}\.whl$", wheel)]


def test_host_installs_and_enables_it(installed: dict[str, Any]) -> None:
    assert installed["enabled"]
    assert "Traceback" not in installed["printed"], installed["printed"]
    assert {"ezdxf", "fontTools", "lib3mf", "manifold3d", "pydyf", "tomli_w"} <= {
        name.partition(".")[0] for name in installed["site_packages"]
    }


def test_host_sees_no_violation_of_its_policy(installed: dict[str, Any]) -> None:
    assert installed["warnings"] == []


def test_all_is_taken_back_and_can_be_registered_again(installed: dict[str, Any]) -> None:
    for kind in ("registered", "handlers"):
        enabled, disabled = installed[kind][::2], installed[kind][1::2]
        assert len(enabled) == 3 and all(names == enabled[0] for names in enabled)
        assert len(disabled) == 2 and all(names == [] for names in disabled)
    assert installed["registered"][0]
