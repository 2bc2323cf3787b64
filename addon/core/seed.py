# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage that a job starts with: few quads whose skin lies at the wanted height over the envelope."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .arrays import Array, Index, Mask, frozen
from .cage import Cage, CageTopology, topology_of_faces
from .clearance_field import ClearanceField, clearance_field
from .envelope import envelope
from .errors import JobError
from .job_sheet import Job
from .mount import MountFrame, mount_frame
from .restore import make_clear
from .seat import seat_offset
from .seed_section import SeedSection, seed_section
from .skin_stencil import SkinStencil, skin_stencil
from .smooth_step import smooth_step
from .wheel_axes import point_at, station_of

_FIT_LEVEL = 3
_FIT_MARGIN_MM = 0.3
"""Room left for the difference between a least-squares skin and its target."""
_SEAT_WEIGHT = 8.0
_DENSE_AT_MOUNT = 1.6
"""Stations stand this many times closer at the mount than far from it; common practice of box modelling, no source."""


@dataclass(frozen=True, eq=False)
class Seed:
    """A new cage, its seat points, and how far its skin lies from the shape that was asked for (mm)."""

    cage: Cage
    seat: Mask
    fit_rms_mm: float
    fit_max_mm: float


def seed_cage(job: Job, field: ClearanceField | None = None) -> Seed:
    """A clear half cage with the stations, columns, width, side drop and seat of the job.

    field : what to keep clear of; None for the job's own, without mesh keep-outs
    Raises JobError if no such shape is clear.
    """
    field = field or clearance_field(job)
    target = _Target(job)
    stations, columns = job.cage.stations, job.cage.columns
    topology = _grid(stations, columns)
    stencil = skin_stencil(topology, _FIT_LEVEL)
    rows, across = np.divmod(np.arange(stations * columns), columns)
    place = np.column_stack([across / (columns - 1), rows / (stations - 1), np.zeros(len(rows))])
    sample = stencil.position.apply(place)
    wanted, weight = target.at(sample[:, 0], sample[:, 1])
    points = _fit(stencil, wanted, weight)
    points[topology.on_plane, 0] = 0.0
    miss = np.linalg.norm(stencil.position.apply(points) - wanted, axis=1)
    shown = skin_stencil(topology, job.cage.level)
    clear = make_clear(points, shown.position, field, fixed_x=topology.on_plane)
    if not clear.clear:
        raise JobError("cage", f"no cage of this width, drop and stations is clear: {-clear.worst_mm:.1f} mm are missing at the closest place")
    return Seed(
        cage=Cage(topology, clear.points),
        seat=target.seat_points(clear.points),
        fit_rms_mm=float(np.sqrt(np.mean(miss**2))),
        fit_max_mm=float(miss.max()),
    )


class _Target:
    """The surface that the skin of a new cage should have, over (across 0..1, along 0..1)."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.frame: MountFrame = mount_frame(job)
        self.tire = ClearanceField(clearance_field(job).limits[:1])
        self.seat_plane = seat_offset(job)
        self.stations = self._station_map()
        self.crown = self._crown_radius()
        self.section = self._section()

    def _station_map(self) -> Array:
        """Stations at equal steps of the cage's rows, closer together at the mount."""
        cage = self.job.cage
        fine = np.linspace(cage.rear, cage.front, 721)
        mount = station_of(self.frame.origin)
        reach = np.degrees(np.ptp(self.frame.outline(90)[:, 1]) / np.linalg.norm(self.frame.origin))
        density = 1.0 + (_DENSE_AT_MOUNT - 1.0) * np.exp(-(((fine - mount) / max(reach, 5.0)) ** 2))
        count = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]))])
        return np.interp(np.linspace(0.0, count[-1], 721), count, fine)

    def _station(self, along: Array) -> Array:
        return np.interp(along, np.linspace(0.0, 1.0, len(self.stations)), self.stations)

    def _crown_radius(self) -> Array:
        """Radius of the crown at each of the mapped stations: a constant height over what is required."""
        rise = self.job.cage.rise
        if rise is None:
            over_seat = self.frame.origin + self.seat_plane * self.frame.up
            rise = float(self.tire.excess(over_seat[None])[0])
        rho = np.full(len(self.stations), np.linalg.norm(self.frame.origin))
        for _ in range(40):
            lacking = max(rise, _FIT_MARGIN_MM) - self.tire.excess(point_at(rho, self.stations))
            rho += lacking
            if np.abs(lacking).max() < 1e-6:
                break
        return rho

    def _section(self) -> SeedSection:
        cage = self.job.cage
        some = slice(None, None, 60)

        def least_excess(section: SeedSection) -> float:
            few = slice(None, None, 8)
            rho = self.crown[some, None] - section.drop[None, few]
            points = point_at(rho, self.stations[some, None], section.offset[None, few])
            return float(self.tire.excess(points.reshape(-1, 3)).min()) - _FIT_MARGIN_MM

        section, excess = seed_section(cage.half_width, cage.side_drop, least_excess)
        edge = point_at(self.crown[some] - cage.side_drop, self.stations[some], cage.half_width)
        missing = -float(self.tire.excess(edge).min())
        if missing > 0.0:
            raise JobError(
                "cage.half_width",
                f"{cage.half_width:g} mm puts the side edge, {cage.side_drop:g} mm below the crown, {missing:.1f} mm inside the required "
                f"clearance; give at least {cage.half_width + missing:.0f} mm, or a smaller cage.side_drop",
            )
        return section

    def at(self, across: Array, along: Array) -> tuple[Array, Array]:
        """Points (n, 3) of the surface and their weights (n,) in the fit."""
        offset, drop = self.section.at(np.clip(across, 0.0, 1.0))
        rho = np.interp(along, np.linspace(0.0, 1.0, len(self.crown)), self.crown) - drop
        points = point_at(rho, self._station(along), offset)
        seated, height = self._seated(points)
        points -= (seated * (height - self.seat_plane))[:, None] * self.frame.up
        return points, 1.0 + (_SEAT_WEIGHT - 1.0) * (seated >= 1.0)

    def _seated(self, points: Array) -> tuple[Array, Array]:
        """(n,) 1 under the pad, falling to 0 over the blend width, and (n,) height over the mount plane."""
        uv, height = self.frame.to_plane(points)
        return 1.0 - smooth_step(self.frame.outline_distance(uv) / max(self.job.mount.blend, 1.0)), height

    def seat_points(self, points: Array) -> Mask:
        """Cage points that hold the seat: those over the pad and its blend."""
        return np.asarray(self._seated(points)[0] > 0.0)


def _grid(stations: int, columns: int) -> CageTopology:
    """Grid of stations (rear to front) by columns (center line to the rider's left), outward faces."""
    first: Index = (np.arange(stations - 1)[:, None] * columns + np.arange(columns - 1)[None]).ravel()
    faces = np.column_stack([first, first + columns, first + columns + 1, first + 1])
    return topology_of_faces(stations * columns, faces.tolist(), on_plane=np.arange(stations * columns) % columns == 0)


def _fit(stencil: SkinStencil, wanted: Array, weight: Array) -> Array:
    """Cage points whose skin is nearest to the wanted points in the weighted least-squares sense."""
    rows = np.repeat(np.arange(stencil.position.row_count), np.diff(stencil.position.starts))
    scale = np.sqrt(weight)
    points = np.empty((stencil.topology.point_count, 3))
    for axis in range(3):
        matrix = np.zeros((stencil.position.row_count, stencil.topology.point_count))
        matrix[rows, stencil.position.index] = stencil.position.x_weight if axis == 0 else stencil.position.weight
        points[:, axis] = np.linalg.lstsq(matrix * scale[:, None], wanted[:, axis] * scale, rcond=None)[0]
    return frozen(points).copy()
