# SPDX-License-Identifier: GPL-3.0-or-later
"""All that limits the fender, as bodies with the clearance that each requires."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Sequence as Listing
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from ..base.arrays import Array, Index, as_points
from ..base.tolerances import TOLERANCES
from ..bodies.body import Body
from ..bodies.cached_body import CachedBody
from ..bodies.placed_body import mirror_image
from ..bodies.point_runs import PointRuns
from ..job.job_sheet import Job
from ..seat.mount import mount_frame
from ..seat.seat_offset import wall_shares
from ..wall.job_edges import skin_shares
from .brackets import further_brackets
from .budget import budget
from .envelope import envelope
from .keepout import MeshBodyMaker, image_is_stated, keepout_bodies, plate_body
from .limit import TIRE, Limit
from .pad_limits import pad_limits

PLATE = "bracket plate"

__all__ = ["PLATE", "TIRE", "ClearanceField", "Face", "Limit", "Worst", "clearance_field", "tire_limit"]

Face = Literal["skin", "part"]


@dataclass(frozen=True, eq=False)
class Worst:
    """Where a set of points has the least excess: excess mm, index of the point, number and name of the limit."""

    excess_mm: float
    index: int
    limit: int
    name: str


class ClearanceField:
    """Limits together. The excess of a point over a limit is its distance less what is required; clear means >= 0."""

    def __init__(self, limits: Listing[Limit]) -> None:
        """Raises ValueError without a limit."""
        if len(limits) == 0:
            raise ValueError("clearance field: expected at least one limit")
        self.limits = tuple(limits)

    def excess(self, points: ArrayLike) -> Array:
        """Least excess over all limits. points : (n, 3) float, mm, wheel axes; returns (n,) float, mm."""
        return self.excess_and_limit(points)[0]

    def excess_and_limit(self, points: ArrayLike) -> tuple[Array, Index]:
        """Least excess (n,), mm, and the number (n,) of the limit that it is over."""
        points = as_points(points)
        runs = PointRuns(points)
        least = np.full(len(points), np.inf)
        number: Index = np.zeros(len(points), np.int64)
        for i, limit in enumerate(self.limits):
            asked = _where_it_may_be_least(limit, runs, least) if i and limit.body.convex else slice(None)
            other, former = _excess_over(limit, points[asked]), least[asked]
            lower = other < former
            least[asked] = np.where(lower, other, former)
            number[asked] = np.where(lower, i, number[asked])
        return least, number

    def worst(self, points: ArrayLike) -> Worst:
        """The point with the least excess, and over which limit. Raises ValueError if there is no point."""
        least, number = self.excess_and_limit(points)
        if len(least) == 0:
            raise ValueError("points: expected at least one")
        index = int(least.argmin())
        limit = int(number[index])
        return Worst(float(least[index]), index, limit, self.limits[limit].name)

    def planes(self, points: ArrayLike) -> list[tuple[Array, Array]]:
        """For each limit the distances (n,) and unit normals (n, 3): the planes that support its body, if it is convex."""
        points = as_points(points)
        return [limit.body.distance_and_gradient(points) for limit in self.limits]


def _excess_over(limit: Limit, points: Array) -> Array:
    excess = limit.body.distance(points)
    excess -= limit.required_mm
    if limit.bears:
        excess[excess >= -TOLERANCES.clear] = np.inf
    return excess


def _where_it_may_be_least(limit: Limit, runs: PointRuns, least: Array) -> Index:
    """The points (k,) int whose excess over a limit can be under what is the least so far, (n,)."""
    most = runs.most(least)
    return runs.nearer_than(limit.body, limit.required_mm + (np.minimum(most, 0.0) if limit.bears else most))


def clearance_field(job: Job, for_: Face = "skin", *, mesh_body: MeshBodyMaker | None = None) -> ClearanceField:
    """The limits of a job: the tire first, then its keep-outs, then the bracket's plate and the further seats' brackets if given.

    for_ : "skin" adds what the wall takes on the side of the body, and how far facets may lie off the true face, so that a
        clear skin makes a clear part, adds what keeps a solid pad from pushing its screws down, and leaves out bodies that the
        trim cuts a scallop round, and the brackets of further seats. As the skin is that of one half and its mirror image, each
        keep-out limits both halves. "part" is for points of the part's own surface, on both sides
    mesh_body : makes the bodies of keep-outs that are meshes; only the host can
    Raises JobError as budget, envelope and keepout_bodies do.
    """
    flex_and_uncertainty = budget(job).flex_and_uncertainty_mm
    outer, inner = _shares(job, for_)
    facets = TOLERANCES.chord if for_ == "skin" else 0.0
    limits = [tire_limit(job, for_)]
    share = {"inside": inner, "outside": outer, None: max(outer, inner)}
    for section, keepout in zip(job.keepouts, keepout_bodies(job, mesh_body), strict=True):
        if for_ == "skin" and section.scallop is not None:
            continue  # the trim keeps clear of it
        required = keepout.gap_mm + flex_and_uncertainty + share[keepout.side] + facets
        limits.append(Limit(keepout.name, _quick(keepout.body, required), required, still=keepout.still, motion=keepout.motion))
        if for_ == "skin" and not image_is_stated(section, job.keepouts):
            limits.append(Limit(keepout.name, _quick(mirror_image(keepout.body), required), required, image=True))
    plate = plate_body(job)
    if plate is not None:
        # The face that bears on the plate touches it: the seated skin is off the plane by the wall on that side. A bead stands
        # out at the edges only; the proof on the finished part tells of one that meets the plate there.
        wall = wall_shares(job.wall) if for_ == "skin" else (0.0, 0.0)
        limits.append(Limit(PLATE, plate, wall[0 if job.mount.side == "under" else 1], bears=True))
    if for_ == "part":
        # the skin under a further seat may be over its plane: the wall is worked down to it, and only then bears on its bracket
        limits += [Limit(bracket.name, bracket.body, 0.0, bears=True) for bracket in further_brackets(job)]
    else:
        limits += pad_limits(job, mount_frame(job), tire_limit(job, "part"), inner + facets)
    return ClearanceField(limits)


def moved_field(former: ClearanceField, job: Job, mesh_body: MeshBodyMaker, moved_mm: Mapping[str, float]) -> ClearanceField:
    """The "skin" field of the same job after its mesh keep-outs have moved: what did not change is taken over.

    former : clearance_field(job, mesh_body=...) as the meshes were; moved_mm : by name, what no point of it moved further than
    Raises JobError as clearance_field does.
    """
    meshes = {section.name for section in job.keepouts if section.kind == "mesh"}
    found = {keepout.name: keepout for keepout in keepout_bodies(job, mesh_body) if keepout.name in meshes}
    limits = []
    for limit in former.limits:
        if limit.name in found and isinstance(limit.body, CachedBody):
            keepout = found[limit.name]
            body = mirror_image(keepout.body) if limit.image else keepout.body
            quick = limit.body.succeeded_by(body, moved_mm.get(limit.name, np.inf))
            limit = replace(limit, body=quick, still=None if limit.image else keepout.still)
        limits.append(limit)
    return ClearanceField(limits)


def tire_limit(job: Job, for_: Face = "skin") -> Limit:
    """The first limit of every job: the envelope of its tire. Needs no host."""
    facets = TOLERANCES.chord if for_ == "skin" else 0.0
    around = envelope(job)
    body = around.body if around.body.convex else CachedBody(around.body)
    required = budget(job).required_mm + _shares(job, for_)[1] + facets
    return Limit(TIRE, body, required, still=around.still, motion=around.motion)


_SHOWN_MM = 25.0
"""Beyond what is required, distances are exact so far: a little more than the colors of the map run over."""


def _quick(body: Body, required_mm: float) -> Body:
    return body if body.convex else CachedBody(body, required_mm + _SHOWN_MM)


def _shares(job: Job, for_: Face) -> tuple[float, float]:
    """(outer, inner): mm of wall and rim on each side of what is looked at."""
    return skin_shares(job) if for_ == "skin" else (0.0, 0.0)
