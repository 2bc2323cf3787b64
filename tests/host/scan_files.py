# SPDX-License-Identifier: GPL-3.0-or-later
"""Scan files of a made-up front end in a random pose, for tests that import them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh

from tests.core.scan_scenes import Plate, Pose, disturbed, front_end, random_pose

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
