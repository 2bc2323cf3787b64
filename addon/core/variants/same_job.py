# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether two shapes are for the same wheel, mount and clearance, so that their figures can be compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from ..base.errors import JobError
from ..job.job_sheet import Job
from ..job.sheet_keys import shown

SAME = ("wheel", "tire", "mount", "seats", "clearance", "keepouts", "travel")
"""What makes a job; shape, wall, trim, edges, ribs, split, printer and what follows are choices of a variant."""


def check_same_job(name: str, job: Job, other: Job) -> None:
    """Raise JobError, with the first key that differs, if a variant is of another job. name : of the variant; other : its job"""
    for section in SAME:
        found = _difference(section, getattr(job, section), getattr(other, section))
        if found is not None:
            key, here, there = found
            raise JobError(
                f'variant "{name}"',
                f"is of another job: its {key} is {shown(there)}, here it is {shown(here)}; variants share wheel, tire, mount, seats, "
                "clearance, keep-outs and travel",
            )


def _difference(key: str, here: Any, there: Any) -> tuple[str, Any, Any] | None:
    if here == there:
        return None
    if is_dataclass(here) and type(here) is type(there):
        names = [item.name for item in fields(here)]
        return next(
            found
            for name in names
            if (found := _difference(f"{key}.{name}", getattr(here, name), getattr(there, name))) is not None
        )
    if _are_tables(here) and _are_tables(there):
        if len(here) != len(there):
            return f"number of {key}", len(here), len(there)
        pairs = enumerate(zip(here, there, strict=True))
        return next(found for i, (a, b) in pairs if (found := _difference(f"{key}[{i}]", a, b)) is not None)
    return key, here, there


def _are_tables(value: Any) -> bool:
    return isinstance(value, Sequence) and not isinstance(value, str) and all(is_dataclass(item) for item in value)
