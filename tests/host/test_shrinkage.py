# SPDX-License-Identifier: GPL-3.0-or-later
"""The 3MF is scaled for shrinkage on demand; reports say so. STL is written from the part itself."""

import zipfile
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.mesh.prism import box
from addon.core.printing.print_fit import PrintFit
from addon.core.printing.print_report import print_cautions, print_report
from addon.output.three_mf_file import PrintPart, write_three_mf
from addon.pipeline.job_result import placements
from addon.pipeline.piece import Part
from tests.host.test_finish import job_of

SPACE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def printed_bounds(path: Path) -> np.ndarray:
    """(n, 2, 3) corners of the items of a 3MF as they lie on the bed: 3MF Core 1.4.0, 3.3, row vectors times the matrix."""
    with zipfile.ZipFile(path) as package:
        model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    bodies = {
        body.get("id"): np.array([[float(at.get(axis, "")) for axis in "xyz"] for at in body.iter(f"{SPACE}vertex")])
        for body in model.iter(f"{SPACE}object")
    }
    found = []
    for item in model.iter(f"{SPACE}item"):
        matrix = np.array([float(value) for value in item.get("transform", "").split()]).reshape(4, 3)
        points = bodies[item.get("objectid")] @ matrix[:3] + matrix[3]
        found.append([points.min(axis=0), points.max(axis=0)])
    return np.array(found)


@pytest.mark.parametrize(("compensate", "factor"), [("none", 1.0), ("3mf", 1.0 / (1.0 - 0.0065))])
def test_3mf_is_larger_by_what_the_material_shrinks(tmp_path: Path, compensate: str, factor: float) -> None:
    """ABS shrinks by 0.65 %: a box of 100 mm, turned, read out of the file, and at rest on the bed."""
    job = job_of()
    job = replace(job, printer=replace(job.printer, material="ABS", compensate=compensate))
    size = np.array([100.0, 50.0, 20.0])
    mesh = box(np.array([5.0, -7.0, 300.0]), np.eye(3), np.zeros(3), size)
    turn = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    part = Part("front", mesh)
    result = SimpleNamespace(
        job=job, finished=SimpleNamespace(parts=[part, part]), fits=[PrintFit(turn, turn @ size, True, 0.5)] * 2
    )
    placed = placements(result)  # type: ignore[arg-type]
    path = tmp_path / "fender.3mf"
    write_three_mf(path, [PrintPart(f"piece {i}", mesh, place) for i, place in enumerate(placed)])
    bounds = printed_bounds(path)
    assert_allclose(np.ptp(bounds, axis=1), [factor * (turn @ size)] * 2, rtol=1e-5)
    assert_allclose(bounds[:, 0, 2], 0.0, atol=1e-4)
    assert_allclose(np.sort(bounds[:, :, 0].ravel())[2] - np.sort(bounds[:, :, 0].ravel())[1], 10.0, atol=1e-3)
    assert_allclose(print_report(job, ())["scale_3mf"], factor, atol=1e-6)
    said = " ".join(print_cautions(job, ()))
    assert ("fender.3mf is scaled by 100.65 %" in said) == (compensate == "3mf")
    assert ("All files have true size" in said) == (compensate == "none")
