# SPDX-License-Identifier: GPL-3.0-or-later
"""Size codes in all spellings that occur in print; the source of each stands beside it."""

from __future__ import annotations

import pytest

from addon.core.base.errors import JobError
from addon.core.job.tire_code import parse_tire_code
from addon.core.tables.tire_rules import LOAD_KG, SPEED_KMH


@pytest.mark.parametrize(
    ("text", "kind", "width", "aspect", "rim", "structure", "load_index", "symbol"),
    [
        # metric: blackcircles.com, michelin.in, sicher-motorrad-fahren.de, maxxis.com/uk, choppersurplus.com
        ("120/70 ZR 17 M/C (58W)", "metric", 120, 70, 17, "radial", 58, "W"),
        ("180/55 ZR 17 M/C (73W)", "metric", 180, 55, 17, "radial", 73, "W"),
        ("100/90-18 56H", "metric", 100, 90, 18, "diagonal", 56, "H"),
        ("110/80 17 54H", "metric", 110, 80, 17, "diagonal", 54, "H"),
        ("120/90-V18", "metric", 120, 90, 18, "diagonal", None, "V"),
        ("130/90 B16", "metric", 130, 90, 16, "belted", None, None),
        ("140/90 HB16", "metric", 140, 90, 16, "belted", None, "H"),
        # inch: maxxis.com/uk, oocities.org/fwarner_au, rmhfaq.com, choppersurplus.com
        ("3.25-19", "inch", 82.55, 100, 19, "diagonal", None, None),
        ("3.50-18", "inch", 88.9, 100, 18, "diagonal", None, None),
        ("3.00 S 18 4PR", "inch", 76.2, 100, 18, "diagonal", None, "S"),
        ("4.50H-16", "inch", 114.3, 100, 16, "diagonal", None, "H"),
        ("5.50 HB16", "inch", 139.7, 100, 16, "belted", None, "H"),
        # low-section inch (T11): maxxis.com/uk
        ("4.10-19", "inch", 104.14, 90, 19, "diagonal", None, None),
        ("4.25/85-18", "inch", 107.95, 85, 18, "diagonal", None, None),
        # alpha (T10): webbikeworld.com, choppersurplus.com, tonupboys.com, rmhfaq.com
        ("MH90-21", "alpha", 80, 90, 21, "diagonal", None, None),
        ("MT90 B16", "alpha", 130, 90, 16, "belted", None, None),
        ("MU85 HB16", "alpha", 140, 85, 16, "belted", None, "H"),
        ("MR80H-16", "alpha", 120, 80, 16, "diagonal", None, "H"),
        # loose print: pressreader, Classic Motorcycle September 2021
        ("3.00x19", "inch", 76.2, 100, 19, "diagonal", None, None),
        ("3.60 x 19", "inch", 91.44, 90, 19, "diagonal", None, None),
        ("90/90x19", "metric", 90, 90, 19, "diagonal", None, None),
        # the same codes as people type them
        ("120/70zr17", "metric", 120, 70, 17, "radial", None, "Z"),
        ("  120 / 70  r 17  ", "metric", 120, 70, 17, "radial", None, None),
        ("120-70-17", "metric", 120, 70, 17, "diagonal", None, None),
        ("3,25 - 19", "inch", 82.55, 100, 19, "diagonal", None, None),
        ("mt90-16 74h tl", "alpha", 130, 90, 16, "diagonal", 74, "H"),
        ("130/70VB18 M/C 63V REINF TL", "metric", 130, 70, 18, "belted", 63, "V"),
        ("150/70 D 18", "metric", 150, 70, 18, "diagonal", None, None),
    ],
)
def test_spellings(
    text: str, kind: str, width: float, aspect: float, rim: int, structure: str, load_index: int | None, symbol: str | None
) -> None:
    code = parse_tire_code(text)
    assert (code.kind, code.aspect, code.rim_code, code.structure) == (kind, aspect, rim, structure)
    assert code.width_mm == pytest.approx(width, abs=1e-9)
    assert (code.load_index, code.speed_symbol) == (load_index, symbol)


def test_t9_bracketed_service_description() -> None:
    code = parse_tire_code("180/55 ZR 17 M/C (73W)")  # michelin.in
    assert (code.motorcycle_mark, code.load_kg, code.speed_kmh, code.beyond_symbol) == (True, 365, 270, True)
    assert not parse_tire_code("180/55 ZR17 73W").beyond_symbol
    assert parse_tire_code("180/55 ZR17").beyond_symbol  # ZR: over 240


def test_t12_speed_symbols_and_load_indices() -> None:
    # oocities.org/fwarner_au tyrecodes, kacheluntai.com
    assert [SPEED_KMH[letter] for letter in "HVWUJ"] == [210, 240, 270, 200, 100]
    assert [LOAD_KG[index] for index in (58, 65, 42, 73, 63)] == [236, 290, 150, 365, 272]
    indices = sorted(LOAD_KG)
    assert [LOAD_KG[index] for index in indices] == sorted(LOAD_KG.values())


@pytest.mark.parametrize(
    ("text", "use", "reinforced"),
    [
        ("90/90-21 M/C 54H MST", "special", False),
        ("90/90-21 M/C 54H M+S", "snow", False),
        ("90/90-21 54T M+S MST TT", "special", False),
        ("130/80-17 65H EXTRA LOAD", "normal", True),
        ("130/80-17 65H Reinforced Tubeless", "normal", True),
    ],
)
def test_marks_behind_the_size(text: str, use: str, reinforced: bool) -> None:
    code = parse_tire_code(text)
    assert (code.use, code.reinforced) == (use, reinforced)


@pytest.mark.parametrize("text", ["25x3", "28 x 3", "26 X 2 1/2", "710x90"])
def test_beaded_edge_has_a_sentence_of_its_own(text: str) -> None:
    with pytest.raises(JobError, match="beaded-edge") as caught:
        parse_tire_code(text)
    assert caught.value.key == "tire.size"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("hello", "accepted are codes such as"),
        ("120/70", "accepted are codes such as"),
        ("120/70-170", "accepted are codes such as"),
        ("120/70 QQ17", "accepted are codes such as"),
        ("ML90-18", "width letter ML"),
        ("12/70-17", "width in mm 12; allowed is 40 to 400"),
        ("120/700-17", "aspect in percent 700"),
        ("120/70-35", "rim code 35"),
        ("120/70-17 round", 'ends in "ROUND"'),
        ("120/70 ZR17 58X", "speed symbol X"),
        ("120/70 ZR17 58W 60H", "two speed symbols"),
        ("120/70 ZR17; DROP", 'ends in "DROP"'),
    ],
)
def test_unknown_codes_show_what_is_accepted(text: str, says: str) -> None:
    with pytest.raises(JobError) as caught:
        parse_tire_code(text)
    assert caught.value.key == "tire.size"
    assert says in str(caught.value)


def test_width_letter_from_memory_says_so() -> None:
    assert "from memory" in parse_tire_code("MN90-18").notes[0]
