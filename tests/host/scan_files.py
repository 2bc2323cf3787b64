# SPDX-License-Identifier: GPL-3.0-or-later
"""Scan files of a made-up front end in a random pose, for tests that import them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh

from tests.core.scan.scan_scenes import Plate, Pose, disturbed, front_end, random_pose, section

COUNT = 100_000


def scan_points(seed: int = 5, arc_deg: float = 220.0, plate: Plate | None = None) -> tuple[np.ndarray, Pose]:
    """Noisy points of wheel, fork, disc and mount plate in a random pose, mm."""
    rng = np.random.default_rng(seed)
    pose = random_pose(rng)
    return pose.scan(disturbed(rng, front_end(rng, COUNT, arc_deg, plate=plate), 0.05, 0.02)), pose


def point_file(folder: Path, points: np.ndarray, name: str = "bike.ply") -> Path:
    path = folder / name
    path.write_bytes(trimesh.PointCloud(points).export(file_type="ply"))
    return path


def mesh_file(folder: Path) -> Path:
    """A mesh of a revolved tire and a plate with four holes over it, in wheel axes, its tire turned and fine enough to be marked."""
    t, station = np.radians(np.linspace(-110.0, 110.0, 61)), np.radians(np.linspace(0.0, 360.0, 181))
    x, rho = section(t)
    points = np.stack([x + 0.0 * station[:, None], -np.sin(station)[:, None] * rho, np.cos(station)[:, None] * rho], axis=-1)
    corner = (np.arange(180)[:, None] * 61 + np.arange(60)).ravel()
    quads = np.column_stack([corner, corner + 1, corner + 62, corner + 61])
    tire = trimesh.Trimesh(points.reshape(-1, 3), np.concatenate([quads[:, [0, 2, 1]], quads[:, [0, 3, 2]]]))
    plate = Plate()
    axes = np.stack([[1.0, 0.0, 0.0], plate.forward, np.cross([1.0, 0.0, 0.0], plate.forward)])
    bores = []
    for x_bolt, ahead in plate.bolts:
        bore = trimesh.creation.cylinder(0.5 * plate.hole, 20.0, sections=48)
        bores.append(bore.apply_translation([x_bolt, ahead, 0.0]))
    solid = trimesh.creation.box((80.0, 60.0, 5.0)).apply_translation([0.0, 0.0, -2.5])
    sheet = trimesh.boolean.difference([solid, *bores], engine="manifold")
    sheet.vertices = sheet.vertices @ axes + plate.origin  # the third axis looks at the tire, and so does the mount face
    path = folder / "front_end.stl"
    path.write_bytes(trimesh.util.concatenate([tire, sheet]).export(file_type="stl"))
    return path
