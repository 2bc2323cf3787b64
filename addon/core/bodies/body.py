# SPDX-License-Identifier: GPL-3.0-or-later
"""What every body that the fender must stay away from can tell."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from ..base.arrays import Array


class Body(Protocol):
    """A solid body with a signed distance: positive outside, negative inside, in mm.

    convex : True if the body is convex; then its distance is a convex function and each plane that supports it is
        a safe bound for all points.
    """

    @property
    def convex(self) -> bool: ...

    def distance(self, points: Array) -> Array:
        """Signed distance of points. points : (n, 3) float, mm, wheel axes; returns (n,) float, mm."""
        ...

    def distance_and_gradient(self, points: Array) -> tuple[Array, Array]:
        """Signed distance (n,) and its unit gradient (n, 3), pointing away from the body."""
        ...


@runtime_checkable
class Shell(Protocol):
    """A body that may be open, as a scan is: open_edges : how many of its edges are not between two faces; 0 if it is closed."""

    open_edges: int


@runtime_checkable
class FarAside(Protocol):
    """What a body can tell besides that saves work with points that are far from it."""

    def distance_within(self, points: Array, near: float) -> tuple[Array, Array]:
        """As Body.distance_and_gradient; beyond near, mm, a distance may be told as any lower bound not under near."""
        ...
