# SPDX-License-Identifier: GPL-3.0-or-later
"""The extension zip in dist/: build.py. Made and validated by the host's own tool, with the wheels that the manifest lists."""

import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import environment

ADDON = environment.ROOT / "addon"
DIST = environment.ROOT / "dist"
WHEEL_NAME = re.compile(r"(?P<name>[^-]+)-(?P<version>[^-]+)-(?P<python>[^-]+)-(?P<abi>[^-]+)-(?P<platform>[^-]+)\.whl")


def main() -> int:
    environment.enter("run")
    try:
        print(build().relative_to(environment.ROOT))
    except (OSError, subprocess.CalledProcessError, ValueError) as error:
        print(f"The extension was not built: {error}", file=sys.stderr)
        return 1
    return 0


def build(folder: Path = DIST) -> Path:
    """Fetch the wheels, validate, pack into the folder, validate the pack; returns the zip. Run it inside the environment.

    Raises ValueError for a manifest that names no wheel, CalledProcessError with the tool's own words printed.
    """
    manifest = tomllib.loads((ADDON / "blender_manifest.toml").read_text(encoding="utf-8"))
    fetch_wheels(manifest["wheels"])
    folder.mkdir(exist_ok=True)
    package = folder / f"{manifest['id']}-{manifest['version']}.zip"
    host_tool("validate", str(ADDON))
    host_tool("build", "--source-dir", str(ADDON), "--output-filepath", str(package))
    host_tool("validate", str(package))
    return package


def fetch_wheels(listed: list[str]) -> None:
    """Fill addon/wheels with exactly the wheels that the manifest lists, for all their platforms."""
    folder = ADDON / "wheels"
    folder.mkdir(exist_ok=True)
    names = {Path(path).name for path in listed}
    for unlisted in folder.iterdir():
        if unlisted.name not in names:
            unlisted.unlink()
    for name in sorted(names):
        if not (folder / name).exists():
            fetch_wheel(name, folder)


def fetch_wheel(file_name: str, folder: Path) -> None:
    """Have pip download one wheel by its file name. Raises ValueError if that is no name of a wheel."""
    parts = WHEEL_NAME.fullmatch(file_name)
    if parts is None:
        raise ValueError(f"{file_name} in the manifest is not the name of a wheel")
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]
    command += ["--only-binary", ":all:", "--implementation", parts["python"][:2], "--abi", parts["abi"]]
    if parts["python"][:2] == "cp":
        command += ["--python-version", parts["python"][2:]]
    for platform in parts["platform"].split("."):
        command += ["--platform", platform]
    subprocess.run([*command, "--dest", str(folder), f"{parts['name']}=={parts['version']}"], check=True)
    if not (folder / file_name).exists():
        raise ValueError(f"pip found another file than {file_name} for {parts['name']} {parts['version']}")


def host_tool(*arguments: str) -> None:
    """Run the host's command-line tool for extensions, with the host's own list of tags."""
    specification = importlib.util.find_spec("bpy")
    if specification is None or specification.origin is None:
        raise ValueError("the environment has no host")
    scripts = Path(specification.origin).parent / environment.wanted_host() / "scripts"
    tool = scripts / "addons_core" / "bl_pkg" / "cli" / "blender_ext.py"
    tags = scripts / "modules" / "_bpy_internal" / "extensions" / "tags.py"
    command = [sys.executable, str(tool), arguments[0], "--valid-tags", str(tags), *arguments[1:]]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
    if done.returncode:
        print(done.stdout, file=sys.stderr)
        done.check_returncode()


if __name__ == "__main__":
    sys.exit(main())
