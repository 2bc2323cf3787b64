# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawings of readings and paper templates hold the job's own figures."""

import numpy as np
import pytest

from addon.core.drawing.drawing import circle, dimension
from addon.core.gauges.templates import comb_template, drilling_template, strip_template
from addon.core.job.job_sheet import Job, parse_job
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.readings.reading_drawings import READINGS, reading_drawing
from addon.core.seat.mount import mount_frame
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil


def _job(side: str = "under", tilt: float = 3.0) -> Job:
    return parse_job(
        {
            "tire": {"size": "120/70 ZR17", "measured_radius": 300.0, "measured_width": 120.0},
            "mount": {"height": 48.0, "ahead": 20.0, "tilt": tilt, "side": side, "bolts": [[-25, -20], [30, 20]], "thread": "M6"},
            "clearance": {"gap": 10.0},
            "wall": {"thickness": 3.0},
        }
    )


@pytest.mark.parametrize("name", READINGS)
@pytest.mark.parametrize("side", ["under", "over"])
def test_every_reading_has_a_drawing_within_sight_of_the_wheel(name: str, side: str) -> None:
    for tilt in (0.0, -12.0):
        drawing = reading_drawing(_job(side, tilt), name)
        assert drawing.name == name and not drawing.to_scale and drawing.notes
        assert all(np.isfinite(stroke.points).all() for stroke in drawing.strokes)
        low, high = drawing.bounds
        assert (low > -400.0).all() and (high < 500.0).all() and (high - low > 50.0).all()


def test_height_is_drawn_from_the_face_to_the_crown() -> None:
    """The dimension line is as long as the height and ends on the circle of the tire."""
    drawing = reading_drawing(_job(), "height")
    (line,) = [
        s.points for s in drawing.strokes if len(s.points) == 2 and abs(np.linalg.norm(np.diff(s.points, axis=0)) - 48.0) < 1e-6
    ]
    assert np.linalg.norm(line[0]) == pytest.approx(300.0, abs=1e-9)


def test_unknown_reading_is_refused() -> None:
    with pytest.raises(ValueError, match="allowed is height"):
        reading_drawing(_job(), "weight")


def test_circle_and_dimension() -> None:
    ring = circle((1.0, 2.0), 50.0).points
    middles = 0.5 * (ring[1:] + ring[:-1])
    assert 49.98 <= np.linalg.norm(middles - [1.0, 2.0], axis=1).min() and np.allclose(ring[0], ring[-1])
    strokes, mark = dimension((0.0, 0.0), (10.0, 0.0), "ten")
    assert mark.at == pytest.approx((5.0, 4.0)) and len(strokes) == 3


def test_templates_are_the_figures_of_the_job() -> None:
    job = _job()
    frame = mount_frame(job)
    comb = comb_template(job)
    assert comb.to_scale and np.ptp(comb.strokes[0].points[:, 0]) == pytest.approx(120.0)
    pattern = drilling_template(job, frame)
    rings = [s.points for s in pattern.strokes if np.allclose(s.points[0], s.points[-1]) and np.ptp(s.points[:, 0]) < 7.0]
    middles = np.array([0.5 * (ring.min(axis=0) + ring.max(axis=0)) for ring in rings])
    # Seen from above with the front up, the rider's left is on the left.
    np.testing.assert_allclose(middles, [[25.0, -20.0], [-30.0, 20.0]], atol=1e-6)
    assert np.ptp(rings[0][:, 0]) == pytest.approx(6.6, abs=0.01)


def test_strip_template_shows_the_wall_over_the_tire_with_the_expected_gaps() -> None:
    job = _job()
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 3)))
    drawing = strip_template(job, mount_frame(job), surface_of_quads(whole.points, whole.normals, whole.quads), -20.0)
    wall, tire = drawing.strokes[0].points, drawing.strokes[1].points
    crown = wall[np.abs(wall[:, 0]) < 3.0][:, 1]
    assert np.ptp(crown) == pytest.approx(3.0, abs=0.15) and tire[:, 1].max() == pytest.approx(0.0, abs=1e-9)
    shown = {
        mark.text.split()[0]: float(mark.text.split()[1])
        for mark in drawing.marks
        if mark.text[:1] in "CLR" and len(mark.text.split()) == 2
    }
    assert shown["C"] == pytest.approx(crown.min(), abs=0.06) and set(shown) == {"C", "L1", "R1", "L2", "R2"}


def test_readings_have_one_stance_and_end_on_the_knobs() -> None:
    """Only the height of the axle over the ground is taken in another stance, and says when."""
    for name in READINGS:
        notes = " ".join(reading_drawing(_job(), name).notes)
        assert notes.count("One stance for all readings") == (name != "ground_radius")
        assert ("before the wheels are raised" in notes) == (name == "ground_radius")
        assert ("tops of the knobs" in notes) == (
            name in ("height", "radius", "circumference", "width", "height_ahead", "profile")
        )


def test_knobs_are_drawn_under_the_tire_and_touch_it() -> None:
    """Tops on the circle of the crown, grooves 6 mm inside; from the front no part lies outside of the section."""
    tread = reading_drawing(_job(), "radius").strokes[1].points
    reach = np.linalg.norm(tread, axis=1)
    assert sorted({round(float(value), 6) for value in reach}) == [294.0, 300.0]
    section, rows = (stroke.points for stroke in reading_drawing(_job(), "profile").strokes[:2])
    near = np.abs(section[:, 0]) < 1.0
    assert rows[:, 1].max() <= section[near, 1].max() + 1e-9 and np.abs(rows[:, 0]).max() < np.abs(section[:, 0]).max()
    assert np.allclose(np.sort(rows[:, 0]), -np.sort(rows[:, 0])[::-1])
