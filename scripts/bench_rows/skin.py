# SPDX-License-Identifier: GPL-3.0-or-later
"""Building and applying skin stencils, beside the host's modifiers and scipy's sparse product."""

import statistics
import time
from functools import partial

import bpy
import numpy as np
from scipy import sparse

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.skin.subdivision.face_blocks import FaceBlocks
from addon.host.cage.cage_mesh import make_cage_object
from bench_row import BenchRow, median_ms, sized

ROWS, COLUMNS = 13, 11
LEVELS = ((4, 100.0, 150.0, 3.0), (5, 500.0, None, None))
"""Level, and goals in ms: to build, to build after an edit, to apply."""


def rows() -> list[BenchRow]:
    result = []
    for level, build_goal, edit_goal, apply_goal in sized(LEVELS, LEVELS[:1]):
        cage, poled = grid_cage(), poled_cage()
        stencil = skin_stencil(cage.topology, level)
        count = f"{stencil.position.row_count:,} points"
        hosts = host_ms(cage, level)
        result += [
            BenchRow(
                f"stencil from nothing, {count} (ms); reference: host, from nothing",
                median_ms(partial(fresh, cage, level)),
                hosts,
                build_goal,
            ),
            BenchRow(
                f"stencil, triangles, n-gons, creases, {skin_stencil(poled.topology, level).position.row_count:,} points (ms)",
                median_ms(partial(fresh, poled, level)),
                host_ms(poled, level),
                build_goal,
            ),
            BenchRow(f"stencil after an edit, {count} (ms)", edited_ms(cage, level), hosts, build_goal),
            BenchRow("stencil after an edit amid triangles, n-gons, creases (ms)", edited_ms(poled, level), None, edit_goal),
            apply_row(cage, level, count, apply_goal),
            BenchRow(f"points and normals, {count} (ms)", median_ms(partial(skin, cage, stencil), 20)),
        ]
    return result


def fresh(cage: Cage, level: int) -> None:
    skin_stencil(cage.topology, level, FaceBlocks())


def grid_cage() -> Cage:
    """Half a cage of 120 quads, 143 points."""
    points = np.array([[10.0 * j, -30.0 * i, 0.5 * (i - 6) ** 2] for i in range(ROWS) for j in range(COLUMNS)])
    on_plane = np.arange(len(points)) % COLUMNS == 0
    return Cage(topology_of_faces(len(points), grid_faces(), on_plane=on_plane), points)


def poled_cage() -> Cage:
    """The same with every fifth face cut into triangles, every seventh joined with the next, a third of the edges creased."""
    cage, faces = grid_cage(), []
    quads = grid_faces()
    number = 0
    while number < len(quads):
        a, b, c, d = quads[number]
        if number % 5 == 2:
            faces += [[a, b, c], [a, c, d]]
        elif number % 7 == 3 and (number + 1) % (COLUMNS - 1):
            following = quads[number + 1]
            faces.append([a, b, following[1], following[2], c, d])
            number += 1
        else:
            faces.append([a, b, c, d])
        number += 1
    edges = sorted({(min(face[k - 1], face[k]), max(face[k - 1], face[k])) for face in faces for k in range(len(face))})
    creases = {edge: 0.1 + 0.8 * (k % 11) / 11 for k, edge in enumerate(edges) if k % 3 == 0}
    return Cage(topology_of_faces(len(cage.points), faces, creases=creases, on_plane=cage.topology.on_plane), cage.points)


def grid_faces() -> list[list[int]]:
    corners = [(i * COLUMNS + j) for i in range(ROWS - 1) for j in range(COLUMNS - 1)]
    return [[k, k + 1, k + COLUMNS + 1, k + COLUMNS] for k in corners]


def edited_ms(cage: Cage, level: int) -> float:
    """A face cut in two, somewhere else each time, with the rest known."""
    blocks, topology = FaceBlocks(), cage.topology
    skin_stencil(topology, level, blocks)
    faces = [corners.tolist() for corners in np.split(topology.corners, topology.face_starts[1:-1])]
    quads = [number for number, face in enumerate(faces) if len(face) == 4]
    creases = dict(zip(map(tuple, topology.crease_edges.tolist()), topology.creases.tolist(), strict=True))
    places = iter(quads[len(quads) // 4 :: 9])

    def edit() -> None:
        others = list(faces)
        a, b, c, d = others.pop(next(places))
        edited = [*others, [a, b, c], [a, c, d]]
        skin_stencil(topology_of_faces(len(cage.points), edited, creases=creases, on_plane=topology.on_plane), level, blocks)

    return median_ms(edit)


def apply_row(cage: Cage, level: int, count: str, goal: float | None) -> BenchRow:
    position = skin_stencil(cage.topology, level).position
    shape = (position.row_count, len(cage.points))
    matrix = sparse.csr_matrix((position.weight, position.index, position.starts), shape=shape)
    x_matrix = sparse.csr_matrix((position.x_weight, position.index, position.starts), shape=shape)
    ours = median_ms(lambda: position.apply(cage.points), 20)
    scipys = median_ms(lambda: (x_matrix @ cage.points[:, :1], matrix @ cage.points[:, 1:]), 20)
    return BenchRow(f"stencil times cage, {count} (ms); reference: scipy, sparse", ours, scipys, goal)


def host_ms(cage: Cage, level: int) -> float:
    """The host's modifiers on a mesh that is new to them."""
    times = []
    for _ in range(sized(5, 1)):
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        ob = make_cage_object(cage, "cage", bpy.context.collection, level=level)
        start = time.perf_counter()
        evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
        evaluated.to_mesh()
        times.append(time.perf_counter() - start)
        evaluated.to_mesh_clear()
    return 1000 * statistics.median(times)
