# SPDX-License-Identifier: GPL-3.0-or-later
"""A skin with the trim of its job."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Index
from ..base.errors import JobError, ShapeError
from ..base.format_place import format_place
from ..base.tolerances import TOLERANCES
from ..clearance.keepout import MeshBodyMaker
from ..job.job_sheet import Job
from ..mesh.cut_surface import cut_surface
from ..mesh.open_surface import Surface
from ..mesh.simplify_boundary import simplify_boundary
from ..mesh.smooth_boundary import smooth_boundary
from ..mesh.triangle_mesh import TriangleMesh, connected_components
from ..seat.mount import mount_frame
from ..seat.placed_seat import placed_seats
from ..seat.seat_outline import outline_distance
from ..wall.job_edges import job_edges
from ..wall.rim_profile import rim_reach
from .job_trim import trim_field
from .strip_width import narrowest_strip
from .trim_edge import TrimEdge
from .trim_field import TrimField

CHORD = 0.5 * TOLERANCES.chord
"""Largest distance of the trimmed edge from its line, mm."""

LEAST_STRIP = 0.5
"""Least skin between two rims, in walls: with the rims at both sides a strip is one and a half walls wide then; our choice."""

SHORTEST_STEP = 0.3
"""Shorter steps of the edge are drawn together, mm."""


def trimmed(job: Job, surface: Surface, mesh_body: MeshBodyMaker | None = None) -> Surface:
    """What the job's trim leaves of a skin; the surface itself if nothing is trimmed.

    surface : the whole skin, wheel axes, mm; mesh_body : makes the bodies of keep-outs that are meshes
    Raises JobError or ShapeError, with the place, where the trim cuts the seat, leaves more than one piece or hardly
    a strip, or an opening has no closed edge; and as trim_field does.
    """
    field = trim_field(job, surface, mesh_body)
    if field is None:
        return surface
    check_seat(job, surface, field)
    cut = cut_surface(surface, field.values, CHORD)
    _check_one_piece(cut)
    cut = smooth_boundary(simplify_boundary(cut, SHORTEST_STEP), job_edges(job).far(job.wall.thickness))
    _check_openings(job, cut, field)
    _check_strips(job, cut)
    return cut


def check_seat(job: Job, surface: Surface, field: TrimField) -> None:
    """Raise JobError, with the place, where a trim cuts the mount's seat or a further one."""
    for placed in placed_seats(job, mount_frame(job), surface):
        seat = placed.seat
        distance, _ = outline_distance(seat.in_plane(surface.points), seat.bolts, seat.pad)
        seated = (distance <= 0.0) & (np.abs(seat.height(surface.points)) <= max(seat.blend, seat.pad))
        points, normals = surface.points[seated], surface.normals[seated]
        cutting = field.cutting(points, normals) if len(points) else None
        if cutting is not None:
            key, name, index = cutting
            called = "the seat" if seat.key == "mount" else f'the seat "{placed.name}"'
            raise JobError(
                key,
                f"{name} cuts {called} {format_place(points[index])}; keep it {job.wall.thickness:g} mm or more outside the seat",
                points[index],
            )


def _check_one_piece(surface: Surface) -> None:
    if len(surface.triangles) == 0:
        raise ShapeError("the trim leaves nothing of the fender; move its lines outward")
    labels = connected_components(len(surface.points), surface.triangles)[surface.triangles[:, 0]]
    names, which = np.unique(labels, return_inverse=True)
    if len(names) == 1:
        return
    area = np.linalg.norm(TriangleMesh(surface.points, surface.triangles).area_vectors, axis=1)
    sizes = np.bincount(which, weights=area)
    loose = np.flatnonzero(which == np.argmin(sizes))
    place = surface.points[surface.triangles[loose]].mean(axis=(0, 1))
    raise ShapeError(
        f"the trim leaves {len(names)} pieces, the smallest of {sizes.min() / 100.0:.2f} cm2 {format_place(place)}; move its lines so "
        "that the fender stays in one",
        place,
    )


def _check_openings(job: Job, surface: Surface, field: TrimField) -> None:
    openings = [edge for edge in field.edges if edge.opening]
    if not openings:
        return
    rings = [surface.boundary.vertex[ring] for ring in surface.boundary.rings]
    edges, wall = job_edges(job), job.wall.thickness
    least = rim_reach(edges.openings, wall) + edges.far(wall) + wall
    for opening in openings:
        number = _ring_of(opening, surface, rings, field)
        here = surface.points[rings[number]]
        others = surface.points[np.concatenate([ring for i, ring in enumerate(rings) if i != number])]
        apart = np.sqrt(np.square(here[:, None, :] - others[None, :, :]).sum(axis=2))
        at = int(np.argmin(apart.min(axis=1)))
        if apart.min() < least:
            left = apart.min() - least + job.wall.thickness
            raise JobError(
                opening.key,
                f'"{opening.name}" leaves {left:.1f} mm to the next edge {format_place(here[at])}; at least {job.wall.thickness:g} mm is '
                "needed",
                here[at],
            )


def _check_strips(job: Job, surface: Surface) -> None:
    least = LEAST_STRIP * job.wall.thickness
    strip = narrowest_strip(surface, least)
    if strip is not None:
        width, place = strip
        raise ShapeError(
            f"the trim leaves a strip of skin {width:.1f} mm wide between rims {format_place(place)}; at least {least:.1f} mm is needed, "
            "so move its lines apart, or across so that they cut it off",
            place,
        )


def _ring_of(opening: TrimEdge, surface: Surface, rings: list[Index], field: TrimField) -> int:
    """The ring of edges that is the opening's own."""
    nearest, place = np.inf, surface.points[0]
    for number, ring in enumerate(rings):
        points, normals = surface.points[ring], surface.normals[ring]
        off = np.abs(opening.distance(points, normals)[0])
        if off.max() < TOLERANCES.chord:
            return number
        if off.min() < nearest:
            nearest, place = float(off.min()), points[np.argmin(off)]
    met = _met_by(opening, field, surface)
    if met is not None and met.key == opening.key:
        what, advice = "its own mirror image", 'move it off the center plane, or choose sides = "one"'
    elif met is not None and met.opening:
        what, advice = f'the opening "{met.name}"', "move them apart"
    else:
        what, advice = "the edge of the fender", "move it inside, or draw a line there"
    raise JobError(opening.key, f'"{opening.name}" runs over {what} {format_place(place)}; {advice}', place)


def _met_by(opening: TrimEdge, field: TrimField, surface: Surface) -> TrimEdge | None:
    """The other opening that is nearest to an opening's edge, if they meet; None if none does."""
    points, normals = surface.points[surface.boundary.vertex], surface.normals[surface.boundary.vertex]
    own = np.abs(opening.distance(points, normals)[0])
    for other in field.edges:
        if other is not opening and other.opening:
            both = own + np.abs(other.distance(points, normals)[0])
            if both.min() < SHORTEST_STEP:
                return other
    return None
