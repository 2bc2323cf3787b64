# SPDX-License-Identifier: GPL-3.0-or-later
"""What was measured of a scan on the way to wheel axes."""

from __future__ import annotations

from dataclasses import dataclass

from ...base.arrays import Array
from ..data.scan_data import UNIT_MM
from ..mount.mount_face import MountFace
from ..mount.mount_numbers import MountNumbers
from ..wheel.axis import Axis
from ..wheel.center_plane import CenterPlane
from ..wheel.find_tire import TireFound
from ..wheel.symmetry_plane import SymmetryPlane
from ..wheel.tire_section import TireSection
from ..wheel.tread import Tread
from ..wheel.wheel_frame import WheelFrame


@dataclass(frozen=True, eq=False)
class Alignment:
    """All in mm and scan coordinates times the unit, but for frame, which leads to wheel axes.

    axis : the axle, its point the wheel's center in the tire's center plane
    tread : None if the tire has no grooves; else section and axis are those of its tops
    mount, face : None if the mount is neither marked nor found; face_found : True if nobody marked it; symmetry : None if the rest of the scan has no plane of symmetry
    """

    unit: str
    axis: Axis
    tire: TireFound
    center: CenterPlane
    section: TireSection
    tread: Tread | None
    frame: WheelFrame
    face: MountFace | None
    face_found: bool
    mount: MountNumbers | None
    symmetry: SymmetryPlane | None
    warnings: tuple[str, ...]

    @property
    def scan_to_wheel(self) -> Array:
        """(4, 4) from scan coordinates in the scan's unit to wheel axes in mm."""
        return self.frame.matrix(UNIT_MM[self.unit])
