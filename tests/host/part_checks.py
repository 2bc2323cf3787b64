# SPDX-License-Identifier: GPL-3.0-or-later
"""What must hold for the pieces of any job, by outside libraries: manifold3d, trimesh, libigl with CGAL, scipy."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree

from addon.core.base.arrays import Array
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.seat.seat_offset import wall_shares
from addon.core.trim.trimmed import trimmed
from addon.core.wall.job_wall import thinnest
from addon.pipeline.job_result import JobResult
from tests.core.torus_surface import as_manifold, as_trimesh
from tests.crossing_pairs import crossing_pairs, crossing_places

_RAYS = 250


def check_sound(result: JobResult) -> None:
    """Every piece is closed, single, of one volume by two libraries, and crosses itself nowhere by exact arithmetic."""
    for part in result.finished.parts:
        solid, outside = as_manifold(part.mesh), as_trimesh(part.mesh)
        assert solid.status().name == "NoError" and len(solid.decompose()) == 1, part.name
        assert outside.is_watertight and outside.is_winding_consistent, part.name
        assert_allclose(solid.volume(), outside.volume, rtol=1e-9)
        assert (part.mesh.vertices == part.mesh.vertices.astype(np.float32)).all()
        assert not len(crossing_pairs(part.mesh)), (part.name, crossing_places(part.mesh)[:3])


def check_assembled(result: JobResult) -> None:
    """Put together the pieces are the whole less the gaps, to 0.1 % of the whole; none passes into another or out of it.

    The gaps are the fit times the mating faces, which manifold3d measures on the whole: its section at the cut, and in a lap
    what lies between its ends, by the wall. Where the wall is not the same all along the lap, or pins and keys make gaps of
    their own, only an upper bound holds.
    """
    pieces = [as_manifold(part.mesh) for part in result.finished.parts]
    whole, joint, job = as_manifold(result.finished.whole), result.finished.joint, result.job
    for i, one in enumerate(pieces):
        for other in pieces[:i]:
            assert (one ^ other).volume() < 1e-2
    together = sum(piece.volume() for piece in pieces)
    assert together - sum((piece ^ whole).volume() for piece in pieces) < 0.3
    if joint is None:
        assert_allclose(together, whole.volume(), rtol=1e-6)
        return
    turned = whole.translate(tuple(-joint.point)).transform(_facing_up(joint.normal))
    mating, along = turned.slice(0.0).area(), joint.half_length
    if along > 0.0:
        slab = turned.trim_by_plane((0.0, 0.0, 1.0), -along).trim_by_plane((0.0, 0.0, -1.0), -along)
        mating += slab.volume() / thinnest(job)
    missing, gaps = whole.volume() - together, joint.fit * mating
    if len(pieces) == 2 and job.split.locate == "bolts":
        assert 0.0 < missing < gaps + 1e-3 * whole.volume(), (missing, gaps)
        even = job.wall.seat == "land" and job.wall.edge != "bead" and thinnest(job) == job.wall.thickness
        assert not (even or along == 0.0) or missing > gaps - 1e-3 * whole.volume(), (missing, gaps)
    # no more than if the whole were lapped, and a fiftieth for holes of pins
    assert 0.0 < missing < (joint.fit / thinnest(job) + 0.02) * whole.volume()


def _facing_up(normal: Array) -> Array:
    """(3, 4) turn that takes a unit normal to z."""
    side = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
    side /= np.linalg.norm(side)
    return np.column_stack([np.stack([side, np.cross(normal, side), normal]), np.zeros(3)])


def check_clear(result: JobResult) -> None:
    """Distances of all corners to the tire by brute force over its profile: none under what is required or what is told."""
    points = np.concatenate([part.mesh.vertices for part in result.finished.parts])
    flat = np.column_stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])])
    profile = result.envelope.profile
    profile = np.concatenate([[[0.0, profile[0, 1]]], profile])
    start, way = profile[:-1], np.diff(profile, axis=0)
    way_length2 = np.maximum(np.square(way).sum(axis=1), 1e-12)
    least = np.inf
    for chunk in np.array_split(flat, max(1, len(flat) // 5000)):
        away = chunk[:, None, :] - start
        share = np.clip((away * way).sum(axis=2) / way_length2, 0.0, 1.0)
        least = min(least, float(np.linalg.norm(away - share[..., None] * way, axis=2).min()))
    assert result.tire.min_mm - 1e-3 <= least
    if not any(result.job.travel.axle_slot):
        assert least >= result.limits[0].required_mm - 0.03
    assert least <= result.tire.min_mm + 0.5


def check_wall(result: JobResult) -> None:
    """Wall by trimesh's rays along the skin's normals from inside of it, away from seats, edges and thinner tips.

    99 of 100 rays within 1 %, none off by more than two chords of 0.02 mm.
    """
    job, skin = result.job, result.skin
    if job.wall.front_thickness is not None or job.wall.rear_thickness is not None:
        return
    outward, inward = wall_shares(job.wall)
    points, normals = skin.points, skin.normals
    edge = trimmed(job, surface_of_quads(points, normals, skin.quads))
    far = 2.0 * job.wall.thickness + 6.0
    plain = cKDTree(edge.points[edge.boundary.vertex]).query(points)[0] > far
    plain &= cKDTree(edge.points).query(points)[0] < 2.0
    for placed in result.finished.seats:
        seat = placed.seat
        spread = float(np.linalg.norm(seat.bolts, axis=1).max()) + seat.pad + seat.blend + 5.0
        plain &= np.linalg.norm(points - seat.origin, axis=1) > spread
    chosen = np.random.default_rng(0).permutation(np.flatnonzero(plain))[:_RAYS]
    middle = points[chosen] + 0.5 * (outward - inward) * normals[chosen]
    mesh = as_trimesh(result.finished.whole)
    lengths = sum(_first_hit(mesh, middle, way * normals[chosen]) for way in (1.0, -1.0))
    off = np.abs(lengths - job.wall.thickness)
    assert len(chosen) < 30 or np.percentile(off, 99) < 0.01 * job.wall.thickness, np.percentile(off, [50, 99, 100])
    assert off.max(initial=0.0) < 0.04 + 0.005 * job.wall.thickness, off.max()


def _first_hit(mesh: object, starts: Array, ways: Array) -> Array:
    places, rays, _ = mesh.ray.intersects_location(starts, ways, multiple_hits=True)  # type: ignore[attr-defined]
    lengths = np.full(len(starts), np.inf)
    np.minimum.at(lengths, rays, np.linalg.norm(places - starts[rays], axis=1))
    return lengths
