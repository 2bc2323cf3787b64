# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage that a job starts with: few quads whose skin lies at the wanted height over the envelope."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..base.arrays import Array, Index, Mask
from ..base.errors import JobError
from ..base.smooth_step import smooth_step
from ..base.wheel_axes import point_at, radius_of, station_of
from ..clearance.clearance_field import ClearanceField, clearance_field, tire_limit
from ..job.job_sheet import Job
from ..seat.mount import MountFrame, mount_frame
from ..seat.seat_offset import seat_offset
from ..skin.cage import Cage, CageTopology, topology_of_faces
from ..skin.skin_stencil import SkinStencil, skin_stencil
from ..skin.stencil_rows import StencilRows
from .fit_to_seats import fit_to_seats
from .point_freedom import SeatRows
from .restore import make_clear
from .seed_section import SeedSection, seed_section, spread

_FIT_LEVEL = 3
_MARGIN_MM = 0.3
"""Height over what is required that is left for the difference between the skin and the shape that was asked for."""
_SEAT_WEIGHT = 1000.0
_FAIRNESS = 5.0
"""Weights in the fit of the seat: of skin under the pad against skin beside it, and against bending of the rows."""
_SEAT_SAG = 0.15
"""Drop of the section at the side of the seat, in blend widths."""
_ROWS_BESIDE_SEAT = (1.15, 2.2)
"""Where cage rows stand, in half lengths of the seat; found by trial for a flat seat from few points."""
_FARTHEST_MM = 150.0
"""A cage whose points had to be moved farther to be clear has not the shape that was asked for any more; our choice, three times
what the demo bikes need with the fewest points."""
_STATIONS = 73
_WIDEST_ADVICE_MM = 80.0
"""A fender that had to be wider by more is helped by another drop, not by its width; our choice."""
_CROWN_PASSES = 2
_MOST_SAMPLES = 40_000


@dataclass(frozen=True, eq=False)
class Seed:
    """A new cage, its seat points, and how far its skin under the pad lies from the seat (mm)."""

    cage: Cage
    seat: Mask
    seat_rms_mm: float
    seat_max_mm: float


def seed_cage(job: Job, field: ClearanceField | None = None) -> Seed:
    """A clear half cage with the stations, columns, width, side drop and seat of the job.

    field : what to keep clear of; None for the job's own, without mesh keep-outs
    First a grid whose rows are convex sections at a constant height over the tire; then its points are moved in the
    least-squares sense until the skin under the pad lies on the seat; then it is made clear of everything, and drawn to the
    planes of the further seats that are near.
    Raises JobError if no such shape is clear.
    """
    field = field or clearance_field(job)
    shape = _WantedShape(job)
    topology = _grid(job.cage.stations, job.cage.columns)
    points = shape.cage_without_seat()
    stencil = skin_stencil(topology, _FIT_LEVEL)
    points += _fit(stencil, *shape.seat_lift(stencil.position.apply(points)))
    points[topology.on_plane, 0] = 0.0
    seat = shape.is_seat_point(points)
    shown = skin_stencil(topology, _finest_level(topology, job.cage.level))
    clear = make_clear(points, shown.position, field, fixed_x=topology.on_plane)
    if not clear.clear or float(np.linalg.norm(clear.points - points, axis=1).max()) > _FARTHEST_MM:
        worst = field.worst(shown.position.apply(points))
        raise JobError(
            "cage",
            f"a cage of this width, side drop and length with {job.cage.stations} stations and {job.cage.columns} columns comes "
            f"{-worst.excess_mm:.1f} mm too near to the {worst.name}, and cannot be moved clear; give it more of them, or change its "
            "shape",
        )
    cage = Cage(topology, clear.points)
    if job.seats:
        cage = fit_to_seats(job, cage, shown, field, SeatRows(seat, shape.frame.up))
    lift, weight = shape.seat_lift(shown.position.apply(cage.points))
    miss = np.linalg.norm(lift[weight > 1.0], axis=1)
    return Seed(cage, seat, float(np.sqrt(np.mean(miss**2))), float(miss.max()))


def _finest_level(topology: CageTopology, shown: int) -> int:
    """A level finer than the one shown, so that a new cage is clear between the samples of that one too."""
    finer = [level for level in range(shown, 6) if topology.face_count * 4**level < _MOST_SAMPLES]
    return max(finer, default=shown)


class _WantedShape:
    """The shape that a job asks of its first cage."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.frame: MountFrame = mount_frame(job)
        self.tire = ClearanceField([tire_limit(job)])
        self.seat_plane = seat_offset(job)
        reach = np.abs(self.frame.outline(180)).max(axis=0)
        self.seat_half_width, self.seat_half_length = float(reach[0]), float(reach[1])

    def cage_without_seat(self) -> Array:
        """(stations * columns, 3) cage points whose skin runs at a constant height over the tire."""
        rows, section = self.rows, self.section.cage
        topology = _grid(len(rows), len(section))
        stencil = skin_stencil(topology, _FIT_LEVEL)
        crown = self.crown_radius(rows)
        for _ in range(_CROWN_PASSES):
            points = point_at(crown[:, None] - section[:, 1], rows[:, None], section[:, 0]).reshape(-1, 3)
            crown = crown + self._row_shifts(stencil, stencil.position.apply(points)[stencil.on_plane])
        return point_at(crown[:, None] - section[:, 1], rows[:, None], section[:, 0]).reshape(-1, 3)

    def _row_shifts(self, stencil: SkinStencil, center: Array) -> Array:
        """How far to move each row outward so that the skin's center line (n, 3) is nearest to the wanted height."""
        columns = len(self.section.cage)
        by_row = (
            _dense(stencil.position, stencil.topology.point_count)[stencil.on_plane].reshape(len(center), -1, columns).sum(axis=2)
        )
        turn = np.cos(np.radians(station_of(center)[:, None] - self.rows))
        missing = self.crown_radius(station_of(center)) - radius_of(center)
        return np.asarray(np.linalg.lstsq(by_row * turn, missing, rcond=None)[0])

    @cached_property
    def rows(self) -> Array:
        """Stations of the cage's rows: both ends, beside the seat, then wherever the gap is widest."""
        mount = float(station_of(self.frame.origin))
        half = float(np.degrees(self.seat_half_length / np.linalg.norm(self.frame.origin)))
        wanted = [mount + side * reach * half for reach in _ROWS_BESIDE_SEAT for side in (1, -1)]
        return spread(self.job.cage.rear, self.job.cage.front, wanted, self.job.cage.stations)

    def crown_radius(self, stations: Array) -> Array:
        """Radius of the crown at stations (n,), degrees: a constant height over what is required."""
        rho = np.full(len(stations), np.linalg.norm(self.frame.origin))
        for _ in range(40):
            missing = max(self.rise, _MARGIN_MM) - self.tire.excess(point_at(rho, stations))
            rho += missing
            if np.abs(missing).max() < 1e-6:
                break
        return rho

    @cached_property
    def rise(self) -> float:
        """Height of the crown over what is required: as stated, or as at the seat."""
        if self.job.cage.rise is not None:
            return self.job.cage.rise
        over_seat = self.frame.origin + self.seat_plane * self.frame.up
        return float(self.tire.excess(over_seat[None])[0])

    @cached_property
    def section(self) -> SeedSection:
        cage = self.job.cage
        stations = np.linspace(cage.rear, cage.front, _STATIONS)[::9]
        crown = self.crown_radius(stations)

        def least_excess(section: SeedSection) -> float:
            points = point_at(crown[:, None] - section.skin[:, 1], stations[:, None], section.skin[:, 0])
            return float(self.tire.excess(points.reshape(-1, 3)).min()) - _MARGIN_MM

        self._check_edge(stations, crown)
        seat = (self.seat_half_width, _SEAT_SAG * self.job.mount.blend)
        return seed_section(cage.half_width, cage.side_drop, cage.columns, seat, least_excess)

    def _check_edge(self, stations: Array, crown: Array) -> None:
        """JobError, with a width that is enough, if the side edges are not clear of the tire."""
        cage = self.job.cage

        def missing(half_width: float) -> float:
            return -float(self.tire.excess(point_at(crown - cage.side_drop, stations, half_width)).min())

        if missing(cage.half_width) > 0.0:
            widths = np.arange(np.floor(cage.half_width) + 1.0, cage.half_width + _WIDEST_ADVICE_MM)
            enough = next((width for width in widths if missing(float(width)) <= 0.0), None)
            advice = "give" if enough is None else f"give at least {enough:.0f} mm, or"
            raise JobError(
                "cage.half_width",
                f"{cage.half_width:g} mm puts the side edge, {cage.side_drop:g} mm below the crown, {missing(cage.half_width):.1f} mm "
                f"inside the required clearance; {advice} a smaller cage.side_drop",
            )

    def seat_lift(self, skin: Array) -> tuple[Array, Array]:
        """How far skin points (n, 3) are from the seat (n, 3), fading beside the pad, and their weights in the fit (n,)."""
        uv, height = self.frame.to_plane(skin)
        distance = self.frame.outline_distance(uv)
        fading = max(self.job.mount.blend, self.job.cage.half_width - self.seat_half_width)
        seated = 1.0 - smooth_step(distance / fading)
        lift = (seated * (self.seat_plane - height))[:, None] * self.frame.up
        return lift, np.where(distance <= 0.0, _SEAT_WEIGHT, 1.0)

    def is_seat_point(self, points: Array) -> Mask:
        """Cage points (n,) that hold the seat: those over it and its blend."""
        return np.asarray(self.frame.outline_distance(self.frame.to_plane(points)[0]) < self.job.mount.blend)


def _grid(stations: int, columns: int) -> CageTopology:
    """Grid of stations (rear to front) by columns (center line to the rider's left), outward faces."""
    first: Index = (np.arange(stations - 1)[:, None] * columns + np.arange(columns - 1)[None]).ravel()
    faces = np.column_stack([first, first + columns, first + columns + 1, first + 1])
    return topology_of_faces(stations * columns, faces.tolist(), on_plane=np.arange(stations * columns) % columns == 0)


def _fit(stencil: SkinStencil, wanted: Array, weight: Array) -> Array:
    """Moves (n, 3) of the cage points that move the skin as wanted in the weighted least-squares sense, without waves."""
    scale = np.sqrt(weight)[:, None]
    bends = np.sqrt(_FAIRNESS) * _second_differences(stencil.topology)
    moves = np.zeros((stencil.topology.point_count, 3))
    for axis in range(3):
        matrix = _dense(stencil.position, stencil.topology.point_count, of_x=axis == 0)
        right = np.concatenate([wanted[:, axis] * scale[:, 0], np.zeros(len(bends))])
        moves[:, axis] = np.linalg.lstsq(np.vstack([matrix * scale, bends]), right, rcond=None)[0]
    return moves


def _dense(rows: StencilRows, count: int, *, of_x: bool = False) -> Array:
    """(p, count) matrix of the weights for y and z, or of those for x."""
    matrix = np.zeros((rows.row_count, count))
    matrix[np.repeat(np.arange(rows.row_count), np.diff(rows.starts)), rows.index] = rows.x_weight if of_x else rows.weight
    return matrix


def _second_differences(grid: CageTopology) -> Array:
    """Second differences along stations and columns of a grid cage, one a row; at the center line with the mirror image."""
    columns = int(np.argmax(grid.on_plane[1:])) + 1
    number = np.arange(grid.point_count).reshape(-1, columns)
    mirrored = np.hstack([number[:, 1:2], number])
    along = np.stack([number[:-2], number[1:-1], number[2:]], axis=-1)
    across = np.stack([mirrored[:, :-2], mirrored[:, 1:-1], mirrored[:, 2:]], axis=-1)
    triples = np.concatenate([along.reshape(-1, 3), across.reshape(-1, 3)])
    result = np.zeros((len(triples), grid.point_count))
    for place, value in enumerate((1.0, -2.0, 1.0)):
        np.add.at(result, (np.arange(len(triples)), triples[:, place]), value)
    return result
