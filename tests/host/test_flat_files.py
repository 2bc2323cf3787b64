# SPDX-License-Identifier: GPL-3.0-or-later
"""Flat parts as DXF and SVG, read back: DXF by its library, SVG as plain XML."""

import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from addon.core.drawing.flat_part import FlatPart, Label
from addon.core.drawing.laid_out import GAP_MM, laid_out
from addon.output.dxf_file import dxf_library, write_dxf
from addon.output.svg_file import write_svg

SQUARE = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0]])
HOLE = np.array([[10.0, 10.0], [10.0, 20.0], [20.0, 20.0], [20.0, 10.0]])
PART = FlatPart("A1", "plate", (SQUARE, HOLE), (np.array([[0.0, 30.0], [60.0, 30.0]]),), (Label("A1", (30.0, 35.0), 4.0),))
OTHER = FlatPart("A2", "plate", (SQUARE * 0.5,), (), (Label("A2 \u00fc", (5.0, 5.0), 3.0, "left"),))


def test_dxf_comes_back_as_it_was(tmp_path: Path) -> None:
    write_dxf(tmp_path / "a.dxf", laid_out((PART, OTHER), 500.0))
    ezdxf = dxf_library()
    document = ezdxf.readfile(tmp_path / "a.dxf")
    assert not document.audit().errors
    assert document.units == ezdxf.units.MM and document.header["$INSUNITS"] == 4
    cut = [entity for entity in document.modelspace() if entity.dxf.layer == "CUT"]
    assert [entity.closed for entity in cut] == [True, True, True]
    for entity, ring in zip(cut, (SQUARE, HOLE, SQUARE * 0.5 + [60.0 + GAP_MM, 0.0]), strict=True):
        np.testing.assert_allclose(np.array(entity.get_points("xy")), ring, atol=1e-9)
    (mark,) = (entity for entity in document.modelspace() if entity.dxf.layer == "MARK")
    assert not mark.closed
    texts = [entity for entity in document.modelspace() if entity.dxf.layer == "TEXT"]
    assert [entity.dxf.text for entity in texts] == ["A1", "A2 \u00fc"] and texts[0].dxf.height == 4.0


def test_dxf_library_leaves_the_users_folder_alone(tmp_path: Path) -> None:
    """In a process of its own, since a library is imported once."""
    line = "from addon.output.dxf_file import dxf_library; dxf_library(); import os; print(os.environ['XDG_CACHE_HOME'])"
    environment = {**os.environ, "XDG_CACHE_HOME": str(tmp_path)}
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", line], cwd=root, env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str(tmp_path) and list(tmp_path.iterdir()) == []


def test_svg_is_in_millimeters_and_comes_back_as_it_was(tmp_path: Path) -> None:
    write_svg(tmp_path / "a.svg", (PART, OTHER), "plates")
    root = ElementTree.parse(tmp_path / "a.svg").getroot()
    space = "{http://www.w3.org/2000/svg}"
    width, height = (float(root.attrib[key].removesuffix("mm")) for key in ("width", "height"))
    assert root.attrib["viewBox"] == f"0 0 {width:.3f} {height:.3f}" and (width, height) == (70.0, 50.0)
    groups = list(root.iter(f"{space}g"))
    assert [group.attrib["id"] for group in groups] == ["A1", "A2"]
    cut = next(path for path in groups[0].iter(f"{space}path") if path.attrib["class"] == "cut")
    rings = [np.array(re.findall(r"-?[\d.]+", ring), float).reshape(-1, 2) for ring in cut.attrib["d"].split("Z")[:-1]]
    for ring, made in zip(rings, (SQUARE, HOLE), strict=True):
        np.testing.assert_allclose(ring * [1.0, -1.0] + [-5.0, 45.0], made, atol=1e-4)
    assert [text.text for text in root.iter(f"{space}text")] == ["A1", "A2 \u00fc"]


def test_parts_lie_in_rows_without_touching() -> None:
    placed = laid_out([PART] * 5, 150.0)
    boxes = np.array([part.bounds for part in placed])
    assert boxes[:, 1, 0].max() <= 150.0 and boxes.min() == 0.0
    assert len(np.unique(boxes[:, 0, 1])) == 3
    for i in range(5):
        for j in range(i):
            apart = np.maximum(boxes[i, 0] - boxes[j, 1], boxes[j, 0] - boxes[i, 1]).max()
            assert apart >= GAP_MM - 1e-9
    np.testing.assert_allclose(placed[1].lines[0] - placed[1].bounds[0], PART.lines[0])
    assert placed[1].labels[0].at[0] - placed[1].bounds[0, 0] == 30.0


@pytest.mark.parametrize(
    "call", [lambda: write_svg(Path("a"), (), ""), lambda: write_dxf(Path("a"), ()), lambda: laid_out([PART], 0.0)]
)
def test_nothing_to_draw_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match="parts|width"):
        call()  # type: ignore[operator]
