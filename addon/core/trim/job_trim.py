# SPDX-License-Identifier: GPL-3.0-or-later
"""The trim that a job sheet asks for, on a skin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..base.arrays import Array
from ..base.errors import JobError
from ..base.format_place import format_place
from ..base.tolerances import TOLERANCES
from ..base.wheel_axes import radius_of, station_of
from ..clearance.clearance_field import clearance_field
from ..clearance.keepout import MeshBodyMaker
from ..job.job_sheet import Job, TrimLine
from ..mesh.open_surface import Surface
from ..seat.mount import mount_frame
from ..seat.seat_offset import wall_shares
from ..wall.job_edges import job_edges
from ..wall.job_wall import thickest
from ..wall.rim_profile import rim_reach
from .boundary_corners import Corner, boundary_corners
from .opening_field import mirrored, opening_field, opening_frame
from .plane_line import PlaneLine, filleted
from .scallop_field import scallop_field
from .trim_edge import Field, TrimEdge
from .trim_field import Tip, TrimField
from .view_field import crown_line, drop_field, side_field, top_field

_SHARPEST = np.radians(25.0)
"""A corner with less of an angle inside is not one corner but a whole end."""

_LEAST_ARC = 0.1
"""Arcs of a smaller radius, mm, are no more than the rim makes by itself."""


def trim_field(job: Job, surface: Surface, mesh_body: MeshBodyMaker | None = None) -> TrimField | None:
    """The field of a job's trim on a skin; None if the job trims nothing.

    surface : the whole skin, wheel axes; mesh_body : makes the bodies of keep-outs that are meshes
    The finished rim ends at the lines and openings of the sheet: the skin is cut back by how far the rim stands past its edge,
    and by the widest rim of the outer edge for a line.
    Raises JobError for a line that crosses itself, an opening off the skin, a tip radius that has no room or no corner.
    """
    plan, wall = job_edges(job), job.wall.thickness
    reach = plan.reach(wall)
    edges = (*_lines(job, surface, reach), *_openings(job, surface, rim_reach(plan.openings, wall)), *_scallops(job, mesh_body))
    corner = max(job.trim.corner - reach, 0.0)
    meets = corner > 0.0 and any(not edge.opening for edge in edges)
    sides = boundary_corners(surface, 0.0)[0] if meets else ()
    tips = _tips(job, surface, edges, reach)
    return TrimField(edges, sides, tips, corner) if edges or tips else None


def to_middle(job: Job) -> float:
    """From the skin to the middle of the wall, along the normal, mm."""
    outward, inward = wall_shares(job.wall)
    return 0.5 * (outward - inward)


def _lines(job: Job, surface: Surface, reach: float) -> list[TrimEdge]:
    kept = mount_frame(job).origin
    edges = []
    for i, line in enumerate(job.trim_lines):
        key = f"trim_line[{i}]"
        field = _drop(key, line, surface) if line.view == "drop" else _drawn(key, line, job.trim.corner, kept)
        edges.append(TrimEdge(key, line.name, field, reach, 0.0 if line.view == "drop" else to_middle(job)))
    return edges


def _drop(key: str, line: TrimLine, surface: Surface) -> Field:
    crown = crown_line(surface)
    if len(crown[0]) < 2:
        raise JobError(f"{key}.view", '"drop" is measured from the crown of the skin, which does not reach the center plane here')
    stations, drops = np.array(line.points).T
    return drop_field(stations, drops, crown)


def _drawn(key: str, line: TrimLine, corner: float, kept: Array) -> Field:
    return (side_field if line.view == "side" else top_field)(filleted(drawn_plane_line(key, line), corner), kept)


def drawn_plane_line(key: str, line: TrimLine) -> PlaneLine:
    """A line in side or top view, corners as drawn. Raises JobError, with the place, if it crosses itself."""
    drawn = PlaneLine(np.array(line.points))
    crossing = drawn.crossing()
    if crossing is not None:
        axes = "y, z" if line.view == "side" else "x, y"
        raise JobError(
            f"{key}.points",
            f'the line "{line.name}", gone on straight past its ends if it is open, crosses itself at '
            f"[{crossing[0]:.1f}, {crossing[1]:.1f}] ({axes}); draw it without a loop",
            np.array([0.0, *crossing] if line.view == "side" else [*crossing, 0.0]),
        )
    return drawn


def _openings(job: Job, surface: Surface, reach: float) -> list[TrimEdge]:
    edges = []
    for i, opening in enumerate(job.openings):
        key = f"opening[{i}]"
        frame = opening_frame(surface, opening.station, opening.x, opening.turn)
        if frame is None:
            raise JobError(
                f"{key}.station",
                f'"{opening.name}" at station {opening.station:g} deg, x = {opening.x:g} mm is outside the skin; move it onto '
                "the fender",
                _place_off(surface, opening.station, opening.x),
            )
        frames = [frame, mirrored(frame)] if opening.sides == "both" and opening.x != 0.0 else [frame]
        edges += [
            TrimEdge(key, opening.name, opening_field(at, opening.length, opening.width), reach, to_middle(job), opening=True)
            for at in frames
        ]
    return edges


def _place_off(surface: Surface, station: float, x: float) -> Array:
    """The place (3,) beside the skin that a station and an offset name, as far out as the crown."""
    angle, radius = np.radians(station), float(radius_of(surface.points).max())
    return np.array([x, -radius * np.sin(angle), radius * np.cos(angle)])


def _scallops(job: Job, mesh_body: MeshBodyMaker | None) -> list[TrimEdge]:
    if all(keepout.scallop is None for keepout in job.keepouts):
        return []
    # the tire comes first, then the keep-outs in their order
    limits = clearance_field(job, "part", mesh_body=mesh_body).limits[1:]
    around = job_edges(job).ball(thickest(job)) + TOLERANCES.chord
    return [
        TrimEdge(
            f"keepout[{i}].scallop",
            keepout.name,
            scallop_field(limits[i].body, limits[i].required_mm + keepout.scallop + around),
            to_middle=to_middle(job),
        )
        for i, keepout in enumerate(job.keepouts)
        if keepout.scallop is not None
    ]


def _tips(job: Job, surface: Surface, edges: Sequence[TrimEdge], reach: float) -> tuple[Tip, ...]:
    tips: list[Tip] = []
    for key, sign, wanted in (
        ("trim.front_radius", 1.0, job.trim.front_radius),
        ("trim.rear_radius", -1.0, job.trim.rear_radius),
    ):
        if wanted is not None and wanted - reach > _LEAST_ARC:
            corners = _corners_at(job, surface, sign, wanted - reach)
            tips += [Tip(key, corner, wanted - reach, *_by_side(corner, edges)) for corner in corners]
            wide = [corner for corner in corners if not _has_room(corner, wanted - reach)]
            if wide:
                most = _most_radius(job, surface, sign, wanted - reach) + reach
                raise JobError(
                    key,
                    f"{wanted:g} is more than the fender's width allows {format_place(wide[0].place)}; allowed there is {most:.1f} mm",
                    wide[0].place,
                )
    return tuple(tips)


def _corners_at(job: Job, surface: Surface, sign: float, radius: float) -> list[Corner]:
    """The corners ahead of the mount (sign 1) or behind it (-1) that an arc of the radius takes something from."""
    mount = float(station_of(mount_frame(job).origin))
    _, corners = boundary_corners(surface, radius)
    return [corner for corner in corners if sign * _turned(float(station_of(corner.place)) - mount) > 0.0]


def _has_room(corner: Corner, radius: float) -> bool:
    return corner.angle > _SHARPEST and radius <= corner.largest_radius()


def _most_radius(job: Job, surface: Surface, sign: float, radius: float) -> float:
    """The largest radius, within a hundredth, that has room."""
    while any(not _has_room(corner, radius) for corner in _corners_at(job, surface, sign, radius)):
        radius *= 0.99
    return radius


def _by_side(corner: Corner, edges: Sequence[TrimEdge]) -> tuple[tuple[TrimEdge, ...], tuple[TrimEdge, ...]]:
    """The edges that may cut a corner off, by the side of the skin that they run along: the one before, the one after."""
    place, normal = corner.place[None], corner.normal[None]
    before, after = (side.distance(place, normal)[1][0] for side in (corner.before, corner.after))
    along: tuple[list[TrimEdge], list[TrimEdge]] = ([], [])
    for edge in edges:
        if not edge.opening:
            _, way = edge.distance(place, normal)
            along[int(way[0] @ after > way[0] @ before)].append(edge)
    return tuple(along[0]), tuple(along[1])


def _turned(degrees: float) -> float:
    return (degrees + 180.0) % 360.0 - 180.0
