# SPDX-License-Identifier: GPL-3.0-or-later
"""What report and build sheet say of edges that the least radius does not cover, and of pins and keys in the fitting."""

import re
from typing import Any

import pytest

from addon.core.job.job_sheet import Job, parse_job
from addon.core.pieces.edge_words import bore_words, joint_words
from addon.core.pieces.joint import planned_joint
from addon.core.report.bolt_list import BoltList
from addon.core.report.fitting_steps import fitting_steps
from addon.core.seat.bore import bore_of
from addon.core.seat.placed_seat import PlacedSeat
from tests.core.torus_surface import crown_seat

BOLTS = BoltList(4, "M6", 3.0, None, "large", (("screw", ""),), (), 20.0, None, None)


def job_with(split: dict[str, Any] | None = None, **mount: Any) -> Job:
    sheet: dict[str, Any] = {
        "tire": {"size": "120/70R17"},
        "mount": {"height": 60, "bolts": [[25, 30], [-25, 30], [25, -30], [-25, -30]], "thread": "M6", **mount},
        "clearance": {"gap": 20},
        "wall": {"thickness": 4},
        "split": split or {},
    }
    return parse_job(sheet)


@pytest.mark.parametrize(
    ("mount", "broken", "words"),
    [
        ({}, 0.0, "mount: holes as drilled, under heads or washers"),
        ({"hardware": "counterbore"}, 0.4, "mount: mouths of the recesses broken by 0.4 mm"),
        ({"hardware": "washer_flat"}, 0.15, "mount: mouths of the recesses broken by 0.15 mm"),
        ({"slots": [[20, 0]]}, 0.4, "mount: mouths of the slots broken by 0.4 mm"),
        ({"hardware": "counterbore"}, 0.0, "mount: mouths left sharp, .* break them by hand"),
    ],
)
def test_bores(mount: dict[str, Any], broken: float, words: str) -> None:
    bolted = job_with(**mount).mount
    placed = PlacedSeat("mount", crown_seat(), bolted, bore_of("mount", bolted), 13.0, None)
    (said,) = bore_words([placed], [broken])
    assert re.match(words, said)
    # what is to be broken by the bore, and was not
    assert ("left sharp" in said) == (bore_of("mount", bolted).mouth_break > broken)


def test_joint() -> None:
    assert joint_words(None) == "no joint"
    joint = planned_joint(job_with({"joint": "butt", "fit": 0.25}).split, crown_seat(), 3.0, 13.0, 0.4)
    assert "no wider than the fit of 0.25 mm" in joint_words(joint)


def test_fitting_tells_of_keys_and_pins() -> None:
    plain, pinned, keyed = (
        " ".join(fitting_steps(job_with({"pin": 4.0}), BOLTS, 2, pins, keys)) for pins, keys in ((0, 0), (6, 0), (0, 4))
    )
    assert "pins" not in plain and "keys" not in plain
    assert "press the 6 pins of 4 mm" in pinned and pinned.index("4 screws M6") < pinned.index("press the 6 pins")
    assert "the keys under the other piece" in keyed
