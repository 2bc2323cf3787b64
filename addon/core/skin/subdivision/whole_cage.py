# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage with its mirror image, welded on the mirror plane, as connected faces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from ...base.arrays import Array, Index
from ..cage import CageTopology

Corner = tuple[int, int]
"""A face and a corner of it."""


@dataclass(frozen=True, eq=False)
class WholeCage:
    """Faces of the cage, followed by those of its mirror image when it is mirrored.

    faces : one tuple of whole-cage points a face, counterclockwise seen from outside
    own_faces : number of faces that are the cage's own; the others are mirror images, winding reversed
    cage_point : (w,) int, the cage point that a whole-cage point is, or is the mirror image of
    x_sign : (w,) float, 1 for a point of the cage, -1 for a mirror image, 0 for a point on the mirror plane: the host puts
        merged points at the mean of both, x = 0
    """

    faces: tuple[tuple[int, ...], ...]
    own_faces: int
    cage_point: Index
    x_sign: Array

    @cached_property
    def half_edges(self) -> dict[tuple[int, int], list[Corner]]:
        """Directed edge (from, to) -> the face corners that it leaves."""
        edges: dict[tuple[int, int], list[Corner]] = {}
        for face, points in enumerate(self.faces):
            for corner, point in enumerate(points):
                following = points[corner + 1 if corner + 1 < len(points) else 0]
                edges.setdefault((point, following), []).append((face, corner))
        return edges

    @cached_property
    def corners_of_point(self) -> dict[int, list[Corner]]:
        """Point -> all face corners at it, in face order."""
        corners: dict[int, list[Corner]] = {}
        for face, points in enumerate(self.faces):
            for corner, point in enumerate(points):
                corners.setdefault(point, []).append((face, corner))
        return corners

    @cached_property
    def fans(self) -> dict[int, tuple[list[Corner], bool]]:
        """For each point of the cage's own faces, the face corners around it counterclockwise, and whether they close.

        An open fan starts at the boundary. A fan that is shorter than `corners_of_point` tells of a point where
        separate fans of faces touch.
        """
        own = dict.fromkeys([point for face in self.faces[: self.own_faces] for point in face])
        return {point: self._fan(point) for point in own}

    def _fan(self, point: int) -> tuple[list[Corner], bool]:
        start = self.corners_of_point[point][0]
        around = self._walk(start)
        if around is not None:
            return around, True
        for corner in self.corners_of_point[point]:
            face, at = corner
            points = self.faces[face]
            if (points[(at + 1) % len(points)], point) not in self.half_edges:
                open_fan = self._open_walk(corner)
                if start in open_fan:
                    return open_fan, False
        return [start], False

    def _across(self, corner: Corner) -> Corner | None:
        """The next face corner counterclockwise about the same point; None at the boundary."""
        face, at = corner
        points = self.faces[face]
        found = self.half_edges.get((points[at], points[at - 1]))
        return found[0] if found else None

    def _walk(self, start: Corner) -> list[Corner] | None:
        fan = [start]
        while (corner := self._across(fan[-1])) != start:
            if corner is None or len(fan) > len(self.faces):
                return None
            fan.append(corner)
        return fan

    def _open_walk(self, start: Corner) -> list[Corner]:
        fan = [start]
        while (corner := self._across(fan[-1])) is not None and len(fan) <= len(self.faces):
            fan.append(corner)
        return fan


def whole_cage(topology: CageTopology) -> WholeCage:
    """Join a cage with its mirror image; a cage that is not mirrored is taken as it is."""
    starts = topology.face_starts.tolist()
    corners = topology.corners.tolist()
    own = [tuple(corners[a:b]) for a, b in pairwise(starts)]
    count = topology.point_count
    if not topology.mirrored:
        return WholeCage(tuple(own), len(own), np.arange(count), np.ones(count))
    off_plane = np.flatnonzero(~topology.on_plane)
    image = np.arange(count)
    image[off_plane] = count + np.arange(len(off_plane))
    image_of = image.tolist()
    mirrored = [tuple(image_of[point] for point in reversed(face)) for face in own]
    return WholeCage(
        faces=tuple(own + mirrored),
        own_faces=len(own),
        cage_point=np.concatenate([np.arange(count), off_plane]),
        x_sign=np.concatenate([np.where(topology.on_plane, 0.0, 1.0), -np.ones(len(off_plane))]),
    )
