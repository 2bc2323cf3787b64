# SPDX-License-Identifier: GPL-3.0-or-later
"""Published colors for scans, safe for color blindness.

RED_BLUE : the diverging scheme RdBu with eleven classes of Brewer and Harrower, ColorBrewer 2.0 (Penn State, Apache License
    2.0), turned so that blue is below and red above [S]; marked there as safe for color blindness.
REGION_COLORS : of the set of Okabe and Ito, "Color Universal Design" (2008) [S]: blue, orange, reddish purple, bluish green.
UNMARKED, NOT_ON_TIRE : grays, ours; neither set holds them.
"""

from __future__ import annotations

Color = tuple[float, float, float]


def _color(code: str) -> Color:
    red, green, blue = (int(code[i : i + 2], 16) / 255.0 for i in (0, 2, 4))
    return red, green, blue


RED_BLUE: tuple[Color, ...] = tuple(
    _color(code)
    for code in (
        *("053061", "2166ac", "4393c3", "92c5de", "d1e5f0"),
        "f7f7f7",
        *("fddbc7", "f4a582", "d6604d", "b2182b", "67001f"),
    )
)
REGION_COLORS: dict[str, Color] = {
    "tire": _color("0072b2"),
    "mount": _color("e69f00"),
    "holes": _color("cc79a7"),
    "chassis": _color("009e73"),
}
UNMARKED: Color = (0.62, 0.62, 0.62)
NOT_ON_TIRE: Color = (0.42, 0.42, 0.42)
