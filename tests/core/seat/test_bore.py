# SPDX-License-Identifier: GPL-3.0-or-later
"""What a sheet asks to be bored, by hand from the tables, and what does not go together."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.job.job_sheet import Job, job_to_dict, parse_job
from addon.core.report.check_job import check_job
from addon.core.seat.bore import bore_of, washer_under_head
from addon.core.seat.hardware import fender_stack
from addon.core.tables.edge_distance import edge_distance
from addon.core.tables.fasteners import THREADS


def job_with(**mount: Any) -> Job:
    bolts = [[25, 30], [-25, 30], [25, -30], [-25, -30]]
    return parse_job(
        {
            "tire": {"size": "120/70R17"},
            "mount": {"height": 60, "bolts": bolts, "thread": "M6", **mount},
            "clearance": {"gap": 20},
            "wall": {"thickness": 4},
        }
    )


def head_over_face(job: Job) -> float:
    """How far the hardware on the fender stands out of its face, mm."""
    stack = fender_stack("mount", job.mount, bore_of("mount", job.mount).depth, job.wall.thickness, None)
    return max((disc.end for disc in stack), default=0.0)


def test_default_is_the_plain_hole() -> None:
    job = job_with()
    bore = bore_of("mount", job.mount)
    assert (bore.hole, bore.recess, bore.depth, bore.travel) == (6.6, 0.0, 0.0, 0.0)
    assert bore.room == 18.0  # a large washer, ISO 7093
    assert_allclose(head_over_face(job), 3.3 + 1.8)  # ISO 7380-1, ISO 7093


@pytest.mark.parametrize(
    ("mount", "recess", "depth", "proud"),
    [
        ({"hardware": "counterbore"}, 11.0, 6.0, 0.0),  # ISO 4762: 10 x 6
        ({"hardware": "counterbore", "washer": "plain"}, 13.0, 7.6, 0.0),  # ISO 7089: 12 x 1.6
        ({"hardware": "counterbore", "washer": "large", "recess": 2.0}, 19.0, 2.0, 5.8),  # ISO 7093: 18 x 1.8
        ({"hardware": "countersink"}, 13.44, 0.1, 0.0),  # ISO 10642
        ({"hardware": "countersink", "recess": 1.0}, 13.44, 1.0, 0.0),
        ({"hardware": "washer_flat"}, 19.0, 0.3, 4.8),
        ({"hardware": "washer_flat", "washer": "none"}, 11.5, 0.3, 3.0),  # ISO 7380-1: 10.5 x 3.3
        ({"hardware": "insert"}, 8.0, 13.2, 0.0),  # accu.co.uk p/488
    ],
)
def test_recess_by_the_tables(mount: dict[str, Any], recess: float, depth: float, proud: float) -> None:
    job = job_with(**mount)
    bore = bore_of("mount", job.mount)
    assert_allclose([bore.recess, bore.depth, head_over_face(job)], [recess, depth, proud])
    assert parse_job(job_to_dict(job)) == job


def test_a_recess_stays_within_the_edge_distance() -> None:
    """A large washer's recess leaves a millimeter of wall to the nearest edge that the rule allows, for every thread."""
    for thread in THREADS:
        bore = bore_of("mount", job_with(thread=thread, hardware="counterbore", washer="large", pad=30.0).mount)
        assert edge_distance(thread, laminate=False) - 0.5 * bore.widest >= 1.0


def test_slots_are_half_ways_in_the_plane() -> None:
    """A turn of 90 degrees is to the rider's left; the usual seat grows by half the longest way."""
    job = job_with(slots=[[10, 0], [6, 90], [0, 0], [8, -90]])
    assert_allclose(bore_of("mount", job.mount).slots, [[0, 5], [3, 0], [0, 0], [-4, 0]], atol=1e-12)
    assert job.mount.pad == 13.0 + 5.0
    one = bore_of("mount", job_with(slots=[[10, 45]]).mount)
    assert one.slots.shape == (4, 2)
    assert_allclose(one.slots, np.full((4, 2), 5.0 * np.sqrt(0.5)))


@pytest.mark.parametrize(
    ("mount", "key", "words"),
    [
        ({"recess": 2.0}, "mount.recess", 'goes with no "plain" hardware'),
        ({"hardware": "insert", "recess": 2.0}, "mount.recess", 'goes with no "insert" hardware'),
        ({"hardware": "insert", "thread": "M8"}, "mount.hardware", "allowed are M3, M4, M5, M6"),
        ({"hardware": "insert", "slots": [[4, 0]]}, "mount.slots", 'go with no "insert"'),
        ({"hardware": "countersink", "washer": "large"}, "mount.washer", 'allowed is "none"'),
        ({"slots": [[4, 0], [4, 0]]}, "mount.slots", "holds 2 slots for 4 bolts"),
        ({"slots": [[-4, 0]]}, "mount.slots[0][0]", "allowed is a way from 0 to 40 mm"),
        ({"slots": [[10, 0]], "pad": 14.0}, "mount.pad", "may move 5 mm either way; allowed is 15 mm"),
        ({"hardware": "bolt"}, "mount.hardware", '"washer_flat"'),
    ],
)
def test_what_does_not_go_together(mount: dict[str, Any], key: str, words: str) -> None:
    with pytest.raises(JobError, match=".") as refused:
        check_job(job_with(**mount))
    assert refused.value.key == key and words in str(refused.value)


def test_washer_that_is_stated_counts() -> None:
    assert washer_under_head("mount", job_with(washer="none").mount) is None
    plain = washer_under_head("mount", job_with(washer="plain").mount)
    assert plain is not None and plain.outer == 12.0
