# SPDX-License-Identifier: GPL-3.0-or-later
"""Draft of a large face and patterns of the plies of a demo, beside plain ways to the same."""

import statistics
from pathlib import Path

import numpy as np

from addon.core.base.arrays import Array, Index
from addon.core.cloth.ply_patterns import ply_patterns
from addon.core.job.job_sheet import read_job_sheet
from addon.core.laminate.draft import draft
from addon.core.laminate.pull_direction import pull_direction
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from bench_row import BenchRow, seconds, sized

SHEET = Path(__file__).resolve().parents[2] / "blend_demo" / "front_mold.toml"
LEVEL = sized(6, 4)
"""Of a skin with more than 150,000 triangles."""
_TRIALS = 200


def rows() -> list[BenchRow]:
    job = read_job_sheet(SHEET)
    cage = seed_cage(job).cage
    fine, rough = (full_skin(skin(cage, skin_stencil(cage.topology, level))) for level in (LEVEL, 3))
    face = surface_of_quads(fine.points, fine.normals, fine.quads)
    ours = statistics.median(seconds(lambda: draft(face.points, face.triangles, pull_direction(face.points, face.triangles)), 3))
    search = statistics.median(seconds(lambda: _plain_search(face.points, face.triangles), 3))
    surface = surface_of_quads(rough.points, rough.normals, rough.quads)
    laminate = job.laminate
    assert laminate is not None
    patterns = statistics.median(seconds(lambda: ply_patterns(surface, laminate), 3))
    dense = statistics.median(seconds(lambda: np.linalg.inv(_laplace(surface.points, surface.triangles)), 3))
    return [
        BenchRow(
            f"best pull, draft and undercut of {len(face.triangles):,} triangles (s); reference: the draft of {_TRIALS} directions, "
            "facet by facet in numpy",
            ours,
            search,
            0.5,
        ),
        BenchRow(
            f"patterns of all plies over {len(surface.points):,} points (s); reference: the inverse of one matrix over all of them",
            patterns,
            dense,
            5.0,
        ),
    ]


def _plain_search(points: Array, triangles: Index) -> float:
    a, b, c = np.moveaxis(points[triangles], 1, 0)
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    ways = np.random.default_rng(1).normal(size=(_TRIALS, 3))
    return max(float((normals @ (way / np.linalg.norm(way))).min()) for way in ways)


def _laplace(points: Array, triangles: Index) -> Array:
    """Positive definite, of the edges of the triangles."""
    matrix = 1e-3 * np.eye(len(points))
    for i, j in ((0, 1), (1, 2), (2, 0)):
        one, two = triangles[:, i], triangles[:, j]
        np.add.at(matrix, (one, one), 1.0)
        np.add.at(matrix, (two, two), 1.0)
        np.add.at(matrix, (one, two), -1.0)
        np.add.at(matrix, (two, one), -1.0)
    return matrix
