# SPDX-License-Identifier: GPL-3.0-or-later
"""Random shapes, trims and splits: each piece closed and single by manifold3d, or refused with a sentence.

FENDERWRIGHT_RANDOM_PARTS=300 makes more of them than the ordinary run.
"""

from __future__ import annotations

import os
from typing import Any

import numpy as np
from numpy.testing import assert_allclose

from addon.core.check_job import check_job
from addon.core.clearance_field import clearance_field
from addon.core.errors import JobError, ShapeError
from addon.core.job_sheet import parse_job
from addon.core.mount import mount_frame
from addon.core.seed import seed_cage
from addon.core.skin import full_skin, skin
from addon.core.skin_stencil import skin_stencil
from addon.core.solid.sheet import Sheet, sheet_of_quads
from addon.core.trim.trimmed import trimmed
from addon.host.finish import finish_steps
from addon.host.steps import run_steps
from tests.core.torus_sheet import as_manifold, as_trimesh
from tests.core.trim_jobs import SEEDED

COUNT = int(os.environ.get("FENDERWRIGHT_RANDOM_PARTS", "6"))
LEVEL = 3


def random_part(rng: np.random.Generator) -> dict[str, Any]:
    """The tables of a sheet with a random trim and split."""
    front, rear = float(rng.uniform(20, 40)), float(rng.uniform(-60, -38))
    stations = np.linspace(rear, front, 4)
    joint = str(rng.choice(["butt", "lap", "full_lap"]))
    lines = [{"name": "low", "view": "drop", "points": np.column_stack([stations, rng.uniform(14, 30, 4)]).tolist()}]
    openings = [
        {"name": "hose", "station": rear * float(rng.uniform(0.6, 0.8)), "x": float(rng.uniform(-20, 20)),
         "length": float(rng.uniform(10, 20)), "width": float(rng.uniform(5, 10)), "turn": float(rng.uniform(-90, 90))}
    ]  # fmt: skip
    legs = [{"name": "leg", "kind": "capsule", "a": [float(rng.uniform(84, 92)), 0, 500], "b": [88, 0, 100], "radius": 25, "scallop": 1.0}]
    return {
        **SEEDED,
        "cage": {"front": front, "rear": rear, "half_width": float(rng.uniform(62, 70)), "side_drop": float(rng.uniform(18, 32))},
        "trim": {
            "front_radius": float(rng.uniform(5, 35)),
            "rear_radius": float(rng.uniform(5, 35)),
            "corner": float(rng.uniform(0, 12)),
        },
        "trim_line": lines if rng.random() < 0.7 else [],
        "opening": openings if rng.random() < 0.5 else [],
        "keepout": legs if rng.random() < 0.4 else [],
        "wall": {
            "thickness": float(rng.uniform(2.6, 3.6)),
            "edge": str(rng.choice(["round", "bead", "square"])),
            "seat": str(rng.choice(["pad", "land"])),
        },
        "split": {"plane": str(rng.choice(["across", "none"], p=[0.8, 0.2])), "joint": joint, "lap": 12},
        "printer": {"nozzle": 0.4},
    }


def random_sheet(job: Any, rng: np.random.Generator) -> Sheet:
    """The seeded cage pushed about outside of the seat, as its skin."""
    cage = seed_cage(job, clearance_field(job)).cage
    points = cage.points.copy()
    away = np.linalg.norm(points - mount_frame(job).origin, axis=1) > 75.0
    points[away] += rng.normal(0.0, 1.5, (int(away.sum()), 3)) * (np.abs(points[away]) > 1e-6)
    stencil = skin_stencil(cage.topology, LEVEL)
    whole = full_skin(skin(type(cage)(cage.topology, points), stencil))
    return sheet_of_quads(whole.points, whole.normals, whole.quads)


def made(seed: int) -> str:
    """Why a part was refused; empty if it was made, and is as it should be."""
    rng = np.random.default_rng([5, seed])
    job = parse_job(random_part(rng))
    try:
        check_job(job)
        sheet = trimmed(job, random_sheet(job, rng))
        finished = run_steps(finish_steps(job, sheet, mount_frame(job)))
    except (JobError, ShapeError) as error:
        return str(error)
    assert len(finished.parts) == (1 if job.split.plane == "none" else 2), seed
    for part in finished.parts:
        solid, outside = as_manifold(part.mesh), as_trimesh(part.mesh)
        assert solid.status().name == "NoError" and len(solid.decompose()) == 1, seed
        assert outside.is_watertight and outside.is_winding_consistent, seed
        assert_allclose(solid.volume(), outside.volume, rtol=1e-9, err_msg=str(seed))
        assert solid.volume() > 1000.0, seed
    return ""


def test_random_parts_are_closed_and_single_or_refused_with_a_sentence() -> None:
    refused = [said for seed in range(COUNT) if (said := made(seed))]
    assert all(len(said) > 30 and not said.endswith(".") for said in refused), refused
    print(f"{len(refused)} of {COUNT} refused:", *refused, sep="\n")
    assert len(refused) < 0.5 * COUNT, refused
