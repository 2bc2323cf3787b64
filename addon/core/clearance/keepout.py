# SPDX-License-Identifier: GPL-3.0-or-later
"""Keep-outs: the bodies besides the tire that the fender stays away from."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..bodies.body import Body
from ..bodies.box import Box
from ..bodies.capsule import Capsule
from ..bodies.half_space import HalfSpace
from ..bodies.rotation_sweep import RotationSweep
from ..bodies.swept import Swept
from ..job.job_sheet import Job, Travel
from ..job.job_sheet import Keepout as KeepoutSection
from ..seat.mount import mount_frame

MeshBodyMaker = Callable[[KeepoutSection], Body]
"""Makes the body of a keep-out of the kind "mesh" from its file or object; only the host can."""


@dataclass(frozen=True, eq=False)
class Keepout:
    """A keep-out as a body in wheel axes, with its motion.

    gap_mm : air to keep; side : "inside" or "outside" if only that face of the wall can come near it, else None
    moves : True if it moves against the fender
    """

    name: str
    body: Body
    gap_mm: float
    side: str | None
    moves: bool


def keepout_bodies(job: Job, mesh_body: MeshBodyMaker | None = None) -> tuple[Keepout, ...]:
    """The keep-outs of a job, in the order of its sheet.

    Raises JobError if a keep-out has no direction or no room to move, or is a mesh and mesh_body is left out.
    """
    return tuple(
        Keepout(
            section.name,
            _with_motion(f"keepout[{i}]", section, job, _shape(f"keepout[{i}]", section, mesh_body)),
            section.gap,
            section.side,
            section.moves_with == "chassis" and job.travel.bump != 0.0,
        )
        for i, section in enumerate(job.keepouts)
    )


def plate_body(job: Job) -> Box | None:
    """The bracket's plate on its side of the mount plane: over it if the fender bears on its under face; None if not given."""
    if job.mount.plate is None:
        return None
    frame = mount_frame(job)
    width, length, thickness = job.mount.plate
    above = 0.5 * thickness if job.mount.side == "under" else -0.5 * thickness
    return Box(frame.to_axes(np.zeros(2), above), (width, length, thickness), np.stack([frame.x, frame.forward, frame.up]))


def rotation_matrix(degrees: tuple[float, float, float]) -> Array:
    """(3, 3) matrix that turns about x, then y, then z of the wheel axes, right-handed."""
    x, y, z = (math.radians(angle) for angle in degrees)
    about_x = np.array([[1, 0, 0], [0, math.cos(x), -math.sin(x)], [0, math.sin(x), math.cos(x)]])
    about_y = np.array([[math.cos(y), 0, math.sin(y)], [0, 1, 0], [-math.sin(y), 0, math.cos(y)]])
    about_z = np.array([[math.cos(z), -math.sin(z), 0], [math.sin(z), math.cos(z), 0], [0, 0, 1]])
    return np.asarray(about_z @ about_y @ about_x)


def _shape(key: str, section: KeepoutSection, mesh_body: MeshBodyMaker | None) -> Body:
    return _MAKERS[section.kind](key, section, mesh_body)


def _capsule(key: str, section: KeepoutSection, mesh_body: MeshBodyMaker | None) -> Body:
    return Capsule(_given(section.a), _given(section.b), cast(float, section.radius))


def _box(key: str, section: KeepoutSection, mesh_body: MeshBodyMaker | None) -> Body:
    # The columns of the matrix are where it takes the axes.
    return Box(_given(section.center), _given(section.size), rotation_matrix(section.rotation or (0.0, 0.0, 0.0)).T)


def _half_space(key: str, section: KeepoutSection, mesh_body: MeshBodyMaker | None) -> Body:
    normal = _given(section.normal)
    if not any(normal):
        raise JobError(f"{key}.normal", "is [0, 0, 0]; allowed is any direction with a length")
    return HalfSpace(_given(section.point), normal)


def _mesh(key: str, section: KeepoutSection, mesh_body: MeshBodyMaker | None) -> Body:
    if mesh_body is None:
        raise JobError(key, f'"{section.name}" is a mesh, and meshes are read in the host only')
    return mesh_body(section)


_MAKERS: dict[str, Callable[[str, KeepoutSection, MeshBodyMaker | None], Body]] = {
    "capsule": _capsule,
    "box": _box,
    "halfspace": _half_space,
    "mesh": _mesh,
}


def _given(values: tuple[float, float, float] | None) -> tuple[float, float, float]:
    """The sheet's reader has seen to it that the keys of a kind are there."""
    return cast(tuple[float, float, float], values)


def _with_motion(key: str, section: KeepoutSection, job: Job, body: Body) -> Body:
    if section.moves_with == "wheel" or job.travel.bump == 0.0:
        return body
    if job.wheel.position == "rear" and job.travel.swingarm is not None:
        return RotationSweep(body, (0.0, -job.travel.swingarm, 0.0), _swingarm_turn(job.travel.bump, job.travel.swingarm))
    vector = bump_vector(job.travel, job.wheel.position)
    if isinstance(body, HalfSpace):
        # Where a half-space has been is a half-space.
        return HalfSpace(body.point + max(0.0, float(body.normal @ vector)) * body.normal, body.normal)
    return Swept(body, vector)


def bump_vector(travel: Travel, position: str) -> Array:
    """Way (3,) of the chassis as the wheel sees it, mm, from rest to full bump.

    The front wheel rises along the fork, leaned back by the rake; the rear wheel without a swingarm length straight up.
    """
    rake = math.radians(travel.fork_rake) if position == "front" else 0.0
    return -travel.bump * np.array([0.0, math.sin(rake), math.cos(rake)])


def _swingarm_turn(bump: float, length: float) -> float:
    """Degrees about +x that the chassis turns as the swingarm sees it, while the axle rises by bump from level.

    The pivot is ahead of the axle (-y), level with it at rest; where it lies higher or lower, the turn for the same rise
    is larger by at most the cosine of the swingarm's slope.
    """
    if bump >= length:
        raise JobError("travel.bump", f"is {bump:g}, and the swingarm is {length:g} long; the rise must be less than its length")
    return -math.degrees(math.asin(bump / length))
