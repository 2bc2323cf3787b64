# SPDX-License-Identifier: GPL-3.0-or-later
"""The files of a laminate: plug, buck or mold in pieces, and the part itself for measuring."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from ..core.job.job_sheet import Job, Laminate
from ..core.laminate.laminate_report import laminate_report
from ..core.laminate.mold_drafts import draft_report
from ..core.laminate.mold_shape import part_shrink
from ..core.tables.materials import DENSITY
from ..pipeline.laminated import Laminated
from .stl_file import write_stl

PART = "part.stl"


def write_laminate(job: Job, laminate: Laminate, laminated: Laminated, folder: Path) -> dict[str, Any]:
    """Write the files into a new folder, wheel axes, mm; returns the report's part on the laminate. Raises OSError."""
    folder.mkdir()
    write_stl(folder / PART, laminated.part.wall.mesh)
    density = DENSITY[job.printer.material][0]
    pieces = []
    for solid in laminated.solids:
        mesh = solid.part.mesh
        write_stl(folder / f"{solid.part.name}.stl", mesh)
        pieces.append(
            {
                "file": f"{folder.name}/{solid.part.name}.stl",
                "body": solid.body,
                "closed": mesh.is_closed,
                "volume_mm3": round(mesh.volume, 1),
                "size_mm": [round(float(value), 2) for value in np.ptp(mesh.bounds, axis=0)],
                "print_size_mm": [round(float(value), 2) for value in solid.fit.size],
                "fits_bed": solid.fit.fits,
                "mass_g": round(mesh.volume * density / 1000.0, 1),
            }
        )
    tire = laminated.tire
    return {
        **laminate_report(laminate, laminated.schedule, tire.proof, tire.required_mm),
        "draft": draft_report(laminated.drafts, laminate),
        "shrink": round(part_shrink(laminate), 5),
        "part_file": f"{folder.name}/{PART}",
        "pieces": pieces,
    }
