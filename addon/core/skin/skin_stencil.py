# SPDX-License-Identifier: GPL-3.0-or-later
"""Weights that take the points of a cage to its Catmull-Clark limit surface."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array, Index, Mask, frozen
from .cage import CageTopology
from .cage_problems import require_skin
from .stencil_rows import StencilRows
from .subdivision.face_blocks import FaceBlock, FaceBlocks
from .subdivision.face_layout import FaceLayout, face_layout
from .subdivision.face_neighborhood import face_neighborhoods
from .subdivision.sharpness import whole_sharpness
from .subdivision.whole_cage import WholeCage, whole_cage


@dataclass(frozen=True, eq=False)
class SkinStencil:
    """The skin of every cage with one topology: points, tangents and faces.

    Only the skin over the faces of the cage itself; a mirrored cage gives half a skin.

    position, tangent_u, tangent_v : StencilRows, one row a skin point; tangent_u x tangent_v points outward, their
        lengths have no meaning
    quads : (q, 4) int skin points, counterclockwise seen from outside
    face_of_quad : (q,) int cage face
    boundary_edges : (b, 2) int skin points, as their quad runs through them; edges on the mirror plane are not among them
    on_plane : (p,) bool, skin points on the mirror plane
    corner_point : (n,) int, the skin point that belongs to a cage point, -1 for loose points
    """

    position: StencilRows
    tangent_u: StencilRows
    tangent_v: StencilRows
    quads: Index
    face_of_quad: Index
    boundary_edges: Index
    on_plane: Mask
    corner_point: Index
    level: int
    topology: CageTopology


_BLOCKS = FaceBlocks()


def skin_stencil(topology: CageTopology, level: int, blocks: FaceBlocks = _BLOCKS) -> SkinStencil:
    """Limit positions and tangents at the vertices of the cage after `level` subdivisions.

    level : 1..6; blocks : faces computed before, by default those of this session
    The points equal those of the host's Mirror (merge) and Subdivision Surface (limit surface, quality 3) modifiers to 1e-6 of
    the largest coordinate. The host leaves the limit surface in places, and so do we: below its isolation level irregular
    faces are Gregory patches, fading sharpness is left out, boundary points in one face only are held. Not so where a crease
    of 1 ends at a point with two edges: the host's patch is torn there, ours is not.
    Raises CageError with one sentence if the cage has no skin; ValueError if level is out of range.
    """
    if not 1 <= level <= 6:
        raise ValueError(f"level: {level}, allowed 1 to 6")
    whole = whole_cage(topology)
    require_skin(topology, whole)
    around = face_neighborhoods(whole, *whole_sharpness(topology, whole))
    block_of = blocks.of([neighborhood for neighborhood, _ in around], level)
    layout = face_layout(topology, level)
    return _assembled(topology, level, whole, layout, [(block_of[kind], local) for kind, local in around])


class StencilCache:
    """The last few stencils, by topology and level."""

    def __init__(self, capacity: int = 4) -> None:
        self._capacity = capacity
        self._known: OrderedDict[tuple[bytes, int], SkinStencil] = OrderedDict()

    def get(self, topology: CageTopology, level: int) -> SkinStencil:
        """As skin_stencil."""
        key = (topology.key, level)
        if key not in self._known:
            self._known[key] = skin_stencil(topology, level)
        self._known.move_to_end(key)
        while len(self._known) > self._capacity:
            self._known.popitem(last=False)
        return self._known[key]


def _assembled(
    topology: CageTopology, level: int, whole: WholeCage, layout: FaceLayout, faces: list[tuple[FaceBlock, list[int]]]
) -> SkinStencil:
    weights: list[list[Array]] = [[], [], []]
    x_weights: list[list[Array]] = [[], [], []]
    index: list[Index] = []
    widths, heights = [], []
    merged: dict[tuple[int, tuple[int, ...], bytes, tuple[int, ...]], tuple[list[Array], list[Array]]] = {}
    for number, (block, local) in enumerate(faces):
        cage_points = whole.cage_point[local].tolist()
        columns = list(dict.fromkeys(cage_points))
        column_of = {point: column for column, point in enumerate(columns)}
        places = tuple([column_of[point] for point in cage_points])
        signs = whole.x_sign[local]
        owned = layout.owned_rows[number]
        key = (id(block), places, signs.tobytes(), layout.ownership[number])
        if key not in merged:
            merged[key] = _merged(block, owned, places, signs)
        plain, mirrored = merged[key]
        for kind in range(3):
            weights[kind].append(plain[kind].ravel())
            x_weights[kind].append(mirrored[kind].ravel())
        index.append(np.tile(columns, len(owned)))
        widths.append(len(columns))
        heights.append(len(owned))
    starts = np.concatenate([[0], np.cumsum(np.repeat(widths, heights))])
    all_index = np.concatenate(index)
    rows_of_faces = np.concatenate([[0], np.cumsum(heights)])
    position, tangent_u, tangent_v = (
        StencilRows(
            _locked(starts),
            _locked(all_index),
            _locked(np.concatenate(weights[kind])),
            _locked(np.concatenate(x_weights[kind])),
            _locked(rows_of_faces),
        )
        for kind in range(3)
    )
    return SkinStencil(
        position=position,
        tangent_u=tangent_u,
        tangent_v=tangent_v,
        quads=frozen(layout.quads, np.int64),
        face_of_quad=frozen(layout.face_of_quad, np.int64),
        boundary_edges=frozen(layout.boundary_edges, np.int64),
        on_plane=frozen(layout.on_plane, np.bool_),
        corner_point=frozen(layout.corner_point, np.int64),
        level=level,
        topology=topology,
    )


def _merged(block: FaceBlock, owned: Index, places: tuple[int, ...], signs: Array) -> tuple[list[Array], list[Array]]:
    """Rows of a block with a point and its mirror image in one column; for y and z, and for x."""
    rows = [block.position[owned], block.tangent_u[owned], block.tangent_v[owned]]
    if places == tuple(range(len(places))) and (signs == 1.0).all():
        return rows, rows
    join = np.zeros((len(places), 1 + max(places)))
    join[np.arange(len(places)), places] = 1.0
    join_x = join * signs[:, None]
    return [row @ join for row in rows], [row @ join_x for row in rows]


def _locked(values: NDArray[Any]) -> NDArray[Any]:
    """The same array, read-only from now on."""
    values.setflags(write=False)
    return values
