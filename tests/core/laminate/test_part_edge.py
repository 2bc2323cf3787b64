# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminated part's own edge and its bolts: on plug and buck, as thick as the rest, refused where it cannot be."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import JobError, ShapeError
from addon.core.job.job_sheet import Laminate, job_to_dict, parse_job
from addon.core.laminate.bolt_sleeves import bolt_sleeves
from addon.core.laminate.check_laminate import check_laminate
from addon.core.laminate.laminated_part import part_schedule
from addon.core.laminate.mold_drafts import mold_drafts
from addon.core.laminate.mold_shape import edged_part, mold_shells, touched_face
from addon.core.wall.closed_wall import ClosedWall
from tests.core.laminate.scenes import job_of, scene
from tests.crossing_pairs import crossing_pairs


def edged(name: str, **changes: Any) -> tuple[Laminate, ClosedWall, trimesh.Trimesh]:
    """Sheet, part with its edge, and the shell that it lies on."""
    found = scene(name, 3)
    assert found.job.laminate is not None
    laminate = replace(found.job.laminate, **changes)
    face = touched_face(found.wall, laminate)
    pull = mold_drafts(face, laminate)[0].draft.pull
    shell = mold_shells(face, laminate, pull, 3.0)[0].shell.mesh
    return laminate, edged_part(found.wall, laminate, pull, 3.0), trimesh.Trimesh(shell.vertices, shell.triangles, process=False)


@pytest.mark.parametrize(("name", "edge"), [("front_mold", "return"), ("front_mold", "roll"), ("rear_buck", "return")])
def test_edge_lies_on_plug_or_buck(name: str, edge: str) -> None:
    """Distances by trimesh; crossing faces by libigl."""
    laminate, part, shell = edged(name, edge=edge)
    plain = scene(name, 3).wall
    assert part.mesh.is_closed and len(crossing_pairs(part.mesh)) == 0
    rim = part.mesh.vertices[2 * len(plain.outer) :].reshape(-1, 16, 3)  # margin, bend and flange, and the same behind
    touching = rim[:, :8] if laminate.route == "mold" else rim[:, 8:]
    apart = trimesh.proximity.closest_point(shell, touching[::5, 1:-1].reshape(-1, 3))[1]
    assert apart.max() < 0.12  # but for what facets of the bend differ by
    thick = np.linalg.norm(rim[:, 1:8] - rim[:, ::-1][:, 1:8], axis=2)
    np.testing.assert_allclose(thick, part.thickness, rtol=0.12)


def test_return_is_as_wide_as_asked_and_weighs_what_it_has() -> None:
    laminate, part, _ = edged("front_mold", edge="return", edge_size=10.0)
    rim = part.mesh.vertices[2 * len(scene("front_mold", 3).wall.outer) :].reshape(-1, 16, 3)
    np.testing.assert_allclose(np.linalg.norm(rim[:, 7] - rim[:, 6], axis=1), 10.0, rtol=2e-3)
    plain, turned = part_schedule(replace(laminate, edge="trim"), scene("front_mold", 3).wall), part_schedule(laminate, part)
    edge = scene("front_mold", 3).surface.boundary
    points = scene("front_mold", 3).wall.outer
    length = np.linalg.norm(points[edge.vertex[edge.after]] - points[edge.vertex], axis=1).sum()
    more = turned.layers[0].area - plain.layers[0].area
    assert 0.8 * length * 14.0 < more < 1.3 * length * 22.0
    assert turned.mass > plain.mass


def test_cut_edge_changes_nothing() -> None:
    _, part, _ = edged("front_mold")
    assert part is scene("front_mold", 3).wall


def test_scribed_line_is_where_the_part_ends() -> None:
    _laminate, part, shell = edged("front_mold", edge="return", edge_size=10.0)
    _, _, smooth = edged("front_mold", edge="trim")
    rim = part.mesh.vertices[2 * len(scene("front_mold", 3).wall.outer) :].reshape(-1, 16, 3)
    ends = rim[:, 7]
    near = trimesh.proximity.closest_point(trimesh.Trimesh(shell.vertices, shell.faces, process=False), ends[::9])[1]
    assert near.max() < 0.12
    assert shell.volume != pytest.approx(smooth.volume, rel=1e-4)


def test_edges_that_cannot_be_are_refused() -> None:
    with pytest.raises(JobError, match=r"laminate\.flange: 25 mm is too narrow for a return of 20 mm; allowed is 40"):
        check_laminate(job_of("front_mold", edge="return", edge_size=20.0, flange=25.0))
    data = job_to_dict(job_of("front_mold", edge="roll"))
    data["opening"] = [{"name": "slot", "station": -30.0, "x": 0.0, "length": 30.0, "width": 10.0}]
    with pytest.raises(JobError, match=r"laminate\.edge: \"roll\" does not go with openings"):
        check_laminate(parse_job(data))
    check_laminate(job_of("front_mold", edge="return"))
    found = scene("front_mold", 3)
    with pytest.raises(ShapeError, match=r"cannot be turned out|flange runs into itself|curls|turns back"):
        hollow = replace(found.job.laminate, edge="return", edge_size=30.0)  # type: ignore[type-var]
        ring = found.wall.boundary.vertex
        points = found.wall.outer.copy()
        points[ring] += 30.0 * np.sin(np.arange(len(ring)) * 0.9)[:, None] * [0.0, 1.0, 0.0]
        edged_part(replace(found.wall, outer=points), hollow, np.array([0.0, 0.0, 1.0]), 3.0)  # type: ignore[arg-type]


def test_sleeves_follow_the_thread_and_the_laminate() -> None:
    (sleeves,) = bolt_sleeves(job_of("front_mold"), 3.47)
    assert (sleeves.count, sleeves.thread, sleeves.inner, sleeves.outer, sleeves.washer) == (4, "M6", 6.6, 8.6, 18.0)
    assert sleeves.length == 3.47
