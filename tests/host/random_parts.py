# SPDX-License-Identifier: GPL-3.0-or-later
"""Random parts: sheets with trims, edges, ramps, hardware, seats, splits and pieces, on cages pushed about as a builder does."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from addon.core.base.arrays import Array
from addon.core.base.wheel_axes import station_of
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import Job, job_to_dict, parse_job, read_job_sheet
from addon.core.seat.mount import mount_frame
from addon.core.shaping.restore import make_clear
from addon.core.shaping.seed import seed_cage
from addon.core.skin.cage import Cage, topology_of_faces
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil

DEMOS = Path(__file__).resolve().parents[2] / "blend_demo"
BASES = ("front_17", "front_21", "rear_17")

Table = dict[str, Any]


def random_tables(rng: np.random.Generator) -> Table:
    """The tables of a sheet: one of the demo's bikes with all else at random. Further seats come with the cage."""
    base = str(rng.choice(BASES))
    data = job_to_dict(read_job_sheet(DEMOS / f"{base}.toml"))
    cage = data["cage"]
    cage["front"] += float(rng.uniform(-6, 10))
    cage["rear"] -= float(rng.uniform(-2, 25))
    cage["half_width"] += float(rng.uniform(-2, 10))
    cage["side_drop"] += float(rng.uniform(-6, 8))
    cage["stations"], cage["columns"] = int(rng.integers(6, 9)), int(rng.integers(3, 6))
    mount = data["mount"]
    thickness = float(rng.uniform(2.6, 4.2))
    if rng.random() < 0.2:
        mount["hardware"] = str(rng.choice(["counterbore", "washer_flat", "countersink"]))
        thickness = float(rng.uniform(6, 8) if mount["hardware"] != "washer_flat" else rng.uniform(3.5, 5))
    data["wall"] = _wall(rng, thickness)
    data["edge"] = _edges(rng, thickness) if rng.random() < 0.3 else {}
    data["trim"] = {
        name: float(value) for name, value in (
            ("front_radius", rng.uniform(4, 50)), ("rear_radius", rng.uniform(4, 50)), ("corner", rng.uniform(0, 15)),
        ) if rng.random() < 0.7
    }  # fmt: skip
    data["trim_line"] = _lines(rng, cage)
    data["opening"] = _openings(rng, cage, float(station_of(mount_frame(parse_job(data)).origin)))
    data["keepout"] = _legs(rng, cage) if base != "rear_17" and rng.random() < 0.4 else []
    bed = float(rng.choice([220.0, 180.0, 150.0]))
    data["printer"] |= {"bed": [bed, bed, 250.0]}
    plane = str(rng.choice(["across", "along", "none"], p=[0.6, 0.2, 0.2]))
    in_line = plane == "along" and base == "front_21"
    data["split"] = {
        "plane": plane,
        "joint": "full_lap" if in_line else str(rng.choice(["butt", "lap", "full_lap"])),
        "lap": float(rng.uniform(8, 22)),
        "fit": float(rng.uniform(0.15, 0.4)),
        "pieces": str(rng.choice(["auto", "two"])),
        "pin": float(rng.choice([0.0, 2.0, 3.0])),
    }
    if rng.random() < 0.25:
        mount["slots"] = [[float(rng.uniform(1, 4)), float(rng.choice([0, 90, 35]))]]
        mount["pad"] += 4.0
    return data


def _wall(rng: np.random.Generator, thickness: float) -> Table:
    wall: Table = {
        "thickness": thickness,
        "side": str(rng.choice(["inside", "middle", "outside"])),
        "edge": str(rng.choice(["round", "bead", "square"], p=[0.5, 0.25, 0.25])),
        "seat": str(rng.choice(["land", "pad"])),
    }
    if rng.random() < 0.3:
        wall |= {"front_thickness": float(rng.uniform(0.6, 1.0)) * thickness, "ramp": float(rng.uniform(40, 120))}
    return wall


def _edges(rng: np.random.Generator, thickness: float) -> Table:
    edges: Table = {"run": float(rng.uniform(8, 40))}
    for name in ("front", "rear", "sides", "openings"):
        if rng.random() < 0.5:
            edges[name] = str(rng.choice(["round", "bead", "square"]))
            if edges[name] == "bead" and rng.random() < 0.5:
                edges[f"{name}_size"] = float(rng.uniform(0.55, 0.95)) * thickness
    return edges


def _lines(rng: np.random.Generator, cage: Table) -> list[Table]:
    lines: list[Table] = []
    stations = np.linspace(cage["rear"], cage["front"], 4)
    if rng.random() < 0.5:
        drops = cage["side_drop"] * rng.uniform(0.55, 0.95, 4)
        lines.append({"name": "low", "view": "drop", "points": np.column_stack([stations, drops]).tolist()})
    if rng.random() < 0.25:
        lines.append(
            {"name": "tail", "view": "side", "points": _across(rng, cage["rear"] + rng.uniform(3, 10), rng.uniform(-30, 30))}
        )
    if rng.random() < 0.15:
        width, ends = cage["half_width"] - float(rng.uniform(2, 8)), np.radians(stations[[0, -1]])
        along = -340.0 * np.sin(np.linspace(*ends, 4))
        points = np.column_stack([width + rng.uniform(-3, 3, 4), along])
        lines.append({"name": "waist", "view": "top", "points": points.tolist()})
    return lines


def _across(rng: np.random.Generator, station: float, lean: float) -> list[list[float]]:
    """A line in side view across the fender at a station, leaning from the wheel's radius there, with a knee in it."""
    angle, way = np.radians(station), np.radians(station + lean)
    out, along = np.array([-np.sin(way), np.cos(way)]), np.array([np.cos(way), np.sin(way)])
    middle = 340.0 * np.array([-np.sin(angle), np.cos(angle)])
    knee = middle + float(rng.uniform(-6, 6)) * along
    return [(middle - 90.0 * out).tolist(), knee.tolist(), (middle + 90.0 * out).tolist()]


def _openings(rng: np.random.Generator, cage: Table, seat: float) -> list[Table]:
    """Up to two, between the seat, at a station, and the ends of the fender."""
    openings = []
    for number, (one, other) in enumerate(((cage["rear"] + 9, seat - 16), (seat + 16, cage["front"] - 9))):
        if other < one or rng.random() < 0.6:
            continue
        width, both = float(rng.uniform(5, 10)), bool(rng.random() < 0.3)
        x = float(rng.uniform(-0.4, 0.4)) * cage["half_width"]
        openings.append(
            {
                "name": f"hose {number}",
                "station": float(rng.uniform(one, other)),
                "x": float(np.sign(x)) * (abs(x) + 16) if both else x,
                "length": width + float(rng.uniform(0, 14)),
                "width": width,
                "turn": float(rng.uniform(-90, 90)),
                "sides": "both" if both else "one",
            }
        )
    return openings


def _legs(rng: np.random.Generator, cage: Table) -> list[Table]:
    x, radius, scallop = cage["half_width"] + float(rng.uniform(6, 22)), float(rng.uniform(18, 28)), float(rng.uniform(0, 4))
    y = float(rng.uniform(-30, 60))
    return [
        {"name": f"leg {side:+d}", "kind": "capsule", "a": [side * x, y, 520.0], "b": [side * x, y - 20.0, 60.0], "radius": radius,
         "gap": 3.0, "scallop": scallop}
        for side in (1, -1)
    ]  # fmt: skip


def random_cage(job: Job, rng: np.random.Generator) -> Cage | None:
    """The seeded cage pushed, scaled, extruded and creased away from the seat, and made clear; None if it cannot be."""
    field = clearance_field(job)
    cage = seed_cage(job, field).cage
    points, faces, on_plane = cage.points.copy(), _faces(cage), cage.topology.on_plane
    away = np.linalg.norm(points - mount_frame(job).origin, axis=1) > float(rng.uniform(80, 110))
    creases: dict[tuple[int, int], float] = {}
    for change in rng.choice(["push", "noise", "scale", "extrude", "crease"], int(rng.integers(1, 4)), replace=False):
        if change == "push":
            at = points[int(rng.integers(len(points)))]
            near = np.exp(-0.5 * (np.linalg.norm(points - at, axis=1) / rng.uniform(30, 70)) ** 2)
            points += (away * near)[:, None] * rng.normal(0.0, 9.0, 3)
        elif change == "noise":
            points += away[:, None] * rng.normal(0.0, rng.uniform(0.5, 2.5), points.shape)
        elif change == "scale":
            points *= np.where(away[:, None], [float(rng.uniform(0.95, 1.12)), 1.0, float(rng.uniform(0.99, 1.03))], 1.0)
        elif change == "extrude":
            points, faces, on_plane = _extruded(points, faces, on_plane, job, rng)
            away = np.concatenate([away, np.ones(len(points) - len(away), bool)])
        elif change == "crease":
            start, columns = int(rng.integers(1, job.cage.columns - 1)), job.cage.columns
            strength = float(np.float32(rng.uniform(0.1, 0.7)))
            creases |= {(i * columns + start, (i + 1) * columns + start): strength for i in range(job.cage.stations - 1)}
    points[on_plane, 0] = 0.0
    topology = topology_of_faces(len(points), faces, creases=creases, on_plane=on_plane)
    made = make_clear(points, skin_stencil(topology, job.cage.level).position, field, fixed_x=on_plane)
    return Cage(topology, made.points) if made.clear else None


def _faces(cage: Cage) -> list[list[int]]:
    return [face.tolist() for face in np.split(cage.topology.corners, cage.topology.face_starts[1:-1])]


def _extruded(
    points: Array, faces: list[list[int]], on_plane: Array, job: Job, rng: np.random.Generator
) -> tuple[Array, list[list[int]], Array]:
    """The row of points at the front or rear end drawn out along the fender, or the outermost column downward."""
    columns, rows = job.cage.columns, job.cage.stations
    which = str(rng.choice(["front", "rear", "side"]))
    if which == "side":
        ring = [i * columns + columns - 1 for i in range(rows)]
        step = points[ring] - points[[i - 1 for i in ring]]
    else:
        ring = list(range(columns)) if which == "rear" else list(range((rows - 1) * columns, rows * columns))
        step = points[ring] - points[[i + (columns if which == "rear" else -columns) for i in ring]]
    step *= float(rng.uniform(8, 30)) / np.linalg.norm(step, axis=1, keepdims=True)
    step[on_plane[ring], 0] = 0.0
    new = len(points) + np.arange(len(ring))
    pairs = [(ring[i], ring[i + 1], int(new[i + 1]), int(new[i])) for i in range(len(ring) - 1)]
    turned = which == "rear"
    added = [list(pair[::-1]) if turned else list(pair) for pair in pairs]
    if _same_way(faces, added[0]):
        added = [face[::-1] for face in added]
    return np.concatenate([points, points[ring] + step]), faces + added, np.concatenate([on_plane, on_plane[ring]])


def _same_way(faces: list[list[int]], face: list[int]) -> bool:
    """Whether a face runs along an edge in the direction that one beside it does."""
    edges = {(one[k - 1], one[k]) for one in faces for k in range(len(one))}
    return any((face[k - 1], face[k]) in edges for k in range(len(face)))


def with_seat(data: Table, job: Job, cage: Cage, rng: np.random.Generator) -> Table:
    """The tables with a further seat on the skin, away from the mount, on its outer or inner face."""
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 3)))
    far = np.abs(station_of(whole.points) - float(station_of(mount_frame(job).origin)))
    choice = np.flatnonzero((far > 20.0) & (far < 32.0) & (np.abs(whole.points[:, 0]) < 0.4 * job.cage.half_width))
    if not len(choice):
        return data
    at = int(rng.choice(choice))
    outer = bool(rng.random() < 0.6)
    normal = whole.normals[at] if outer else -whole.normals[at]
    center = whole.points[at] + (float(rng.uniform(-1.0, 1.0))) * normal
    seat = {"name": "strut", "center": center.round(3).tolist(), "normal": normal.round(4).tolist(), "bolts": [[0, 9], [0, -9]],
            "thread": "M5", "blend": float(rng.uniform(14, 22)), "sides": "one"}  # fmt: skip
    return {**data, "seat": [seat]}


def random_part(seed: int) -> tuple[Job, Cage | None]:
    """The job and the cage of a seed; no cage where none is clear. Raises JobError where no cage can be seeded."""
    rng = np.random.default_rng([7, seed])
    data = random_tables(rng)
    job = parse_job(data)
    cage = random_cage(job, rng)
    if cage is not None and rng.random() < 0.2:
        job = parse_job(with_seat(data, job, cage, rng))
    return job, cage
