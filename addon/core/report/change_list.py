# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed from one written version of a job to the next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_LEAST = 0.005
"""Smaller changes in mm do not show in the figures that are printed."""


def change_list(former: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[str, ...]:
    """Sentences on what differs between two reports, as job_report makes them and report.json holds them.

    Least clearance, what is required, the budget's lines, the wall, and mass, size and bed fit of each piece.
    Raises ValueError with a sentence if `former` is not such a report.
    """
    try:
        said = [*_clearances(former, new), *_budget(former, new), *_pieces(former, new)]
        if former["name"] != new["name"]:
            said.insert(0, f"The files before were of the job {former['name']}.")
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        raise ValueError(f"the report of the former run cannot be compared: {error!r}") from error
    return tuple(said)


def _clearances(former: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    before, after = former["clearance"], new["clearance"]
    said = _changed("Least clearance to the tire", before["min_mm"], after["min_mm"])
    said += _changed("Required clearance", before["required_mm"], after["required_mm"])
    said += _changed("Least wall", former["wall"]["min_mm"], new["wall"]["min_mm"])
    old = {limit["name"]: limit["min_mm"] for limit in before["limits"]}
    for limit in after["limits"][1:]:
        if limit["name"] in old:
            said += _changed(f"Least clearance to the {limit['name']}", old[limit["name"]], limit["min_mm"])
        else:
            said.append(f"{limit['name'].capitalize()} is a new limit.")
    gone = set(old) - {limit["name"] for limit in after["limits"]}
    return said + [f"{name.capitalize()} is no limit any more." for name in sorted(gone)]


def _budget(former: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    old = {line["name"]: line for line in former["budget"]}
    said: list[str] = []
    for line in new["budget"]:
        before = old.pop(line["name"], None)
        if before is None:
            said.append(f"Budget, {line['name']}: new, {line['mm']:.2f} mm.")
            continue
        said += _changed(f"Budget, {line['name']}", before["mm"], line["mm"])
        if before["basis"] != line["basis"]:
            said.append(f"Budget, {line['name']}: {line['basis']}, before {before['basis']}.")
    return said + [f"Budget, {name}: gone, it was {line['mm']:.2f} mm." for name, line in old.items()]


def _pieces(former: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    old = {piece["file"]: piece for piece in former["halves"]}
    said: list[str] = []
    for piece in new["halves"]:
        before = old.pop(piece["file"], None)
        if before is None:
            said.append(f"{piece['file']}: new, {piece['mass_g']:.0f} g.")
            continue
        if abs(piece["mass_g"] - before["mass_g"]) >= 0.05:
            change = piece["mass_g"] - before["mass_g"]
            said.append(f"{piece['file']}: {before['mass_g']:.1f} g to {piece['mass_g']:.1f} g ({change:+.1f}).")
        if _by(before["size_mm"]) != _by(piece["size_mm"]):
            said.append(f"{piece['file']}: {_by(before['size_mm'])} mm to {_by(piece['size_mm'])} mm.")
        if before["fits_bed"] != piece["fits_bed"]:
            said.append(f"{piece['file']}: {'fits the bed now' if piece['fits_bed'] else 'does not fit the bed any more'}.")
    return said + [f"{file}: not made any more." for file in old]


def _changed(what: str, before: float, after: float) -> list[str]:
    if abs(after - before) < _LEAST:
        return []
    return [f"{what}: {before:.2f} mm to {after:.2f} mm ({after - before:+.2f})."]


def _by(size: list[float]) -> str:
    return " x ".join(f"{side:.1f}" for side in size)
