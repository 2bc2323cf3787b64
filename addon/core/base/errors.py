# SPDX-License-Identifier: GPL-3.0-or-later
"""Errors that a builder reads: one sentence, with the thing, its value and what is allowed."""

from __future__ import annotations

from .arrays import Array


class JobError(ValueError):
    """A measurement or choice that cannot be used.

    key : dotted name in the job sheet, such as "mount.height", or the object or file concerned
    sentence : without the key; place : (3,) float, mm, wheel axes, where it fails, None if it fails as a whole
    """

    def __init__(self, key: str, message: str, place: Array | None = None) -> None:
        super().__init__(f"{key}: {message}")
        self.key = key
        self.sentence = message
        self.place = place


class CageError(ValueError):
    """A cage that has no skin, such as one with an edge in three faces."""


class ShapeError(ValueError):
    """A solid that cannot be made from this skin.

    place : (3,) float, mm, wheel axes, where it fails; None if it fails as a whole
    """

    def __init__(self, message: str, place: Array | None = None) -> None:
        super().__init__(message)
        self.place = place
