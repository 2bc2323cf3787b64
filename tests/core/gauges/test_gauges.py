# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies of the gauges, united, and held against the tire, the skin and the mount that they gauge."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import JobError, ShapeError
from addon.core.base.wheel_axes import point_at, radius_of, station_of
from addon.core.gauges.crown_strip import crown_strip
from addon.core.gauges.drilling_gauge import drilling_gauge
from addon.core.gauges.gauge import Gauge
from addon.core.gauges.gauge_mesh import gauge_mesh
from addon.core.gauges.label import Row, fitted, rows_on
from addon.core.gauges.tire_comb import tire_comb
from addon.core.job.job_sheet import Job, parse_job
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.seat.mount import MountFrame, mount_frame
from addon.core.tables.fasteners import CLEARANCE_HOLE

DATE = "2026-11-25"
PROFILE = [[0, 0], [10, 0.8], [20, 3.2], [30, 7.5], [40, 14.2], [50, 24.5], [57, 36], [60, 45]]
TUBE = 90.0

FLOAT_MM = 4e-5
"""What 32 bits of a file round a coordinate of 400 mm by, in three directions."""


def _job(side: str = "under", **printer: object) -> Job:
    return parse_job(
        {
            "name": "Test",
            "tire": {"size": "120/70 ZR17", "measured_radius": 300.0, "measured_width": 120.0, "profile": PROFILE},
            "mount": {
                "height": 32.0, "ahead": 20.0, "tilt": 3.0, "side": side, "bolts": [[-25, -20], [25, -20], [25, 20], [-25, 20]],
                "thread": "M6", "pad": 14.0, "plate": [60, 50, 4],
            },
            "clearance": {"gap": 10.0},
            "wall": {"thickness": 3.0},
            "cage": {"front": 40.0, "rear": -80.0},
            "printer": printer,
        }
    )  # fmt: skip


def _crown(job: Job, frame: MountFrame) -> float:
    return float(frame.origin @ frame.up) + (-0.3 if job.mount.side == "under" else 3.3)


def _sheet(job: Job, frame: MountFrame) -> Surface:
    """A part of a torus about the axle, tangent to the mount plane but for 0.3 mm: true normals, tube radius TUBE."""
    across, station = np.linspace(-0.95, 0.95, 61), np.linspace(-82.0, 42.0, 121)
    s, a = np.meshgrid(station, across, indexing="ij")
    points = point_at(_crown(job, frame) - TUBE + TUBE * np.cos(a), s, TUBE * np.sin(a)).reshape(-1, 3)
    normals = (point_at(np.cos(a), s, np.sin(a))).reshape(-1, 3)
    i = (np.arange(120)[:, None] * 61 + np.arange(60)).ravel()
    return surface_of_quads(points, normals, np.column_stack([i, i + 61, i + 62, i + 1]))


def _united(gauge: Gauge) -> TriangleMesh:
    for mesh in (*gauge.solids, *gauge.cuts):
        assert mesh.is_closed and mesh.volume > 0.0
    return gauge_mesh(gauge)


def _on_bed(gauge: Gauge, mesh: TriangleMesh) -> np.ndarray:
    return mesh.vertices @ gauge.to_print[:3, :3].T + gauge.to_print[:3, 3]


@cache
def _strip(side: str, station: float) -> tuple[tuple[Gauge, ...], tuple[TriangleMesh, ...]]:
    job = _job(side)
    frame = mount_frame(job)
    gauges = crown_strip(job, frame, _sheet(job, frame), station, DATE)
    return gauges, tuple(_united(gauge) for gauge in gauges)


def _trimesh(mesh: TriangleMesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)


def _largest(mesh: TriangleMesh) -> trimesh.Trimesh:
    parts = _trimesh(mesh).split(only_watertight=False)
    whole = max(parts, key=lambda part: abs(part.volume))
    assert sum(abs(part.volume) for part in parts) - abs(whole.volume) < 0.1
    return whole


def test_comb_lies_on_the_tire_without_a_gap() -> None:
    job = _job()
    mesh = _largest(_united(tire_comb(job, DATE)))
    assert mesh.is_volume
    profile = np.array(PROFILE, dtype=float)
    for x in np.linspace(-59.0, 59.0, 41):
        hits = mesh.ray.intersects_location([[x, 0.3, 0.0]], [[0.0, 0.0, 1.0]])[0]
        rho = 300.0 - np.interp(abs(x), profile[:, 0], profile[:, 1])
        # The comb's edge is the convex profile, which may bridge a chord of the measured one.
        assert hits[:, 2].min() == pytest.approx(rho, abs=0.05)


def test_comb_too_wide_for_the_bed_is_a_half_and_a_tiny_bed_is_refused() -> None:
    whole = tire_comb(_job(), DATE)
    half = tire_comb(_job(bed=[90.0, 90.0, 100.0]), DATE)
    assert whole.name == "tire_comb" and half.name == "tire_comb_half"
    mesh = _largest(_united(half))
    assert mesh.is_volume and mesh.bounds[0, 0] == pytest.approx(-8.0) and mesh.bounds[1, 0] == pytest.approx(66.0)
    with pytest.raises(JobError, match=r"printer\.bed: half of the tire comb"):
        tire_comb(_job(bed=[60.0, 60.0, 60.0]), DATE)


@pytest.mark.parametrize("side", ["under", "over"])
def test_drilling_gauge_has_the_holes_of_the_pattern(side: str) -> None:
    job = _job(side)
    frame = mount_frame(job)
    mesh = _united(drilling_gauge(job, frame, DATE))
    assert mesh.is_closed
    _, above = frame.to_plane(mesh.vertices)
    away = -above if side == "under" else above
    assert away.min() == pytest.approx(0.0, abs=FLOAT_MM) and 3.0 + 0.79 < away.max() < 4.1
    solid = _largest(mesh)
    radius = 0.5 * CLEARANCE_HOLE["M6"]["medium"]
    sign = -1.0 if side == "under" else 1.0
    for u, v in frame.bolts_uv:
        for r, inside in ((radius - 0.1, False), (radius + 0.1, True)):
            angle = np.linspace(0.0, 2.0 * np.pi, 12)
            ring = np.array([u, v]) + r * np.column_stack([np.cos(angle), np.sin(angle)])
            assert (solid.contains(frame.to_axes(ring, sign * 1.5)) == inside).all()
    # Edge marks: notches take the rim away on both axes of the pattern.
    rim = frame.outline(720)
    for axis in (0, 1):
        on_axis = rim[np.abs(rim[:, 1 - axis]) < 0.2]
        assert len(on_axis) and not solid.contains(frame.to_axes(on_axis * 0.985, sign * 1.5)).any()


@pytest.mark.parametrize(("side", "station"), [("under", 4.0), ("under", -30.0), ("over", 35.0), ("over", -2.0)])
def test_strip_is_one_closed_body_that_hangs_on_the_mount_face(side: str, station: float) -> None:
    (_,), (mesh,) = _strip(side, station)
    assert mesh.is_closed
    solid = _largest(mesh)
    assert solid.is_volume
    frame = mount_frame(_job(side))
    uv, above = frame.to_plane(np.asarray(solid.vertices))
    on_plate = (np.abs(uv) < [30.0, 25.0]).all(axis=1)
    if side == "under":
        assert above[on_plate].max() < 0.03
    touching = on_plate & (np.abs(above) < FLOAT_MM)
    assert touching.sum() >= 4 and np.ptp(uv[touching], axis=0).min() > 40.0
    # The tab is 3 mm thick, on the fender's side of the mount face: near a corner of the seat, away from strip and arm.
    corner = np.array([33.0, 27.0]) if station < 0.0 else np.array([33.0, -27.0])
    for depth, there in ((-0.1, False), (0.1, True), (2.9, True), (3.1, False)):
        at = frame.to_axes(corner, -depth if side == "under" else depth)
        assert bool(solid.contains(at[None])[0]) == there, depth
    radius = 0.5 * CLEARANCE_HOLE["M6"]["medium"]
    for bolt in frame.bolts_uv:
        inside = np.array([[0.0, 0.0], [radius - 0.1, 0.0], [0.0, 0.1 - radius]]) + bolt
        for height in (-40.0, -1.5, 1.5, 40.0):
            if side == "under" and height < -10.0 or side == "over" and height > 10.0 or abs(height) < 2.0:
                assert not solid.contains(frame.to_axes(inside, height)).any()


@pytest.mark.parametrize(("side", "station"), [("under", -30.0), ("over", 35.0)])
def test_faces_of_the_strip_are_those_of_the_wall(side: str, station: float) -> None:
    """In closed form: at the angle a about the tube, the skin is at radius TUBE, the inner face 3 mm under it."""
    job = _job(side)
    frame = mount_frame(job)
    (_,), (mesh,) = _strip(side, station)
    solid = _largest(mesh)
    ring = _crown(job, frame) - TUBE
    angle = np.array([-0.8, -0.45, -0.25, 0.25, 0.45, 0.8])
    for depth, inside in ((-0.05, False), (0.05, True), (2.95, True), (3.05, False)):
        tube = TUBE - depth
        points = point_at(ring + tube * np.cos(angle), station, tube * np.sin(angle))
        # Letters stand on the outer face; where one does, the point just outside is in it.
        if depth > 0.0:
            assert (solid.contains(points) == inside).all(), depth
        else:
            assert not solid.contains(point_at(ring + (TUBE + 1.3) * np.cos(angle), station, (TUBE + 1.3) * np.sin(angle))).any()


def test_strip_is_as_wide_as_asked_and_letters_stand_on_its_outer_face() -> None:
    job = _job()
    frame = mount_frame(job)
    for width in (10.0, 15.0):
        (gauge,) = crown_strip(job, frame, _sheet(job, frame), -30.0, DATE, width)
        mesh = _united(gauge)
        ahead = point_at(1.0, 60.0)
        aside = np.abs(mesh.vertices[:, 0]) > 20.0
        on_strip = aside & (np.abs(station_of(mesh.vertices) + 30.0) < 5.0)
        assert np.ptp(mesh.vertices[on_strip] @ ahead) == pytest.approx(width, abs=2 * FLOAT_MM)
        ring = _crown(job, frame) - TUBE
        tube = np.hypot(mesh.vertices[on_strip, 0], radius_of(mesh.vertices[on_strip]) - ring)
        assert tube.max() == pytest.approx(TUBE + 0.9, abs=0.2)


def test_reading_points_are_on_the_inner_face_and_expect_the_true_gap() -> None:
    job = _job()
    frame = mount_frame(job)
    (gauge,), (mesh,) = _strip("under", -30.0)
    assert {point.name for point in gauge.points} == {"C", "L1", "R1", "L2", "R2"}
    profile = np.array(PROFILE, dtype=float)
    x = np.linspace(-60.0, 60.0, 12001)
    rho = 300.0 - np.interp(np.abs(x), profile[:, 0], profile[:, 1])
    ring = _crown(job, frame) - TUBE
    for point in gauge.points:
        at = frame.origin + point.position @ np.stack([frame.x, frame.forward, frame.up])
        assert station_of(at) == pytest.approx(-30.0, abs=1e-6)
        assert np.hypot(at[0], radius_of(at) - ring) == pytest.approx(TUBE - 3.0, abs=0.02)
        assert point.expected_mm == pytest.approx(np.hypot(x - at[0], rho - radius_of(at)).min(), abs=0.02)
        assert at[0] > 0.0 if point.name.startswith("L") else at[0] <= 0.0
        # The notch is open at the front edge there.
        edge = at + 5.6 * point_at(1.0, 60.0) + 1.5 * np.array([0.0, *(at[1:] / radius_of(at))])
        if point.name != "C":
            assert not _largest(mesh).contains(edge[None])[0]


def test_far_strip_comes_in_pieces_that_fit_each_other() -> None:
    gauges, meshes = _strip("under", -80.0)
    assert len(gauges) == 3 and "bolted from 3 pieces" in " ".join(gauges[0].cautions)
    solids = [_largest(mesh) for mesh in meshes]
    assert all(solid.is_volume for solid in solids)
    for one, two in pairwise(solids):
        shared = trimesh.boolean.intersection([one, two], engine="manifold")
        assert abs(shared.volume) < 1.0
        both = np.concatenate([one.bounds, two.bounds])
        assert both[0, 1] < both[3, 1] and both[2, 1] < both[1, 1]
    for gauge, mesh in zip(gauges, meshes, strict=True):
        size = np.ptp(_on_bed(gauge, mesh), axis=0)
        assert (size <= [210.0, 210.0, 240.0]).all()
        assert _on_bed(gauge, mesh).min() > -1e-4


@pytest.mark.parametrize("width", [10.0, 15.0])
def test_arm_too_tall_for_the_bed_is_cut_once_more_and_its_label_stays_off_the_thin_root(width: float) -> None:
    job = _job(bed=[220.0, 220.0, 190.0])
    frame = mount_frame(job)
    gauges = crown_strip(job, frame, _sheet(job, frame), -31.0, DATE, width)
    assert len(gauges) == 2
    for gauge in gauges:
        assert _largest(_united(gauge)).is_volume


def test_strip_wider_than_the_bed_is_the_left_half() -> None:
    job = _job(bed=[120.0, 100.0, 250.0])
    frame = mount_frame(job)
    (gauge,) = crown_strip(job, frame, _sheet(job, frame), 4.0, DATE)
    assert gauge.name.endswith("_left") and {point.name for point in gauge.points} == {"C", "L1", "L2"}
    assert _largest(_united(gauge)).is_volume


def test_what_cannot_be_printed_is_refused_with_its_reason() -> None:
    job = _job()
    frame = mount_frame(job)
    sheet = _sheet(job, frame)
    with pytest.raises(JobError, match="10 to 15 mm"):
        crown_strip(job, frame, sheet, 0.0, DATE, 20.0)
    with pytest.raises(JobError, match="no section there"):
        crown_strip(job, frame, sheet, 120.0, DATE)
    tiny = replace(job, printer=replace(job.printer, bed=(70.0, 70.0, 70.0)))
    with pytest.raises(JobError, match=r"printer\.bed"):
        crown_strip(tiny, frame, sheet, -60.0, DATE)


def test_labels_hold_job_station_direction_and_date_or_are_refused() -> None:
    rows = rows_on(0, (0.0, 0.0), 50.0, 11.0, 1.0)
    assert len(rows) == 2 and all(row.height >= 4.0 for row in rows)
    lines, cautions = fitted(rows, ("ST-30 \u2191", DATE), "A very long name", 1.0, "strip")
    text = " ".join(line.text for line in lines)
    assert "ST-30 \u2191" in text and DATE in text and cautions
    short, _ = fitted([Row(0, (0.0, 0.0), 33.0, 5.0), Row(0, (0.0, 6.0), 33.0, 5.0)], ("ST-30 \u2191", DATE), "", 1.0, "strip")
    assert any("20261125" in line.text for line in short)
    with pytest.raises(ShapeError, match="no room for the label"):
        fitted([Row(0, (0.0, 0.0), 20.0, 5.0)], (DATE,), "Test", 1.0, "strip")
