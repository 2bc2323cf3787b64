# SPDX-License-Identifier: GPL-3.0-or-later
"""Job sheets as TOML files."""

from __future__ import annotations

from pathlib import Path

import tomli_w

from ..core.job.job_sheet import Job, job_to_dict


def sheet_text(job: Job) -> str:
    """The job as a TOML job sheet that reads back to an equal job."""
    return tomli_w.dumps(job_to_dict(job))


def write_sheet(path: Path, job: Job) -> None:
    """Write the job as a TOML job sheet. Raises OSError if the file cannot be written."""
    path.write_text(sheet_text(job), encoding="utf-8", newline="\n")
