# SPDX-License-Identifier: GPL-3.0-or-later
"""What the views tell of a shaped cage, against the field and brute force; the baked map; figures on a canvas."""

import re

import bpy
import numpy as np
import pytest

from addon.core.base.wheel_axes import point_at, station_of
from addon.core.clearance.hardware_clearance import hardware_excess
from addon.core.colors.clearance_map import clearance_colors, clearance_legend
from addon.core.views.view_lines import Role
from addon.host.map_object import CLEARANCE, COLORS
from addon.ui.draw.canvas import Canvas
from addon.ui.shape.view_figures import put_legend, put_section, put_side
from addon.ui.state.scene_settings import settings_of
from addon.ui.watch.live import live_step
from addon.ui.watch.readout import at_rest, readout, under_cursor, views
from tests.host.extension_scene import seeded, state


@pytest.fixture
def seeded_cage(troubles: list[str]) -> bpy.types.Object:
    return seeded()


def lower_the_cage(by: float) -> None:
    """Let the cage down without holding it."""
    settings_of(bpy.context.scene).hold = "WARN"
    mesh = settings_of(bpy.context.scene).cage_object.data
    place = np.zeros(3 * len(mesh.vertices), np.float32)
    mesh.attributes["position"].data.foreach_get("vector", place)
    place[2::3] -= by
    mesh.attributes["position"].data.foreach_set("vector", place)
    live_step(bpy.context.scene)


def rows_of(hold: str = "HOLD") -> dict[str, str]:
    made = readout(state(), hold, None)
    assert made is not None
    return dict(made.rows)


def first_number(text: str) -> float:
    found = re.search(r"[-+]?\d+\.?\d*", text)
    assert found is not None
    return float(found.group())


def test_rows_tell_the_least_clearance_and_where(seeded_cage: bpy.types.Object) -> None:
    facts, shaped = state().facts, state().shaped
    excess = facts.field.limits[0].body.distance(shaped.skin) - facts.budget.skin_required_mm
    rows = rows_of()
    assert first_number(rows["To Spare"]) == pytest.approx(excess.min(), abs=0.03)  # 0.02 of it is kept for facets
    assert first_number(rows["Least Clearance"]) == pytest.approx(excess.min() + facts.budget.required_mm, abs=0.03)
    place = shaped.skin[excess.argmin()]
    assert f"{round(float(station_of(place)))}°" in rows["To Spare"]
    assert first_number(rows["Widest"]) == round(2 * np.abs(shaped.skin[:, 0]).max())
    assert first_number(rows["Room Under Mount"]) == pytest.approx(-facts.room.missing_mm, abs=0.051)
    assert "at rest" in rows["Proven to Tire"] and "at rest" in rows["Mass"]


def test_the_head_with_the_least_to_spare_is_told_and_counts(seeded_cage: bpy.types.Object) -> None:
    """Heads that stand 14.4 + 2 mm over the tire have less to spare than the skin, which can be shaped higher only."""
    facts = state().facts
    least = min(facts.hardware, key=lambda each: each.excess_mm)
    assert first_number(rows_of()["Screw Heads"]) == pytest.approx(least.proof.min_mm, abs=0.051)
    settings = settings_of(bpy.context.scene)
    settings.mount.height -= least.excess_mm - 2.0
    live_step(bpy.context.scene)
    rows = rows_of()
    assert rows["Least Clearance"].endswith("mm to the tire, from the screw head of bolt 1")
    assert first_number(rows["To Spare"]) == pytest.approx(2.0, abs=0.2)  # the heads stand beside the top


def test_broken_cage_is_told_and_stays_unmoved(seeded_cage: bpy.types.Object) -> None:
    before = first_number(rows_of()["To Spare"])
    lower_the_cage(before + 8.0)
    made = readout(state(), "WARN", None)
    assert made is not None and made.broken
    assert first_number(dict(made.rows)["To Spare"]) < -1.0
    assert dict(made.rows)["Hold"] == "warn only"


def test_proof_and_mass_at_rest(seeded_cage: bpy.types.Object) -> None:
    """The proven bound lies under the least over the samples, by at most the tolerance and what facets lose; mass by hand."""
    facts, shaped = state().facts, state().shaped
    rest = at_rest(state())
    assert rest is not None
    sampled = shaped.excess.min() + facts.budget.required_mm
    assert sampled - 0.2 < rest.proven_mm <= sampled
    quads = shaped.skin[shaped.stencil.quads]
    area = np.linalg.norm(np.cross(quads[:, 2] - quads[:, 0], quads[:, 3] - quads[:, 1]), axis=1).sum()  # both halves
    assert facts.job.printer.material == "PETG"
    assert rest.mass_g == pytest.approx(area * facts.job.wall.thickness * 1.27e-3, rel=1e-3)
    state().at_rest = rest
    assert f"{rest.proven_mm:.2f}" in rows_of()["Proven to Tire"]
    live_step(bpy.context.scene)
    assert state().at_rest is None


def test_nothing_is_made_anew_while_nothing_changes(seeded_cage: bpy.types.Object) -> None:
    made, drawn = readout(state(), "HOLD", None), views(state(), 10.0, None)
    assert readout(state(), "HOLD", made) is made
    assert views(state(), 10.0, drawn) is drawn
    assert views(state(), 20.0, drawn) is not drawn
    live_step(bpy.context.scene)
    assert readout(state(), "HOLD", made) is not made
    assert views(state(), 10.0, drawn) is not drawn


def test_cursor_reads_the_skin_on_both_sides(seeded_cage: bpy.types.Object) -> None:
    """Against the host's own ray on its own skin, whose quads may be cut along the other diagonal (4 mm wide)."""
    cage = settings_of(bpy.context.scene).cage_object.evaluated_get(bpy.context.evaluated_depsgraph_get())
    for x in (30.0, -30.0):
        origin, aim = point_at(900.0, 25.0, 2.0 * x), point_at(330.0, 12.0, x)
        inward = (aim - origin) / np.linalg.norm(aim - origin)
        found = under_cursor(state(), origin, inward)
        hit, place, *_ = cage.ray_cast(origin.tolist(), inward.tolist())
        assert found is not None and hit
        lines, station = found
        assert station == pytest.approx(float(station_of(np.array(place))), abs=0.01)
        assert lines[1] == f"{round(station)}°, x {round(place[0])}"
        expected = state().facts.field.excess(np.array([place]))[0] + state().facts.budget.required_mm
        assert first_number(lines[0]) == pytest.approx(expected, abs=0.06)  # a tenth is shown
        assert under_cursor(state(), origin, -inward) is None


def test_views_hold_the_fender(seeded_cage: bpy.types.Object) -> None:
    drawn = views(state(), 5.0, None)
    assert drawn is not None and drawn.section.reached
    assert {line.role for line in drawn.section.lines} == {Role.TIRE, Role.ENVELOPE, Role.REQUIRED, Role.OUTER, Role.INNER}
    assert {line.role for line in drawn.side} == set(Role)
    assert min(gap.mm for gap in drawn.section.gaps) >= state().facts.budget.required_mm


def test_figures_stay_inside_their_panels(seeded_cage: bpy.types.Object) -> None:
    drawn = views(state(), 5.0, None)
    assert drawn is not None
    canvas = Canvas(1.0)
    put_section(canvas, 800.0, 10.0, (330.0, 250.0), drawn.section)
    put_side(canvas, 460.0, 10.0, (200.0, 250.0), drawn.side)
    left, low, right, high = canvas.bounds()
    margin = max(canvas.lines) + 1.0
    assert left >= 260.0 - margin and low >= 10.0 - margin and right <= 800.0 + margin and high <= 260.0 + margin
    texts = [text.text for text in canvas.texts]
    for gap in drawn.section.gaps:
        assert f"{gap.mm:.1f}" in texts
    for text in canvas.texts:
        assert 260.0 <= text.x and text.x + canvas.width_of(text.text) <= 800.0, text
        assert 10.0 <= text.y <= 260.0, text


def test_legend_holds_its_texts(seeded_cage: bpy.types.Object) -> None:
    canvas = Canvas(1.0)
    right = put_legend(canvas, 5.0, 7.0, clearance_legend(14.4), ("Clearance of", "the part, mm"))
    assert canvas.bounds()[2] == np.ceil(right)
    assert all(text.x + canvas.width_of(text.text) <= right for text in canvas.texts)
    assert "under 14.4 mm" in [text.text for text in canvas.texts]


def test_baked_map_carries_clearance_and_colors(seeded_cage: bpy.types.Object) -> None:
    assert bpy.ops.fenderwright.bake_map() == {"FINISHED"}
    ob = bpy.data.objects[COLORS]
    count = len(ob.data.vertices)
    shaped, facts = state().shaped, state().facts
    of_skin = 2 * len(shaped.skin) - int(shaped.stencil.on_plane.sum())
    screws, over = hardware_excess(facts.hardware)
    assert count == of_skin + len(screws.vertices) and len(facts.hardware) == len(facts.job.mount.bolts)
    place, value, color = np.zeros(3 * count, np.float32), np.zeros(count, np.float32), np.zeros(4 * count, np.float32)
    ob.data.attributes["position"].data.foreach_get("vector", place)
    ob.data.attributes[CLEARANCE].data.foreach_get("value", value)
    ob.data.color_attributes[COLORS].data.foreach_get("color_srgb", color)
    points = place.reshape(-1, 3).astype(np.float64)
    excess = np.concatenate([facts.field.excess(points[:of_skin]), over])
    np.testing.assert_allclose(value, excess + facts.budget.required_mm, atol=1e-3)
    expected = clearance_colors(value.astype(np.float64) - facts.budget.required_mm, points)
    np.testing.assert_allclose(color.reshape(-1, 4), expected, atol=0.02)
    mirrored = points[:of_skin] * [-1.0, 1.0, 1.0]
    assert np.abs(facts.field.excess(mirrored) - excess[:of_skin]).max() < 1e-6
    np.testing.assert_allclose(points[of_skin:], screws.vertices, atol=1e-3)
    bpy.ops.fenderwright.bake_map()
    assert sum(other.name.startswith(COLORS) for other in bpy.data.objects) == 1
