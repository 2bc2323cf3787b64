# SPDX-License-Identifier: GPL-3.0-or-later
"""The rims that a job sheet asks for, and the room that they need."""

from __future__ import annotations

import math

from ..base.errors import JobError
from ..job.job_sheet import Job
from ..seat.seat_offset import wall_shares
from .edge_plan import EdgePlan, edge_names
from .job_laminate import laminate_mm
from .job_wall import thickest, thinnest
from .rim_profile import RimEdge

SQUARE_RADIUS = 0.5
"""Radius of the corners of a square edge where the sheet states none, mm, and half a wall at most: a hand or a hose must not
meet a sharp corner anywhere. A sheet that wants sharp ones, as for a buck that is trimmed, states 0 and gets a caution. Our
choice: breaking edges by 0.5 mm is from memory."""

LEAST_SQUARE_RADIUS = 0.1


def job_edges(job: Job) -> EdgePlan:
    """The rims of the four edges; an edge that the sheet says nothing of is as wall.edge. Raises JobError as check_edges does."""
    front, rear, sides, openings = (_edge(job, name) for name in edge_names())
    plan = EdgePlan(front, rear, sides, openings, job.edge.run)
    if len(set(plan.edges)) > 1 and any(edge.radius(job.wall.thickness) == 0.0 for edge in plan.edges):
        raise JobError(
            "wall.edge_size",
            f"0 is a sharp edge, which cannot run into another one; allowed is {LEAST_SQUARE_RADIUS:g} mm or more, or the same "
            "edge all round",
        )
    return plan


def _edge(job: Job, name: str) -> RimEdge:
    kind, key = getattr(job.edge, name), f"edge.{name}_size"
    size = getattr(job.edge, f"{name}_size")
    if kind is None:
        kind = job.wall.edge
    if size is None and kind == job.wall.edge:
        size, key = job.wall.edge_size, "wall.edge_size"
    if size is None:
        return RimEdge(kind, min(SQUARE_RADIUS, 0.5 * thinnest(job)) if kind == "square" else None)
    wall = thickest(job)
    if kind == "round":
        raise JobError(key, f"{size:g} cannot be: a round edge has the radius of half the wall, {0.5 * wall:g} mm; leave it out")
    least = thinnest(job)
    low, high = (0.5 * wall, least) if kind == "bead" else (LEAST_SQUARE_RADIUS, 0.5 * least)
    sharp = kind == "square" and size == 0.0
    if low > high:
        raise JobError(
            key,
            f"{size:g} cannot be: no one radius fits a bead on a wall of {_span(least, wall)} mm, which asks for half of it at "
            "least and all of it at most; leave it out, so that the bead follows the wall",
        )
    if not (low <= size <= high or sharp):
        raise JobError(
            key,
            f"{size:g} is no radius for a {kind} edge of a wall of {_span(least, wall)} mm; allowed is {low:g} to {high:g} mm"
            + (", or 0 for a sharp one all round" if kind == "square" else ""),
        )
    return RimEdge(kind, size)


def _span(low: float, high: float) -> str:
    return f"{high:g}" if low == high else f"{low:g} to {high:g}"


def check_edges(job: Job) -> None:
    """Raise JobError, naming the key, if an edge cannot have its size on the wall of the job."""
    job_edges(job)


def skin_shares(job: Job) -> tuple[float, float]:
    """(outer, inner): mm that the part may reach from the skin, wall at its thickest and rim together; ribs are left out.

    A round or square rim stays in the ball of half a wall about the middle of the wall's end, which the wall reaches anyway. A
    bead stands past it: its circle has its middle at a known distance from the skin's edge, so that no point of it is farther
    from there than this distance and its radius, in whatever direction the edge points. A laminated part begins at the outer
    face of the wall and may reach deeper than it.
    """
    outer, inner = (share * thickest(job) / job.wall.thickness for share in wall_shares(job.wall))
    bead = max((_bead_reach(edge, thickest(job), outer) for edge in job_edges(job).edges if edge.kind == "bead"), default=0.0)
    return max(outer, bead), max(inner, bead, laminate_mm(job) - wall_shares(job.wall)[0])


def _bead_reach(edge: RimEdge, thickness: float, outer: float) -> float:
    radius = edge.radius(thickness)
    # the circle touches the plane of the inner face and passes through the end of the outer one
    over_skin = radius - (thickness - outer)
    out = math.sqrt(max(0.0, radius**2 - (thickness - radius) ** 2))
    return math.hypot(over_skin, out) + radius
