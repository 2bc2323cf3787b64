# SPDX-License-Identifier: GPL-3.0-or-later
"""How the pieces of a mold, or a part from its buck, come off: pull, draft, undercut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Array, Index
from ..base.format_place import format_place
from ..base.row_vectors import dot_rows
from ..job.job_sheet import Laminate
from ..mesh.open_surface import Surface
from ..tables.mold_rules import FAIL_DRAFT_DEG, ONE_PIECE_DRAFT_DEG, WARN_DRAFT_DEG
from .draft import Draft, draft
from .pull_direction import pull_direction

LEFT_RIGHT = ("left", "right")


@dataclass(frozen=True, eq=False)
class PieceDraft:
    """Of one piece of the mold. name : "whole", "left" or "right"; draft : of the facets that it covers"""

    name: str
    draft: Draft


def mold_drafts(face: Surface, laminate: Laminate, *, at_points: bool = False) -> tuple[PieceDraft, ...]:
    """The draft of each piece, with the pull of the sheet or the best one.

    face : the face that mold or buck touch, with its normals toward the mold
    In two pieces each covers its side of the center plane, and leaves the parting face there too. A stated pull is that of the
    left piece; the right one has its mirror image.
    at_points : whether the best pull is that for the normals at the points, too
    """
    if laminate.pieces == 1:
        if laminate.pull is not None:
            pull = np.array(laminate.pull)
        else:
            pull = pull_direction(face.points, face.triangles, face.normals if at_points else None)
        return (PieceDraft("whole", draft(face.points, face.triangles, pull)),)
    return tuple(_side_draft(face, laminate, name, side, at_points) for name, side in zip(LEFT_RIGHT, (1.0, -1.0), strict=True))


def _side_draft(face: Surface, laminate: Laminate, name: str, side: float, at_points: bool) -> PieceDraft:
    triangles: Index = face.triangles[side * face.points[face.triangles, 0].mean(axis=1) > 0.0]
    beside = np.array([[side, 0.0, 0.0]])
    if at_points:
        beside = np.concatenate([beside, face.normals[np.unique(triangles)]])
    if laminate.pull is None:
        pull = pull_direction(face.points, triangles, beside)
    else:
        pull = np.array(laminate.pull) * [side, 1.0, 1.0]
    return PieceDraft(name, draft(face.points, triangles, pull))


def point_drafts(face: Surface, drafts: tuple[PieceDraft, ...]) -> Array:
    """(n,) float, deg: draft at the points of the face, by their normals, against the pull of the piece on their side."""
    cosine = dot_rows(face.normals, pulls_at(face.points, drafts))
    return np.asarray(np.degrees(np.arcsin(np.clip(cosine, -1.0, 1.0))))


def pulls_at(points: Array, drafts: tuple[PieceDraft, ...]) -> Array:
    """(n, 3) float, unit: pull of the piece that covers each of points (n, 3)."""
    pulls = np.array([piece.draft.pull for piece in drafts])
    piece = np.zeros(len(points), dtype=np.int64) if len(drafts) == 1 else np.where(points[:, 0] >= 0.0, 0, 1)
    return np.asarray(pulls[piece])


def draft_remarks(drafts: tuple[PieceDraft, ...], laminate: Laminate) -> tuple[str, ...]:
    """What must be told of the draft, with places and limits; nothing where there is enough."""
    said = []
    for piece in drafts:
        found, what = piece.draft, _called(piece, laminate)
        if found.undercut_place is not None:
            said.append(
                f"{what} is held by {found.undercut / 100.0:.1f} cm2 of undercut about {format_place(found.undercut_place)[3:]}, at worst "
                f"{found.least:.1f} deg {format_place(found.place)}: {_advice(laminate)}."
            )
        elif found.least < FAIL_DRAFT_DEG:
            said.append(
                f"{what} has only {found.least:.1f} deg of draft {format_place(found.place)}; under {FAIL_DRAFT_DEG:g} it hardly comes off "
                f"(kcmouldings.co.uk): {_advice(laminate)}."
            )
        elif found.least < WARN_DRAFT_DEG:
            said.append(
                f"{what} has {found.least:.1f} deg of draft {format_place(found.place)}; 2 to 5 are advised (fiberglassblog.com): wax "
                "well, and pull slowly."
            )
        elif laminate.pieces == 1 and laminate.route == "mold" and found.least < ONE_PIECE_DRAFT_DEG:
            said.append(
                f"{what} has {found.least:.1f} deg of draft {format_place(found.place)}; for a mold in one piece "
                f"{ONE_PIECE_DRAFT_DEG:g} or more are advised (sceadu.com)."
            )
    return tuple(said)


def _called(piece: PieceDraft, laminate: Laminate) -> str:
    if laminate.route == "buck":
        return "The part on its buck" if piece.name == "whole" else f"The {piece.name} side of the part on its buck"
    return "The mold" if piece.name == "whole" else f"The {piece.name} piece of the mold"


def _advice(laminate: Laminate) -> str:
    if laminate.route == "buck":
        return "open the sides of the cage there, or break the buck out in pieces"
    if laminate.pieces == 1:
        return "open the sides of the cage there, or take laminate.pieces = 2"
    return "open the cage there"


def draft_report(drafts: tuple[PieceDraft, ...], laminate: Laminate) -> dict[str, object]:
    """The report's part on draft; of several pieces the pull of the first, the least draft and all of the undercut."""
    worst = min(drafts, key=lambda piece: piece.draft.least).draft
    return {
        "pull": _rounded(drafts[0].draft.pull),
        "pull_basis": "searched" if laminate.pull is None else "stated",
        "least_deg": round(worst.least, 3),
        "least_at_mm": _rounded(worst.place),
        "undercut_cm2": round(sum(piece.draft.undercut for piece in drafts) / 100.0, 3),
        "pieces": [
            {
                "name": piece.name,
                "pull": _rounded(piece.draft.pull),
                "least_deg": round(piece.draft.least, 3),
                "undercut_cm2": round(piece.draft.undercut / 100.0, 3),
                "undercut_at_mm": None if piece.draft.undercut_place is None else _rounded(piece.draft.undercut_place),
            }
            for piece in drafts
        ],
    }


def _rounded(values: Array) -> list[float]:
    return [round(float(value), 5) + 0.0 for value in values]  # no -0.0
