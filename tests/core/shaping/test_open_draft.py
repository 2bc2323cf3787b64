# SPDX-License-Identifier: GPL-3.0-or-later
"""Sides of a cage opened until the skin has its draft: slopes by differences, least change, clearance kept."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from addon.core.clearance.clearance_field import ClearanceField, clearance_field
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.shaping.open_draft import _normals, _slopes, open_draft
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.seed import seed_cage
from addon.core.skin.cage import Cage
from addon.core.skin.skin_stencil import SkinStencil, skin_stencil
from tests.core.laminate.scenes import job_of

UP = np.array([0.0, 0.0, 1.0])


def sheet() -> Job:
    data = job_to_dict(job_of("front_mold", plies=["CSM 300"]))
    data["keepout"] = []
    return parse_job(data)


@lru_cache(maxsize=1)
def tucked() -> tuple[Cage, SkinStencil, ClearanceField]:
    """The seed of a demo with its side edges drawn in under it."""
    job = sheet()
    cage = seed_cage(job).cage
    outward = cage.points * [0.0, 1.0, 1.0] / np.linalg.norm(cage.points[:, 1:], axis=1)[:, None]
    points = cage.points + 6.0 * outward
    columns = np.unique(np.round(cage.points[:, 0], 3))
    shoulder, edge = (np.isclose(cage.points[:, 0], column, atol=1e-2) for column in columns[-2:])
    points[shoulder] += [28.0, 0.0, 0.0] + 8.0 * outward[shoulder]
    points[edge] += [0.0, 0.0, 0.0] - 12.0 * outward[edge]
    field = clearance_field(job)
    stencil = skin_stencil(cage.topology, 3)
    shaped = replace(cage, points=points)
    assert field.excess(stencil.position.apply(points)).min() > 0.0
    return shaped, stencil, field


def least(stencil: SkinStencil, points: np.ndarray) -> float:
    return float(np.degrees(np.arcsin((_normals(stencil, points)[0] @ UP).min())))


def test_slopes_are_those_of_differences() -> None:
    cage, stencil, _ = tucked()
    rows = np.array([0, 5, 77, 300])
    pulls = np.tile(UP, (len(rows), 1))
    slopes = _slopes(stencil, cage.points, rows, pulls)
    rng = np.random.default_rng(4)
    way = rng.normal(size=cage.points.shape)
    step = 1e-5
    ahead, behind = ((_normals(stencil, cage.points + sign * step * way)[0] @ UP)[rows] for sign in (1.0, -1.0))
    np.testing.assert_allclose(slopes @ way.ravel(), (ahead - behind) / (2.0 * step), rtol=1e-5, atol=1e-9)


def test_undercut_is_gone_and_the_skin_stays_clear() -> None:
    cage, stencil, field = tucked()
    pulls = np.tile(UP, (stencil.position.row_count, 1))
    assert least(stencil, cage.points) < -5.0
    opened = open_draft(cage, stencil, field, pulls, 2.0)
    assert opened.enough and opened.least_deg == pytest.approx(least(stencil, opened.cage.points), abs=1e-9)
    assert opened.least_deg >= 1.8
    assert field.excess(stencil.position.apply(opened.cage.points)).min() > -0.0011
    assert opened.moved > 1.0 and opened.moved < 25.0
    assert np.abs(opened.cage.points[cage.topology.on_plane, 0]).max() == 0.0


def test_change_is_small_and_where_it_must_be() -> None:
    """Less than spreading all side edges out by what brings the draft, and nothing at the crown."""
    cage, stencil, field = tucked()
    pulls = np.tile(UP, (stencil.position.row_count, 1))
    opened = open_draft(cage, stencil, field, pulls, 2.0)
    change = np.linalg.norm(opened.cage.points - cage.points, axis=1)
    plain = np.inf
    edge = np.isclose(seed_cage(sheet()).cage.points[:, 0], 70.0, atol=1e-2)
    for spread in np.arange(0.5, 60.0, 0.5):
        trial = cage.points + spread * edge[:, None] * [1.0, 0.0, 0.0]
        if least(stencil, trial) >= opened.least_deg:
            plain = float(np.square(trial - cage.points).sum())
            break
    assert np.isfinite(plain)
    assert np.square(change).sum() < plain
    crown = np.abs(cage.points[:, 0]) < 1e-6
    assert change[crown].max() < 0.25 * change.max()


def test_skin_with_enough_draft_is_left_alone() -> None:
    cage, stencil, field = tucked()
    flat = seed_cage(sheet()).cage
    pulls = np.tile(UP, (stencil.position.row_count, 1))
    opened = open_draft(flat, stencil, field, pulls, 2.0)
    assert opened.moved == 0.0 and opened.enough
    np.testing.assert_array_equal(opened.cage.points, flat.points)
    assert cage.topology.key == flat.topology.key


def test_held_seat_stays() -> None:
    cage, stencil, field = tucked()
    pulls = np.tile(UP, (stencil.position.row_count, 1))
    held = np.zeros(len(cage.points), bool)
    held[:4] = True
    opened = open_draft(cage, stencil, field, pulls, 2.0, SeatRows(held, UP))
    np.testing.assert_array_equal(opened.cage.points[held], cage.points[held])
