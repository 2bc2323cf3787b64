# SPDX-License-Identifier: GPL-3.0-or-later
"""Triangles drawn into pixels, the nearest one on top."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Array, Index, Mask

Singles = NDArray[np.float32]
"""Half the memory, and enough for pixels."""

_PAIRS = 1_500_000
"""Pixels of triangles that are looked at together: enough to be quick, few enough to be small."""
_DEPTHS = float(2**31 - 2)


class Raster:
    """A picture that triangles are added to; owns their corners and the depth of every sample.

    size : width and height, pixels; samples : rows and columns of samples in each pixel, on a regular grid: an edge has no grain
    depths : far and near; everything lies between them, the greater one toward the eye
    After Pineda, A parallel algorithm for polygon rasterization, SIGGRAPH 1988: a sample is in a triangle if it is on the inner
    side of its three edges.
    """

    def __init__(self, size: tuple[int, int], samples: int, depths: tuple[float, float]) -> None:
        self.size = (size[0] * samples, size[1] * samples)
        self.samples = samples
        self._depths = depths
        self._nearest = np.full(self.size[0] * self.size[1], -1, dtype=np.int64)
        self._corners: list[Singles] = []
        self._colors: list[Singles] = []
        self._count = 0

    def add(self, points: Array, triangles: Index, colors: Array) -> None:
        """Draw triangles with colors that run evenly between their corners.

        points : (n, 3) float, pixels from the lower left corner, and depth; triangles : (m, 3) int; colors : (n, 3) float, 0 to 1
        """
        corners = points[triangles].astype(np.float32)
        corners[:, :, :2] *= self.samples
        for rows in self._batches(corners):
            self._draw(corners[rows], rows + self._count)
        self._corners.append(corners)
        self._colors.append(colors[triangles].astype(np.float32))
        self._count += len(triangles)

    def image(self, paper: Array) -> Singles:
        """What was drawn, over paper (3,) float, 0 to 1; returns (height, width, 3) float32, the lowest row first."""
        width, height = self.size
        flat = np.tile(np.asarray(paper, dtype=np.float32), (width * height, 1))
        drawn = np.flatnonzero(self._nearest >= 0)
        if len(drawn):
            owner = self._nearest[drawn] & 0x7FFFFFFF
            share, _ = _shares(np.concatenate(self._corners), owner, drawn % width, drawn // width)
            colors = np.concatenate(self._colors)
            flat[drawn] = sum(part[:, None] * colors[:, k][owner] for k, part in enumerate(share))
        step = self.samples
        image: Singles = flat.reshape(height // step, step, width // step, step, 3).mean(axis=(1, 3))
        return image

    def _batches(self, corners: Singles) -> list[Index]:
        """Rows of triangles that have samples in the picture, in batches of bearable size."""
        _, count = _windows(corners, self.size)
        pairs = count[:, 0].astype(np.int64) * count[:, 1]
        rows = np.flatnonzero((count > 0).all(axis=1))
        ends = np.searchsorted(np.cumsum(pairs[rows]), np.arange(_PAIRS, pairs[rows].sum() + _PAIRS, _PAIRS))
        return [part for part in np.split(rows, ends) if len(part)]

    def _draw(self, corners: Singles, numbers: Index) -> None:
        """Draw triangles; numbers : (m,) int, theirs in the whole picture."""
        first, count = _windows(corners, self.size)
        pairs = count[:, 0] * count[:, 1]
        owner = np.repeat(np.arange(len(corners)), pairs)
        within = np.arange(len(owner)) - np.repeat(np.cumsum(pairs) - pairs, pairs)
        x = first[owner, 0] + within % count[owner, 0]
        y = first[owner, 1] + within // count[owner, 0]
        share, inside = _shares(corners, owner, x, y)
        owner, x, y = owner[inside], x[inside], y[inside]
        a, b, c = (part[inside] * corners[:, k, 2][owner] for k, part in enumerate(share))
        far, near = self._depths
        level = (((a + b + c).astype(np.float64) - far) / (near - far) * _DEPTHS).astype(np.int64)
        np.maximum.at(self._nearest, y.astype(np.int64) * self.size[0] + x, (level << 31) | numbers[owner])


def _windows(corners: Singles, size: tuple[int, int]) -> tuple[Index, Index]:
    """First sample and number of samples, (m, 2) int each, of the rectangles that triangles lie in."""
    limit = np.array(size)
    low = np.clip(np.ceil(corners[:, :, :2].min(axis=1) - 0.5), 0, limit).astype(np.int64)
    high = np.clip(np.floor(corners[:, :, :2].max(axis=1) - 0.5), -1, limit - 1).astype(np.int64)
    return low, np.maximum(high - low + 1, 0)


def _shares(corners: Singles, owner: Index, x: Index, y: Index) -> tuple[tuple[Singles, Singles, Singles], Mask]:
    """Barycentric shares of samples in their triangles, (n,) for each corner, and whether they are inside, (n,) bool.

    corners : (m, 3, 3) float; owner : (n,) int, rows of it; x, y : (n,) int
    """
    at_x, at_y = x.astype(np.float32) + np.float32(0.5), y.astype(np.float32) + np.float32(0.5)
    (ax, ay), (bx, by), (cx, cy) = ((corners[:, k, 0][owner] - at_x, corners[:, k, 1][owner] - at_y) for k in range(3))
    a: Singles = bx * cy - by * cx
    b: Singles = cx * ay - cy * ax
    c: Singles = ax * by - ay * bx
    total: Singles = a + b + c
    inside = ((np.minimum(np.minimum(a, b), c) >= 0.0) | (np.maximum(np.maximum(a, b), c) <= 0.0)) & (total != 0.0)
    total[total == 0.0] = 1.0
    return (a / total, b / total, c / total), inside
