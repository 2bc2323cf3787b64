# SPDX-License-Identifier: GPL-3.0-or-later
"""The job sheet: every measurement and choice of a job, read strictly from TOML; its sections are in job_sections.py."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import Field, dataclass, fields
from pathlib import Path
from typing import Any

from .errors import JobError
from .job_defaults import fill_defaults
from .job_sections import CageShape, Clearance, Keepout, Laminate, Mount, Printer, Split, Tire, Travel, Wall, Wheel
from .sheet_keys import Kind, Text, nearest, shown

__all__ = [
    "SCHEMA",
    "SECTIONS",
    "SHAPE_KEYS",
    "CageShape",
    "Clearance",
    "Job",
    "Keepout",
    "Laminate",
    "Mount",
    "Printer",
    "Split",
    "Tire",
    "Travel",
    "Wall",
    "Wheel",
    "is_required",
    "job_to_dict",
    "parse_job",
    "read_job_sheet",
]

SCHEMA = 1


@dataclass(frozen=True, kw_only=True)
class Job:
    """A whole job sheet. laminate is None where no fiberglass part is planned."""

    name: str
    wheel: Wheel
    tire: Tire
    mount: Mount
    clearance: Clearance
    keepouts: tuple[Keepout, ...]
    travel: Travel
    cage: CageShape
    wall: Wall
    split: Split
    printer: Printer
    laminate: Laminate | None


SECTIONS: dict[str, type[Any]] = {
    "wheel": Wheel,
    "tire": Tire,
    "mount": Mount,
    "clearance": Clearance,
    "travel": Travel,
    "cage": CageShape,
    "wall": Wall,
    "split": Split,
    "printer": Printer,
    "laminate": Laminate,
}
_TOP_KEYS = ("schema", "name", *SECTIONS, "keepout")
_MUST_STATE = (
    ("tire", "size"),
    ("mount", "height"),
    ("mount", "bolts"),
    ("mount", "thread"),
    ("clearance", "gap"),
    ("wall", "thickness"),
)
SHAPE_KEYS: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    "capsule": (frozenset({"a", "b", "radius"}), frozenset()),
    "box": (frozenset({"center", "size"}), frozenset({"rotation"})),
    "halfspace": (frozenset({"point", "normal"}), frozenset()),
    "mesh": (frozenset(), frozenset({"file", "object"})),
}
"""Kind of keep-out: keys of its shape that it must have, and may have."""


def is_required(section: str, key: str) -> bool:
    """True if every sheet must state the key of the section ("keepout" for a keep-out)."""
    return (section, key) in _MUST_STATE or section == "keepout" and key in ("name", "kind")


def parse_job(data: Mapping[str, object]) -> Job:
    """A job from the tables of a sheet, as tomllib returns them.

    Unknown keys, wrong types and values out of range raise JobError(dotted key, sentence). Whether the values go together
    is a further question: see check_job.
    """
    _refuse_unknown("", data, _TOP_KEYS)
    schema = data.get("schema", SCHEMA)
    if isinstance(schema, bool) or schema != SCHEMA:
        raise JobError("schema", f"{shown(schema)} is not known; this version reads schema {SCHEMA}")
    tables = {name: _table(name, data.get(name, {})) for name in SECTIONS}
    for section, key in _MUST_STATE:
        if key not in tables[section]:
            raise JobError(f"{section}.{key}", "is missing; every job sheet must state it")
    read = {name: _read_keys(name, section, tables[name]) for name, section in SECTIONS.items()}
    fill_defaults(read)
    if "laminate" in data:
        _require("laminate", read["laminate"], ("plies",))
    return Job(
        name=Text(120).read("name", data.get("name", "fender")),
        keepouts=_keepouts(data.get("keepout", [])),
        laminate=Laminate(**read.pop("laminate")) if "laminate" in data else None,
        **{name: SECTIONS[name](**values) for name, values in read.items() if name != "laminate"},
    )


def read_job_sheet(path: str | Path) -> Job:
    """The job in a TOML file. Raises JobError with the name of the file if it cannot be read at all."""
    path = Path(path)
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise JobError(path.name, f"cannot be read: {error.strerror or error}") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise JobError(path.name, f"is not UTF-8 text (byte {error.start}); save the sheet as UTF-8") from error
    if not text.strip():
        raise JobError(path.name, "is empty; a job sheet needs at least [tire], [mount], [clearance] and [wall]")
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise JobError(path.name, f"is not a complete TOML file: {error}") from error
    return parse_job(data)


def job_to_dict(job: Job) -> dict[str, Any]:
    """The tables of a sheet that parse_job reads back to an equal job; keys that are None are left out."""
    data: dict[str, Any] = {"schema": SCHEMA, "name": job.name}
    for name in SECTIONS:
        section = getattr(job, name)
        if section is not None:
            data[name] = _written(section)
    if job.keepouts:
        data["keepout"] = [_written(keepout) for keepout in job.keepouts]
    return data


def _written(section: Any) -> dict[str, object]:
    values = ((item, getattr(section, item.name)) for item in fields(section))
    return {item.name: _kind(item).write(value) for item, value in values if value is not None}


def _kind(item: Field[Any]) -> Kind:
    kind: Kind = item.metadata["kind"]
    return kind


def _table(name: str, value: object) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise JobError(name, f"{shown(value)} is not a table; allowed is a section [{name}]")
    return value


def _refuse_unknown(prefix: str, table: Mapping[str, object], known: tuple[str, ...]) -> None:
    for key, value in table.items():
        if key not in known:
            what = f"unknown key with the value {shown(value)}{nearest(key, known)}"
            raise JobError(f"{prefix}{key}", f"{what}; allowed here is {', '.join(known)}")


def _read_keys(prefix: str, section: type[Any], table: Mapping[str, object]) -> dict[str, Any]:
    kinds = {item.name: _kind(item) for item in fields(section)}
    _refuse_unknown(f"{prefix}.", table, tuple(kinds))
    return {key: kinds[key].read(f"{prefix}.{key}", value) for key, value in table.items()}


def _require(prefix: str, values: Mapping[str, object], keys: tuple[str, ...]) -> None:
    for key in keys:
        if key not in values:
            raise JobError(f"{prefix}.{key}", "is missing; it must be stated here")


def _keepouts(value: object) -> tuple[Keepout, ...]:
    if not isinstance(value, list | tuple):
        raise JobError("keepout", f"{shown(value)} is not a list of tables; allowed are sections [[keepout]]")
    keepouts = tuple(_keepout(f"keepout[{i}]", _table(f"keepout[{i}]", item)) for i, item in enumerate(value))
    names = [keepout.name for keepout in keepouts]
    for i, name in enumerate(names):
        if name in names[:i]:
            raise JobError(f"keepout[{i}].name", f"{shown(name)} is used twice; each keep-out needs a name of its own")
    return keepouts


def _keepout(prefix: str, table: Mapping[str, object]) -> Keepout:
    values = _read_keys(prefix, Keepout, table)
    _require(prefix, values, ("name", "kind"))
    kind = values["kind"]
    must, may = SHAPE_KEYS[kind]
    _require(prefix, values, tuple(sorted(must)))
    every = frozenset().union(*(a | b for a, b in SHAPE_KEYS.values()))
    for key in sorted((every - must - may) & values.keys()):
        raise JobError(f"{prefix}.{key}", f"does not belong to a {kind}; allowed here is {', '.join(sorted(must | may))}")
    if kind == "mesh" and ("file" in values) == ("object" in values):
        raise JobError(f"{prefix}.file", "a mesh needs either file or object, and only one of them")
    if kind == "halfspace" and not any(values["normal"]):
        raise JobError(f"{prefix}.normal", f"{shown(values['normal'])} has no direction; it may not be all zero")
    return Keepout(**values)
