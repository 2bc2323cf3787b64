# SPDX-License-Identifier: GPL-3.0-or-later
"""A shell as input of CalculiX, and what it answers."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np

from addon.core.base.arrays import Array, Mask
from addon.core.shells.elastic import Elastic
from addon.core.shells.shell_mesh import ShellMesh

PACKAGE = "calculix-ccx"


class Calculix:
    """The solver, taken out of Debian's packages into a folder; nothing is installed. The network missing is a failure."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._settings = dict(os.environ)
        program = shutil.which("ccx")
        if program is None:
            root = self._unpacked()
            program = str(root / "usr/bin/ccx")
            # blas and lapack are in folders of their own beside the other libraries
            places = [path for where in ("usr/lib", "lib") for path in (root / where).glob("*-linux-gnu*")]
            places += [path for place in places for path in place.iterdir() if path.is_dir()]
            self._settings["LD_LIBRARY_PATH"] = os.pathsep.join(map(str, places))
        self._program = program

    def _unpacked(self) -> Path:
        archives, root = self._folder / "archives", self._folder / "root"
        (archives / "partial").mkdir(parents=True)
        options = (
            "--no-install-recommends",
            "--download-only",
            "-o",
            "Debug::NoLocking=1",
            "-o",
            f"Dir::Cache::archives={archives}",
        )
        subprocess.run(["apt-get", "install", "-qq", "-y", *options, PACKAGE], check=True, capture_output=True)
        for package in archives.glob("*.deb"):
            subprocess.run(["dpkg-deb", "-x", str(package), str(root)], check=True)
        return root

    def answers(self, mesh: ShellMesh, material: Elastic, fixed: Mask, loads: Array, count: int) -> tuple[Array, Array]:
        """Movement (n, 3) under loads (n, 3), N, and the lowest natural frequencies (count,), Hz."""
        deck = self._folder / "shell.inp"
        deck.write_text(shell_deck(mesh, material, fixed, loads, count), encoding="ascii")
        done = subprocess.run(
            [self._program, "-i", "shell"],
            cwd=self._folder,
            env=self._settings,
            text=True,
            capture_output=True,
            timeout=600,
            check=False,
        )
        assert done.returncode == 0, done.stdout[-2000:]
        said = (self._folder / "shell.dat").read_text(encoding="ascii")
        first, second = said.split("E I G E N V A L U E   O U T P U T", 1)
        rows = [line.split() for line in first.splitlines() if re.match(r"^\s+\d+\s+-?\d", line)]
        moved = np.zeros((len(mesh.points), 3))
        for name, *values in rows:
            moved[int(name) - 1] = [float(value) for value in values]
        table = second.split("P A R T I C I P A T I O N")[0]
        modes = [line.split() for line in table.splitlines() if re.match(r"^\s+\d+\s+\d", line)]
        return moved, np.array([float(row[3]) for row in modes[:count]])


def shell_deck(mesh: ShellMesh, material: Elastic, fixed: Mask, loads: Array, count: int) -> str:
    """Its six-node triangles, with a node in the middle of each side of ours, straight, where the thickness is the mean."""
    points, triangles = mesh.points, mesh.triangles
    sides = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2), axis=2).reshape(-1, 2)
    pairs, which = np.unique(sides, axis=0, return_inverse=True)
    middles = (len(points) + which).reshape(-1, 3)
    nodes = np.concatenate([points, points[pairs].mean(axis=1)])
    thickness = np.concatenate([mesh.thickness, mesh.thickness[pairs].mean(axis=1)])
    held = np.concatenate([fixed, fixed[pairs].all(axis=1)])
    lines = ["*NODE, NSET=ALL"]
    lines += [f"{i}, {x:.9e}, {y:.9e}, {z:.9e}" for i, (x, y, z) in enumerate(nodes.tolist(), 1)]
    lines += ["*ELEMENT, TYPE=S6, ELSET=SHELL"]
    lines += [", ".join(map(str, [i, *row])) for i, row in enumerate((np.hstack([triangles, middles]) + 1).tolist(), 1)]
    lines += ["*MATERIAL, NAME=WALL", "*ELASTIC", f"{material.modulus_mpa:g}, {material.poisson:g}"]
    lines += ["*DENSITY", f"{material.tonne_per_mm3:.9e}"]
    lines += ["*SHELL SECTION, ELSET=SHELL, MATERIAL=WALL, NODAL THICKNESS", "1."]
    lines += ["*NODAL THICKNESS", *(f"{i}, {value:.9e}" for i, value in enumerate(thickness.tolist(), 1))]
    lines += ["*BOUNDARY", *(f"{i + 1}, {f + 1}, {f + 1}" for i, f in np.argwhere(held).tolist())]
    lines += ["*NSET, NSET=OURS", *(f"{i}," for i in range(1, len(points) + 1))]
    lines += ["*STEP", "*STATIC", "*CLOAD", *(f"{i + 1}, {c + 1}, {loads[i, c]:.9e}" for i, c in np.argwhere(loads).tolist())]
    lines += ["*NODE PRINT, NSET=OURS", "U", "*END STEP"]
    lines += ["*STEP", "*FREQUENCY", f"{count}", "*NODE FILE", "U", "*END STEP"]
    return "\n".join(lines) + "\n"
