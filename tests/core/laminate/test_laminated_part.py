# SPDX-License-Identifier: GPL-3.0-or-later
"""The laminated part: where it lies, how thick it is, what it takes, and what is refused."""

import numpy as np
import pytest
import trimesh

from addon.core.base.errors import JobError
from addon.core.clearance.budget import budget
from addon.core.clearance.room import check_room
from addon.core.job.job_sheet import Laminate, job_to_dict, parse_job
from addon.core.laminate.check_laminate import check_laminate
from addon.core.laminate.laminated_part import check_bends, part_schedule
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.core.tables.laminates import PLIES
from addon.core.wall.job_edges import skin_shares
from addon.core.wall.job_laminate import laminate_mix, laminate_mm
from tests.core.laminate.scenes import job_of, scene


@pytest.mark.parametrize("name", ["front_mold", "rear_buck"])
def test_part_is_as_thick_as_its_plies_under_the_outer_face_of_the_print(name: str) -> None:
    """Distances between the faces by trimesh, an outside library."""
    found = scene(name)
    thickness = laminate_mm(found.job)
    assert found.wall.mesh.is_closed
    plain = found.wall.seat_weight == 0.0
    np.testing.assert_allclose(
        trimesh.proximity.closest_point(
            trimesh.Trimesh(found.wall.outer, found.wall.triangles, process=False), found.wall.inner[plain][::7]
        )[1],
        thickness,
        atol=0.02,
    )
    # the wall of both sheets lies inside of the skin
    off = trimesh.proximity.closest_point(
        trimesh.Trimesh(found.surface.points, found.surface.triangles, process=False), found.wall.outer[plain][::7]
    )[1]
    assert off.max() < 0.05  # facets of the skin, before they are made finer


def test_seat_of_the_part_bears_on_the_mount_plane() -> None:
    found = scene("front_mold")
    seated = found.wall.seat_weight == 1.0
    assert np.abs(found.seats[0].height(found.wall.outer[seated])).max() < 1e-6


def test_plies_have_the_area_of_their_depth() -> None:
    found = scene("front_mold")
    assert found.job.laminate is not None
    schedule = part_schedule(found.job.laminate, found.wall)
    outer, inner = (TriangleMesh(face, found.wall.triangles).area for face in (found.wall.outer, found.wall.inner))
    areas = [layer.area for layer in schedule.layers]
    assert outer > areas[0] > areas[1] > areas[2] > inner
    # as much as the closed body of the part holds, its cut edge left out
    volume = sum(layer.area * layer.thickness for layer in schedule.layers) + outer * schedule.gel_coat_mm
    assert volume == pytest.approx(found.wall.mesh.volume, rel=5e-3)
    assert schedule.mass == pytest.approx(sum(layer.fiber + layer.resin for layer in schedule.layers) + 600.0 * outer / 1e6)


def test_skin_keeps_room_for_a_laminate_that_is_thicker_than_the_wall() -> None:
    thin, thick = job_of("front_mold", plies=["CSM 300"]), job_of("front_mold")
    assert laminate_mm(thin) < thin.wall.thickness < laminate_mm(thick)
    assert skin_shares(thin)[1] == thin.wall.thickness
    assert skin_shares(thick)[1] == pytest.approx(laminate_mm(thick))
    assert budget(thick).wall_mm == pytest.approx(laminate_mm(thick))
    assert budget(thick).required_mm == pytest.approx(budget(thin).required_mm)
    assert "laminate" in next(line.note for line in budget(thick).lines if line.name == "wall")


def test_laminate_thicker_than_the_room_under_the_seat_is_refused() -> None:
    data = job_to_dict(job_of("front_mold", plies=["CSM 600"] * 12))
    data["mount"]["height"] = 34.0
    with pytest.raises(JobError, match=r"laminate\.plies: make a laminate of 18\.31 mm, .* fewer or thinner plies"):
        check_room(parse_job(data))
    data["laminate"]["plies"] = ["CSM 300"]
    check_room(parse_job(data))


@pytest.mark.parametrize(
    ("laminate", "key", "words"),
    [
        ({"resin": "epoxy", "hardener": 30, "gel_coat": 0.0}, "laminate.plies[0]", "binder needs styrene"),
        ({"plies": ["CSM 300", "carbon woven 200"]}, "laminate.plies[1]", 'allowed with it is "vinyl ester", "epoxy"'),
        ({"hardener": 4.0}, "laminate.hardener", "allowed is 1 to 3 percent"),
        ({"hardener": 0.4}, "laminate.hardener", "allowed is 1 to 3 percent"),
        ({"gel_coat": 1.2}, "laminate.gel_coat", "up to 0.8 mm"),
        ({"route": "buck", "gel_coat": 0.5}, "laminate.gel_coat", "choose the mold route"),
    ],
)
def test_choices_that_cannot_be_right_are_refused(laminate: dict[str, object], key: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        check_laminate(job_of("front_mold", **laminate))
    assert caught.value.key == key
    assert words in caught.value.sentence


def test_demo_laminates_are_taken() -> None:
    check_laminate(job_of("front_mold"))
    check_laminate(job_of("rear_buck"))
    check_laminate(job_of("front_mold", resin="vinyl ester", plies=["carbon woven 200"]))


@pytest.mark.parametrize("plies", [[], ["CSM 301"]])
def test_no_ply_and_an_unknown_one_are_refused(plies: list[str]) -> None:
    with pytest.raises(JobError, match=r"laminate\.plies"):
        job_of("front_mold", plies=plies)


def test_shape_that_bends_more_tightly_than_a_ply_lies_is_refused() -> None:
    found = scene("front_mold")
    assert found.job.laminate is not None
    check_bends(found.wall, found.job.laminate)
    points = found.wall.outer * 0.15
    small = type(found.wall)(**{**vars(found.wall), "outer": points})
    with pytest.raises(JobError, match=r'"CSM 450" lies on a radius of 5 mm at least') as caught:
        check_bends(small, found.job.laminate)
    assert caught.value.place is not None


def test_defaults_follow_route_and_temperature() -> None:
    mold, buck = Laminate(plies=("CSM 300",)), Laminate(plies=("CSM 300",), route="buck", temperature=25.0)
    assert (laminate_mix(mold).gel_coat, laminate_mix(mold).hardener) == (0.5, 2.0)
    assert (laminate_mix(buck).gel_coat, laminate_mix(buck).hardener) == (0.0, 1.0)
    assert laminate_mix(Laminate(plies=("CSM 300",), hardener=1.5, waste=40.0)).waste == 0.4
    assert set(PLIES) >= {"CSM 300", "CSM 450", "woven 200"}
