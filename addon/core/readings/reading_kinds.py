# SPDX-License-Identifier: GPL-3.0-or-later
"""What is read by hand, in which unit, how well, and what of the job sheet it sets."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ..tables.hand_readings import MM_PER_INCH, SINGLE_READING, TAPE_THICKNESS_MM


@dataclass(frozen=True)
class ReadingKind:
    """One thing to read.

    label : for panels. unit : of the readings
    key : (section, name) of the sheet that the mean sets, None for a reading that only checks others
    factor, less : value of the sheet = factor * mean - less
    """

    name: str
    label: str
    unit: str = "mm"
    key: tuple[str, str] | None = None
    factor: float = 1.0
    less: float = 0.0

    @property
    def sigma(self) -> float:
        """Standard deviation of one reading, known beforehand, in its unit."""
        return SINGLE_READING[self.name][0]

    @property
    def division(self) -> float:
        """Smallest division of the scale, in its unit."""
        return SINGLE_READING[self.name][1]

    def sheet_value(self, mean: float) -> float:
        """The mean as the sheet states it, rounded to 0.01."""
        return round(self.factor * mean - self.less, 2)


READING_KINDS: dict[str, ReadingKind] = {
    kind.name: kind
    for kind in (
        ReadingKind("height", "Mount Height", key=("mount", "height")),
        ReadingKind("ahead", "Ahead", key=("mount", "ahead")),
        ReadingKind("tilt", "Tilt", "deg", ("mount", "tilt")),
        ReadingKind("radius", "Axle to Crown", key=("tire", "measured_radius")),
        ReadingKind(
            "circumference",
            "Circumference",
            key=("tire", "measured_radius"),
            factor=1.0 / (2.0 * pi),
            less=0.5 * TAPE_THICKNESS_MM,
        ),
        ReadingKind("ground_radius", "Axle to Ground"),
        ReadingKind("width", "Tire Width", key=("tire", "measured_width")),
        ReadingKind("rim_width", "Rim Width", key=("tire", "rim_width_in"), factor=1.0 / MM_PER_INCH),
        ReadingKind("axle_to_face", "Axle to Mount Face"),
        ReadingKind("height_ahead", "Second Height"),
    )
}
"""All kinds by name, in the order in which they are asked for."""
