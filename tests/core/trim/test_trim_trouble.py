# SPDX-License-Identifier: GPL-3.0-or-later
"""Trims that leave islands, strips or openings at an edge: told by the cut, and by the preview before anything is built."""

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree

from addon.core.base.errors import JobError, ShapeError
from addon.core.mesh.open_surface import Surface, surface_of_quads
from addon.core.trim import trim_preview as preview_module
from addon.core.trim.strip_width import narrowest_strip
from addon.core.trim.trim_preview import trim_preview
from addon.core.trim.trimmed import trimmed
from tests.core.torus_surface import torus_surface
from tests.core.trim_jobs import SEEDED, job_of, seeded_surface

CUT = {"name": "cut", "view": "side"}
HOLE = {"name": "hole", "station": -40.0, "length": 10.0, "width": 10.0}
ISLAND = [[240, 100], [320, 220], [290, 240], [210, 120], [240, 100]]


CASES: dict[str, tuple[dict[str, Any], str]] = {
    "island": ({"trim_line": [{**CUT, "points": ISLAND}], "trim": {"corner": 0.0}}, "2 pieces, the smallest of"),
    "opening over the rim": ({"opening": [{**HOLE, "x": 74.0}]}, "runs over the edge of the fender"),
    "opening near the rim": ({"opening": [{**HOLE, "x": 73.5, "length": 9.0, "width": 4.0}]}, "to the next edge"),
    "two openings": ({"opening": [HOLE, {**HOLE, "name": "two", "x": 6.0}]}, 'runs over the opening "two"'),
    "mirror image": ({"opening": [{**HOLE, "x": 4.0, "sides": "both"}]}, "its own mirror image"),
    "a seat cut": ({"opening": [{**HOLE, "station": 0.0}]}, "cuts the seat"),
}


@pytest.mark.parametrize("case", CASES)
def test_the_preview_tells_what_the_cut_would(case: str) -> None:
    sections, said = CASES[case]
    job, sheet = job_of(**sections), torus_surface()
    with pytest.raises((JobError, ShapeError), match=said) as caught:
        trimmed(job, sheet)
    preview = trim_preview(job, sheet)
    assert preview is not None and preview.values is not None
    assert str(preview.trouble) == str(caught.value)
    assert_allclose(preview.trouble.place, caught.value.place)


def test_a_scallop_inside_of_the_edge_leaves_a_strip_or_enough() -> None:
    """A leg that pierces the flank nearer and nearer to the edge, until it opens it: what is kept between them, by scipy's tree of
    the edges' points, is half of the 3 mm wall at least, or else it is named as a strip, by the preview too."""
    sheet = torus_surface()
    edge = sheet.points[sheet.boundary.vertex]
    side = edge[(edge[:, 0] > 0) & (np.abs(np.degrees(np.arctan2(edge[:, 1], edge[:, 2])) - 40.0) < 1.0)]
    low = side[np.argmax(side[:, 0])]
    outward = np.array([0.0, low[1], low[2]]) / np.hypot(low[1], low[2])
    strips = closed = 0
    for away in np.arange(29.5, 29.9, 0.04):
        center = low + away * outward
        ends = {"a": (center - [20.0, 0.0, 0.0]).tolist(), "b": (center + [40.0, 0.0, 0.0]).tolist()}
        job = job_of(keepout=[{"name": "leg", "kind": "capsule", **ends, "radius": 8.0, "gap": 1.0, "scallop": 0.0}])
        preview = trim_preview(job, sheet)
        assert preview is not None
        try:
            cut = trimmed(job, sheet)
        except ShapeError as error:
            assert "strip of skin" in str(error) and str(preview.trouble) == str(error)
            assert np.linalg.norm(error.place - low) < 30.0
            strips += 1
            continue
        assert preview.trouble is None
        if len(cut.boundary.rings) == 2:
            one, other = (cut.points[cut.boundary.vertex[ring]] for ring in cut.boundary.rings)
            assert cKDTree(one).query(other)[0].min() >= 1.5
            closed += 1
    assert strips and closed > 3


def test_a_plain_trim_is_not_cut_for_its_preview(monkeypatch: pytest.MonkeyPatch) -> None:
    """The cut is for doubtful ones: it takes ten times as long as the field."""
    calls: list[int] = []
    monkeypatch.setattr(preview_module, "trimmed", lambda *_: calls.append(1))
    full = {
        "trim": {"front_radius": 20.0, "rear_radius": 25.0, "corner": 6.0},
        "trim_line": [{"name": "low", "view": "drop", "points": [[-45, 15], [0, 18], [30, 15]]}],
        "opening": [{"name": "hose", "station": -33.0, "x": 20.0, "length": 14.0, "width": 8.0}],
    }
    preview = trim_preview(job_of(SEEDED, **full), seeded_surface())
    assert preview is not None and preview.trouble is None and not calls


def bow_tie(waist: float) -> Surface:
    """Two squares of 40 mm with a bridge of 8 mm length between them."""
    y = np.linspace(-20.0, 20.0, 21)
    x = np.concatenate([np.linspace(-44.0, -4.0, 21), np.linspace(-2.0, 2.0, 3), np.linspace(4.0, 44.0, 21)])
    width = np.where(np.abs(x) < 4.0, waist / 40.0, 1.0)
    points = np.stack([np.repeat(x, 21), (width[:, None] * y).ravel(), np.zeros(45 * 21)], axis=1)
    i = (np.arange(44)[:, None] * 21 + np.arange(20)).ravel()
    return surface_of_quads(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), np.stack([i, i + 21, i + 22, i + 1], axis=1))


def test_the_narrowest_strip_of_a_bow_tie_is_its_waist() -> None:
    found = narrowest_strip(bow_tie(2.5), 3.0)
    assert found is not None
    assert_allclose(found[0], 2.5, atol=1e-9)
    assert np.abs(found[1][0]) <= 4.0 and abs(found[1][1]) < 1e-9
    assert narrowest_strip(bow_tie(3.5), 3.0) is None
