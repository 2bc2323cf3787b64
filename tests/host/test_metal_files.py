# SPDX-License-Identifier: GPL-3.0-or-later
"""Files for sheet metal as outside readers have them: DXF by ezdxf, PDF by pypdf, SVG as XML."""

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdf
import pytest

from addon.core.clearance.clearance_field import clearance_field
from addon.core.drawing.flat_part import FlatPart
from addon.core.job.job_sheet import Job, read_job_sheet
from addon.core.mesh.open_surface import surface_of_quads
from addon.core.metal.metal_faces import metal_job
from addon.core.metal.metal_part import MetalPart, metal_part
from addon.core.metal.region import ring_area
from addon.core.shaping.seed import seed_cage
from addon.core.skin.skin import full_skin, skin
from addon.core.skin.skin_stencil import skin_stencil
from addon.core.trim.trimmed import trimmed
from addon.output import metal_files
from addon.output.dxf_file import DxfUnavailableError, dxf_library
from addon.output.metal_files import write_metal

SHEET = Path(__file__).parents[2] / "blend_demo" / "front_ears.toml"


@pytest.fixture(scope="module")
def made() -> tuple[Job, MetalPart]:
    job = read_job_sheet(SHEET)
    cage = seed_cage(job).cage
    whole = full_skin(skin(cage, skin_stencil(cage.topology, 4)))
    plain = metal_job(job)
    surface = trimmed(plain, surface_of_quads(whole.points, whole.normals, whole.quads))
    return job, metal_part(plain, surface, clearance_field(job, "part").limits)


def test_every_part_is_in_each_file_at_full_size(made: tuple[Job, MetalPart], tmp_path: Path) -> None:
    job, part = made
    assert write_metal(tmp_path / "metal", job, part, "2026-11-27") == ()
    for name, parts in (("buck", part.boards), ("templates", part.templates)):
        document = dxf_library().readfile(tmp_path / "metal" / f"{name}.dxf")
        cut = [np.array(entity.get_points("xy")) for entity in document.modelspace().query('LWPOLYLINE[layer=="CUT"]')]
        areas = [abs(ring_area(ring)) for ring in cut]
        np.testing.assert_allclose(areas, [abs(ring_area(ring)) for each in parts for ring in each.rings], rtol=1e-9)
        names = {entity.dxf.text for entity in document.modelspace().query("TEXT")}
        assert all(any(text.startswith(each.name) for text in names) for each in parts)
        root = ElementTree.parse(tmp_path / "metal" / f"{name}.svg").getroot()
        assert [group.attrib["id"] for group in root.iter("{http://www.w3.org/2000/svg}g")] == [each.name for each in parts]
        for paper in ("A4", "Letter"):
            pages = pypdf.PdfReader(tmp_path / "metal" / f"{name}_{paper}.pdf").pages
            text = "\n".join(page.extract_text() for page in pages)
            assert all(f"{each.name}: {each.title}" in text for each in parts) and "100 mm" in text
            assert "leave 8 mm" in text


def test_parts_side_by_side_do_not_touch(made: tuple[Job, MetalPart], tmp_path: Path) -> None:
    job, part = made
    write_metal(tmp_path, job, part, "2026-11-27")
    document = dxf_library().readfile(tmp_path / "buck.dxf")
    boxes = [np.array(entity.get_points("xy")) for entity in document.modelspace().query('LWPOLYLINE[layer=="CUT"]')]
    for i, one in enumerate(boxes):
        for two in boxes[:i]:
            apart = np.maximum(one.min(axis=0) - two.max(axis=0), two.min(axis=0) - one.max(axis=0)).max()
            assert apart > 5.0


def test_missing_library_leaves_the_other_files(
    made: tuple[Job, MetalPart], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(path: Path, parts: list[FlatPart]) -> None:
        raise DxfUnavailableError("it is not installed")

    monkeypatch.setattr(metal_files, "write_dxf", missing)
    cautions = write_metal(tmp_path, *made, "2026-11-27")
    assert [sentence for sentence in cautions if "There is no buck.dxf" in sentence]
    assert (tmp_path / "buck.svg").exists() and not (tmp_path / "buck.dxf").exists()
