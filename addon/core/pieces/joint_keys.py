# SPDX-License-Identifier: GPL-3.0-or-later
"""Keys: tongues in the inner half of the wall that slide under the other piece, so that neither can shift or lift."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..base.arrays import Array, Mask
from ..base.errors import JobError
from ..base.format_place import format_place
from ..mesh.barycentric_interpolation import barycentric_interpolation
from ..mesh.prism import slab
from ..mesh.triangle_mesh import TriangleMesh
from ..seat.placed_seat import PlacedSeat
from ..wall.closed_wall import ClosedWall
from .joint import PIECES, Joint
from .joint_places import Footprint, JointPlace, joint_places

KEY_WIDTH = 2.0
EDGE_WALLS = 1.25
"""Width of a key, and what it keeps off the edge of the fender and off the next one, in walls; our choice."""

MOST_SPRING = 0.5
"""How much the wall may have to give while the pieces are pushed together, beyond the fit, mm; our choice: the wings of a fender
give by that under a finger."""

_OVERLAP = 1.0
_ROOT = 0.6
"""Length over which a tongue runs up into its own piece, mm."""
_COLUMNS = 5
_STEP = 3.0
_THICKEST = 30.0
_STEEPEST = 0.3


@dataclass(frozen=True, eq=False)
class Key:
    """A tongue and the pocket for it, as closed bodies. of_first : True if the tongue is of the joint's first piece

    place : (3,) float, mm, where its middle crosses the cut
    tongue : to be added to its own piece, and pocket : to be taken from the other one, before the whole is cut to them
    """

    of_first: bool
    place: Array
    tongue: TriangleMesh
    pocket: TriangleMesh


def joint_keys(wall: ClosedWall, joint: Joint, seats: Sequence[PlacedSeat], here: Mask | None = None) -> tuple[Key, ...]:
    """The keys of a joint with a reach, none beside a seat.

    In a lap the second piece lies inside and cannot lift inward; each key is of the first piece and goes on under the second one,
    so that it cannot lift outward. In a butt joint they alternate, the outermost of the first piece. The outer half of the wall is
    cut straight in either. here : (n,) bool, points of the wall that the joint may use, all if None
    Raises JobError where there is no room for two.
    """
    width = KEY_WIDTH * wall.thickness
    footprint = Footprint(
        half_width=0.5 * (width + joint.fit),
        low=-joint.half_length - joint.reach,
        high=max(joint.half_length, joint.reach if joint.half_length == 0.0 else 0.0),
        edge=EDGE_WALLS * wall.thickness,
        bolt=0.0,
        apart=width + EDGE_WALLS * wall.thickness,
    )
    stretches = joint_places(wall, joint, seats, footprint, here, _slides_in(wall, joint))
    count = sum(len(stretch) for stretch in stretches)
    if count < 2:
        raise JobError(
            "split.locate",
            f'"keys" find room at {count} places of the joint between the {joint.names[0]} and the {joint.names[1]} piece, at least 2 '
            f"are needed; allowed are places {width:.0f} x {footprint.high - footprint.low:.0f} mm wide and long that are "
            f"{footprint.edge:.0f} mm off edges and openings, off seats and the edge distance of bolts, where the wall does not flare; "
            'else use "bolts", a shorter split.lap or a wider fender',
            joint.point,
        )
    return tuple(
        _key(wall, joint, place, joint.half_length > 0.0 or number % 2 == 0)
        for stretch in stretches
        for number, place in enumerate(stretch)
    )


def _slides_in(wall: ClosedWall, joint: Joint) -> Callable[[JointPlace], bool]:
    """Whether a tongue at a place stays in the fit, with a little spring, while the pieces are pushed together straight.

    Raises JobError with the place if the halves of a lap do not.
    """
    middle = 0.5 * (wall.outer + wall.inner)
    off, most = np.abs(joint.along(middle)), joint.fit + MOST_SPRING
    rise = np.abs(wall.normals @ joint.normal) * joint.reach
    lapped = np.where((off < joint.half_length) & _on_this_side(joint, middle), rise, 0.0)
    worst = int(np.argmax(lapped))
    if lapped[worst] > most:
        other = '"pins"' + (', or "keys" in a "butt" joint' if joint.names in PIECES.values() else "")
        raise JobError(
            "split.locate",
            f'"keys" between the {joint.names[0]} and the {joint.names[1]} piece go in straight over {joint.reach:.1f} mm, on which the '
            f"flaring wall {format_place(middle[worst])} comes {lapped[worst]:.1f} mm nearer to the other half of the lap; allowed is "
            f"{most:.1f} mm, or {other}",
            middle[worst],
        )
    near = off <= joint.half_length + 2.0 * joint.reach
    points, rise = middle[near], rise[near]
    ways = (-1.0,) if joint.half_length > 0.0 else (-1.0, 1.0)

    def holds(place: JointPlace) -> bool:
        ends = (place.point + way * (joint.half_length + 0.5 * joint.reach) * joint.normal for way in ways)
        return all(rise[np.argmin(np.linalg.norm(points - end, axis=1))] <= most for end in ends)

    return holds


def _on_this_side(joint: Joint, points: Array) -> Mask:
    """Points on the joint's own side of the axle, which a cut across the bike passes twice."""
    side = points @ np.cross(joint.normal, np.array([1.0, 0.0, 0.0])) > 0.0
    return side if joint.is_across else np.ones(len(points), dtype=bool)


def _key(wall: ClosedWall, joint: Joint, place: JointPlace, of_first: bool) -> Key:
    gap, half = 0.5 * joint.fit, joint.half_length
    width = 0.5 * KEY_WIDTH * wall.thickness
    way = 1.0 if of_first else -1.0
    root = -half + gap
    tongue = way * _levels(-half - joint.reach + gap, root, root + _ROOT, half + gap + _OVERLAP)
    pocket = way * _levels(-half - joint.reach - gap, half + _OVERLAP)
    # out of its own piece a tongue lies under the gap, in it it fills all up to the outer half
    rise = 2.0 * gap + np.linalg.norm(place.half) / 3.0
    lifts = -gap + rise * np.clip((way * tongue - root) / _ROOT, 0.0, 1.0)
    return Key(
        of_first,
        place.point,
        _body(wall, place, width - gap, tongue, lifts),
        _body(wall, place, width + gap, pocket, np.full(len(pocket), gap)),
    )


def _body(wall: ClosedWall, place: JointPlace, half_width: float, along: Array, lifts: Array) -> TriangleMesh:
    """From under the inner face to the middle of the wall, lifted by so much at each of the distances along the joint's normal."""
    across = np.linspace(-half_width, half_width, _COLUMNS)
    flat = np.stack(np.meshgrid(along, across, indexing="ij")[::-1], axis=-1).reshape(-1, 2)
    middle, depth, steep = _wall_over(wall, place, flat)
    top = middle + np.repeat(lifts, _COLUMNS) / steep
    bottom = middle - depth - _OVERLAP
    at = np.arange(len(flat)).reshape(len(along), _COLUMNS)
    one, two, three, four = at[:-1, :-1].ravel(), at[1:, :-1].ravel(), at[1:, 1:].ravel(), at[:-1, 1:].ravel()
    triangles = np.concatenate([np.stack([one, two, three], axis=1), np.stack([one, three, four], axis=1)])
    low, high = (place.point + np.column_stack([flat, height]) @ place.axes for height in (bottom, top))
    return slab(low, high, triangles)


def _wall_over(wall: ClosedWall, place: JointPlace, flat: Array) -> tuple[Array, Array, Array]:
    """Height of the middle of the wall over flat points (n, 2) of a place, depth of the inner face under that, and the cosine there.

    Raises JobError where there is no wall over a point.
    """
    middle = place.local(0.5 * (wall.outer + wall.inner))
    depth = middle[:, 2] - place.local(wall.inner)[:, 2]
    steep = wall.normals @ place.axes[2]
    low, high = flat.min(axis=0) - 3.0, flat.max(axis=0) + 3.0
    near = (np.abs(middle[:, 2]) < _THICKEST) & (steep > _STEEPEST)
    corners = wall.triangles[near[wall.triangles].all(axis=1)]
    corners = corners[((middle[corners, :2].max(axis=1) > low) & (middle[corners, :2].min(axis=1) < high)).all(axis=1)]
    found = []
    for values in (middle[:, 2], depth, steep):
        point, value = barycentric_interpolation(flat, middle[corners][..., :2], values[corners])
        first = np.unique(point, return_index=True)[1]
        if len(first) < len(flat):
            raise JobError(
                "split.locate", f'"keys": the wall bends away under a key {format_place(place.point)}; use "bolts"', place.point
            )
        found.append(value[first])
    middle_over, depth_over, steep_over = found
    return middle_over, depth_over, steep_over


def _levels(*ends: float) -> Array:
    """Distances from the first to the last of some ends, through all of them and in the root, no more than a step apart."""
    parts = [np.linspace(one, two, max(1, int(np.ceil((two - one) / _STEP))), endpoint=False) for one, two in pairwise(ends)]
    return np.concatenate([*parts, ends[-1:]])
