# SPDX-License-Identifier: GPL-3.0-or-later
"""The print plan: loads, layers, distinct options, figures by their formulas."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.base.errors import JobError
from addon.core.base.wheel_axes import point_at
from addon.core.job.job_sheet import Job, Lay, job_to_dict, parse_job, read_job_sheet
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.printing.bed_help import bed_help
from addon.core.printing.print_fit import print_fit
from addon.core.printing.print_pick import picked_plans
from addon.core.printing.print_plan import PrintPlan, print_plan
from addon.core.printing.print_report import print_cautions, print_report
from addon.core.printing.tongue_load import TongueLoad, layer_strength, tongue_load
from addon.core.seat.mount import mount_frame
from addon.core.tables.materials import DENSITY, HEAT_LIMIT, LAYER_STRENGTH, MATERIALS, MODULUS_MPA, SHRINK, print_scale
from addon.core.tables.printing_rules import SUPPORT_DENSITY

DEMO = Path(__file__).resolve().parents[3] / "blend_demo"


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job_sheet(DEMO / "front_17.toml")


def arc(front: float, rear: float, radius: float = 340.0, wall: float = 4.0, width: float = 90.0) -> TriangleMesh:
    """A plain arc of a fender, closed: a strip of a cylinder wall between two stations."""
    stations = np.linspace(rear, front, 401)
    across = np.linspace(-0.5 * width, 0.5 * width, 13)
    grid = np.stack(np.meshgrid(np.arange(401), np.arange(13), indexing="ij"), axis=-1).reshape(-1, 2)
    faces = []
    for shift in (0.0, wall):
        faces.append(point_at(radius + shift, stations[grid[:, 0]], across[grid[:, 1]]))
    hull = trimesh.Trimesh(*_strip_mesh(401, 13, faces[0], faces[1]))
    assert hull.is_watertight and hull.volume > 0
    return TriangleMesh(hull.vertices, hull.faces)


def _strip_mesh(n: int, m: int, inner: np.ndarray, outer: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    triangles = []

    def quad(a: int, b: int, c: int, d: int) -> None:
        triangles.extend([(a, b, c), (a, c, d)])

    count = n * m
    for i in range(n - 1):
        for j in range(m - 1):
            a, b, c, d = i * m + j, (i + 1) * m + j, (i + 1) * m + j + 1, i * m + j + 1
            quad(a, b, c, d)
            quad(*(count + k for k in (d, c, b, a)))
    ring = [i * m for i in range(n)] + [(n - 1) * m + j for j in range(1, m)]
    ring += [i * m + m - 1 for i in range(n - 2, -1, -1)] + list(range(m - 2, 0, -1))
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        quad(b, a, count + a, count + b)
    mesh = TriangleMesh(np.concatenate([inner, outer]), np.array(triangles))
    return mesh.vertices, mesh.triangles if mesh.volume > 0 else mesh.triangles[:, ::-1]


@pytest.fixture(scope="module")
def plan(job: Job) -> PrintPlan:
    return print_plan("front", arc(38.0, -2.0), job, mount_frame(job))


def test_shrink_compensation_of_a_known_length() -> None:
    """0.5 %: 200 mm come out right if 200 / 0.995 = 201.005 mm are printed."""
    assert_allclose(200.0 * print_scale(0.005), 201.005, atol=5e-4)
    assert_allclose(200.0 * print_scale(0.005) * (1.0 - 0.005), 200.0, atol=1e-12)
    for wrong in (-0.01, 1.0):
        with pytest.raises(ValueError, match="allowed is 0 to under 1"):
            print_scale(wrong)


@pytest.mark.parametrize("table", [DENSITY, HEAT_LIMIT, SHRINK, LAYER_STRENGTH, MODULUS_MPA])
def test_every_material_has_a_figure_with_its_basis(table: dict[str, tuple[float, str]]) -> None:
    assert set(table) == set(MATERIALS)
    assert {basis for _, basis in table.values()} <= {"published", "common practice", "from memory"}


def test_figures_lie_within_the_published_ranges() -> None:
    """Shrinkage: toolsfast.app and minimal3dp.com; PLA's layers: 12.2 over 23.2 MPa (Polymaker, ISO 527)."""
    for material, (low, high) in {"PLA": (0.1, 0.3), "PETG": (0.2, 0.4), "ABS": (0.4, 0.9), "ASA": (0.4, 0.7)}.items():
        assert low <= 100.0 * SHRINK[material][0] <= high
    assert_allclose(LAYER_STRENGTH["PLA"][0], 12.2 / 23.2, atol=0.005)
    assert [HEAT_LIMIT[name][0] for name in ("PLA", "PETG", "ABS", "ASA")] == [50.0, 60.0, 80.0, 85.0]


def test_load_pulls_along_the_arc_and_grows_toward_the_seat(job: Job) -> None:
    """A push on the end of an arc of 38 deg: lever radius x angle to the end, greatest beside the seat; pull along the tangent."""
    load = tongue_load(arc(38.0, -2.0), mount_frame(job))
    turn = np.arctan2(-load.points[:, 1], load.points[:, 2])
    tangent = np.stack([np.zeros(len(turn)), -np.cos(turn), -np.sin(turn)], axis=1)
    assert (np.einsum("ij,ij->i", load.directions, tangent) > 0.99).all()
    ahead = turn > 0.0
    expected = (np.radians(38.0) - turn[ahead]) / np.max(np.radians(38.0) - turn[ahead])
    assert_allclose(load.levers[ahead], expected, atol=0.02)
    frame = mount_frame(job)
    assert (frame.outline_distance(frame.to_plane(load.points)[0]) > 0.0).all()


@pytest.mark.parametrize(("angle", "kept"), [(0.0, 0.5), (90.0, 1.0), (45.0, 0.5 / (0.5 + 0.25)), (60.0, 0.5 / (0.25 + 0.375))])
def test_strength_at_an_angle_is_hankinsons(angle: float, kept: float) -> None:
    load = TongueLoad(np.array([[0.0, 0.0, 340.0]]), np.array([[1.0, 0.0, 0.0]]), np.ones(1))
    up = np.array([np.cos(np.radians(angle)), 0.0, np.sin(np.radians(angle))])
    found = layer_strength(load, up, 0.5)
    assert_allclose(found.kept, kept, atol=1e-12)
    assert_allclose(found.angle_deg, angle, atol=1e-6)


def test_layers_across_a_weak_place_count_only_as_far_as_it_is_loaded() -> None:
    """At half of the greatest lever even layers right across (ratio 0.5) hold as long as the root."""
    load = TongueLoad(np.zeros((2, 3)) + 1.0, np.eye(3)[:2], np.array([1.0, 0.5]))
    assert_allclose(layer_strength(load, np.array([0.0, 1.0, 0.0]), 0.5).kept, 1.0)
    assert_allclose(layer_strength(load, np.array([1.0, 0.0, 0.0]), 0.5).kept, 0.5)


def test_options_differ_and_are_ranked(plan: PrintPlan) -> None:
    ups = np.array([option.fit.rotation[2] for option in plan.options])
    cosines = ups @ ups.T - 2.0 * np.eye(len(ups))
    assert len(plan.options) >= 4 and cosines.max() < np.cos(np.radians(20.0))
    fitting = [option for option in plan.options if option.fit.fits]
    assert plan.options[: len(fitting)] == tuple(fitting)
    ranks = [(option.layers.kept < 0.75, option.cost) for option in fitting]
    assert ranks == sorted(ranks) and len({weak for weak, _ in ranks}) == 2
    assert min(option.layers.kept for option in plan.options) >= 0.5 - 1e-9


def purpose_plan(job: Job, purpose: str) -> PrintPlan:
    sheet = replace(job, printer=replace(job.printer, purpose=purpose))
    return print_plan("front", arc(38.0, -2.0), sheet, mount_frame(sheet))


def test_the_purpose_ranks_by_time_by_strength_or_by_finish(job: Job, plan: PrintPlan) -> None:
    fit, plug = ([one for one in purpose_plan(job, purpose).options if one.fit.fits] for purpose in ("fit", "plug"))
    assert [one.hours for one in fit] == sorted(one.hours for one in fit)
    ranks = [(round(one.show_mm2 / 100.0), one.hours) for one in plug]
    assert ranks == sorted(ranks) and [one.name for one in fit] != [one.name for one in plan.options if one.fit.fits]
    assert plan.option.layers.kept >= 0.75  # for the road
    assert print_report(replace(job, printer=replace(job.printer, purpose="plug")), [plan])["rank_rule"].startswith("for a plug")


def unstable(job: Job) -> PrintPlan:
    """A thin strip for a narrow, tall bed: no way that fits stands well, so all ways are there."""
    narrow = replace(job, printer=replace(job.printer, bed=(60.0, 60.0, 300.0), margin=2.0))
    return print_plan("front", arc(20.0, -20.0, wall=0.6, width=30.0), narrow, mount_frame(job))


def test_support_on_the_face_that_is_seen_counts(job: Job) -> None:
    """Crown down the outer face lies below: the overhang is on it; crown up it is on the inner one."""
    options = unstable(job).options
    down = next(option for option in options if "crown down" in option.name)
    up = next(option for option in options if "crown up" in option.name)
    assert down.cost - down.grams / down.layers.kept > up.cost - up.grams / up.layers.kept
    assert down.show_mm2 > 0.9 * down.overhang_mm2 > 100.0
    assert up.show_mm2 < 0.1 * up.overhang_mm2


def test_ways_that_stand_on_too_small_a_foot_are_not_offered(job: Job, plan: PrintPlan) -> None:
    """All that is offered stands on half a square millimeter for each of its height; a bed that only they fit gets them, told."""
    assert all(option.contact_mm2 >= 0.5 * option.fit.size[2] for option in plan.options)
    forced = unstable(job)
    assert forced.option.fit.fits and not forced.option.stands
    assert any("may topple" in said for said in print_cautions(job, [forced]))


def test_a_right_piece_lies_as_the_mirror_image_of_its_left_one(job: Job) -> None:
    left = arc(38.0, -2.0)
    right = TriangleMesh(left.vertices * [-1.0, 1.0, 1.0], left.triangles[:, ::-1])
    plans = [print_plan(name, mesh, job, mount_frame(job)) for name, mesh in (("left", left), ("right", right))]
    lay = Lay(name="left", up=tuple(float(v) for v in plans[0].options[2].fit.rotation[2]))
    one, other = picked_plans(plans, [lay])
    assert one.picked == 2
    assert other.option.fit.rotation[2] @ (one.option.fit.rotation[2] * [-1.0, 1.0, 1.0]) > np.cos(np.radians(25.0))


def test_help_for_a_bed_that_is_too_small_is_true() -> None:
    """The bed that is named holds the piece and the next smaller one does not; so does the end that is named."""
    mesh, bed = arc(60.0, 0.0), (200.0, 200.0, 200.0)
    assert not print_fit(mesh.vertices, bed, 5.0).fits
    said = bed_help(mesh.vertices, bed, 5.0, 0.0)
    side = float(said.split("a bed of ")[1].split()[0])
    end = float(said.split("an end at ")[1].split()[0])
    assert print_fit(mesh.vertices, (side, side, side), 5.0).fits
    assert not print_fit(mesh.vertices, (side - 10.0, side - 10.0, 200.0), 5.0).fits
    assert print_fit(arc(end - 1.0, 0.0).vertices, bed, 5.0).fits and not print_fit(arc(end + 4.0, 0.0).vertices, bed, 5.0).fits
    assert bed_help(arc(8.0, 0.0, width=1500.0).vertices, bed, 5.0, 0.0) == ""


def test_an_arc_on_its_side_has_layers_along_the_pull_and_one_on_its_end_has_not(plan: PrintPlan) -> None:
    by_name = {option.name: option for option in plan.options}
    side, end = by_name["on its left edge, flat"], by_name["on its rear end, flat"]
    assert_allclose(side.contact_mm2, arc(38.0, -2.0).volume / 90.0, rtol=0.01)  # the section, as a prism's, is volume over width
    assert_allclose(end.contact_mm2, 90.0 * 4.0, rtol=0.02)
    assert side.layers.kept > 0.99 and side.layers.angle_deg > 85.0
    assert end.layers.kept < 0.6 and end.layers.angle_deg < 25.0


def test_grams_and_hours_follow_their_formulas(job: Job, plan: PrintPlan) -> None:
    """PETG of 1.27 g/cm3; 0.4 mm x 0.2 mm x 60 mm/s = 4.8 mm3/s."""
    volume = arc(38.0, -2.0).volume
    for option in plan.options:
        plastic = volume + SUPPORT_DENSITY * option.support_mm3
        assert_allclose(option.grams, plastic * 1.27e-3, rtol=1e-12)
        assert_allclose(option.hours, plastic / 4.8 / 3600.0, rtol=1e-12)


def test_size_is_exact_and_the_room_counts_shrinkage(job: Job, plan: PrintPlan) -> None:
    mesh = arc(38.0, -2.0)
    room = np.array([210.0, 210.0, 245.0])
    for option in plan.options:
        rotation = option.fit.rotation
        assert_allclose(rotation @ rotation.T, np.eye(3), atol=1e-12)
        assert_allclose(np.linalg.det(rotation), 1.0)
        assert_allclose(np.ptp(mesh.vertices @ rotation.T, axis=0), option.fit.size, atol=1e-9)
        assert_allclose(option.room_left_mm, room - option.fit.size / (1.0 - 0.003), atol=1e-9)
        assert option.fit.fits == bool((option.room_left_mm >= -1e-6).all())


def test_a_piece_that_fits_only_before_it_is_scaled_does_not_fit(job: Job) -> None:
    """90 mm wide, on its side in a room 90.1 mm high: printed 90 / 0.997 = 90.27 mm high."""
    low = replace(job, printer=replace(job.printer, bed=(1000.0, 1000.0, 95.1)))
    on_side = [
        option
        for option in print_plan("front", arc(38.0, -2.0), low, mount_frame(low)).options
        if abs(option.fit.rotation[2, 0]) > 0.9999
    ]
    assert on_side and all(option.fit.size[2] < 90.1 and not option.fit.fits for option in on_side)


def test_a_pick_is_carried_and_a_wrong_one_refused(plan: PrintPlan) -> None:
    assert plan.pick(2).option is plan.options[2] and plan.picked == 0
    for wrong in (-1, len(plan.options)):
        with pytest.raises(JobError, match=f"{wrong} is not one of 0 to {len(plan.options) - 1}"):
            plan.pick(wrong)


def test_the_sheet_picks_by_what_points_up(plan: PrintPlan) -> None:
    """Nearest option within 25 degrees, as after a change of shape; what is farther from all is refused."""
    for index, option in enumerate(plan.options):
        turned = Rotation.from_rotvec(np.radians(3.0) * np.array([0.6, 0.0, 0.8])).apply(option.fit.rotation[2].copy())
        assert plan.nearest(7.0 * turned) == index
    (picked,) = picked_plans([plan], [Lay(name="front", up=tuple(plan.options[3].fit.rotation[2]))])
    assert picked.picked == 3
    assert picked_plans([plan], []) == (plan,)
    with pytest.raises(JobError, match=r'lay\[0\].name: "rear" is no piece of this fender; allowed is front'):
        picked_plans([plan], [Lay(name="rear", up=(0.0, 0.0, 1.0))])
    ups = np.array([option.fit.rotation[2] for option in plan.options])
    directions = np.random.default_rng(4).normal(size=(500, 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    lost = directions[np.argmin((directions @ ups.T).max(axis=1))]
    with pytest.raises(JobError, match="no way to print it has"):
        plan.nearest(lost)


def test_report_says_what_is_too_hot_and_what_is_weak(job: Job, plan: PrintPlan) -> None:
    report = print_report(job, [plan])
    material = report["material"]
    assert_allclose(material["print_scale"], 1.0 / 0.997, atol=1e-6)
    assert [place["c"] for place in material["too_hot"]] == [70.0, 100.0, 150.0]
    weak = min(range(len(plan.options)), key=lambda index: plan.options[index].layers.kept)
    assert any("layers across the pull" in sentence for sentence in print_cautions(job, [plan.pick(weak)]))
    assert not any("layers across the pull" in sentence for sentence in print_cautions(job, [plan]))
    data = {**job_to_dict(job), "printer": {"material": "ABS"}}
    assert [place["c"] for place in print_report(parse_job(data), [])["material"]["too_hot"]] == [100.0, 150.0]
