# SPDX-License-Identifier: GPL-3.0-or-later
"""Random shapes, trims, edges, hardware, seats and splits: each part is sound, or refused with one sentence and its place.

FENDERWRIGHT_RANDOM_PARTS=300 makes the first 300 in place of the few of the ordinary run; .ci/run takes 24.
"""

from __future__ import annotations

import os

import numpy as np
import pytest

from addon.core.base.errors import CageError, JobError, ShapeError
from addon.core.job.job_sheet import Job
from addon.core.report.check_job import check_job
from addon.core.skin.cage import Cage
from addon.pipeline.job_result import JobResult, Timings, make_job
from tests.host.part_checks import check_assembled, check_clear, check_sound, check_wall
from tests.host.random_parts import random_part

COUNT = int(os.environ.get("FENDERWRIGHT_RANDOM_PARTS", "0"))
SEEDS = range(COUNT) if COUNT else (5, 28, 35, 242)
"""By default one of each that once could not be made: an opening in a lap, a dent in an arc, a plate's edge, a lap through large flat
triangles."""

WITHOUT_PLACE = (
    "mount.height",
    "cage.half_width",
    "split.pin",
    "split.joint: a lap halves the wall",
    "printer.",
    "edge.",
    "cage: ",
)
"""Sentences that are of the sheet as a whole, so that there is no place to mark."""


def made(job: Job, cage: Cage) -> JobResult | JobError | ShapeError | CageError:
    """The result, or why it is refused."""
    try:
        check_job(job)
        return make_job(job, cage, Timings(lambda said: None))
    except (JobError, ShapeError, CageError) as error:
        return error


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_part_is_sound_or_refused_with_a_sentence_and_its_place(seed: int) -> None:
    try:
        job, cage = random_part(seed)
    except JobError as error:
        job, cage, result = None, None, error
    else:
        if cage is None:
            pytest.skip("no clear cage of this shape")
        result = made(job, cage)
    if isinstance(result, ValueError):
        said = str(result)
        print(f"{seed}: {said}")
        assert COUNT, said
        assert len(said) > 30 and not said.endswith(".") and said.count("\n") == 0
        assert "did not give a closed body" not in said and "is not a closed body" not in said
        place = getattr(result, "place", None)
        assert place is not None or said.startswith(WITHOUT_PLACE), said
        # the place is on the fender or beside it, not anywhere
        if place is not None and cage is not None:  # which is the half at x >= 0
            assert np.linalg.norm(cage.points - place * np.sign([place[0] or 1.0, 1.0, 1.0]), axis=1).min() < 150.0
        return
    check_sound(result)
    check_assembled(result)
    check_clear(result)
    if not len(cage.topology.creases):
        check_wall(result)
