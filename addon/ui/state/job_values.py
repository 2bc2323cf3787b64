# SPDX-License-Identifier: GPL-3.0-or-later
"""The job sheet read from the properties of a scene, and written to them.

A value that the sheet may leave out has a switch `use_NAME`; a number that it must state is left out while it is 0, and a
text while it is empty, so that the parser names what is missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, replace
from typing import Any

from ...core.job.job_sheet import OPTIONAL, SECTIONS, SHAPE_KEYS, TABLES, Job, Keepout, is_required, job_to_dict, parse_job

_SHAPE = frozenset().union(*(must | may for must, may in SHAPE_KEYS.values()))


def switch(name: str) -> str:
    """Name of the property that says whether a value is stated."""
    return f"use_{name}"


def is_optional(section: str, item: Field[Any]) -> bool:
    """True if the sheet may leave the value out and then means something else than one fixed default."""
    if is_required(section, item.name) or (section == "keepout" and item.name in _SHAPE):
        return False
    return item.default is None or item.default is MISSING


def shape_keys(kind: str) -> tuple[str, ...]:
    """Keys of the shape of a keep-out kind, in the order of the sheet."""
    must, may = SHAPE_KEYS[kind]
    return tuple(item.name for item in fields(Keepout) if item.name in must | may)


def read_job(settings: Any) -> Job:
    """The job that the properties state, with its computed flex. Raises JobError if it is not a possible one."""
    computed = float(f"{settings.computed_flex:.7g}")
    return replace(parse_job(job_data(settings)), computed_flex=computed or None)


def job_data(settings: Any) -> dict[str, Any]:
    """What the properties state, as the tables of a sheet; it need not be complete or possible."""
    data: dict[str, Any] = {"name": settings.name_of_job or "fender"}
    for section, owner in SECTIONS.items():
        if section not in OPTIONAL or getattr(settings, switch(section)):
            data[section] = _read_section(section, owner, getattr(settings, section))
    for table in TABLES:
        data[table] = [_read_table(table, group) for group in getattr(settings, f"{table}s")]
    return data


def missing_values(settings: Any) -> tuple[tuple[str, str], ...]:
    """Section and key of all that every sheet must state and the properties do not hold yet."""
    data = job_data(settings)
    return tuple(
        (section, item.name)
        for section, owner in SECTIONS.items()
        for item in fields(owner)
        if is_required(section, item.name) and item.name not in data[section]
    )


def _read_section(section: str, owner: type[Any], group: Any) -> dict[str, object]:
    values: dict[str, object] = {}
    for item in fields(owner):
        if is_optional(section, item) and not getattr(group, switch(item.name)):
            continue
        value = _plain(getattr(group, item.name))
        # in a table that there may be several of, 0 is a value as any other
        missing: tuple[object, ...] = ("", []) if section in TABLES else ("", [], 0.0)
        if is_required(section, item.name) and value in missing:
            continue
        values[item.name] = value
    return values


def _read_table(table: str, group: Any) -> dict[str, object]:
    return _read_keepout(group) if table == "keepout" else _read_section(table, TABLES[table], group)


def _read_keepout(group: Any) -> dict[str, object]:
    own = shape_keys(group.kind)
    values = _read_section("keepout", Keepout, group)
    if group.mesh_object is not None:
        values["object"] = group.mesh_object.name  # which the host may have changed since
    if not any(group.rotation):
        values.pop("rotation", None)
    return {key: value for key, value in values.items() if (key in own or key not in _SHAPE) and value != ""}


def _plain(value: Any) -> object:
    """A property as TOML would hold it; floats lose the noise of their 32 bits."""
    if isinstance(value, float):
        return float(f"{value:.7g}")
    if isinstance(value, bool | int | str):
        return value
    return [_plain(entry.value if hasattr(entry, "value") else entry) for entry in value]


def write_job(settings: Any, job: Job) -> None:
    """Fill the properties from a job; what it does not state is switched off."""
    write_job_data(settings, job_to_dict(job))
    settings.computed_flex = job.computed_flex or 0.0


def write_job_data(settings: Any, data: Mapping[str, Any]) -> None:
    """Fill the properties from the tables of a sheet, as `job_data` gives them; what they must state but do not stays."""
    settings.name_of_job = data["name"]
    settings.computed_flex = 0.0
    for section in OPTIONAL:
        setattr(settings, switch(section), section in data)
    for section, owner in SECTIONS.items():
        _write_section(section, owner, getattr(settings, section), data.get(section, {}))
    for table, owner in TABLES.items():
        groups = getattr(settings, f"{table}s")
        groups.clear()
        for values in data.get(table, []):
            _write_section(table, owner, groups.add(), values)


def _write_section(section: str, owner: type[Any], group: Any, table: Mapping[str, Any]) -> None:
    for item in fields(owner):
        if is_optional(section, item):
            setattr(group, switch(item.name), item.name in table)
        if item.name in table:
            _write_value(group, item.name, table[item.name])


def _write_value(group: Any, name: str, value: Any) -> None:
    if isinstance(value, list) and hasattr(getattr(group, name), "add"):
        entries = getattr(group, name)
        entries.clear()
        for entry in value:
            entries.add().value = entry
    else:
        setattr(group, name, value)


def plain(value: float) -> float:
    """A number without the noise of the host's 32 bits."""
    return float(f"{value:.7g}")
