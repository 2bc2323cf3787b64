# SPDX-License-Identifier: GPL-3.0-or-later
"""Readings from a file, and the record of printed gauges."""

from typing import Any

import pytest

from addon.core.base.errors import JobError
from addon.core.gauges.feedback import DirectReading, GapReading
from addon.core.gauges.feedback_readings import parse_readings
from addon.core.job.job_sheet import job_to_dict, parse_job
from addon.core.tables.gauge_rules import FEELER_SIGMA_MM

JOB = parse_job(
    {
        "tire": {"size": "120/70 ZR17"},
        "mount": {"height": 48.0, "bolts": [[-25, -20], [25, 20]], "thread": "M6"},
        "clearance": {"gap": 10.0},
        "wall": {"thickness": 3.0},
    }
)
GAUGES: dict[str, Any] = {
    "points": [{"station": -35.0, "point": "C", "position": [0.0, -190.0, -60.0], "expected_mm": 40.0}],
    "sheet": job_to_dict(JOB),
}


def test_gaps_and_direct_readings_are_read() -> None:
    data = {"gap": [{"station": -35, "point": "C", "mm": 39.2}], "direct": [{"quantity": "tilt", "value": 1.5, "sigma": 0.3}]}
    gap, direct = parse_readings(JOB, data, GAUGES)
    assert isinstance(gap, GapReading) and gap.mm == 39.2 and gap.sigma == FEELER_SIGMA_MM
    assert gap.place.position.tolist() == [0.0, -190.0, -60.0]
    assert direct == DirectReading("tilt", 1.5, 0.3)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({"gaps": []}, "gaps: unknown key"),
        (
            {"gap": [{"station": -35, "point": "L1", "mm": 39.2}]},
            r"gap\[0\]: station -35 point 'L1' is on no gauge; there are -35 C",
        ),
        ({"gap": [{"station": -35, "point": "C"}]}, r"gap\[0\]\.mm: is missing"),
        ({"gap": [{"station": -35, "point": "C", "mm": "wide"}]}, r"gap\[0\]\.mm: 'wide' is not a number"),
        ({"gap": [{"station": -35, "point": "C", "mm": 3, "size": 2}]}, r"gap\[0\]\.size: unknown key"),
        ({"gap": 3}, "gap: must be a list of tables"),
        ({"direct": [{"quantity": "weight", "value": 1, "sigma": 1}]}, r"direct\[0\]\.quantity: 'weight' is unknown"),
        ({"direct": [{"quantity": "tilt", "value": 1}]}, r"direct\[0\]\.sigma: is missing"),
    ],
)
def test_wrong_readings_are_named(data: dict[str, Any], message: str) -> None:
    with pytest.raises(JobError, match=message):
        parse_readings(JOB, data, GAUGES)


def test_gauges_of_another_job_or_none_at_all_are_refused() -> None:
    other = {**GAUGES, "sheet": {"mount": {"bolts": [[0, 0]]}}}
    with pytest.raises(JobError, match="another bolt pattern"):
        parse_readings(JOB, {}, other)
    with pytest.raises(JobError, match="not the record"):
        parse_readings(JOB, {}, {"points": []})
    with pytest.raises(JobError, match="not the record"):
        parse_readings(JOB, {}, {**GAUGES, "points": [{"station": 1, "point": "C", "position": [0.0]}]})
