# SPDX-License-Identifier: GPL-3.0-or-later
"""A gauge as a value: pieces to unite, pieces to take away, and how it lies on the bed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array
from ..job.job_sheet import Printer
from ..mesh.triangle_mesh import TriangleMesh


@dataclass(frozen=True, eq=False)
class GaugePoint:
    """A named place on a gauge where a gap is read.

    name : "C", "L1", "L2", "R1" or "R2". station_deg : of the gauge
    position : (3,) float, mm, in mount axes (left, forward in the plane, up) from the pattern center
    expected_mm : gap to the tire as the sheet has it, by the shortest way
    """

    name: str
    station_deg: float
    position: Array
    expected_mm: float


@dataclass(frozen=True, eq=False)
class Gauge:
    """A gauge in wheel axes.

    name : for files. solids : closed, to unite; cuts : closed, to take away after that
    to_print : (4, 4) float, wheel axes to a place on the bed with its lowest corner at the origin
    """

    name: str
    title: str
    solids: tuple[TriangleMesh, ...]
    cuts: tuple[TriangleMesh, ...]
    to_print: Array
    points: tuple[GaugePoint, ...] = ()
    cautions: tuple[str, ...] = ()


def bed_pose(solids: tuple[TriangleMesh, ...], rotation: Array, printer: Printer) -> Array | None:
    """The pose (4, 4) of solids on the bed, turned about the vertical where that makes them fit; None if nothing does.

    rotation : (3, 3) float, wheel axes to bed axes (z up)
    """
    usable = np.array(printer.bed) - 2.0 * printer.margin
    corners = np.concatenate([solid.vertices for solid in solids]) @ rotation.T
    for turn in (0.0, 90.0, *range(5, 90, 5)):
        c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        about = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
        turned = corners @ about.T
        if (np.ptp(turned, axis=0) <= usable + 1e-9).all():
            pose = np.eye(4)
            pose[:3, :3] = about @ rotation
            pose[:3, 3] = -turned.min(axis=0)
            return pose
    return None


def size_of(solids: tuple[TriangleMesh, ...], rotation: Array) -> Array:
    """(3,) float, mm: the box around solids in bed axes."""
    size: Array = np.ptp(np.concatenate([solid.vertices for solid in solids]) @ rotation.T, axis=0)
    return size
