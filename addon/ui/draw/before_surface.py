# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawing just before a surface of the host, so that it covers that surface and nothing else."""

from __future__ import annotations

from mathutils import Matrix

_LEAST_SHARE, _LARGEST_SHARE = 3e-4, 3e-3


_DEPTH_STEPS = 2.0**24


def before_surface(window: Matrix, view: Matrix, distance: float, perspective: bool) -> tuple[Matrix, tuple[float, ...]]:
    """Matrix from the scene to the screen that moves all a little toward the eye, and the eye (x, y, z, w).

    window, view : matrices of the view; distance : mm from the eye to what is looked at; w is 0 for a parallel view, then
    (x, y, z) is the direction to the eye.
    """
    back = view.inverted()
    if perspective:
        nearest = window[2][3] / (window[2][2] - 1.0)
        share = min(max(4.0 * distance / (nearest * _DEPTH_STEPS), _LEAST_SHARE), _LARGEST_SHARE)
        nearer = Matrix.Diagonal((1.0 - share, 1.0 - share, 1.0 - share, 1.0))
        return window @ nearer @ view, (*back.translation, 1.0)
    return window @ Matrix.Translation((0.0, 0.0, _LEAST_SHARE * distance)) @ view, (*back.col[2].xyz, 0.0)
