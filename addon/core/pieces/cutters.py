# SPDX-License-Identifier: GPL-3.0-or-later
"""The closed bodies that cut a wall into two pieces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..mesh.open_surface import directed_edges
from ..mesh.prism import box, slab
from ..mesh.triangle_mesh import TriangleMesh, connected_components, joined
from ..wall.closed_wall import ClosedWall
from ..wall.rim import rim_sections
from .joint import Joint
from .joint_keys import Key

OVERLAP = 1.0
"""How far cutters reach past what they cut, mm."""

SKIN_MARGIN = 0.1
"""How far a layer reaches past the face of the wall, in walls: clear of it, but little, so that it does not fold in a bend."""


@dataclass(frozen=True, eq=False)
class PieceCut:
    """What makes one piece of the whole: `keep` less the part of `layer` in `layer_room`, with tongues and less pockets.

    layer, layer_room : None for a butt joint; tongues, pockets : bodies that do not touch one another, side by side; None for none
    """

    name: str
    keep: TriangleMesh
    layer: TriangleMesh | None
    layer_room: TriangleMesh | None
    tongues: TriangleMesh | None
    pockets: TriangleMesh | None


def piece_cuts(wall: ClosedWall, joint: Joint, keys: Sequence[Key] = ()) -> tuple[PieceCut, PieceCut]:
    """The cutters of both pieces. In a lap the first piece keeps the outer half of the wall, the second the inner half.

    keys : of the joint
    """
    along = joint.along(wall.mesh.vertices)
    room = joint.half_length + joint.reach + OVERLAP
    if along.min() > -room or along.max() < room:
        key = "split.lap" if joint.half_length else "split.plane"
        raise JobError(
            key,
            f"the joint needs {room:.1f} mm to both sides of the cut, the fender has {-along.min():.1f} and {along.max():.1f} mm",
            joint.point,
        )
    gap, half = 0.5 * joint.fit, joint.half_length
    first = _room(wall, joint, -half + gap, np.inf)
    second = _room(wall, joint, -np.inf, half - gap)
    one, two = _keyed(keys, True), _keyed(keys, False)
    if half == 0.0:
        return PieceCut(joint.names[0], first, None, None, *one), PieceCut(joint.names[1], second, None, None, *two)
    return (
        PieceCut(joint.names[0], first, _layer(wall, joint, -1.0), _room(wall, joint, -half - OVERLAP, half + gap), *one),
        PieceCut(joint.names[1], second, _layer(wall, joint, 1.0), _room(wall, joint, -half - gap, half + OVERLAP), *two),
    )


def _keyed(keys: Sequence[Key], first: bool) -> tuple[TriangleMesh | None, TriangleMesh | None]:
    """Tongues and pockets of a piece."""
    tongues = [key.tongue for key in keys if key.of_first == first]
    pockets = [key.pocket for key in keys if key.of_first != first]
    return joined(tongues) if tongues else None, joined(pockets) if pockets else None


def _room(wall: ClosedWall, joint: Joint, low: float, high: float) -> TriangleMesh:
    """A box that holds all of the wall between two distances from the cut."""
    side = np.cross(joint.normal, np.eye(3)[np.argmin(np.abs(joint.normal))])
    side /= np.linalg.norm(side)
    axes = np.stack([joint.normal, side, np.cross(joint.normal, side)])
    bounds = wall.mesh.bounds
    around = np.linalg.norm(np.ptp(bounds, axis=0)) / 2.0 + np.linalg.norm(bounds.mean(axis=0) - joint.point) + OVERLAP
    least, greatest = np.full(3, -around), np.full(3, around)
    least[0], greatest[0] = max(low, -around), min(high, around)
    return box(joint.point, axes, least, greatest)


def _layer(wall: ClosedWall, joint: Joint, side: float) -> TriangleMesh:
    """The layer of the wall near the cut on one side of its middle, from the middle (less half the fit) to past the face.

    side : 1 the outer layer, -1 the inner one. The layer reaches past the rim.
    """
    middle, half = 0.5 * (wall.outer + wall.inner), 0.5 * (wall.outer - wall.inner)
    # a rim past the edge of the wall may lean into the lap; a large triangle of a flat flank may cross it without a corner in it
    along, room = joint.along(middle)[wall.triangles], joint.half_length + 2.0 * OVERLAP + _most(wall.edges.far, wall)
    triangles = wall.triangles[(along.min(axis=1) <= room) & (along.max(axis=1) >= -room)]
    old, triangles = _parted(triangles)
    middle_here, triangles, old = _past_rim(wall, middle, old, triangles)
    margin = SKIN_MARGIN * wall.thickness + (_most(wall.edges.proud, wall) if side > 0 else 0.0)
    # square to the layer's own face, which in a solid seat is not square to the wall, so that the fit is the same everywhere
    start = middle_here - side * 0.5 * joint.fit * _normals(middle, wall.triangles)[old]
    face_normals = _normals(wall.outer if side > 0 else wall.inner, wall.triangles)
    stop = middle_here + side * (half + margin * face_normals)[old]
    outward = wall.normals[old[triangles]].mean(axis=1)
    for face in (start, stop):
        folded = dot_rows(TriangleMesh(face, triangles).area_vectors, outward) <= 0
        if folded.any():
            place = face[triangles[np.argmax(folded)]].mean(axis=0)
            raise ShapeError(
                f"the skin bends too tightly for a lap {format_place(place)}; shape it rounder or use a butt joint", place
            )
    return slab(start, stop, triangles)


def _most(of: Callable[[float], float], wall: ClosedWall) -> float:
    """What a rim asks for at most, mm: a bead of a stated size stands out farther where the wall is thin."""
    return max(of(wall.thickest), of(float(wall.asked.min())))


def _normals(points: Array, triangles: Index) -> Array:
    """Unit normals at points by the areas of the triangles around them."""
    areas = TriangleMesh(points, triangles).area_vectors
    sums = np.stack(
        [np.bincount(triangles.ravel(), np.repeat(areas[:, axis], 3), minlength=len(points)) for axis in range(3)], axis=1
    )
    return np.asarray(sums / np.linalg.norm(sums, axis=1, keepdims=True))


def _parted(triangles: Index) -> tuple[Index, Index]:
    """Triangles with points of their own where they touch in a point only; the old point of each new one, and triangles."""
    start, end = directed_edges(triangles)
    count = int(triangles.max()) + 1
    order = np.argsort(start * count + end)
    keys = (start * count + end)[order]
    spot = np.minimum(np.searchsorted(keys, end * count + start), len(keys) - 1)
    paired = np.flatnonzero(keys[spot] == end * count + start)
    partner = order[spot[paired]]
    following = np.arange(len(start)) // 3 * 3 + (np.arange(len(start)) + 1) % 3
    links = np.concatenate([np.stack([paired, following[partner]], axis=1), np.stack([following[paired], partner], axis=1)])
    labels, triangle_points = np.unique(connected_components(len(start), links), return_inverse=True)
    return start[labels], triangle_points.reshape(-1, 3)


def _past_openings(wall: ClosedWall, edge: Array, out: Array) -> Array:
    """(b, 3) ways, mm, that a layer goes on past each point of the edge: past the rim, but not over what comes across an opening.

    edge : (b, 3) float; out : (b, 3) float, ways out of the wall, about 1 long
    """
    rim = _most(wall.edges.far, wall)
    past = (rim + 1.5 * OVERLAP) * out
    rings = wall.boundary.rings
    longest = max(rings, key=lambda ring: float(np.linalg.norm(edge[np.roll(ring, -1)] - edge[ring], axis=1).sum()))
    for ring in rings:
        if ring is longest:
            continue
        # toward its middle, so that the strip does not fold where the ways out meet
        toward = edge[ring].mean(axis=0) - edge[ring]
        across = float(np.linalg.norm(toward, axis=1).min())
        past[ring] = min(1.0, 0.5 * (rim + across) / across) * toward
    return past


_HALVINGS = 6


def _unfolded(points: Array, triangles: Index, shift: Array, normals: Array) -> Array:
    """The shifts (n, 3), halved where they would turn a triangle over."""
    outward = normals[triangles].sum(axis=1)
    for _ in range(_HALVINGS):
        folded = dot_rows(TriangleMesh(points + shift, triangles).area_vectors, outward) <= 0
        if not folded.any():
            break
        shift = shift.copy()
        shift[np.unique(triangles[folded])] *= 0.5
    return shift


def _past_rim(wall: ClosedWall, middle: Array, old: Index, triangles: Index) -> tuple[Array, Index, Index]:
    """Middle points, triangles and old points, with a strip past the rim where the wall has its edge."""
    boundary = wall.boundary
    sections = rim_sections(boundary, middle[boundary.vertex], wall.normals[boundary.vertex])
    row_of = np.full(len(middle), -1)
    row_of[boundary.vertex] = np.arange(len(boundary.vertex))
    out = np.zeros((len(boundary.vertex), 3))
    np.add.at(out, sections.owner, sections.out)
    out /= np.bincount(sections.owner, minlength=len(out))[:, None]
    start, end = directed_edges(triangles)
    row = row_of[old[start]]
    on_edge = (row >= 0) & (boundary.vertex[boundary.after[row]] == old[end])
    start, end = start[on_edge], end[on_edge]
    stretched, spot = np.unique(np.concatenate([start, end]), return_inverse=True)
    far = len(old) + spot
    far_start, far_end = far[: len(start)], far[len(start) :]
    here = middle[old]
    rows = row_of[old[stretched]]
    past = _past_openings(wall, middle[boundary.vertex], out)[rows]
    # a point of the layer on the edge of the wall would lie in a square rim, and the cut would leave leaves without thickness
    beyond = here[stretched] + past
    shift = np.zeros_like(here)
    shift[stretched] = 0.5 * OVERLAP * out[rows]
    here += _unfolded(here, triangles, shift, wall.normals[old])
    points = np.concatenate([here, beyond])
    strips = [np.stack([end, start, far_start], axis=1), np.stack([end, far_start, far_end], axis=1)]
    return points, np.concatenate([triangles, *strips]), np.concatenate([old, old[stretched]])
