# SPDX-License-Identifier: GPL-3.0-or-later
"""Made-up scans with known answers: a tire, what stands around it, noise, stray points, and any pose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RADIUS, WIDTH, HALF_HEIGHT = 300.0, 120.0, 46.0
NOTHING = np.zeros((0, 3), np.int64)


@dataclass(frozen=True)
class Pose:
    """scan = rotation @ wheel + shift."""

    rotation: np.ndarray
    shift: np.ndarray

    def scan(self, wheel: np.ndarray) -> np.ndarray:
        return np.asarray(wheel) @ self.rotation.T + self.shift


def random_pose(rng: np.random.Generator) -> Pose:
    q, r = np.linalg.qr(rng.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return Pose(q * np.linalg.det(q), rng.normal(0.0, 1000.0, 3))


def section(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Offset and radius of the tire's half-ellipse section at its parameter t, 0 at the crown, +-90 degrees at the sides."""
    return 0.5 * WIDTH * np.sin(t), RADIUS - HALF_HEIGHT * (1.0 - np.cos(t))


def tire(rng: np.random.Generator, count: int, arc_deg: float = 360.0, middle_deg: float = 0.0, tread: float = 0.0) -> np.ndarray:
    """Points spread evenly over the tire, in wheel axes; tread : depth of slanting grooves, a quarter of the crown."""
    fine = np.radians(np.linspace(-110.0, 110.0, 4001))
    x, rho = section(fine)
    length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(rho)))])
    at = rng.random(count) * length[-1]
    x, rho = np.interp(at, length, x), np.interp(at, length, rho)
    station = np.radians(middle_deg + arc_deg * (rng.random(count) - 0.5))
    groove = (np.sin(60.0 * station + x / 10.0) > 0.75) & (np.abs(x) < 0.42 * WIDTH)
    rho = rho - tread * groove
    return np.column_stack([x, -rho * np.sin(station), rho * np.cos(station)])


@dataclass(frozen=True)
class Knobs:
    """Rows of knobs on the tire, in bond: depth of the grooves, mm; land, share of the tread that the tops take; rows across; pitch of
    the knobs, degrees"""

    depth: float
    land: float
    rows: int = 5
    pitch_deg: float = 7.0

    def points(self, rng: np.random.Generator, count: int, arc_deg: float = 360.0, middle_deg: float = 0.0) -> np.ndarray:
        """Points spread evenly over the tire, in wheel axes; its sides, past 65 degrees of the section, are plain. The tops are the
        section itself."""
        fine = np.radians(np.linspace(-110.0, 110.0, 4001))
        x, rho = section(fine)
        length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(rho)))])
        t = np.interp(rng.random(count) * length[-1], length, fine)
        station = np.radians(middle_deg + arc_deg * (rng.random(count) - 0.5))
        row = (np.degrees(t) + 65.0) / 130.0 * self.rows
        along = np.degrees(station) / self.pitch_deg + 0.5 * (np.floor(row) % 2.0)
        half = 0.5 * np.sqrt(self.land)
        top = (np.abs(row % 1.0 - 0.5) < half) & (np.abs(along % 1.0 - 0.5) < half)
        low = np.where((np.abs(np.degrees(t)) < 65.0) & ~top, self.depth, 0.0)
        x, rho = section(t)
        slope_x, slope_rho = 0.5 * WIDTH * np.cos(t), -HALF_HEIGHT * np.sin(t)
        steep = np.hypot(slope_x, slope_rho)
        x, rho = x + low * slope_rho / steep, rho - low * slope_x / steep
        return np.column_stack([x, -rho * np.sin(station), rho * np.cos(station)])


def leg(rng: np.random.Generator, count: int, x: float) -> np.ndarray:
    """A fork leg: a cylinder of radius 25 beside the wheel, behind the axle."""
    t = 2.0 * np.pi * rng.random(count)
    return np.column_stack([x + 25.0 * np.cos(t), 30.0 + 25.0 * np.sin(t), rng.uniform(-20.0, 600.0, count)])


def disc(rng: np.random.Generator, count: int, x: float = 70.0) -> np.ndarray:
    """A brake disc on one side."""
    rho, t = np.sqrt(rng.uniform(70.0**2, 155.0**2, count)), 2.0 * np.pi * rng.random(count)
    return np.column_stack([np.full(count, x), rho * np.cos(t), rho * np.sin(t)])


def spokes(rng: np.random.Generator, count: int) -> np.ndarray:
    """Five cast spokes with an elliptic section."""
    rho, turn, t = rng.uniform(60.0, 200.0, count), 0.4 * np.pi * rng.integers(0, 5, count), 2.0 * np.pi * rng.random(count)
    side = 18.0 * np.cos(t)
    return np.column_stack([12.0 * np.sin(t), rho * np.cos(turn) - side * np.sin(turn), rho * np.sin(turn) + side * np.cos(turn)])


@dataclass(frozen=True)
class Plate:
    """A mount plate over the wheel as the job sheet describes it."""

    height: float = 52.0
    ahead: float = 18.0
    tilt_deg: float = 5.0
    bolts: tuple[tuple[float, float], ...] = ((-25.0, -15.0), (25.0, -15.0), (-25.0, 15.0), (25.0, 15.0))
    hole: float = 6.6

    @property
    def forward(self) -> np.ndarray:
        return np.array([0.0, -np.cos(np.radians(self.tilt_deg)), np.sin(np.radians(self.tilt_deg))])

    @property
    def origin(self) -> np.ndarray:
        """Mount plane of the design: z = height cos tilt + sqrt(R^2 - (ahead + height sin tilt)^2)."""
        c, s = np.cos(np.radians(self.tilt_deg)), np.sin(np.radians(self.tilt_deg))
        return np.array([0.0, -self.ahead, self.height * c + np.sqrt(RADIUS**2 - (self.ahead + self.height * s) ** 2)])

    def points(self, rng: np.random.Generator, count: int) -> np.ndarray:
        flat = np.column_stack([rng.uniform(-40.0, 40.0, 2 * count), rng.uniform(-30.0, 30.0, 2 * count)])
        solid = np.ones(len(flat), bool)
        for bolt in self.bolts:
            solid &= np.hypot(*(flat - bolt).T) > 0.5 * self.hole
        flat = flat[solid][:count]
        return self.origin + flat[:, :1] * [1.0, 0.0, 0.0] + flat[:, 1:] * self.forward


def front_end(
    rng: np.random.Generator, count: int, arc_deg: float = 360.0, tread: float = 0.0, plate: Plate | None = None
) -> np.ndarray:
    """Tire, two fork legs, a brake disc on the left, spokes and a mount plate, in wheel axes."""
    return np.concatenate(
        [
            tire(rng, int(0.4 * count), arc_deg, -20.0, tread),
            leg(rng, int(0.13 * count), 95.0),
            leg(rng, int(0.13 * count), -95.0),
            disc(rng, int(0.09 * count)),
            spokes(rng, int(0.1 * count)),
            (plate or Plate()).points(rng, int(0.15 * count)),
        ]
    )


def disturbed(rng: np.random.Generator, points: np.ndarray, noise: float, strays: float, reach: float = 500.0) -> np.ndarray:
    """Points with normal noise, a share of them replaced by stray points in a box about their middle."""
    noisy = points + rng.normal(0.0, noise, points.shape)
    stray = rng.random(len(points)) < strays
    noisy[stray] = points.mean(axis=0) + rng.uniform(-reach, reach, (np.count_nonzero(stray), 3))
    return noisy
