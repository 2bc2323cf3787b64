# SPDX-License-Identifier: GPL-3.0-or-later
"""Distance and gradient to the envelope, beside the host's tree in a loop and the search over all edges; the proof."""

from itertools import pairwise

import bpy  # noqa: F401  first: it brings mathutils
import numpy as np

from addon.core.base.arrays import Array, Index
from addon.core.base.wheel_axes import point_at
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.clearance.proof import proven_clearance
from bench_row import BenchRow, median_ms, sized

from mathutils.bvhtree import BVHTree  # isort: skip

_COUNT = sized(100_000, 2_000)
_SHARE_OF_TREE = 1 / 200


def rows() -> list[BenchRow]:
    body = MeridianBody(_profile())
    points = _points_around(body, _COUNT)
    tree = _tree(body)
    tree_ms = median_ms(lambda: _loop(tree, points), 3)
    ours_ms = median_ms(lambda: body.distance_and_gradient(points), 25)
    edges_ms = median_ms(lambda: _search_all_edges(body, points), 5)
    few = points[:1000]
    few_ms = median_ms(lambda: body.distance_and_gradient(few), 101)
    error = float(np.abs(body.distance(points) - _search_all_edges(body, points)).max())
    vertices, triangles = _skin_mesh(body)
    proof_ms = median_ms(lambda: proven_clearance(vertices, triangles, body), 5)
    return [
        BenchRow(
            f"distance and gradient, {_COUNT:,} points (ms); reference: host BVH loop", ours_ms, tree_ms, tree_ms * _SHARE_OF_TREE
        ),
        BenchRow(f"distance and gradient, {_COUNT:,} points (ms); reference: all edges, distance only", ours_ms, edges_ms),
        BenchRow("distance and gradient, 1,000 points (ms)", few_ms, goal=0.2),
        BenchRow("distance, largest difference from all edges (mm)", error, goal=1e-6),
        BenchRow("build the distance table (ms)", median_ms(lambda: MeridianBody(body.profile), 5)),
        BenchRow(f"prove the least clearance of {len(triangles):,} triangles (ms)", proof_ms, goal=1000.0),
    ]


def _profile() -> Array:
    x = np.linspace(0.0, 60.0, 61)
    return np.stack([x, 240.0 + np.sqrt(60.5**2 - x**2)], axis=1)


def _points_around(body: MeridianBody, count: int) -> Array:
    """From 10 mm deep to 45 mm away, past both sides; from a fixed seed."""
    rng = np.random.default_rng(100)
    rho = rng.uniform(body.largest_radius - 10.0, body.largest_radius + 45.0, count)
    return point_at(rho, rng.uniform(-90.0, 60.0, count), rng.uniform(-90.0, 90.0, count))


def _tree(body: MeridianBody) -> BVHTree:
    """The same body as the host would have it: quads, 720 about the axle."""
    section = np.vstack([body.profile[::-1] * [-1, 1], body.profile[1:]])
    stations = np.arange(720) * 0.5
    vertices = point_at(section[None, :, 1], stations[:, None], section[None, :, 0]).reshape(-1, 3)
    quads = _grid(len(stations), len(section), wraps=True)
    return BVHTree.FromPolygons(vertices.tolist(), quads.tolist())


def _loop(tree: BVHTree, points: Array) -> tuple[Array, Array]:
    distance, gradient = np.zeros(len(points)), np.zeros((len(points), 3))
    for i, point in enumerate(points):
        _, normal, _, distance[i] = tree.find_nearest(point)
        gradient[i] = normal
    return distance, gradient


def _search_all_edges(body: MeridianBody, points: Array) -> Array:
    corners = np.vstack([body.profile, [body.profile[-1, 0], 0.0]])
    x, rho = np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])
    least, highest = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    for start, end in pairwise(corners):
        length = np.hypot(*(end - start))
        along_x, along_rho = (end - start) / length
        away_x, away_rho = x - start[0], rho - start[1]
        t = np.clip(away_x * along_x + away_rho * along_rho, 0.0, length)
        least = np.minimum(least, (away_x - t * along_x) ** 2 + (away_rho - t * along_rho) ** 2)
        highest = np.maximum(highest, away_rho * along_x - away_x * along_rho)
    return np.copysign(np.sqrt(least), highest)


def _skin_mesh(body: MeridianBody) -> tuple[Array, Index]:
    """About 300,000 triangles 20 mm over the crown, drooping to the sides."""
    stations, x = np.linspace(-80.0, 35.0, sized(500, 50)), np.linspace(-70.0, 70.0, sized(301, 31))
    rho = body.largest_radius + 20.0 - 0.003 * x**2
    vertices = point_at(rho[None, :], stations[:, None], x[None, :]).reshape(-1, 3)
    quads = _grid(len(stations), len(x), wraps=False)
    return vertices, np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])


def _grid(rings: int, across: int, *, wraps: bool) -> Index:
    number = np.arange(rings * across).reshape(rings, across)
    following = np.roll(number, -1, axis=0)
    if not wraps:
        number, following = number[:-1], following[:-1]
    corners = (number[:, :-1], following[:, :-1], following[:, 1:], number[:, 1:])
    quads: Index = np.stack(corners, axis=-1)
    return quads.reshape(-1, 4)
