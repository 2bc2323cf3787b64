# SPDX-License-Identifier: GPL-3.0-or-later
"""The environment that every script runs in: a .venv with the pinned requirements, made once.

A script calls `environment.enter("run")` or `environment.enter("test")` before it imports anything that is not in the
standard library. An old Python must get as far as being told which ones work.
"""

import atexit
import hashlib
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
HOSTS = {(3, 11): "4.5", (3, 13): "5.2"}
"""Series of the host whose wheel fits a Python."""
if sys.version_info[:2] not in HOSTS:  # before any syntax that an old Python cannot read
    print(
        "Python {}.{} cannot run this: take Python 3.11 (for Blender 4.5 LTS) or Python 3.13 (for Blender 5.2 LTS).".format(
            *sys.version_info
        ),
        file=sys.stderr,
    )
    sys.exit(2)
SYSTEM_PACKAGES = (
    "libegl1",
    "libgl1",
    "libice6",
    "libopengl0",
    "libsm6",
    "libx11-6",
    "libxext6",
    "libxfixes3",
    "libxi6",
    "libxkbcommon0",
    "libxrender1",
    "libxt6",
)
"""Debian's packages that the host's wheel loads its shared libraries from."""
STAMP = "fenderwright.json"


def enter(purpose: str) -> None:
    """Return only inside an environment that holds what the purpose needs, making it and starting anew in it if need be.

    purpose : "run" or "test", the names of the requirement files
    Leaves the process with code 2 and one sentence where that cannot be done.
    """
    folder = environment_folder()
    _install(folder, purpose)
    if not _is_inside(folder):
        _start_anew(_python_of(folder))
    os.environ.setdefault("BLENDER_USER_RESOURCES", _temporary_folder())
    sys.path.insert(0, str(ROOT))


def leave(code: int) -> NoReturn:
    """End the process with a code, without what the host prints of its own memory while it is taken down."""
    sys.stdout.flush()
    sys.stderr.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    sys.exit(code)


def environment_folder() -> Path:
    """The folder of the environment of the running Python: .venv, or .venv-3.x where .venv belongs to another Python."""
    major, minor = sys.version_info[:2]
    settings = ROOT / ".venv" / "pyvenv.cfg"
    if settings.exists() and not re.search(rf"^version\s*=\s*{major}\.{minor}\.", settings.read_text(), re.MULTILINE):
        return ROOT / f".venv-{major}.{minor}"
    return ROOT / ".venv"


def _install(folder: Path, purpose: str) -> None:
    """Make the environment and install the requirements unless its stamp says that this was done."""
    stamp_file = folder / STAMP
    stamp = json.loads(stamp_file.read_text()) if stamp_file.exists() else {}
    wanted = _digest(purpose)
    if stamp.get(purpose) == wanted and stamp.get("host") == wanted_host():
        return
    if stamp.get(purpose) != wanted:
        pip = _make(folder)
        print(f"Installing what Blender {wanted_host()} needs into {folder.name}, once: a few minutes ...", file=sys.stderr)
        _run_pip(pip, _requirements(purpose))
        stamp = {purpose: wanted, **({"run": _digest("run")} if purpose == "test" else {})}
        stamp_file.write_text(json.dumps(stamp))
    _check_host(folder)
    stamp_file.write_text(json.dumps({**stamp, "host": wanted_host()}))


def wanted_host() -> str:
    """Series of the host that fits the running Python, such as "4.5"."""
    return HOSTS[sys.version_info[:2]]


def _requirements(purpose: str) -> Path:
    return ROOT / "requirements" / f"{purpose}-{wanted_host()}.txt"


def _digest(purpose: str) -> str:
    names = ("run", purpose) if purpose != "run" else ("run",)
    return hashlib.sha256(b"".join(_requirements(name).read_bytes() for name in names)).hexdigest()


def _make(folder: Path) -> list[str]:
    """Make the environment, unless this process runs in it; returns the command that runs pip for it.

    Debian's Python comes without ensurepip; there the pip of the system works for the environment.
    """
    own_pip = importlib.util.find_spec("ensurepip") is not None
    if not own_pip and importlib.util.find_spec("pip") is None:
        _leave("This Python has neither ensurepip nor pip: install pip (Debian: apt-get install python3-venv python3-pip).")
    if not _is_inside(folder):
        options = [] if own_pip else ["--without-pip"]
        made = subprocess.run([sys.executable, "-m", "venv", *options, str(folder)], capture_output=True, text=True, check=False)
        if made.returncode:
            _leave(f"The environment {folder.name} cannot be made: {_last_line(made.stdout + made.stderr)}")
    python = str(_python_of(folder))
    return [python, "-m", "pip"] if own_pip else [sys.executable, "-m", "pip", "--python", python]


def _run_pip(pip: list[str], requirements: Path) -> None:
    command = [*pip, "install", "--quiet", "--disable-pip-version-check", "-r", str(requirements)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        print(done.stderr, file=sys.stderr)
        _leave(f"pip could not install {requirements.relative_to(ROOT)}; what it says stands above.")


def _check_host(folder: Path) -> None:
    """Import the host once; it fails where shared libraries of the system are missing."""
    resources = {**os.environ, "BLENDER_USER_RESOURCES": _temporary_folder()}
    command = [str(_python_of(folder)), "-c", "import bpy"]
    done = subprocess.run(command, capture_output=True, text=True, env=resources, check=False)
    if done.returncode == 0:
        return
    missing = re.search(r"(lib[\w.+-]+\.so[\w.]*): cannot open shared object file", done.stderr)
    if missing:
        _leave(
            f"Blender's module needs {missing.group(1)}, which this system lacks; "
            f"on Debian or Ubuntu: apt-get install {' '.join(SYSTEM_PACKAGES)}"
        )
    _leave(f"Blender's module cannot be imported: {_last_line(done.stderr)}")


def _start_anew(python: Path) -> None:
    command = [str(python), *sys.argv]
    if os.name == "posix":
        sys.stdout.flush()
        sys.stderr.flush()
        os.execv(command[0], command)
    sys.exit(subprocess.run(command, check=False).returncode)


def _temporary_folder() -> str:
    """A folder for the host's user files, removed at exit, so that the user's own are never touched."""
    folder = tempfile.mkdtemp(prefix="fenderwright-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _is_inside(folder: Path) -> bool:
    return Path(sys.prefix).resolve() == folder.resolve()


def _python_of(folder: Path) -> Path:
    return folder / "Scripts" / "python.exe" if os.name == "nt" else folder / "bin" / "python"


def _last_line(text: str) -> str:
    lines = [line for line in text.strip().splitlines() if line.strip()]
    return lines[-1].strip() if lines else "no reason given"


def _leave(sentence: str) -> None:
    print(sentence, file=sys.stderr)
    sys.exit(2)
