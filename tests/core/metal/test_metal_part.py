# SPDX-License-Identifier: GPL-3.0-or-later
"""The metal part of a job: clear of the tire with its bead, and what is told of it."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from addon.core.base.errors import JobError, ShapeError
from addon.core.clearance.clearance_field import Limit, clearance_field
from addon.core.job.job_sheet import Job, Metal, read_job_sheet
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.metal.metal_faces import metal_job
from addon.core.metal.metal_part import MetalPart, metal_lines, metal_part, metal_report
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from tests.core.metal.metal_fender import METAL, SHEETS


def _job(metal: Metal) -> Job:
    return replace(read_job_sheet(SHEETS / "front_17.toml"), metal=metal)


@cache
def _surface() -> Surface:
    cage = seed_cage(_job(METAL)).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    return surface_of_quads(whole.points, whole.normals, whole.quads)


def _limits(more: float = 0.0) -> list[Limit]:
    """The tire alone: what else is there is in the way of a thick bead outside."""
    tire = clearance_field(_job(METAL), "part").limits[0]
    return [replace(tire, required_mm=tire.required_mm + more)]


def _part(metal: Metal, more: float = 0.0) -> MetalPart:
    return metal_part(metal_job(_job(metal)), _surface(), _limits(more))


def test_least_clearance_is_that_of_metal_and_bead() -> None:
    """Distances of a body of revolution in its half plane, by brute force over the sides of its profile."""
    part = _part(METAL)
    profile = _limits()[0].body.profile
    assert part.bead is not None

    def least(points: np.ndarray) -> float:
        at = np.column_stack([np.abs(points[:, 0]), np.hypot(points[:, 1], points[:, 2])])
        corners = np.vstack([profile, [profile[-1, 0], 0.0]])
        found = np.inf
        for a, b in pairwise(corners):
            share = np.clip((at - a) @ (b - a) / ((b - a) @ (b - a)), 0.0, 1.0)
            found = min(found, np.linalg.norm(at - a - share[:, None] * (b - a), axis=1).min())
        return float(found)

    bead = least(np.concatenate(part.bead.lines)) - part.bead.radius
    assert part.least_mm == pytest.approx(min(bead, least(part.faces.inner)), abs=1e-6)
    plain = _part(replace(METAL, wire=0.0))
    assert plain.bead is None and plain.least_mm == pytest.approx(least(plain.faces.inner), abs=1e-6)
    assert plain.least_mm > part.least_mm + 2.0


def test_bead_that_comes_too_close_is_named_with_its_place() -> None:
    plain = _part(replace(METAL, wire=0.0))
    spare = plain.least_mm - _limits()[0].required_mm
    with pytest.raises(JobError, match=r"metal.wire: the bead of 14 mm comes within .* required; take thinner wire") as caught:
        _part(replace(METAL, wire=12.0), more=spare - 2.0)
    assert caught.value.place is not None
    outside = _part(replace(METAL, wire=12.0, wire_side="outside"), more=spare - 2.0)
    assert plain.least_mm - 2.0 < outside.least_mm <= plain.least_mm
    with pytest.raises(ShapeError, match="sheet metal comes within"):
        _part(replace(METAL, wire=0.0), more=spare + 1.0)


def test_report_names_every_board() -> None:
    part = _part(METAL)
    told = metal_report(_job(METAL), part)
    names = [row["name"] for row in (*told["boards_across"], *told["boards_along"])]
    assert names == [board.name for board in part.boards] and len(set(names)) == len(names)
    assert told["boards_along"][len(told["boards_along"]) // 2]["x_mm"] == 0.0
    assert told["wire_allowance_mm"] == 10.0 and told["flat_crown"]["strain_percent"] <= METAL.strain
    assert any("leave 10 mm" in line for line in metal_lines(_job(METAL), part))
    assert not any("leave" in line for line in metal_lines(_job(replace(METAL, wire=0.0)), _part(replace(METAL, wire=0.0))))


def test_job_without_the_section_has_no_metal() -> None:
    job = read_job_sheet(SHEETS / "front_17.toml")
    with pytest.raises(ValueError, match="metal"):
        metal_job(job)
