# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat parts as DXF in millimeters, by ezdxf."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

from ..core.drawing.flat_part import FlatPart

CUT, MARK, TEXT = "CUT", "MARK", "TEXT"
"""Layers."""
_COLORS = {CUT: 1, MARK: 5, TEXT: 5}
"""AutoCAD color index: 1 red, 5 blue."""
_VERSION = "R2000"
"""The oldest that has the polylines of one record that cutters read."""
_FONT_CACHE_VERSION = 2


class DxfUnavailableError(Exception):
    """ezdxf is not installed with this host."""


def write_dxf(path: Path, parts: Sequence[FlatPart]) -> None:
    """Write parts where they lie, 1:1 in mm: closed polylines on the layer CUT, lines on MARK, names on TEXT.

    Raises ValueError if there is no part, DxfUnavailableError where ezdxf is missing, OSError if the file cannot be written.
    """
    if not parts:
        raise ValueError("parts: none; a drawing needs at least one")
    ezdxf = dxf_library()
    document = ezdxf.new(_VERSION, units=ezdxf.units.MM)
    for name, color in _COLORS.items():
        document.layers.add(name, color=color)
    space = document.modelspace()
    for part in parts:
        for ring in part.rings:
            space.add_lwpolyline(ring.tolist(), close=True, dxfattribs={"layer": CUT})
        for line in part.lines:
            space.add_lwpolyline(line.tolist(), dxfattribs={"layer": MARK})
        for label in part.labels:
            text = space.add_text(label.text, height=label.height, dxfattribs={"layer": TEXT})
            text.set_placement(label.at, align=getattr(ezdxf.enums.TextEntityAlignment, label.anchor.upper()))
    document.saveas(path)


def dxf_library() -> ModuleType:
    """ezdxf, imported so that it neither reads all fonts of the system nor writes to the user's folder; raises DxfUnavailableError."""
    try:
        with _without_fonts():
            import ezdxf
            import ezdxf.enums
            import ezdxf.units
    except ImportError as error:
        raise DxfUnavailableError(
            f"the library that writes DXF is not installed ({error}); install the extension's zip anew"
        ) from error
    return ezdxf


@contextmanager
def _without_fonts() -> Iterator[None]:
    """While it lasts, ezdxf finds a list of fonts that is empty; it looks for one on import, and makes one if there is none."""
    before = os.environ.get("XDG_CACHE_HOME")
    with tempfile.TemporaryDirectory() as folder:
        cache = Path(folder) / "ezdxf" / "font_manager_cache.json"
        cache.parent.mkdir()
        cache.write_text(json.dumps({"version": _FONT_CACHE_VERSION, "font-faces": []}), encoding="utf-8")
        os.environ["XDG_CACHE_HOME"] = folder
        try:
            yield
        finally:
            if before is None:
                del os.environ["XDG_CACHE_HOME"]
            else:
                os.environ["XDG_CACHE_HOME"] = before
