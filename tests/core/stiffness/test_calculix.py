# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells against CalculiX, a finite element solver of Debian: scripts/test.py -m outside.

The same triangles, as its quadratic shell elements S6 with straight sides.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.job.job_sheet import read_job_sheet
from addon.core.shaping.seed import seed_cage
from addon.core.shells.shell_model import ShellModel
from addon.core.stiffness.fender_stiffness import ELEMENTS
from addon.core.stiffness.job_material import print_material
from addon.core.stiffness.loads import tip_pushes
from addon.core.stiffness.support import bolt_supports
from addon.core.stiffness.wall_shell import wall_shells
from addon.pipeline.cage_wall import cage_wall
from tests.shell_deck import Calculix

pytestmark = pytest.mark.outside
DEMO = Path(__file__).resolve().parents[3] / "blend_demo"


@pytest.fixture(scope="module")
def calculix(tmp_path_factory: pytest.TempPathFactory) -> Calculix:
    return Calculix(tmp_path_factory.mktemp("calculix"))


@pytest.mark.parametrize("sheet", ["front_17", "rear_17"])
def test_demo_fender(calculix: Calculix, sheet: str) -> None:
    """Deflection of both tips under a hand, and the first three natural frequencies, within 5 %."""
    job = read_job_sheet(DEMO / f"{sheet}.toml")
    wall, placed = cage_wall(job, seed_cage(job).cage, None)
    shell, material = wall_shells(wall, bolt_supports(placed), ELEMENTS)[0], print_material(job)
    model = ShellModel(shell.mesh, material, shell.fixed)
    for push in tip_pushes(shell.mesh):
        moved, frequencies = calculix.answers(shell.mesh, material, shell.fixed, push.loads[:, :3], 3)
        theirs = np.hstack([moved, np.zeros_like(moved)])
        ours = push.deflection(model.movement(push.loads))
        print(f"{sheet}, {push.name} tip: ours {ours:.4f} mm, CalculiX {push.deflection(theirs):.4f} mm")
        assert_allclose(ours, push.deflection(theirs), rtol=0.05)
    print(f"{sheet}: ours {model.modes(3).frequencies_hz} Hz, CalculiX {frequencies} Hz")
    assert_allclose(model.modes(3).frequencies_hz, frequencies, rtol=0.05)
