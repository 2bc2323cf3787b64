# SPDX-License-Identifier: GPL-3.0-or-later
"""The job sheet: every measurement and choice of a job, read strictly from TOML; its sections are in job_sections.py."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, dataclass, fields
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeVar

from ..base.errors import JobError
from .job_defaults import fill_defaults
from .job_sections import (
    BikeLine,
    CageShape,
    Clearance,
    Coverage,
    EdgeKinds,
    FurtherSeat,
    Keepout,
    Laminate,
    Lay,
    Metal,
    Mount,
    Opening,
    Printer,
    Rib,
    Split,
    Target,
    Tire,
    Travel,
    Trim,
    TrimLine,
    Wall,
    Wheel,
)
from .sheet_keys import Kind, Text, nearest, shown

__all__ = [
    "OPTIONAL",
    "SCHEMA",
    "SECTIONS",
    "SHAPE_KEYS",
    "TABLES",
    "BikeLine",
    "CageShape",
    "Clearance",
    "Coverage",
    "FurtherSeat",
    "Job",
    "Keepout",
    "Laminate",
    "Lay",
    "Metal",
    "Mount",
    "Opening",
    "Printer",
    "Rib",
    "Split",
    "Target",
    "Tire",
    "Travel",
    "Trim",
    "TrimLine",
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
    """A whole job sheet. laminate and metal are None where no such part is planned.

    computed_flex : mm, how far the job's own fender gives way, once that is known; no key of a sheet, and clearance.flex wins
    """

    name: str
    wheel: Wheel
    tire: Tire
    mount: Mount
    seats: tuple[FurtherSeat, ...]
    clearance: Clearance
    keepouts: tuple[Keepout, ...]
    travel: Travel
    cage: CageShape
    trim: Trim
    trim_lines: tuple[TrimLine, ...]
    openings: tuple[Opening, ...]
    wall: Wall
    ribs: tuple[Rib, ...]
    edge: EdgeKinds
    split: Split
    printer: Printer
    lays: tuple[Lay, ...]
    coverage: Coverage
    targets: tuple[Target, ...]
    bike_lines: tuple[BikeLine, ...]
    laminate: Laminate | None
    metal: Metal | None
    computed_flex: float | None = None


SECTIONS: dict[str, type[Any]] = {
    "wheel": Wheel,
    "tire": Tire,
    "mount": Mount,
    "clearance": Clearance,
    "travel": Travel,
    "cage": CageShape,
    "trim": Trim,
    "wall": Wall,
    "edge": EdgeKinds,
    "split": Split,
    "printer": Printer,
    "coverage": Coverage,
    "laminate": Laminate,
    "metal": Metal,
}
TABLES: dict[str, type[Any]] = {
    "seat": FurtherSeat,
    "keepout": Keepout,
    "trim_line": TrimLine,
    "opening": Opening,
    "rib": Rib,
    "lay": Lay,
    "target": Target,
    "bike_line": BikeLine,
}
"""Sections that the sheet may hold several of; their field in a job is their name with an s."""

OPTIONAL: dict[str, tuple[str, ...]] = {"laminate": ("plies",), "metal": ()}
"""Sections that are None in a job whose sheet leaves them out: keys that they must state."""

_TOP_KEYS = ("schema", "name", *SECTIONS, *TABLES)
_MUST_STATE = (
    ("tire", "size"),
    ("mount", "height"),
    ("mount", "bolts"),
    ("mount", "thread"),
    ("clearance", "gap"),
    ("wall", "thickness"),
)
_THINGS = {
    "seat": "seat",
    "keepout": "keep-out",
    "trim_line": "line",
    "opening": "opening",
    "rib": "rib",
    "lay": "way to lie",
    "target": "target",
    "bike_line": "line",
}
_Named = TypeVar("_Named", FurtherSeat, Keepout, TrimLine, Opening, Rib, Lay, Target, BikeLine)

SHAPE_KEYS: dict[str, tuple[frozenset[str], frozenset[str]]] = {
    "capsule": (frozenset({"a", "b", "radius"}), frozenset()),
    "box": (frozenset({"center", "size"}), frozenset({"rotation"})),
    "halfspace": (frozenset({"point", "normal"}), frozenset()),
    "mesh": (frozenset(), frozenset({"file", "object"})),
}
"""Kind of keep-out: keys of its shape that it must have, and may have."""


def is_required(section: str, key: str) -> bool:
    """True if every sheet must state the key of the section or table."""
    return (section, key) in _MUST_STATE or key in _required_keys(section)


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
    for name, keys in OPTIONAL.items():
        if name in data:
            _require(name, read[name], keys)
    sections: dict[str, Any] = {
        name: None if name in OPTIONAL and name not in data else SECTIONS[name](**values) for name, values in read.items()
    }
    return Job(
        name=Text(120).read("name", data.get("name", "fender")),
        seats=_named_tables("seat", data, _seat),
        keepouts=_named_tables("keepout", data, _keepout),
        trim_lines=_named_tables("trim_line", data, _trim_line),
        openings=_named_tables("opening", data, _opening),
        ribs=_named_tables("rib", data, _rib),
        lays=_named_tables("lay", data, _lay),
        targets=_named_tables("target", data, _target),
        bike_lines=_named_tables("bike_line", data, _bike_line),
        **sections,
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
    for name in TABLES:
        tables = getattr(job, f"{name}s")
        if tables:
            data[name] = [_written(table) for table in tables]
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


def _required_keys(table: str) -> tuple[str, ...]:
    """Keys without a default of a table that the sheet may hold several of."""
    return tuple(item.name for item in fields(TABLES[table]) if item.default is MISSING) if table in TABLES else ()


def _named_tables(
    table: str, data: Mapping[str, object], read: Callable[[str, Mapping[str, object]], _Named]
) -> tuple[_Named, ...]:
    value, thing = data.get(table, []), _THINGS[table]
    if not isinstance(value, list | tuple):
        raise JobError(table, f"{shown(value)} is not a list of tables; allowed are sections [[{table}]]")
    named = tuple(read(f"{table}[{i}]", _table(f"{table}[{i}]", item)) for i, item in enumerate(value))
    names = [item.name for item in named]
    for i, name in enumerate(names):
        if name in names[:i]:
            raise JobError(f"{table}[{i}].name", f"{shown(name)} is used twice; each {thing} needs a name of its own")
    return named


def _trim_line(prefix: str, table: Mapping[str, object]) -> TrimLine:
    values = _read_keys(prefix, TrimLine, table)
    _require(prefix, values, _required_keys("trim_line"))
    line = TrimLine(**values)
    for i, (one, two) in enumerate(pairwise(line.points), start=1):
        if line.view == "drop" and two[0] <= one[0]:
            what = f"is no station after {one[0]:g}; the stations of a drop line must ascend"
            raise JobError(f"{prefix}.points[{i}]", f"[{two[0]:g}, {two[1]:g}] {what}")
        if one == two:
            raise JobError(f"{prefix}.points[{i}]", f"[{two[0]:g}, {two[1]:g}] is the same as the point before; state it once")
    if line.view == "drop" and not all(-180.0 <= station <= 180.0 for station, _ in line.points):
        raise JobError(f"{prefix}.points", "holds a station out of range; allowed are stations from -180 to 180 degrees")
    return line


def _opening(prefix: str, table: Mapping[str, object]) -> Opening:
    values = _read_keys(prefix, Opening, table)
    _require(prefix, values, _required_keys("opening"))
    opening = Opening(**values)
    if opening.width > opening.length:
        raise JobError(f"{prefix}.width", f"{opening.width:g} is more than the length of {opening.length:g}; turn the opening")
    return opening


def _rib(prefix: str, table: Mapping[str, object]) -> Rib:
    values = _read_keys(prefix, Rib, table)
    _require(prefix, values, _required_keys("rib"))
    rib = Rib(**values)
    if rib.front <= rib.rear:
        raise JobError(
            f"{prefix}.front", f"{rib.front:g} is not ahead of the rear end, {rib.rear:g}; stations grow toward the front"
        )
    if rib.height > 0.5 * rib.width:
        raise JobError(
            f"{prefix}.height",
            f"{rib.height:g} is too steep on a width of {rib.width:g}; allowed is {0.5 * rib.width:g} mm, half of it",
        )
    return rib


def _lay(prefix: str, table: Mapping[str, object]) -> Lay:
    values = _read_keys(prefix, Lay, table)
    _require(prefix, values, _required_keys("lay"))
    if not any(values["up"]):
        raise JobError(f"{prefix}.up", f"{shown(values['up'])} has no direction; it may not be all zero")
    return Lay(**values)


def _bike_line(prefix: str, table: Mapping[str, object]) -> BikeLine:
    values = _read_keys(prefix, BikeLine, table)
    _require(prefix, values, _required_keys("bike_line"))
    line = BikeLine(**values)
    if line.part == "crown" and line.view == "top":
        raise JobError(f"{prefix}.view", '"top" shows the crown as straight; allowed for the crown is "side"')
    for i, (one, two) in enumerate(pairwise(line.points), start=1):
        if one == two:
            raise JobError(f"{prefix}.points[{i}]", f"[{two[0]:g}, {two[1]:g}] is the same as the point before; state it once")
    return line


def _target(prefix: str, table: Mapping[str, object]) -> Target:
    values = _read_keys(prefix, Target, table)
    _require(prefix, values, _required_keys("target"))
    return Target(**values)


def _seat(prefix: str, table: Mapping[str, object]) -> FurtherSeat:
    values = _read_keys(prefix, FurtherSeat, table)
    _require(prefix, values, _required_keys("seat"))
    if not any(values["normal"]):
        raise JobError(f"{prefix}.normal", f"{shown(values['normal'])} has no direction; it may not be all zero")
    return FurtherSeat(**values)


def _keepout(prefix: str, table: Mapping[str, object]) -> Keepout:
    values = _read_keys(prefix, Keepout, table)
    _require(prefix, values, _required_keys("keepout"))
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
