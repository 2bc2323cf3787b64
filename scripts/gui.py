# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests in a real window: gui.py [--pictures DIR] [pytest arguments].

BLENDER names an installed host; Xvfb, xdotool and ImageMagick's import must then be on the path. Otherwise, on a Debian
with debootstrap and as root, the host of Debian unstable is installed once into a folder of its own, outside of the
project: FENDERWRIGHT_CACHE, or fenderwright in the user's cache folder.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import environment

PACKAGES = (
    "blender",
    "fonts-dejavu-core",
    "imagemagick",
    "libegl1",
    "libgl1",
    "libgl1-mesa-dri",
    "python3-cattr",
    "python3-numpy",
    "python3-requests",
    "xdotool",
    "xvfb",
)
TRIES = 3
APT = ("-o", "Acquire::Check-Valid-Until=false", "-o", "Acquire::Retries=5")


def main() -> int:
    environment.enter("test")
    parser = argparse.ArgumentParser(description="Tests in a real window")
    parser.add_argument("--pictures", type=Path, default=environment.ROOT / "out" / "pictures", metavar="DIR")
    options, pytest_arguments = parser.parse_known_args()
    import build

    try:
        host = {"extension": str(build.build()), "pictures": str(options.pictures.resolve()), **real_host()}
    except (OSError, subprocess.CalledProcessError, ValueError) as error:
        print(f"No real window: {error}", file=sys.stderr)
        return 1
    command = [sys.executable, "-m", "pytest", "-m", "window", "tests/gui", *pytest_arguments]
    settings = {**os.environ, "FENDERWRIGHT_REAL_HOST": json.dumps(host)}
    return subprocess.run(command, cwd=environment.ROOT, env=settings, check=False).returncode


def real_host() -> dict[str, str | None]:
    """The program of the host, and the folder of the Debian that it is in. Raises ValueError if there can be none."""
    named = os.environ.get("BLENDER")
    if named:
        require("Xvfb", "xdotool", "import")
        return {"program": named, "debian": None}
    folder = cache_folder() / "debian-unstable"
    if not (folder / "installed").exists():
        install_debian(folder)
    return {"program": "blender", "debian": str(folder)}


def cache_folder() -> Path:
    """Where large things that can be had again are kept, outside of the project."""
    user_cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return Path(os.environ.get("FENDERWRIGHT_CACHE") or user_cache / "fenderwright")


def require(*programs: str) -> None:
    missing = [program for program in programs if shutil.which(program) is None]
    if missing:
        raise ValueError(f"{', '.join(missing)} must be installed first, or BLENDER must name an installed host")


def install_debian(folder: Path) -> None:
    """Debian unstable with the host and the programs that play on it. Needs root; a half-made folder is made anew."""
    require("debootstrap", "chroot", "unshare")
    if os.geteuid() != 0:
        raise ValueError("BLENDER must name an installed host, or root must run this")
    print(f"Installing Debian's host into {folder}, once: a few minutes ...", file=sys.stderr)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    repeated(["debootstrap", "--variant=minbase", "sid", str(folder)])
    inside = 'mount -t proc proc "$0/proc" && mount --rbind /dev "$0/dev" && exec chroot "$0" "$@"'
    enter = ["unshare", "--mount", "sh", "-c", inside, str(folder)]
    repeated([*enter, "apt-get", *APT, "update", "-qq"])
    repeated([*enter, "apt-get", *APT, "install", "-qq", "-y", "--no-install-recommends", *PACKAGES])
    (folder / "installed").touch()


def repeated(command: list[str]) -> None:
    """Run a command that fetches from the network, again if it fails."""
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive", "LC_ALL": "C"}
    for attempt in range(1, TRIES + 1):
        done = subprocess.run(command, env=quiet, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
        if done.returncode == 0:
            return
        print(done.stdout[-2000:], file=sys.stderr)
        if attempt == TRIES:
            done.check_returncode()


if __name__ == "__main__":
    sys.exit(main())
