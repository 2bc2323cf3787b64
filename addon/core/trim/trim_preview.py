# SPDX-License-Identifier: GPL-3.0-or-later
"""What a job's trim takes from a skin, without cutting it."""

from __future__ import annotations

from dataclasses import dataclass

from ..arrays import Array
from ..errors import JobError, ShapeError
from ..job_sheet import Job
from ..keepout import MeshBodyMaker
from ..solid.sheet import Sheet
from .job_trim import trim_field
from .trimmed import check_seat


@dataclass(frozen=True, eq=False)
class TrimPreview:
    """values : (n,) float, mm at the points of the skin, negative where it is cut away; None if there is no field

    trouble : why the skin cannot be trimmed so, None if nothing speaks against it yet; islands and openings show in the cut only
    """

    values: Array | None
    trouble: JobError | ShapeError | None


def trim_preview(job: Job, sheet: Sheet, mesh_body: MeshBodyMaker | None = None) -> TrimPreview | None:
    """The field of a job's trim at the points of a skin; None if the job trims nothing. See trimmed for the arguments."""
    try:
        field = trim_field(job, sheet, mesh_body)
    except (JobError, ShapeError) as error:
        return TrimPreview(None, error)
    if field is None:
        return None
    trouble: JobError | None = None
    try:
        check_seat(job, sheet, field)
    except JobError as error:
        trouble = error
    return TrimPreview(field.values(sheet.points, sheet.normals), trouble)
