# SPDX-License-Identifier: GPL-3.0-or-later
"""Profile templates: card or sheet that is held on the finished metal from outside."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Array
from ..base.errors import ShapeError
from ..base.tolerances import TOLERANCES
from ..drawing.flat_part import FlatPart, Label
from ..tables.shop.sheet_metal import TEMPLATE_BAND_MM
from .metal_faces import Bead, MetalFaces, bead_spheres
from .region import discs, region, rings_of, without
from .section_lines import across_line, along_line, line_height

_BEAD_STEP_MM = 1.0


def profile_templates(faces: MetalFaces, bead: Bead | None, stations_deg: tuple[float, ...]) -> tuple[FlatPart, ...]:
    """A template of the outer face at each station, held through the axle, and one of the crown line.

    A template ends where the section is widest, so that it comes off; where a bead stands out, room is left for it.
    Raises ShapeError if the outer face misses a station or the center plane.
    """
    made = [_across_template(faces, bead, station, number) for number, station in enumerate(stations_deg, start=1)]
    return (*made, _crown_template(faces))


def lifted_off(line: Array) -> Array:
    """The part of a section (n, 2) between its two widest places, from +x to -x."""
    return line[int(np.argmax(line[:, 0])) : int(np.argmin(line[:, 0])) + 1]


def _across_template(faces: MetalFaces, bead: Bead | None, station: float, number: int) -> FlatPart:
    whole = across_line(faces.outer, faces.triangles, station)
    if whole is None:
        raise ShapeError(f"the fender does not reach the station {station:+.1f} deg")
    line = lifted_off(whole)
    low, top = float(line[:, 1].min()), float(line[:, 1].max()) + TEMPLATE_BAND_MM
    right, left = line[0, 0] + TEMPLATE_BAND_MM, line[-1, 0] - TEMPLATE_BAND_MM
    box = region([np.array([[left, low], [right, low], [right, top], [left, top]])])
    beneath = region([np.vstack([line, [[line[-1, 0], low - 1.0], [line[0, 0], low - 1.0]]])])
    turn = np.radians(station)
    balls = np.zeros((0, 3)) if bead is None else bead_spheres(bead, _BEAD_STEP_MM)
    beside = balls @ np.array([0.0, -np.cos(turn), -np.sin(turn)])
    cuts = [beneath]
    if bead is not None:
        near = np.abs(beside) < bead.radius
        flat = np.column_stack([balls[near, 0], balls[near] @ np.array([0.0, -np.sin(turn), np.cos(turn)])])
        cuts.append(discs(flat, np.sqrt(np.square(bead.radius) - np.square(beside[near]))))
    crown = line_height(line, 0.0)
    name = f"T{number}"
    return FlatPart(
        name,
        f"template, {station:+.1f} deg",
        _largest(rings_of(without(box, cuts), 0.5 * TOLERANCES.chord)),
        (np.array([[0.0, crown + 2.0], [0.0, top - 2.0]]),),
        (Label(f"{name} {station:+.1f}", (0.3 * right, crown + 0.4 * TEMPLATE_BAND_MM), 5.0),),
        (
            f"Seen from the front, for the outer face; hold it in the plane through the axle. The crown is {crown:.1f} mm from the axle.",
        ),
    )


def _crown_template(faces: MetalFaces) -> FlatPart:
    line = along_line(faces.outer, faces.triangles, 0.0)
    if line is None:
        raise ShapeError("the fender does not reach the center plane")
    beyond = line * (1.0 + TEMPLATE_BAND_MM / np.hypot(*line.T))[:, None]
    ring = region([np.vstack([line, beyond[::-1]])])
    middle = 0.5 * (line[len(line) // 2] + beyond[len(line) // 2])
    return FlatPart(
        "TC",
        "template of the crown line",
        _largest(rings_of(ring, 0.5 * TOLERANCES.chord)),
        (),
        (Label("TC", (float(middle[0]), float(middle[1]) - 3.0), 6.0),),
        ("For the outer face in the center plane, the front of the bike on the right.",),
    )


def _largest(rings: tuple[Array, ...]) -> tuple[Array, ...]:
    """The largest piece of a template; what is left between a bead and its end is waste."""
    return rings[:1]
