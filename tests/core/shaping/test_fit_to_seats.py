# SPDX-License-Identifier: GPL-3.0-or-later
"""The skin is drawn to the planes of further seats, stays clear and symmetric, and leaves the rest nearly alone."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from addon.core.base.arrays import Array
from addon.core.base.tolerances import TOLERANCES
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet
from addon.core.seat.mount import mount_frame
from addon.core.shaping.fit_to_seats import FARTHEST_MM, fit_to_seats
from addon.core.shaping.point_freedom import SeatRows
from addon.core.shaping.seat_gaps import seat_gaps
from addon.core.shaping.seed import Seed, seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil

SHEET = Path(__file__).resolve().parents[3] / "blend_demo" / "front_17.toml"


def job_with(seed: Seed, near: tuple[float, float, float], off: float, **keys: Any) -> tuple[Job, Array]:
    """The demo with a seat `off` mm over the point of its skin that is nearest to a place; and that point."""
    plain = read_job_sheet(SHEET)
    whole = full_skin(skin(seed.cage, skin_stencil(seed.cage.topology, 4)))
    i = int(np.argmin(np.linalg.norm(whole.points - near, axis=1)))
    center, normal = whole.points[i] + off * whole.normals[i], whole.normals[i]
    seat = {"name": "ear", "center": center.tolist(), "normal": normal.tolist(), "bolts": [[0, 12], [0, -12]], "blend": 18.0}
    return parse_job({**job_to_dict(plain), "seat": [{**seat, **keys}]}), whole.points[i]


@pytest.mark.parametrize("near", [(60.0, 250.0, 260.0), (-70.0, -180.0, 280.0)])
@pytest.mark.parametrize("off", [12.0, -8.0])
def test_the_skin_comes_to_the_plane_and_stays_clear(near: tuple[float, float, float], off: float) -> None:
    """A plane beyond the blend's reach, 12 mm outside, and one 8 mm inside; on either side of the half that is shaped."""
    seed = seed_cage(read_job_sheet(SHEET))
    job, place = job_with(seed, near, off, sides="both")
    stencil, field = skin_stencil(seed.cage.topology, 4), clearance_field(job)
    held = SeatRows(seed.seat, mount_frame(job).up)
    fitted = fit_to_seats(job, seed.cage, stencil, field, held)
    gap = seat_gaps(job, full_skin(skin(fitted, stencil)))[0]
    assert gap.fits and gap.off_mm is not None and gap.off_mm < 0.3 * gap.allowed_mm
    assert field.worst(stencil.position.apply(fitted.points)).excess_mm >= -TOLERANCES.clear
    np.testing.assert_array_equal(fitted.points[seed.seat], seed.cage.points[seed.seat])
    assert (fitted.points[fitted.topology.on_plane, 0] == 0.0).all()
    skin_way = np.linalg.norm(stencil.position.apply(fitted.points) - stencil.position.apply(seed.cage.points), axis=1)
    away = np.linalg.norm(stencil.position.apply(seed.cage.points) - place * [np.sign(place[0]), 1.0, 1.0], axis=1)
    assert skin_way[away > 200.0].max() < 0.1 * abs(off)


def test_a_plane_inside_the_tire_stops_at_the_clearance() -> None:
    seed = seed_cage(read_job_sheet(SHEET))
    job, _ = job_with(seed, (0.0, 220.0, 250.0), -30.0)
    stencil, field = skin_stencil(seed.cage.topology, 4), clearance_field(job)
    before = field.worst(stencil.position.apply(seed.cage.points)).excess_mm
    fitted = fit_to_seats(job, seed.cage, stencil, field)
    after = field.worst(stencil.position.apply(fitted.points)).excess_mm
    assert -TOLERANCES.clear <= after < 0.05 < before
    assert not seat_gaps(job, full_skin(skin(fitted, stencil)))[0].fits


def test_a_seat_that_is_not_there_moves_nothing() -> None:
    seed = seed_cage(read_job_sheet(SHEET))
    job, _ = job_with(seed, (60.0, 250.0, 260.0), FARTHEST_MM + 5.0)
    fitted = fit_to_seats(job, seed.cage, skin_stencil(seed.cage.topology, 4), clearance_field(job))
    np.testing.assert_array_equal(fitted.points, seed.cage.points)


def test_a_new_cage_meets_its_seats() -> None:
    job, _ = job_with(seed_cage(read_job_sheet(SHEET)), (60.0, 250.0, 260.0), 12.0, sides="both")
    seed = seed_cage(job)
    assert seat_gaps(job, full_skin(skin(seed.cage, skin_stencil(seed.cage.topology, 4))))[0].fits
    without = replace(job, seats=())
    np.testing.assert_array_equal(seed_cage(without).cage.points, seed_cage(read_job_sheet(SHEET)).cage.points)
