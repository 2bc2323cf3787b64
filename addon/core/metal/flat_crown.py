# SPDX-License-Identifier: GPL-3.0-or-later
"""The strip along the crown that can be laid flat without more than a stated strain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..drawing.flat_part import FlatPart, Label
from .region import ring_area
from .section_lines import across_line, along_line

_ALONG_STEP_MM = 6.0
_ACROSS_STEP_MM = 1.0
_SMOOTH = 3


@dataclass(frozen=True, eq=False)
class FlatCrown:
    """The strip laid flat. along : (n,) float, mm, from its rear; half_width : (n,) float, mm, there; strain : the most in it, of 1

    stations_deg : (n,) float
    """

    along: Array
    half_width: Array
    strain: float
    stations_deg: Array


def flat_crown(points: Array, triangles: Index, most_strain: float) -> FlatCrown:
    """The widest strip about the crown line that lies flat within a strain, for each place along it.

    points, triangles : the face, wheel axes; most_strain : of 1, more than 0
    Rows across, with their lengths kept, are laid square to the straightened crown line, also with its length kept. Strain is
    the change of length of every edge of the grid, diagonals too, so that stretch, shrinkage and shear all count.
    Raises ValueError if the face has no crown line.
    """
    crown = along_line(points, triangles, 0.0)
    if crown is None:
        raise ValueError("points: the face does not reach the center plane")
    turn = np.degrees(np.arctan2(*crown.T))
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(crown, axis=0), axis=1))])
    count = max(int(np.ceil(length[-1] / _ALONG_STEP_MM)), 2)
    # the section at the very tip may lack a side
    along = np.linspace(0.0, length[-1], count + 1)[1:-1]
    stations = np.interp(along, length, turn)
    rows = _rows(points, triangles, stations)
    flat = _laid_flat(rows.shape[1], along)
    bad = _strained(rows, flat, most_strain)
    steps = _smoothed(_clear_steps(bad))
    half = (rows.shape[1] - 1) // 2
    strain = _strain_inside(rows, flat, steps, half)
    return FlatCrown(along - along[0], steps * _ACROSS_STEP_MM, strain, stations)


def crown_pattern(strip: FlatCrown) -> FlatPart:
    """The strip as a part to cut. The front of the bike is on the right."""
    low = np.column_stack([strip.along, -strip.half_width])
    ring = np.vstack([low, low[::-1] * [1.0, -1.0]])
    ring = ring if ring_area(ring) > 0.0 else ring[::-1]
    middle = 0.5 * float(strip.along[-1])
    rows = strip.along[:: max(len(strip.along) // 10, 1)]
    lines = [np.array([[0.0, 0.0], [strip.along[-1], 0.0]])]
    lines += [np.array([[x, -0.8], [x, 0.8]]) * [1.0, float(np.interp(x, strip.along, strip.half_width))] for x in rows]
    return FlatPart(
        "C",
        "crown laid flat",
        (ring,),
        tuple(lines),
        (Label("C front ->", (middle, 2.0), 4.0),),
        (
            f"Within the strip nothing is stretched or shrunk by more than {100.0 * strip.strain:.2f} %. Marks across lie in planes through the axle.",
        ),
    )


def _rows(points: Array, triangles: Index, stations: Array) -> Array:
    """(n, 2 k + 1, 3): places in steps along each section, from its crown to both sides; NaN past its ends."""
    sections = [across_line(points, triangles, float(station)) for station in stations]
    found = []
    for station, line in zip(stations, sections, strict=True):
        if line is None:
            raise ValueError(f"points: the face misses the station {station:.1f} deg")
        way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        middle = int(np.argmax((line[:-1, 0] > 0.0) & (line[1:, 0] <= 0.0)))
        share = line[middle, 0] / (line[middle, 0] - line[middle + 1, 0])
        found.append((line, way - (way[middle] + share * (way[middle + 1] - way[middle])), np.radians(station)))
    reach = max(min(-way[0], way[-1]) for _, way, _ in found)
    steps = _ACROSS_STEP_MM * np.arange(-int(reach / _ACROSS_STEP_MM), int(reach / _ACROSS_STEP_MM) + 1)
    rows = []
    for line, way, turn in found:
        x, rho = (np.interp(steps, way, line[:, axis], left=np.nan, right=np.nan) for axis in (0, 1))
        rows.append(np.column_stack([x, -rho * np.sin(turn), rho * np.cos(turn)]))
    return np.stack(rows)


def _laid_flat(columns: int, along: Array) -> Array:
    across = _ACROSS_STEP_MM * (np.arange(columns) - columns // 2)
    return np.stack(np.broadcast_arrays(along[:, None], across[None, :]), axis=-1)


def _edge_strains(rows: Array, flat: Array) -> tuple[Array, Array, Array]:
    """Strain of the edges from row i to i + 1: straight (n - 1, c), and both diagonals (n - 1, c - 1)."""

    def change(a: tuple[slice, slice], b: tuple[slice, slice]) -> Array:
        curved, plane = (np.linalg.norm(grid[a] - grid[b], axis=-1) for grid in (rows, flat))
        return np.asarray(np.abs(curved / plane - 1.0))

    lower, upper, first, second, every = slice(None, -1), slice(1, None), slice(None, -1), slice(1, None), slice(None)
    return (
        change((lower, every), (upper, every)),
        change((lower, first), (upper, second)),
        change((lower, second), (upper, first)),
    )


def _strained(rows: Array, flat: Array, most: float) -> Mask:
    """(n - 1, c - 1) bool: cells that have an edge with more strain, or that are not on the face."""
    straight, up, down = _edge_strains(rows, flat)
    worst = np.maximum(np.maximum(straight[:, :-1], straight[:, 1:]), np.maximum(up, down))
    return np.asarray(~(worst <= most))


def _clear_steps(bad: Mask) -> Index:
    """Steps (n,) int to each side of the crown that all cells next to a row, and their mirror images, bear."""
    half = bad.shape[1] // 2
    both = bad[:, half:] | bad[:, :half][:, ::-1]
    cells = np.where(both.any(axis=1), np.argmax(both, axis=1), half)
    padded = np.concatenate([cells[:1], cells, cells[-1:]])
    return np.asarray(np.minimum(padded[:-1], padded[1:]))


def _smoothed(steps: Index) -> Array:
    """A line without teeth, (n,) float, nowhere over the steps: the mean over _SMOOTH rows of the least of as many."""

    def windows(values: Array) -> Array:
        return np.lib.stride_tricks.sliding_window_view(np.pad(values, _SMOOTH, mode="edge"), 2 * _SMOOTH + 1)

    return np.asarray(windows(windows(steps.astype(np.float64)).min(axis=1)).mean(axis=1))


def _strain_inside(rows: Array, flat: Array, steps: Array, half: int) -> float:
    straight, up, down = _edge_strains(rows, flat)
    cells = np.minimum(steps[:-1], steps[1:])
    place = np.arange(straight.shape[1]) - half
    worst = np.where(np.abs(place) <= cells[:, None], straight, 0.0).max(initial=0.0)
    inside = (place[:-1] >= -cells[:, None]) & (place[1:] <= cells[:, None])
    return float(max(worst, np.where(inside, np.maximum(up, down), 0.0).max(initial=0.0)))
