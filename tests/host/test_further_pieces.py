# SPDX-License-Identifier: GPL-3.0-or-later
"""Halves that the bed cannot hold, cut again, with manifold3d as the witness."""

from dataclasses import replace
from functools import cache
from typing import Any

import manifold3d
import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import station_of
from addon.core.job.job_sheet import Job
from addon.core.printing.print_fit import print_fit
from addon.core.seat.mount import mount_frame
from addon.pipeline.finish import Finished, finish
from tests.core.torus_surface import as_manifold, torus_surface
from tests.crossing_pairs import crossing_pairs
from tests.host.test_finish import _facing_up, job_of

CASES: dict[str, tuple[float, dict[str, Any]]] = {
    "pinned laps": (165.0, {"joint": "lap"}),
    "bead, along, pinned": (200.0, {"plane": "along", "joint": "butt", "lap": 13.0, "edge": "bead", "pin": 2.0}),
    "thin wall, glued faces": (165.0, {"joint": "butt", "thickness": 1.5, "edge": "square"}),
}
"""Bed and sheet."""

ACROSS = ("front", "front_2", "rear", "rear_2", "rear_3")
NAMES = {
    "pinned laps": ACROSS,
    "bead, along, pinned": tuple(f"{half}{end}" for half in ("left", "right") for end in ("", "_rear_2", "_rear_3", "_front_2")),
    "thin wall, glued faces": ACROSS,
}


def job_for(bed: float, pieces: str = "auto", **changes: Any) -> Job:
    job = job_of(pieces=pieces, **changes)
    return replace(job, printer=replace(job.printer, bed=(bed, bed, bed)))


@cache
def finished(case: str) -> tuple[Finished, Job]:
    bed, changes = CASES[case]
    job = job_for(bed, **changes)
    return finish(job, torus_surface(), mount_frame(job)), job


@pytest.mark.parametrize("case", CASES)
def test_each_piece_fits_and_is_a_single_closed_body(case: str) -> None:
    result, job = finished(case)
    assert tuple(part.name for part in result.parts) == NAMES[case]
    for part in result.parts:
        outside = as_manifold(part.mesh)
        assert outside.status() == manifold3d.Error.NoError and len(outside.decompose()) == 1
        assert not len(crossing_pairs(part.mesh))
        assert print_fit(part.mesh.vertices, job.printer.bed, job.printer.margin).fits


@pytest.mark.parametrize("case", CASES)
def test_put_together_they_are_the_whole_less_gaps_and_pins(case: str) -> None:
    """No overlap; what is missing is fit times mating faces, and the pins' holes, within 0.1 % of the whole."""
    result, job = finished(case)
    whole, pieces = as_manifold(result.whole), [as_manifold(part.mesh) for part in result.parts]
    together = manifold3d.Manifold.batch_boolean(pieces, manifold3d.OpType.Add)
    assert_allclose(together.volume(), sum(piece.volume() for piece in pieces), atol=1e-2)
    assert (together - whole).volume() < 0.1
    missing = whole - together
    expected = 0.0
    for station in further_stations(result):
        turn = np.radians(station)
        forward = np.array([0.0, -np.cos(turn), -np.sin(turn)])
        expected += gap(whole, forward, np.zeros(3), half_lap(job), job)
    assert result.joint is not None
    expected += gap(whole, result.joint.normal, result.joint.point, result.joint.half_length, job)
    hole = job.split.pin + job.split.fit
    area = 8.0 * (0.5 * hole) ** 2 * np.tan(np.pi / 8.0)  # from above: the holes are prisms around the circle
    pins = pin_count(result)
    least = expected - pins * area * job.split.fit
    assert least - 1e-3 * whole.volume() < missing.volume() < expected + pins * area * job.wall.thickness + 1e-3 * whole.volume()


def half_lap(job: Job) -> float:
    return 0.5 * job.split.lap if job.wall.thickness > 2.0 else 0.0


def gap(whole: manifold3d.Manifold, normal: np.ndarray, point: np.ndarray, half: float, job: Job) -> float:
    """Fit times the mating faces of a joint, mm3."""
    turned = whole.translate(tuple(-point)).transform(_facing_up(normal))
    mating = turned.slice(0.0).area()
    if half > 0.0:
        slab = turned.trim_by_plane((0.0, 0.0, 1.0), -half).trim_by_plane((0.0, 0.0, -1.0), -half)
        mating += slab.volume() / job.wall.thickness
    return job.split.fit * mating


def further_stations(result: Finished) -> list[float]:
    """Each half's further cuts' stations, as the remarks state them, rounded; those of both sides of a cut along are one."""
    said = [part.split(":")[0] for part in " ".join(result.remarks).split("at station ")[1:]]
    return sorted({float(word) for part in said for word in part.split(",")})


def pin_count(result: Finished) -> int:
    return sum(int(part.split(" pins")[0].split()[-1]) for part in result.remarks if " pins of" in part)


@pytest.mark.parametrize("case", CASES)
def test_pins_go_through_both_pieces_of_a_lap(case: str) -> None:
    """Genus by manifold3d: four bolt holes once each, but twice under a full lap; each pin twice."""
    result, _ = finished(case)
    assert (pin_count(result) > 0) == ("pinned" in case)
    assert sum(as_manifold(part.mesh).genus() for part in result.parts) == 4 + 2 * pin_count(result)


def test_the_joint_is_thin() -> None:
    """The nearest faces of two neighbors are a fit apart, by manifold3d."""
    result, job = finished("pinned laps")
    ahead, behind = (next(part for part in result.parts if part.name == name) for name in ("front_2", "front"))
    assert_allclose(as_manifold(ahead.mesh).min_gap(as_manifold(behind.mesh), 2.0), job.split.fit, atol=0.003)


def test_two_halves_stay_two_on_demand() -> None:
    job = job_for(165.0, pieces="two", joint="lap")
    result = finish(job, torus_surface(), mount_frame(job))
    assert [part.name for part in result.parts] == ["front", "rear"] and not result.remarks


def test_cuts_keep_off_the_seat() -> None:
    result, job = finished("pinned laps")
    frame = mount_frame(job)
    seat = station_of(frame.to_axes(frame.outline(64)))
    for station in further_stations(result):
        assert not seat.min() - 5.0 < station < seat.max() + 5.0


def test_what_cannot_be_cut_again() -> None:
    thick = job_for(165.0, joint="lap", pin=9.0)
    with pytest.raises(JobError, match=r"split.pin: 9 needs 18.6 mm .* allowed is 4.6 or less"):
        finish(thick, torus_surface(), mount_frame(thick))
    small = job_for(100.0, joint="lap")
    result = finish(small, torus_surface(), mount_frame(small))
    assert [part.name for part in result.parts] == ["front", "rear"]
    assert all("fit the bed" in remark for remark in result.remarks) and len(result.remarks) == 2
