# SPDX-License-Identifier: GPL-3.0-or-later
"""The first cage of a job, bent toward the lines of the bike that it is to follow."""

from __future__ import annotations

from dataclasses import replace

from ..core.clearance.clearance_field import ClearanceField
from ..core.job.job_sheet import Job
from ..core.lines.follow_lines import follow_lines
from ..core.seat.mount import mount_frame
from ..core.shaping.point_freedom import SeatRows
from ..core.shaping.seed import Seed, seed_cage
from ..core.skin.skin_stencil import skin_stencil


def followed_seed(job: Job, field: ClearanceField) -> Seed:
    """A clear half cage; see seed_cage. Raises as it does, and JobError if a line to follow never comes near."""
    seed = seed_cage(job, field)
    if not any(line.follow > 0.0 for line in job.bike_lines):
        return seed
    stencil = skin_stencil(seed.cage.topology, job.cage.level)
    held = SeatRows(seed.seat, mount_frame(job).up)
    return replace(seed, cage=follow_lines(seed.cage, stencil, field, job.bike_lines, held))
