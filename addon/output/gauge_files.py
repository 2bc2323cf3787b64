# SPDX-License-Identifier: GPL-3.0-or-later
"""The gauges of a job as files: STL and 3MF to print, paper templates, and the named points for feedback."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..core.base.wheel_axes import station_of
from ..core.gauges.crown_strip import crown_strip
from ..core.gauges.drilling_gauge import drilling_gauge
from ..core.gauges.gauge import Gauge
from ..core.gauges.gauge_mesh import gauge_mesh
from ..core.gauges.templates import comb_template, drilling_template, record_sheet, strip_template
from ..core.gauges.tire_comb import tire_comb
from ..core.job.job_sheet import Job, job_to_dict
from ..core.mesh.open_surface import Surface, surface_of_quads
from ..core.mesh.triangle_mesh import TriangleMesh
from ..core.readings.reading_drawings import READINGS, reading_drawing
from ..core.report.cautions import SAFETY
from ..core.seat.mount import mount_frame
from ..core.skin.skin import Skin, full_skin
from ..pipeline.steps import Steps, run_steps
from .atomic_output import atomic_output
from .pages.paper import write_paper
from .stl_file import write_stl
from .three_mf_file import PrintPart, ThreeMfUnavailableError, write_three_mf

POINTS_FILE = "gauges.json"
_STEP_DEG = 35.0
_INSIDE_DEG = 3.0
_FORMER = ("*.stl", "gauges.3mf", "gauges_*.pdf", "readings_*.pdf", POINTS_FILE)


@dataclass(frozen=True, eq=False)
class GaugeFiles:
    """names : files written, in their folder. cautions : sentences for the builder

    meshes : (title, mesh) of each gauge, wheel axes. record : what POINTS_FILE holds
    """

    names: tuple[str, ...]
    cautions: tuple[str, ...]
    meshes: tuple[tuple[str, TriangleMesh], ...]
    record: dict[str, Any]


def write_gauges(
    job: Job, skin: Skin, folder: Path, *, stations: Sequence[float] | None = None, width: float = 12.0, date: str | None = None
) -> GaugeFiles:
    """Write the gauges of a job into a folder, at once; see gauge_steps."""
    return run_steps(gauge_steps(job, skin, folder, stations=stations, width=width, date=date))


def gauge_steps(
    job: Job, skin: Skin, folder: Path, *, stations: Sequence[float] | None = None, width: float = 12.0, date: str | None = None
) -> Steps[GaugeFiles]:
    """Write tire comb, drilling gauge and a crown strip at each station into a folder, and the same three as paper.

    skin : whole or half skin of the job's cage. stations : degrees; None for one at the mount and one to each side of it
    width : of the strips, 10 to 15 mm. date : for the labels, ISO 8601; None for today
    STL in wheel axes, 3MF in print position; PDF for A4 and Letter; gauges.json holds the reading points for feedback.
    Raises JobError or ShapeError with a sentence if a gauge cannot be made, OSError if a file cannot be written; the folder is
    then as it was, also if the steps are canceled.
    """
    date = datetime.date.today().isoformat() if date is None else date
    whole = full_skin(skin)
    sheet = surface_of_quads(whole.points, whole.normals, whole.quads, whole.paint)
    frame = mount_frame(job)
    stations = usual_stations(job, sheet) if stations is None else tuple(float(station) for station in stations)
    yield "Tire comb and drilling gauge"
    gauges = [tire_comb(job, date), drilling_gauge(job, frame, date)]
    for station in stations:
        yield f"Crown strip at station {station:+g}"
        gauges += crown_strip(job, frame, sheet, station, date, width)
    cautions = [sentence for gauge in gauges for sentence in gauge.cautions]
    record = points_record(job, gauges, date)
    with atomic_output(folder, _FORMER) as new:
        parts = []
        for gauge in gauges:
            yield f"{gauge.title} in one piece"
            mesh = gauge_mesh(gauge)
            write_stl(new / f"{gauge.name}.stl", mesh)
            parts.append(PrintPart(f"{job.name} {gauge.title}", mesh, gauge.to_print))
        try:
            write_three_mf(new / "gauges.3mf", parts)
        except ThreeMfUnavailableError as error:
            cautions.append(f"There is no gauges.3mf: {error}")
        yield "Paper templates"
        _write_papers(job, sheet, stations, gauges, new, date)
        (new / POINTS_FILE).write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
        names = tuple(sorted(path.name for path in new.iterdir()))
    meshes = tuple((gauge.title, part.mesh) for gauge, part in zip(gauges, parts, strict=True))
    return GaugeFiles(names, tuple(cautions), meshes, record)


def usual_stations(job: Job, sheet: Surface) -> tuple[float, ...]:
    """Stations of strips that determine most: at the mount, and _STEP_DEG to each side of it, or as far as the fender goes."""
    on_crown = sheet.points[np.abs(sheet.points[:, 0]) < 0.1 * np.ptp(sheet.points[:, 0])]
    reach = station_of(on_crown)
    low, high = float(reach.min()) + _INSIDE_DEG, float(reach.max()) - _INSIDE_DEG
    mount = float(station_of(mount_frame(job).origin))
    wanted = np.clip([mount - _STEP_DEG, mount, mount + _STEP_DEG], low, high)
    return tuple(float(station) for station in np.unique(np.round(wanted)))


def points_record(job: Job, gauges: Sequence[Gauge], date: str) -> dict[str, Any]:
    """What feedback needs of printed gauges: reading points in mount axes (left, forward, up, mm), and the sheet."""
    points = [
        {
            "station": point.station_deg,
            "point": point.name,
            "position": [round(float(value), 4) for value in point.position],
            "expected_mm": round(point.expected_mm, 3),
        }
        for gauge in gauges
        for point in gauge.points
    ]
    return {"schema": 1, "job": job.name, "date": date, "points": points, "sheet": job_to_dict(job)}


def _write_papers(job: Job, sheet: Surface, stations: Sequence[float], gauges: Sequence[Gauge], folder: Path, date: str) -> None:
    frame = mount_frame(job)
    drawings = [comb_template(job), drilling_template(job, frame)]
    drawings += [strip_template(job, frame, sheet, station) for station in stations]
    drawings.append(record_sheet(tuple(point for gauge in gauges for point in gauge.points)))
    head = f"{job.name}, {date}"
    for paper in ("A4", "Letter"):
        write_paper(folder / f"gauges_{paper}.pdf", drawings, head, SAFETY[:2], paper)
        write_paper(folder / f"readings_{paper}.pdf", [reading_drawing(job, name) for name in READINGS], head, (), paper)
