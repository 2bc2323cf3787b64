# SPDX-License-Identifier: GPL-3.0-or-later
"""What a readout must say, worked out anew from the scene as the host evaluates it: closed forms, and libigl for meshes.

Nothing here is taken from what the extension keeps of a scene.
"""

from __future__ import annotations

from functools import lru_cache

import bmesh
import bpy
import igl
import numpy as np

from addon.core.base.arrays import Array
from addon.core.base.tolerances import TOLERANCES
from addon.core.bodies.capsule import Capsule
from addon.core.clearance.clearance_field import PLATE, TIRE, clearance_field
from addon.core.clearance.envelope import envelope
from addon.core.job.job_sheet import Job, Keepout
from addon.core.seat.mount import mount_frame
from addon.ui.state.job_values import read_job
from tests.host.extension_scene import settings, shown_skin


def mesh_object(name: str, center: tuple[float, float, float], size: float = 40.0, segments: int = 0) -> bpy.types.Object:
    """A closed mesh in the scene: a cube, or a ball of so many segments."""
    mesh, bm = bpy.data.meshes.new(name), bmesh.new()
    if segments:
        bmesh.ops.create_uvsphere(bm, u_segments=segments, v_segments=segments // 2, radius=0.5 * size)
    else:
        bmesh.ops.create_cube(bm, size=size)
    bm.to_mesh(mesh)
    bm.free()
    ob = bpy.data.objects.new(name, mesh)
    ob.location = center
    bpy.context.scene.collection.objects.link(ob)
    return ob


def keep_out(ob: bpy.types.Object, gap: float = 5.0) -> None:
    """A keep-out of the job that is this object."""
    entry = settings().keepouts.add()
    entry.name, entry.kind, entry.gap = ob.name, "mesh", gap
    entry.mesh_object = ob


def true_excess() -> float:
    """Least room of the skin that the host shows over what is required, mm, both halves."""
    job, skin = read_job(settings()), shown_skin()
    required = required_of(job)
    least = float(tire_distance(job, skin).min()) - required[TIRE]
    for keepout in job.keepouts:
        if keepout.scallop is None:
            least = min(least, float(keepout_distance(keepout, skin).min()) - required[keepout.name])
    if job.mount.plate is not None:
        plate = float(plate_distance(job, skin).min()) - required[PLATE]
        least = min(least, plate if plate < -TOLERANCES.clear else np.inf)
    return least


@lru_cache(maxsize=8)
def required_of(job: Job) -> dict[str, float]:
    """What a skin must keep from each limit, mm, by name; it does not hang on where a body is."""
    anywhere = Capsule([0.0, 0.0, 900.0], [0.0, 0.0, 910.0], 1.0)
    return {limit.name: limit.required_mm for limit in clearance_field(job, mesh_body=lambda _: anywhere).limits}


def tire_distance(job: Job, points: Array) -> Array:
    """To the profile turned about the axle, filled: to its segments in the half plane, negative inside of the polygon."""
    profile = envelope(job).profile
    flat = np.column_stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])])
    closed = np.vstack([[0.0, profile[0, 1]], profile, [profile[-1, 0], 0.0]])
    start, along = closed[:-1], np.diff(closed, axis=0)
    length = np.einsum("ij,ij->i", along, along)
    keep = length > 0.0
    start, along, length = start[keep], along[keep], length[keep]
    off = flat[:, None] - start
    share = np.clip(np.einsum("nij,ij->ni", off, along) / length, 0.0, 1.0)
    away = np.linalg.norm(off - share[..., None] * along, axis=2).min(axis=1)
    inside = (along[:, 0] * off[..., 1] - along[:, 1] * off[..., 0] <= 0.0).all(axis=1)
    return np.where(inside, -away, away)


def keepout_distance(keepout: Keepout, points: Array) -> Array:
    """To a capsule or a mesh object, which stand still."""
    if keepout.kind == "capsule":
        a, b = np.array(keepout.a), np.array(keepout.b)
        share = np.clip((points - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
        return np.asarray(np.linalg.norm(points - a - share[:, None] * (b - a), axis=1) - keepout.radius)
    assert keepout.object is not None
    vertices, triangles = world_triangles(bpy.data.objects[keepout.object])
    sign = igl.SIGNED_DISTANCE_TYPE_WINDING_NUMBER
    return np.asarray(igl.signed_distance(points, vertices, triangles, sign_type=sign)[0])


def world_triangles(ob: bpy.types.Object) -> tuple[Array, np.ndarray]:
    """Vertices (n, 3) and triangles (m, 3) of an object as the host shows it; of one that is disabled as its own values have it."""
    evaluated = ob.evaluated_get(bpy.context.evaluated_depsgraph_get())
    mesh = evaluated.to_mesh()
    try:
        mesh.calc_loop_triangles()
        flat = np.zeros(3 * len(mesh.vertices), np.float32)
        mesh.vertices.foreach_get("co", flat)
        corners = np.zeros(3 * len(mesh.loop_triangles), np.int32)
        mesh.loop_triangles.foreach_get("vertices", corners)
    finally:
        evaluated.to_mesh_clear()
    matrix = np.array(ob.matrix_basis if ob.hide_viewport else evaluated.matrix_world, np.float64)
    turned = np.linalg.det(matrix[:3, :3]) < 0.0
    triangles = corners.reshape(-1, 3).astype(np.int64)
    vertices = flat.reshape(-1, 3).astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]
    return vertices, triangles[:, ::-1].copy() if turned else triangles


def plate_distance(job: Job, points: Array) -> Array:
    """To the bracket's plate, a box on its side of the mount plane."""
    assert job.mount.plate is not None
    frame, size = mount_frame(job), np.array(job.mount.plate)
    middle = frame.origin + (0.5 if job.mount.side == "under" else -0.5) * size[2] * frame.up
    out = np.abs((points - middle) @ np.stack([frame.x, frame.forward, frame.up], axis=1)) - 0.5 * size
    return np.asarray(np.linalg.norm(np.maximum(out, 0.0), axis=1) + np.minimum(out.max(axis=1), 0.0))
