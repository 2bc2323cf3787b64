# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with a cage."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from ..base.arrays import Index
from ..base.errors import CageError
from .cage import CageTopology
from .subdivision.whole_cage import WholeCage, whole_cage


class CageProblem(NamedTuple):
    """A kind of fault of a cage: a code for the program and a sentence for the builder."""

    code: Literal["no_skin", "winding", "loose_points"]
    sentence: str


def cage_problems(topology: CageTopology) -> tuple[CageProblem, ...]:
    """One for each kind of fault of a cage; none if all is well.

    Loose points are named too, though the skin exists without them.
    """
    problems = list(fatal_problems(topology, whole_cage(topology)))
    loose = np.setdiff1d(np.arange(topology.point_count), topology.corners)
    if len(loose):
        sentence = _sentence(len(loose), "point belongs", "points belong", f"to no face, first point {loose[0]}")
        problems.append(CageProblem("loose_points", sentence))
    return tuple(problems)


def require_skin(topology: CageTopology, whole: WholeCage) -> None:
    """Raises CageError with the first fault that leaves the cage without a skin."""
    for problem in fatal_problems(topology, whole):
        raise CageError(problem.sentence)


def fatal_problems(topology: CageTopology, whole: WholeCage) -> tuple[CageProblem, ...]:
    """Faults of a cage that leave it without a skin, worst first."""
    sizes = np.diff(topology.face_starts)
    if topology.face_count == 0:
        return (CageProblem("no_skin", "the cage has no face"),)
    if len(topology.corners) and not 0 <= topology.corners.min() <= topology.corners.max() < topology.point_count:
        return (CageProblem("no_skin", f"a face names a point that is not among the {topology.point_count} points of the cage"),)
    crowded, twisted = _edge_faults(whole)
    checks = (_small_faces(sizes), _repeated_points(topology), _flat_faces(topology), crowded)
    problems = [CageProblem("no_skin", sentence) for sentence in checks if sentence]
    problems += [CageProblem("winding", twisted)] if twisted else []
    if not problems and (touching := _touching_fans(whole)):
        problems.append(CageProblem("no_skin", touching))
    return tuple(problems)


def _sentence(count: int, one: str, many: str, rest: str) -> str:
    return f"{count} {one if count == 1 else many} {rest}"


def _small_faces(sizes: Index) -> str:
    small = np.flatnonzero(sizes < 3)
    return _sentence(len(small), "face has", "faces have", f"fewer than 3 corners, first face {small[0]}") if len(small) else ""


def _repeated_points(topology: CageTopology) -> str:
    owner = np.repeat(np.arange(topology.face_count), np.diff(topology.face_starts))
    keys = np.sort(owner * topology.point_count + topology.corners)
    again = np.unique(keys[1:][keys[1:] == keys[:-1]] // topology.point_count)
    return _sentence(len(again), "face uses", "faces use", f"a point twice, first face {again[0]}") if len(again) else ""


def _flat_faces(topology: CageTopology) -> str:
    if not topology.mirrored:
        return ""
    flat = np.flatnonzero(np.logical_and.reduceat(topology.on_plane[topology.corners], topology.face_starts[:-1]))
    if not len(flat):
        return ""
    return _sentence(len(flat), "face lies", "faces lie", f"in the mirror plane on top of the mirror image, first face {flat[0]}")


def _edge_faults(whole: WholeCage) -> tuple[str, str]:
    """Edges in more than two faces, and edges whose two faces are wound against each other."""
    crowded: set[tuple[int, int]] = set()
    twisted: set[tuple[int, int]] = set()
    for (a, b), corners in whole.half_edges.items():
        number = len(corners) + len(whole.half_edges.get((b, a), ()))
        if number > 2:
            crowded.add(_cage_edge(whole, a, b))
        elif len(corners) == 2:
            twisted.add(_cage_edge(whole, a, b))
    return (
        _sentence(len(crowded), "edge is", "edges are", f"in more than two faces, {_place(crowded)}") if crowded else "",
        _sentence(len(twisted), "edge joins", "edges join", f"faces that are wound against each other, {_place(twisted)}")
        if twisted
        else "",
    )


def _place(edges: set[tuple[int, int]]) -> str:
    a, b = min(edges)
    return f"first between the points {a} and {b}"


def _cage_edge(whole: WholeCage, a: int, b: int) -> tuple[int, int]:
    c, d = int(whole.cage_point[a]), int(whole.cage_point[b])
    return (c, d) if c < d else (d, c)


def _touching_fans(whole: WholeCage) -> str:
    bad = sorted(
        {int(whole.cage_point[point]) for point, (fan, _) in whole.fans.items() if len(fan) != len(whole.corners_of_point[point])}
    )
    if not bad:
        return ""
    return _sentence(len(bad), "point joins", "points join", f"faces that share no edge there, first point {bad[0]}")
