# SPDX-License-Identifier: GPL-3.0-or-later
"""A job to draw with while the sheet is not complete: what is stated counts, what is missing is usual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..base.errors import JobError
from ..job.job_sheet import Job, parse_job
from ..seat.mount import mount_frame
from ..tire.job_tire import job_tire_size
from ..tire.tire_profile import tire_profile

_USUAL: dict[str, dict[str, Any]] = {
    "tire": {"size": "120/70-17"},
    "mount": {"height": 45.0, "bolts": [[0.0, 30.0], [0.0, -30.0]], "thread": "M6"},
    "clearance": {"gap": 10.0},
    "wall": {"thickness": 3.0},
}
"""A common front wheel; only to have proportions for a drawing. Nothing of it gets into a sheet."""


@dataclass(frozen=True)
class ProvisionalJob:
    """job : complete. tire_stated, mount_stated : True if the size code, or the mount height, is the sheet's own"""

    job: Job
    tire_stated: bool
    mount_stated: bool

    @property
    def is_own(self) -> bool:
        return self.tire_stated and self.mount_stated


def provisional_job(data: Mapping[str, Any]) -> ProvisionalJob:
    """The job of tables that may lack keys or hold impossible values; of those, as much as goes together.

    data : as of a job sheet
    """
    tire_stated, mount_stated = "size" in data.get("tire", {}), "height" in data.get("mount", {})
    attempts = (
        (data, ("wheel", "tire", "mount", "clearance", "cage"), tire_stated, mount_stated),
        (data, ("wheel", "tire", "mount"), tire_stated, mount_stated),
        (data, ("wheel", "tire"), tire_stated, False),
        (data, ("mount",), False, mount_stated),
    )
    for source, sections, tire, mount in attempts:
        job = _drawable({name: {**_USUAL.get(name, {}), **source.get(name, {})} for name in {*_USUAL, *sections}}, sections)
        if job is not None:
            return ProvisionalJob(job, tire, mount)
    return ProvisionalJob(parse_job(_USUAL), False, False)


def _drawable(filled: Mapping[str, Mapping[str, Any]], sections: tuple[str, ...]) -> Job | None:
    """The job if a drawing of it can be made; sections that are not named are the usual ones."""
    tables = {name: dict(table if name in sections else _USUAL[name]) for name, table in filled.items()}
    try:
        job = parse_job(tables)
        job_tire_size(job)
        mount_frame(job)
        tire_profile(job)
    except (JobError, ValueError):
        return None
    return job
