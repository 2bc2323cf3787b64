# SPDX-License-Identifier: GPL-3.0-or-later
"""Keep-outs: the bodies besides the tire that the fender stays away from."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..bodies.body import Body, Shell
from ..bodies.box import Box
from ..bodies.capsule import Capsule
from ..bodies.half_space import HalfSpace
from ..job.job_sheet import Job
from ..job.job_sheet import Keepout as KeepoutSection
from ..seat.mount import mount_frame
from .limit import Limit
from .motion import Motion, motion_of

MeshBodyMaker = Callable[[KeepoutSection], Body]
"""Makes the body of a keep-out of the kind "mesh" from its file or object; only the host can."""


@dataclass(frozen=True, eq=False)
class Keepout:
    """A keep-out as a body in wheel axes, with its motion.

    gap_mm : air to keep; side : "inside" or "outside" if only that face of the wall can come near it, else None
    still : the body where it was measured; motion : how it moves against the fender
    """

    name: str
    body: Body
    gap_mm: float
    side: str | None
    still: Body
    motion: Motion


def keepout_bodies(job: Job, mesh_body: MeshBodyMaker | None = None) -> tuple[Keepout, ...]:
    """The keep-outs of a job, in the order of its sheet.

    Raises JobError if a keep-out has no direction or no room to move, or is a mesh and mesh_body is left out.
    """
    found = []
    for i, section in enumerate(job.keepouts):
        motion, body = motion_of(job, section.moves_with), _shape(f"keepout[{i}]", section, mesh_body)
        _check_inside(f"keepout[{i}]", section, body)
        found.append(Keepout(section.name, motion.sweep(body), section.gap, section.side, body, motion))
    return tuple(found)


def image_is_stated(section: KeepoutSection, others: tuple[KeepoutSection, ...]) -> bool:
    """True if the mirror image of a keep-out in x = 0 is one of others, itself perhaps, that asks for as much.

    Meshes and turned boxes are not compared: their images are never taken to be stated.
    """
    image = _image(section)
    if image is None:
        return False
    return any(
        other.gap >= section.gap
        and replace(image, name=other.name, gap=other.gap) in (other, replace(other, a=other.b, b=other.a))
        for other in others
    )


def _image(section: KeepoutSection) -> KeepoutSection | None:
    if section.kind == "mesh" or (section.rotation is not None and any(section.rotation)):
        return None
    places = {key: getattr(section, key) for key in ("a", "b", "center", "point", "normal")}
    flipped: dict[str, Any] = {key: (0.0 - place[0], *place[1:]) for key, place in places.items() if place is not None}
    return replace(section, **flipped)


def _check_inside(key: str, section: KeepoutSection, body: Body) -> None:
    """A scallop is cut where the distance is under a level, which must be known inside too."""
    if section.scallop is not None and isinstance(body, Shell) and body.open_edges:
        raise JobError(
            f"{key}.scallop",
            f'needs the inside of "{section.name}", whose mesh is not closed ({body.open_edges} of its edges are not between two faces); '
            "close it or turn its faces the same way, or leave the scallop out",
        )


def shell_remarks(keepouts: Iterable[Keepout | Limit]) -> tuple[str, ...]:
    """What must be told of keep-outs, or of the limits that they became, that are open meshes: their inside is not known."""
    remarks: list[str] = []
    for keepout in keepouts:
        still = keepout.still
        if isinstance(still, Shell) and still.open_edges:
            remarks.append(
                f'The keep-out "{keepout.name}" is not closed ({still.open_edges} of its edges are not between two faces): the fender is '
                "kept off its faces from both sides; look for yourself that it is on the right one."
            )
    return tuple(remarks)


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
