# SPDX-License-Identifier: GPL-3.0-or-later
"""A written sheet reads back to an equal job."""

from pathlib import Path

from addon.core.job.job_sheet import parse_job, read_job_sheet
from addon.output.sheet_file import write_sheet

DATA = {
    "name": 'Ünusual "name"',
    "tire": {"size": "120/70 ZR 17 (58W)", "profile": [[0.0, 0.0], [40.0, 14.5], [61.0, 41.0]], "measured_width": 122.5},
    "mount": {"height": 17.25, "bolts": [[-20.0, -15.0], [20.0, -15.0], [20.0, 15.0], [-20.0, 15.0]], "thread": "M6"},
    "clearance": {"gap": 6.0},
    "wall": {"thickness": 3.2},
    "keepout": [{"name": "left leg", "kind": "capsule", "a": [95.0, -60.0, 0.0], "b": [95.0, 80.0, 380.0], "radius": 28.0}],
}


def test_round_trip(tmp_path: Path) -> None:
    job = parse_job(DATA)
    write_sheet(tmp_path / "sheet.toml", job)
    assert read_job_sheet(tmp_path / "sheet.toml") == job
