# SPDX-License-Identifier: GPL-3.0-or-later
"""A scan of 2,000,000 points to wheel axes, beside RANSAC by trimesh's spheres and a torus by scipy's robust least squares.

The reference is given the points about the tire only, which ours has to find by itself."""

import time

import numpy as np
import trimesh
from scipy.optimize import least_squares

from addon.core.scan.alignment.align_scan import align_scan
from addon.core.scan.data.scan_data import Scan
from bench_row import BenchRow, sized
from tests.core.scan.scan_scenes import NOTHING, Pose, disturbed, front_end, random_pose

COUNT, EXACT_COUNT = sized((2_000_000, 200_000), (60_000, 60_000))
FOURS, TRIED = sized((200, 5_000), (20, 500))


def rows() -> list[BenchRow]:
    rng = np.random.default_rng(1)
    pose = random_pose(rng)
    scan = pose.scan(disturbed(rng, front_end(rng, COUNT, 200.0), 0.1, 0.05))
    start = time.perf_counter()
    found = align_scan(Scan(scan, NOTHING))
    ours = time.perf_counter() - start
    start = time.perf_counter()
    center, axis = generic_torus(about_tire(scan, pose), rng)
    reference = time.perf_counter() - start
    exact = pose.scan(front_end(rng, EXACT_COUNT, 200.0))
    exactly = align_scan(Scan(exact, NOTHING))
    true = pose.shift, pose.rotation[:, 0]
    return [
        BenchRow(
            f"scan of {COUNT:,} points to wheel axes (s); reference: random spheres and scipy's torus on the tire's points",
            ours,
            reference,
            5.0,
        ),
        BenchRow("axle off, 0.1 mm noise (mm)", off(found.axis.point, *true), off(center, *true), 0.3),
        BenchRow("axle turned, 0.1 mm noise (deg)", turned(found.axis.direction, true[1]), turned(axis, true[1]), 0.1),
        BenchRow("axle off, no noise (mm)", off(exactly.axis.point, *true), None, 0.05),
        BenchRow("axle turned, no noise (deg)", turned(exactly.axis.direction, true[1]), None, 0.02),
    ]


def about_tire(scan: np.ndarray, pose: Pose) -> np.ndarray:
    """The points in a ring about the tire."""
    wheel = (scan - pose.shift) @ pose.rotation
    rho = np.hypot(wheel[:, 1], wheel[:, 2])
    return scan[(np.abs(wheel[:, 0]) < 66.0) & (rho > 230.0) & (rho < 310.0)]


def off(point: np.ndarray, on_axle: np.ndarray, axle: np.ndarray) -> float:
    return float(np.linalg.norm(np.cross(point - on_axle, axle)))


def turned(direction: np.ndarray, axle: np.ndarray) -> float:
    return float(np.degrees(np.arcsin(min(float(np.linalg.norm(np.cross(direction, axle))), 1.0))))


def generic_torus(scan: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """What general libraries offer: spheres of trimesh through random fours give a start, scipy's robust loss the rest."""
    some = scan[rng.integers(0, len(scan), TRIED)]
    best, start = -1, None
    for _ in range(FOURS):
        middle, radius, _ = trimesh.nsphere.fit_nsphere(some[rng.integers(0, len(some), 4)])
        inside = np.abs(np.linalg.norm(some - middle, axis=1) - radius) < 10.0
        if 150.0 < radius < 450.0 and np.count_nonzero(inside) > best:
            best, start = int(np.count_nonzero(inside)), some[inside]
    assert start is not None
    middle = start.mean(axis=0)
    axis = np.linalg.svd(start - middle, full_matrices=False)[2][2]
    guess = np.concatenate([middle, axis, [240.0, 60.0]])

    def distance(p: np.ndarray) -> np.ndarray:
        direction = p[3:6] / np.linalg.norm(p[3:6])
        away = some - p[:3]
        along = away @ direction
        return np.hypot(np.linalg.norm(np.cross(away, direction), axis=1) - p[6], along) - p[7]

    solved = least_squares(distance, guess, loss="cauchy", f_scale=0.5, x_scale="jac").x
    return solved[:3], solved[3:6] / np.linalg.norm(solved[3:6])
