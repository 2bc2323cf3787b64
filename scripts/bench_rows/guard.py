# SPDX-License-Identifier: GPL-3.0-or-later
"""The guard on half fenders over a tire, beside what any method needs: the skin and its planes, once."""

import time

import numpy as np

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import point_at
from addon.core.bodies.meridian_body import MeridianBody
from addon.core.clearance.clearance_field import ClearanceField, Limit
from addon.core.shaping.guard import guard
from addon.core.shaping.guard_cache import GuardCache
from addon.core.skin.cage import topology_of_faces
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.skin.stencil_rows import StencilRows
from bench_row import BenchRow, median_ms, sized

ALONG, ACROSS = 16, 9
TOO_DEEP_MM = 25.0
MOUSE_STEP_MM = 3.0
REPEATS = sized(15, 1)


class Bench:
    """A half fender of 120 faces; 50 of its points are pushed down."""

    def __init__(self, level: int) -> None:
        station, x = np.meshgrid(np.linspace(-80.0, 45.0, ALONG), np.linspace(0.0, 70.0, ACROSS), indexing="ij")
        self.points = point_at((345.0 - x**2 / 150.0).ravel(), station.ravel(), x.ravel())
        grid = np.arange(ALONG * ACROSS).reshape(ALONG, ACROSS)
        faces = np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]], axis=-1).reshape(-1, 4)
        self.on_plane = np.isin(np.arange(grid.size), grid[:, 0])
        topology = topology_of_faces(grid.size, faces.tolist(), on_plane=self.on_plane)
        self.stencil: StencilRows = skin_stencil(topology, level).position
        across = np.linspace(0.0, 60.0, 40)
        tire = MeridianBody(np.stack([across, 230.0 + np.sqrt(75.0**2 - across**2)], axis=1))
        self.field = ClearanceField([Limit("tire", tire, 10.0)])
        self.moved = np.isin(np.arange(grid.size), grid[3:13, :5])
        self.cache = GuardCache()

    @property
    def skin_thousands(self) -> str:
        return f"{self.stencil.row_count / 1000:.0f},000 skin points"

    def pushed(self, depth: float) -> Array:
        down: Array = self.moved[:, None] * np.array([0.0, 0.0, depth])
        return self.points - down

    def guard(self, clear: Array, target: Array, rounds: int) -> Array:
        result = guard(
            clear,
            target,
            self.stencil,
            self.field,
            moved=self.moved,
            fixed_x=self.on_plane,
            rounds=rounds,
            cache=self.cache,
        )
        return result.points

    def from_rest(self, rounds: int) -> float:
        """ms, median, from the cage at rest to 25 mm too deep; the rest state is known, as it is between mouse steps."""
        room = float(self.field.excess(self.stencil.apply(self.points)).min())
        target = self.pushed(room + TOO_DEEP_MM)
        times = []
        for _ in range(REPEATS):
            self.guard(self.points + self.moved[:, None] * 1.0, self.points, 1)
            start = time.perf_counter()
            self.guard(self.points, target, rounds)
            times.append(time.perf_counter() - start)
        return 1000.0 * float(np.median(times))

    def dragging(self) -> Array:
        """ms of each of 40 mouse steps of 3 mm that begin at the contact."""
        room = float(self.field.excess(self.stencil.apply(self.points)).min())
        clear, times = self.points, []
        for depth in room + MOUSE_STEP_MM * np.arange(sized(40, 2)):
            target = self.pushed(depth)
            start = time.perf_counter()
            clear = self.guard(clear, target, 1)
            times.append(time.perf_counter() - start)
        return 1000.0 * np.array(times)

    def planes(self) -> float:
        """ms, median: the skin, and distance and normal at every point of it."""
        return median_ms(lambda: self.field.planes(self.stencil.apply(self.points)), REPEATS)


def rows() -> list[BenchRow]:
    usual = Bench(level=sized(4, 3))
    planes = usual.planes()
    size = f"{usual.skin_thousands}, 50 cage points moved"
    steps = usual.dragging()
    result = [
        BenchRow(
            f"guard, one round while dragging, {size} (ms); reference: skin and planes once", float(np.median(steps)), planes, 8.0
        ),
        BenchRow("guard, the same, 95th percentile of 40 mouse steps (ms)", float(np.percentile(steps, 95)), planes),
        BenchRow(f"guard, one round from rest to 25 mm too deep, {size} (ms)", usual.from_rest(1), planes, 8.0),
        BenchRow(f"guard, rest to 25 mm too deep, converged in 3 rounds, {size} (ms)", usual.from_rest(3), planes, 20.0),
    ]
    for level in sized((3, 5), (3,)):
        other = Bench(level)
        name = f"guard, one round while dragging, {other.skin_thousands} (ms)"
        result.append(BenchRow(name, float(np.median(other.dragging())), other.planes()))
    return result
