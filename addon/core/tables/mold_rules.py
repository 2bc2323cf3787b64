# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules for plugs, bucks and molds.

Marks: [S] read in the source named; [M] from memory; [J] our own judgment.
"""

from __future__ import annotations

FAIL_DRAFT_DEG = 1.0
WARN_DRAFT_DEG = 2.0
"""Least draft: 1 to 1.5 deg on upright faces (kcmouldings.co.uk) [S], 2 to 5 deg at least (fiberglassblog.com) [S]."""

OPENED_DRAFT_DEG = 2.3
"""Draft that a cage is opened to: a little more than is warned of, for what facets and seats take [J]."""

ONE_PIECE_DRAFT_DEG = 5.0
"""Of a mold in one piece: sceadu.com [S]."""

FLANGE_MM = 50.0
"""Width of a flange: 50 to 100 mm [M]."""
LEAST_FLANGE_MM = 15.0
MOST_FLANGE_MM = 100.0

FLANGE_BOLT_PITCH_MM = 120.0
"""Bolts every 100 to 150 mm [M]."""
FLANGE_THREAD = "M6"
"""Of the bolts through the flange [J]."""

KEY_RADIUS_MM = 6.0
"""Domed keys in the flange: flyelectric.org.uk [S]; their size is ours [J]."""
KEY_HEIGHT_MM = 3.0

TRIM_MARGIN_MM = 6.0
"""The skin goes on past the trim line by so much before the flange bends off it, so that the part is cut on its own shape [J]."""

FLANGE_RADIUS_MM = 6.0
"""Radius between skin and flange: cloth lies on 3 to 6 mm [M]."""

SCRIBE_WIDTH_MM = 1.2
SCRIBE_DEPTH_MM = 0.5
"""Groove along the trim line: as deep as a gel coat is thick, so that it shows in the part [J]."""

FEMALE_WALL_MM = 4.0
"""Wall of a printed female mold [J]; at least 2.4 to 3.0 for prints that bear load [S] (printing bureaus)."""

MOLD_LAYERS = "3 layers of CSM 450, about 3 mm, laid a layer a day"
"""A mold taken off a plug: about 3 layers of medium mat, 1/8 inch: flyelectric.org.uk [S]; two to three times the part [M]."""

RELEASE = (
    "Fill and sand the plug, prime it, sand to 600 grit; print lines show in the mold.",
    "Four coats of hard wax, each buffed, the last left overnight; then a film of PVA, dried fully (model boat and car builders).",
)
"""3 coats of wax on cured molds (FGCI) [S]; 3 to 4 wax and 1 PVA (modelboatmayhem.co.uk) [S]; overnight (furnituremaking.us) [S]."""

STRAIN = 0.04
"""Strain that wet mat or cloth takes up in a gore without a fold [J]; cloth that is laid by its bias takes more by shear."""

OVERLAP_MM = 25.0
"""Overlap of the gores of a ply: 25 to 50 mm [M]."""

LAY_ON_MM = 15.0
"""Plies are laid past the trim line by so much [J]."""

RETURN_MM = 8.0
"""Width of a return flange past its bend: 6 to 12 mm stiffen an edge enough [M]."""

EDGE_MARGIN_MM = 1.0
"""The part goes on so far before its edge is turned out [J]."""

SLEEVE_WALL_MM = 1.0
"""Wall of the metal sleeve in each bolt hole, which the screw pulls on in place of the resin [J]; washers on both sides: MIL-HDBK-17-3F,
table 12, lesson C-31 [S]."""

KEY_PLAY_MM = 0.2
"""A hollow in a printed mold is so much larger all round than the key of the plug: sliding fit, 0.2 to 0.3 mm [S] (printparams.com)."""

DRILL_MARK_MM = 2.4
DRILL_MARK_DEPTH_MM = 1.0
"""Width and depth of the marks for bolt holes, which are drilled later: molded-in holes are to be avoided [S] (sceadu.com); the sizes
are ours [J]."""
