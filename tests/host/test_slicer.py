# SPDX-License-Identifier: GPL-3.0-or-later
"""A slicer of Debian opens and slices the files of a demo job: scripts/test.py -m outside.

The slicer is taken out of its packages into a folder, with what it needs and this machine lacks; nothing is installed.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.shaping.seed import seed_cage
from addon.output.job_files import file_name
from addon.output.stl_file import write_stl
from addon.output.three_mf_file import PrintPart, write_three_mf
from addon.pipeline.job_result import JobResult, Timings, make_job, placements

pytestmark = pytest.mark.outside
PACKAGE = "prusa-slicer"
SHEET = Path(__file__).parents[2] / "blend_demo" / "front_17.toml"
DOUBTS = re.compile(r"repair|manifold = no|non-manifold|open.edges|degenerate|reversed|error|warning|empty layer", re.IGNORECASE)
Slice = Callable[..., str]


@pytest.fixture(scope="module")
def slicer(tmp_path_factory: pytest.TempPathFactory) -> Slice:
    """Runs the slicer and returns all that it says; the network missing is a failure, not a skip."""
    folder = tmp_path_factory.mktemp("slicer")
    program, settings = shutil.which(PACKAGE), dict(os.environ)
    if program is None:
        root = _unpacked(folder)
        program = str(root / "usr/bin" / PACKAGE)
        libraries = [str(path) for where in ("usr/lib", "lib") for path in (root / where).glob("*-linux-gnu*")]
        settings["LD_LIBRARY_PATH"] = os.pathsep.join(libraries)

    def run(*arguments: str) -> str:
        command = [program, "--datadir", str(folder / "data"), *arguments]
        done = subprocess.run(
            command, env=settings, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=300, check=False
        )
        assert done.returncode == 0, done.stdout[-2000:]
        return done.stdout

    return run


def _unpacked(folder: Path) -> Path:
    """The root folder that the slicer's packages are unpacked into."""
    archives, root = folder / "archives", folder / "root"
    (archives / "partial").mkdir(parents=True)
    options = ("--no-install-recommends", "--download-only", "-o", "Debug::NoLocking=1", "-o", f"Dir::Cache::archives={archives}")
    subprocess.run(["apt-get", "install", "-qq", "-y", *options, PACKAGE], check=True, capture_output=True)
    for package in archives.glob("*.deb"):
        subprocess.run(["dpkg-deb", "-x", str(package), str(root)], check=True)
    return root


@pytest.fixture(scope="module")
def result() -> JobResult:
    job = read_job_sheet(SHEET)
    return make_job(job, seed_cage(job).cage, Timings(lambda said: None))


def _bodies(said: str) -> list[dict[str, str]]:
    """What the slicer tells of each body: a line [name], then lines key = value."""
    blocks = re.split(r"^\[.*\.(?:stl|3mf)\]$", said, flags=re.MULTILINE)[1:]
    return [{key: value.strip() for key, value in re.findall(r"^(\w+) =(.*)$", block, re.MULTILINE)} for block in blocks]


def _check(body: dict[str, str], volume: float) -> None:
    assert body["manifold"] == "yes" and int(body["number_of_parts"]) == 1
    assert_allclose(float(body["volume"]), volume, rtol=1e-4)


def _sliced(slicer: Slice, path: Path, result: JobResult, tmp_path: Path) -> tuple[float, str]:
    """Plastic of the sliced file, mm3, and what the slicer said meanwhile."""
    bed, printer = result.job.printer.bed, result.job.printer
    made = tmp_path / "sliced.gcode"
    corners = f"0x0,{bed[0]:g}x0,{bed[0]:g}x{bed[1]:g},0x{bed[1]:g}"
    settings = ("--bed-shape", corners, "--max-print-height", f"{bed[2]:g}", "--nozzle-diameter", f"{printer.nozzle:g}")
    solid = ("--fill-density", "100%", "--fill-pattern", "rectilinear", "--skirts", "0", "--layer-height", "0.28")
    # as they lie: the two are printed one after the other, there is no room for both on the bed
    said = slicer("--export-gcode", "--dont-arrange", *settings, *solid, "--output", str(made), str(path))
    (used,) = re.findall(r"^; filament used \[cm3\] = ([0-9.]+)$", made.read_text(), re.MULTILINE)
    return 1000.0 * float(used), said


def test_slicer_takes_each_piece_as_it_is(slicer: Slice, result: JobResult, tmp_path: Path) -> None:
    """STL: closed, one body, our volume; not a word of repair."""
    for part in result.finished.parts:
        path = tmp_path / file_name(part.name)
        write_stl(path, part.mesh)
        said = slicer("--info", str(path))
        assert not DOUBTS.search(said), said
        (body,) = _bodies(said)
        _check(body, part.mesh.volume)


def test_slicer_slices_the_3mf_where_it_lies(slicer: Slice, result: JobResult, tmp_path: Path) -> None:
    """Both pieces as bodies of their own in print position; the plastic of 100 % infill is their volume within 5 %: lines are
    laid with rounded ends, and thin walls are filled a little less."""
    path = tmp_path / "fender.3mf"
    parts = zip(result.finished.parts, placements(result), strict=True)
    write_three_mf(path, [PrintPart(part.name, part.mesh, place) for part, place in parts])
    bodies = _bodies(slicer("--info", str(path)))
    assert len(bodies) == len(result.finished.parts)
    for body, part, fit in zip(bodies, result.finished.parts, result.fits, strict=True):
        _check(body, part.mesh.volume)
        assert_allclose([float(body[f"size_{axis}"]) for axis in "xyz"], fit.size, atol=0.01)
        assert abs(float(body["min_z"])) < 0.01
    plastic, said = _sliced(slicer, path, result, tmp_path)
    assert not DOUBTS.search(said), said
    assert_allclose(plastic, sum(part.mesh.volume for part in result.finished.parts), rtol=0.05)


def test_slicer_would_tell_of_a_hole(slicer: Slice, result: JobResult, tmp_path: Path) -> None:
    """The check can fail: a piece with a triangle missing."""
    mesh = result.finished.parts[0].mesh
    path = tmp_path / "open.stl"
    write_stl(path, TriangleMesh(mesh.vertices, np.delete(mesh.triangles, 1000, axis=0)))
    assert DOUBTS.search(slicer("--info", str(path)))
