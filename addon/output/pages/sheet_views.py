# SPDX-License-Identifier: GPL-3.0-or-later
"""First page of the build sheet: what the job is, and the fender from three sides."""

from __future__ import annotations

import numpy as np

from ...core.base.arrays import Array
from ...core.base.wheel_axes import station_of
from ...core.drawing.drawing import circle
from ...core.job.job_sheet import Job
from ...core.pieces.edge_words import COVERED, bore_words, joint_words
from ...core.seat.mount import mount_frame
from ...core.tables.materials import DENSITY
from ...core.tire.tire_profile import tire_profile
from ...core.trim.trim_words import trim_words
from ...core.views.line_view import FRONT, SIDE, TOP, line_view
from ...core.wall.edge_plan import edge_names
from ...core.wall.job_edges import job_edges
from ...pipeline.job_result import JobResult
from .pdf_drawing import draw_dimension
from .sheet_flow import GRAY, MARGIN, SMALL, TEXT, WIDTH, Column, SheetFlow

SCALES = (1.0, 1.0 / 1.5, 1.0 / 2.0, 1.0 / 2.5, 1.0 / 3.0, 1.0 / 4.0, 1.0 / 5.0, 1.0 / 6.0, 1.0 / 8.0, 1.0 / 10.0)
"""Of drawings, the larger ones first; 1:1, 1:2, 1:5 and 1:10 are those of ISO 5455."""
_GAP = 13.0
_CHAIN = (4.0, 1.0, 0.6, 1.0)
_HIGHEST = 196.0


def scale_name(scale: float) -> str:
    """Such as 1:5."""
    return f"1:{1.0 / scale:g}"


def facts_table(flow: SheetFlow, job: Job, result: JobResult) -> None:
    """The job in figures."""
    mount, printer = job.mount, job.printer
    bolts = "; ".join(f"{x:+g}, {ahead:+g}" for x, ahead in mount.bolts)
    bored = "" if mount.hardware == "plain" else f", {mount.hardware.replace('_', ' ')}"
    bored += ", slotted" if mount.slots else ""
    least = result.tire
    speed = f", to {job.wheel.top_speed_kmh:g} km/h" if job.wheel.top_speed_kmh is not None else ""
    radius = (
        f", radius {job.tire.measured_radius:g} measured" if job.tire.measured_radius is not None else ", radius not measured"
    )
    split = (
        "in one piece"
        if result.finished.joint is None
        else f"{len(result.finished.parts)}, cut {job.split.plane}, {job.split.joint} joint, fit {job.split.fit:g}{_located(result)}"
    )
    rows = [
        ("Wheel and tire", f"{job.wheel.position}{speed}; {job.tire.size}{radius}", "Wall", f"{job.wall.thickness:g} mm{_tips(job)}, {job.wall.side} of the skin, edge {_edges(result)}"),
        ("Mount", f"{mount.height:g} mm over the tire, {mount.ahead:+g} mm ahead, tilt {mount.tilt:g} deg; fender {mount.side} the plate", "Pieces", split),
        ("Bolts", f"{len(mount.bolts)} x {mount.thread}, holes {result.finished.hole_diameter:g} mm{bored}, at (left, ahead) {bolts}", "Material", f"{printer.material}, {_mass(result):.0f} g without support"),
        ("Least clearance", f"{least.min_mm:.2f} mm to the tire at its largest, {round(float(station_of(least.point))):+d} deg, x {float(least.point[0]):+.0f} mm", "Required", f"{result.limits[0].required_mm:.2f} mm; proven over {least.proven_min_mm:.2f} mm"),
    ]  # fmt: skip
    finished = result.finished
    bores = "; ".join(bore_words(finished.seats, finished.mouth_breaks))
    radius_words = f"least radius {finished.rim.least_radius:.1f} mm of {COVERED}; {bores}"
    rows.append(("Edges", radius_words, "At the joint", joint_words(finished.joint)))
    trim = trim_words(job)
    if trim:
        rows.append(("Trim", trim, "", ""))
    flow.table((Column("", 27.0), Column("", 82.0), Column("", 19.0), Column("", 54.0)), rows)


def _located(result: JobResult) -> str:
    pins, keys = len(result.finished.pins), result.finished.keys
    return (f", {pins} pins of {result.job.split.pin:g} mm" if pins else "") + (f", {keys} keys" if keys else "")


def _tips(job: Job) -> str:
    ends = (("front", job.wall.front_thickness), ("rear", job.wall.rear_thickness))
    return "".join(f", {mm:g} at the {where} tip" for where, mm in ends if mm is not None)


def _edges(result: JobResult) -> str:
    """Kinds of the edges."""
    kinds = {name: edge.kind for name, edge in zip(edge_names(), job_edges(result.job).edges, strict=True)}
    if not result.job.openings:
        del kinds["openings"]
    return next(iter(kinds.values())) if len(set(kinds.values())) == 1 else ", ".join(f"{k} {v}" for k, v in kinds.items())


def _mass(result: JobResult) -> float:
    return sum(part.mesh.volume for part in result.finished.parts) * DENSITY[result.job.printer.material][0] / 1000.0


def draw_views(flow: SheetFlow, result: JobResult) -> None:
    """Side view with front view on its left and top view above it (third angle), with the tire and main dimensions."""
    whole = result.finished.whole
    low, high = whole.bounds
    radius = float(tire_profile(result.job).static[0, 1])
    tire_low = min(-radius, float(low[2]))
    wide = max(float(np.ptp([low[1], high[1]])), 2.0 * radius)
    across, tall = float(high[0] - low[0]), max(float(high[2]), radius) - tire_low
    fitting = (s for s in SCALES if s * (across + wide) + _GAP <= WIDTH - 20.0 and s * (across + tall) + _GAP <= _HIGHEST - 14.0)
    scale = next(fitting, SCALES[-1])
    flow.heading(f"Views {scale_name(scale)}, third angle", 60.0)
    height = scale * (across + tall) + _GAP + 14.0
    bottom = flow.room(height) + 6.0
    x_side = MARGIN + 10.0 + scale * across + _GAP - scale * min(float(low[1]), -radius)
    side = np.array([x_side, bottom - scale * tire_low])
    front = np.array([MARGIN + 8.0 - scale * float(low[0]), side[1]])
    top = np.array([x_side, bottom + scale * (tall + float(high[0])) + _GAP])
    _wheel(flow, result.job, scale, side, front)
    for eye, shift in ((SIDE, side), (FRONT, front), (TOP, top)):
        flow.page.stretches(scale * line_view(whole, eye) + shift, 0.3)
    _dimensions(flow, result, scale, side, front, top)


def _wheel(flow: SheetFlow, job: Job, scale: float, side: Array, front: Array) -> None:
    profile = tire_profile(job).static
    for rho in (float(profile[0, 1]), float(profile[-1, 1])):
        flow.page.line(scale * circle((0.0, 0.0), rho).points + side, 0.15, _CHAIN, GRAY)
    both = np.concatenate([profile[::-1] * [-1.0, 1.0], profile])
    around = np.concatenate([both, both[::-1] * [1.0, -1.0], both[:1]])
    flow.page.line(scale * around + front, 0.15, _CHAIN, GRAY)
    for at in (side, front):
        flow.page.line(at + np.array([[-4.0, 0.0], [4.0, 0.0]]), 0.15, color=GRAY)
        flow.page.line(at + np.array([[0.0, -4.0], [0.0, 4.0]]), 0.15, color=GRAY)
    flow.page.text("axle", (float(side[0]) + 2.0, float(side[1]) + 1.5), SMALL, color=GRAY)


def _dimensions(flow: SheetFlow, result: JobResult, scale: float, side: Array, front: Array, top: Array) -> None:
    page, frame = flow.page, mount_frame(result.job)
    low, high = result.finished.whole.bounds
    y = float(side[1] + scale * high[2])
    for along in (low[1], high[1]):
        x = float(side[0] + scale * along)
        page.line(np.array([[x, float(top[1] - scale * high[0]) - 1.0], [x, y + 3.5]]), 0.1, color=GRAY)
    draw_dimension(page, (side[0] + scale * low[1], y + 5.0), (side[0] + scale * high[1], y + 5.0), f"{high[1] - low[1]:.0f}")
    radius = float(tire_profile(result.job).static[0, 1])
    x = float(side[0] + scale * max(float(high[1]), radius)) + 7.0
    draw_dimension(page, (x, side[1] + scale * low[2]), (x, side[1] + scale * high[2]), f"{high[2] - low[2]:.0f}")
    draw_dimension(page, (front[0] + scale * low[0], y + 5.0), (front[0] + scale * high[0], y + 5.0), f"{high[0] - low[0]:.0f}")
    seat = side + scale * np.array([frame.origin[1], frame.origin[2]])
    draw_dimension(page, (float(seat[0]), float(side[1])), (float(seat[0]), float(seat[1])), f"{float(frame.origin[2]):.1f}")
    stations = station_of(result.finished.whole.vertices)
    rim = float(tire_profile(result.job).static[-1, 1])
    for turn in (float(stations.max()), float(stations.min())):
        out = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
        page.line(side + scale * np.array([0.75 * rim * out, (rim + 40.0) * out]), 0.1, color=GRAY)
        x, y = (side + scale * 0.65 * rim * out).tolist()
        page.rectangle(x - 7.0, y - TEXT, 14.0, 2.0 * TEXT, fill=(1.0, 1.0, 1.0))
        page.text(f"{round(turn):+d} deg", (x, y - 0.5 * TEXT), TEXT, "center")
    for bolt in frame.bolts:
        at = top + scale * np.array([bolt[1], -bolt[0]])
        page.line(at + np.array([[-2.0, 0.0], [2.0, 0.0]]), 0.1)
        page.line(at + np.array([[0.0, -2.0], [0.0, 2.0]]), 0.1)
    page.text("front of the bike", (float(top[0] + scale * low[1]) - 2.0, float(top[1]) - 0.8), SMALL, "right", color=GRAY)
    for name, at, base in (("from the left", side, low[2]), ("from the front", front, low[2])):
        page.text(
            name,
            (float(at[0]), float(side[1] + scale * min(float(base), -float(tire_profile(result.job).static[0, 1]))) - 4.5),
            SMALL,
            "center",
            color=GRAY,
        )
