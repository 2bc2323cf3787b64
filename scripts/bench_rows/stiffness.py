# SPDX-License-Identifier: GPL-3.0-or-later
"""Stiffness of the demo fender as a shell of about 2,000 triangles, beside scipy's sparse solvers on the same matrices."""

from functools import partial
from pathlib import Path

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import eigsh, splu

from addon.core.job.job_sheet import read_job_sheet
from addon.core.shaping.seed import seed_cage
from addon.core.shells.elastic import Elastic
from addon.core.shells.shell_elements import element_stiffness, point_mass
from addon.core.shells.shell_model import ShellModel
from addon.core.stiffness.fender_stiffness import ELEMENTS, MODE_COUNT, fender_stiffness
from addon.core.stiffness.job_material import print_material
from addon.core.stiffness.loads import tip_pushes
from addon.core.stiffness.support import bolt_supports
from addon.core.stiffness.wall_shell import WallShell, wall_shells
from addon.pipeline.cage_wall import cage_wall
from bench_row import BenchRow, median_ms, sized

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_17.toml"


def rows() -> list[BenchRow]:
    job = read_job_sheet(SHEET)
    wall, placed = cage_wall(job, seed_cage(job).cage, None)
    supports, material = bolt_supports(placed), print_material(job)
    shell = wall_shells(wall, supports, sized(ELEMENTS, 300))[0]
    count = f"{len(shell.mesh.triangles):,} triangles"
    whole = partial(fender_stiffness, wall, supports, material, (22.0, None), 200.0)
    return [
        BenchRow(
            f"shell, {count}: equations, two pushes, {MODE_COUNT} frequencies (ms); reference: scipy, splu and eigsh",
            median_ms(partial(ours, shell, material), 3),
            median_ms(partial(scipys, shell, material), 3),
            3000.0,
        ),
        BenchRow(
            f"stiffness from the wall of {len(wall.triangles):,} triangles on, with half as many to compare (ms)",
            median_ms(whole, 3),
            None,
            3000.0,
        ),
    ]


def ours(shell: WallShell, material: Elastic) -> None:
    model = ShellModel(shell.mesh, material, shell.fixed)
    model.movement(np.stack([push.loads for push in tip_pushes(shell.mesh)]))
    model.modes(MODE_COUNT)


def scipys(shell: WallShell, material: Elastic) -> None:
    mesh = shell.mesh
    freedoms = (6 * mesh.triangles[:, :, None] + np.arange(6)).reshape(-1, 18)
    stiffness = element_stiffness(mesh, material)
    line, column = (np.broadcast_to(each, stiffness.shape).ravel() for each in (freedoms[:, :, None], freedoms[:, None, :]))
    size = 6 * len(mesh.points)
    free = np.flatnonzero(~shell.fixed.ravel())
    matrix = sparse.csc_matrix((stiffness.ravel(), (line, column)), shape=(size, size))[free][:, free]
    mass = sparse.diags(point_mass(mesh, material).ravel()[free]).tocsc()
    loads = np.stack([push.loads.ravel()[free] for push in tip_pushes(mesh)], axis=1)
    splu(matrix).solve(loads)
    eigsh(matrix, MODE_COUNT, mass, sigma=0.0)
