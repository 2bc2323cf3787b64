# SPDX-License-Identifier: GPL-3.0-or-later
"""How much the pieces of the 3MF are larger than the part."""

from __future__ import annotations

from ..job.job_sheet import Job
from ..tables.materials import SHRINK, print_scale


def scale_3mf(job: Job) -> float:
    """Factor of the 3MF: that of the material if the sheet asks to make up for its shrinkage there, else 1."""
    return print_scale(SHRINK[job.printer.material][0]) if job.printer.compensate == "3mf" else 1.0
