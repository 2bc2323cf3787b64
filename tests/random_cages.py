# SPDX-License-Identifier: GPL-3.0-or-later
"""Cages of the kinds that builders make: grids with poles, triangles, n-gons, holes, creases, whole or half."""

import numpy as np

from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.cage_problems import fatal_problems
from addon.core.skin.subdivision.whole_cage import whole_cage


def grid_faces(rows, columns):
    """Faces of a grid of rows by columns points; point i * columns + j; counterclockwise seen from +z."""

    def number(i, j):
        return i * columns + j

    return [
        [number(i, j), number(i, j + 1), number(i + 1, j + 1), number(i + 1, j)]
        for i in range(rows - 1)
        for j in range(columns - 1)
    ]


def grid_points(rows, columns, rng, roughness=0.2):
    """Points of such a grid, one apart, each moved by a random step."""
    flat = np.array([[j, i, 0.0] for i in range(rows) for j in range(columns)])
    return flat + rng.normal(0.0, roughness, flat.shape)


def random_cage(seed):
    """A cage of at most 40 faces; the seed decides all."""
    rng = np.random.default_rng(seed)
    rows, columns = (int(n) for n in rng.integers(3, 6, 2))
    points = grid_points(rows, columns, rng)
    faces = _changed(grid_faces(rows, columns), columns, rng)
    on_plane = None
    if rng.random() < 0.5:
        on_plane = [k % columns == 0 for k in range(len(points))]
        points[on_plane, 0] = rng.choice([0.0, 4e-4])
    edges = sorted({tuple(sorted((face[k - 1], face[k]))) for face in faces for k in range(len(face))})
    creases, point_creases = {}, {}
    if rng.random() < 0.6:
        for edge in edges:
            if rng.random() < 0.25:
                creases[edge] = float(np.float32(rng.choice([1.0, rng.uniform(0.05, 0.95)])))
    if rng.random() < 0.4:
        for point in range(len(points)):
            if rng.random() < 0.15:
                point_creases[point] = float(np.float32(rng.choice([1.0, rng.uniform(0.05, 0.95)])))
    topology = topology_of_faces(
        len(points),
        faces,
        creases=creases,
        point_creases=point_creases,
        on_plane=on_plane,
        keep_corners=bool(rng.random() < 0.4),
    )
    if fatal_problems(topology, whole_cage(topology)) or _crease_ends_at_two_edges(edges, creases):
        return random_cage(seed + 100_000)
    return Cage(topology, np.asarray(points, dtype=np.float32).astype(np.float64))


def _crease_ends_at_two_edges(edges, creases):
    """The host's patch is torn there (OpenSubdiv counts points of its ring twice), so there is nothing to be equal to."""
    edges_at = {}
    for edge in edges:
        for point in edge:
            edges_at.setdefault(point, []).append(creases.get(edge, 0.0))
    return any(len(values) == 2 and max(values) == 1.0 > min(values) for values in edges_at.values())


def _changed(faces, columns, rng):
    """Some faces cut into triangles, some joined with the next, some taken out."""
    result, number = [], 0
    while number < len(faces):
        face, choice = faces[number], rng.random()
        if choice < 0.12:
            result += [[face[0], face[1], face[2]], [face[0], face[2], face[3]]]
        elif choice < 0.24 and (number + 1) % (columns - 1):
            following = faces[number + 1]
            result.append([face[0], face[1], following[1], following[2], face[2], face[3]])
            number += 1
        elif choice >= 0.30:
            result.append(face)
        number += 1
    return result or faces
