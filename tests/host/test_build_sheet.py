# SPDX-License-Identifier: GPL-3.0-or-later
"""The build sheet as an outside PDF reader (pypdf) has it: pages, texts and where they stand, lengths, picture."""

import json
import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import lib3mf
import numpy as np
import pypdf
import pytest
from numpy.testing import assert_allclose
from pypdf.generic import ContentStream

import addon
from addon.core.clearance.clearance_field import clearance_field
from addon.core.job.job_sheet import read_job_sheet
from addon.core.shaping.seed import seed_cage
from addon.core.tables.helvetica import advance
from addon.host.pictures import job_pictures
from addon.host.pictures.job_pictures import draw_pictures
from addon.output import job_files
from addon.output.job_files import write_job_files
from addon.output.pages.build_sheet import build_sheet_steps
from addon.output.pages.pdf_page import PdfDocument
from addon.output.pages.sheet_flow import Column, SheetFlow
from addon.pipeline.job_result import JobResult, Timings, make_job, placements
from addon.pipeline.job_stiffness import job_stiffness_steps
from addon.pipeline.steps import run_steps

DEMO = Path(__file__).resolve().parents[2] / "blend_demo"
POINT_MM = 25.4 / 72.0
SHEETS = ("front_17", "rear_17")


def png(path: Path, pixels: np.ndarray) -> None:
    """A plain PNG (ISO/IEC 15948) with a filter that differs from row to row."""
    height, width, _ = pixels.shape
    rows = [b"\x00" + pixels[0].tobytes()]
    rows += [b"\x02" + (pixels[i].astype(int) - pixels[i - 1]).astype(np.uint8).tobytes() for i in range(1, height)]
    chunks = [(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))]
    data = zlib.compress(b"".join(rows))
    chunks += [(b"IDAT", data[:50]), (b"IDAT", data[50:]), (b"IEND", b"")]
    content = b"\x89PNG\r\n\x1a\n"
    for kind, body in chunks:
        content += struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    path.write_bytes(content)


PIXELS = np.random.default_rng(5).integers(0, 255, (90, 160, 3), dtype=np.uint8)


@dataclass
class Made:
    folder: Path
    picked: JobResult
    result: JobResult
    report: dict[str, Any]
    said: list[str]
    pages: list[pypdf.PageObject]


@pytest.fixture(scope="module", params=SHEETS)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    """All files of a job, the two rendered pictures replaced by a small one: rendering is tested elsewhere and takes seconds."""
    addon.register()
    folder = tmp_path_factory.mktemp(request.param)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(job_pictures, "render_clearance", lambda _, path: png(path, PIXELS))
        patch.setattr(job_pictures, "render_parts", lambda *_: None)
        job = read_job_sheet(DEMO / f"{request.param}.toml")
        field = clearance_field(job)
        said: list[str] = []
        timings = Timings(said.append)
        best = make_job(job, seed_cage(job, field).cage, timings, field=field)
        picked = replace(best, plans=tuple(plan.pick(index) for plan, index in zip(best.plans, (2, 1), strict=True)))
        said.extend(job_files.file_steps(picked, folder, timings, draw_pictures))
        # written again with the first way to print, so that there is a former report
        report = write_job_files(best, folder, timings, draw_pictures)
    yield Made(folder, picked, best, report, said, list(pypdf.PdfReader(folder / "build_sheet.pdf").pages))
    addon.unregister()


def texts(page: pypdf.PageObject) -> list[tuple[str, float, float, float, bool]]:
    """Text, x, y, size in mm, and whether it is bold, of each piece of text on a page, from its operators."""
    found, matrix, stack = [], np.eye(3), []
    font, size, place = "", 0.0, np.eye(3)
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        values = [float(value) if isinstance(value, int | float) or hasattr(value, "as_numeric") else value for value in operands]
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator in (b"cm", b"Tm"):
            a, b, c, d, e, f = values
            here = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]])
            matrix, place = (here @ matrix, place) if operator == b"cm" else (matrix, here)
        elif operator == b"Tf":
            font, size = str(values[0]), values[1]
        elif operator == b"Tj":
            x, y, _ = (place @ matrix)[2] * POINT_MM
            raw = operands[0]
            text = raw.decode("cp1252") if isinstance(raw, bytes) else str(raw)
            found.append((text, float(x), float(y), size * matrix[0, 0] * POINT_MM, font == "/F2"))
    return found


def lines(page: pypdf.PageObject) -> list[np.ndarray]:
    """Polylines of a page, mm."""
    found: list[list[np.ndarray]] = []
    matrix, stack = np.eye(3), []
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            a, b, c, d, e, f = (float(value) for value in operands)
            matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
        elif operator in (b"m", b"l"):
            point = (np.array([float(operands[0]), float(operands[1]), 1.0]) @ matrix)[:2] * POINT_MM
            if operator == b"m":
                found.append([])
            found[-1].append(point)
    return [np.array(line) for line in found]


def test_a_few_a4_pages_with_all_that_a_workshop_needs(made: Made) -> None:
    assert 7 <= len(made.pages) <= 10
    for page in made.pages:
        assert_allclose(np.array(page.mediabox[2:], float) * POINT_MM, [210.0, 297.0], atol=0.01)
    everything = "\n".join(page.extract_text() for page in made.pages)
    for title in (
        "Build sheet",
        "Sections",
        "Clearance and budget",
        "Printing",
        "Bolts and fitting",
        "Stiffness",
        "Before the first ride",
    ):
        assert title in everything
    for number in range(1, len(made.pages) + 1):
        assert f"page {number} of {len(made.pages)}" in everything
    job = made.result.job
    assert f"button head screw {job.mount.thread}" in everything and "lock nut" in everything
    assert f"{made.report['clearance']['min_mm']:.2f} mm to the tire at its largest" in everything
    assert "A fender that touches a wheel can lock it" in everything


def test_budget_and_sums_stand_as_in_the_report(made: Made) -> None:
    page = "\n".join(page.extract_text() for page in made.pages if "Clearance and budget" in page.extract_text())
    for line in made.report["budget"]:
        assert re.search(rf"{line['name']}\s+{line['mm']:.2f}", page), line
    total = sum(line["mm"] for line in made.report["budget"] if line["direction"] != "lateral")
    assert re.search(rf"sum at the crown\s+{total:.2f}", page)
    for limit in made.report["clearance"]["limits"]:
        assert re.search(rf"{limit['name']}\s+{limit['required_mm']:.2f}", page)


def test_every_caution_and_check_is_on_paper(made: Made) -> None:
    paper = re.sub(r"\s+", "", "".join(page.extract_text() for page in made.pages))
    for caution in made.report["cautions"]:
        assert re.sub(r"\s+", "", caution) in paper, caution
    check = "fulllockleftandright" if made.result.job.wheel.position == "front" else "Chainadjustedfullyforward"
    assert check in paper


def test_no_text_runs_out_of_the_page_or_over_another(made: Made) -> None:
    """Boxes of all texts by the letters' widths: capitals up to the size's 0.72, hanging letters aside."""
    for number, page in enumerate(made.pages, start=1):
        boxes = [(text, x, y, x + advance(text, bold) * size, y + 0.70 * size) for text, x, y, size, bold in texts(page) if text]
        assert len(boxes) > 5
        for text, x0, y0, x1, y1 in boxes:
            assert x0 >= 12.0 and x1 <= 198.5 and y0 >= 12.0 and y1 <= 285.0, (number, text, x0, x1, y0)
        for i, (text, x0, y0, x1, y1) in enumerate(boxes):
            for other, u0, v0, u1, v1 in boxes[i + 1 :]:
                over = min(x1, u1) - max(x0, u0) > 0.05 and min(y1, v1) - max(y0, v0) > 0.05
                assert not over, (number, text, other)


def test_check_bar_and_bolt_pattern_come_out_at_full_size(made: Made) -> None:
    drawn = lines(made.pages[-1])
    spans = [np.ptp(line, axis=0) for line in drawn]
    assert any(np.allclose(span, [100.0, 0.0], atol=1e-3) for span in spans)
    hole = made.result.finished.hole_diameter
    rounds = [line for line, span in zip(drawn, spans, strict=True) if np.allclose(span, hole, atol=0.02)]
    centers = np.array([line.min(axis=0) + 0.5 * hole for line in rounds])
    bolts = np.array(made.result.job.mount.bolts) * [-1.0, 1.0]
    assert len(centers) == len(bolts)
    assert_allclose(centers - centers.mean(axis=0), bolts - bolts.mean(axis=0), atol=0.02)


def test_picture_is_the_one_that_was_written(made: Made) -> None:
    image = next(value for page in made.pages for value in _images(page))
    assert (image["/Width"], image["/Height"]) == (160, 90)
    assert np.array_equal(np.frombuffer(image.get_data(), np.uint8).reshape(PIXELS.shape), PIXELS)


def _images(page: pypdf.PageObject) -> Iterator[Any]:
    objects = page["/Resources"].get("/XObject")
    for value in (objects.get_object() if objects is not None else {}).values():
        yield value.get_object()


def test_progress_is_told_for_each_page(made: Made) -> None:
    told = [said for said in made.said if re.match(r"Build sheet, \d of \d: ", said)]
    assert [said.split(":")[0] for said in told] == [f"Build sheet, {n} of {len(told)}" for n in range(1, len(told) + 1)]
    assert len(told) >= 6


def test_the_second_version_says_what_changed(made: Made) -> None:
    """Only the way of printing changed: a piece that did not fit the bed lying as picked first fits it now."""
    pairs = zip(made.picked.plans, made.result.plans, strict=True)
    now = [f"fender_{new.piece}.stl: fits the bed now." for old, new in pairs if new.option.fit.fits and not old.option.fit.fits]
    assert made.report["changes"] == now
    paper = "".join(page.extract_text() for page in made.pages)
    assert ("Changed since the last written version" in paper) == bool(now) and all(change in paper for change in now)
    assert json.loads((made.folder / "report.json").read_text(encoding="utf-8")) == made.report
    names = {path.name for path in made.folder.iterdir()}
    assert "build_sheet.pdf" in names and "pieces.png" not in names


def test_3mf_carries_the_picked_way(made: Made) -> None:
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(made.folder / "fender.3mf"))
    items = model.GetBuildItems()
    for placement, plan in zip(placements(made.result), made.result.plans, strict=True):
        assert items.MoveNext()
        fields = np.array([list(row) for row in items.GetCurrent().GetObjectTransform().Fields])
        assert_allclose(fields[:3].T, placement[:3, :3], atol=1e-6)
        assert_allclose(placement[:3, :3], plan.options[plan.picked].fit.rotation, atol=1e-12)
    report = made.report["print"]["pieces"]
    assert [piece["picked"] for piece in report] == [0] * len(made.result.plans)
    sizes = [piece["print_size_mm"] for piece in made.report["halves"]]
    assert_allclose(sizes, [piece["options"][0]["size_mm"] for piece in report], atol=0.011)


def test_a_pick_moves_the_piece(made: Made) -> None:
    other = made.picked
    assert [plan.picked for plan in other.plans] == [2, 1]
    assert_allclose(placements(other)[0][:3, :3], other.plans[0].options[2].fit.rotation)
    assert_allclose(other.fits[1].size, other.plans[1].options[1].fit.size)


def test_stiffness_has_the_figures_of_the_report(made: Made) -> None:
    part = made.report["stiffness"]["print"]
    (page,) = [page.extract_text() for page in made.pages if "How far the print gives way" in page.extract_text()]
    for tip in part["tips"]:
        assert f"5 N on the {tip['name']} tip" in page and f"{tip['deflection_mm']:.1f} mm" in page
    for hertz in part["frequencies_hz"]:
        assert f"{hertz:.1f} Hz" in page and f"{60.0 * hertz:,.0f}" in page
    assert f"{part['layer_stress_mpa']:.1f} of {part['layer_strength_mpa']:.0f} MPa" in page
    assert page.count("shown") == 6


def test_a_picture_of_another_kind_is_refused(made: Made, tmp_path: Path) -> None:
    (tmp_path / "gray.png").write_bytes(b"GIF89a")
    stiffness = run_steps(job_stiffness_steps(made.result))
    steps = build_sheet_steps(tmp_path / "s.pdf", made.result, stiffness, made.report, tmp_path / "gray.png", "2026-01-01")
    with pytest.raises(ValueError, match="gray.png is not a PNG"):
        list(steps)
    png(tmp_path / "deep.png", PIXELS)
    content = bytearray((tmp_path / "deep.png").read_bytes())
    content[24] = 16
    (tmp_path / "deep.png").write_bytes(bytes(content))
    with pytest.raises(ValueError, match="deep.png: depth 16"):
        PdfDocument().add_png(tmp_path / "deep.png")


def test_long_tables_and_texts_go_on_on_a_next_page(tmp_path: Path) -> None:
    flow = SheetFlow(PdfDocument(), "long job (with brackets \\ )", "2026-01-01")
    flow.begin_page("Rows")
    flow.table(
        (Column("number", 20.0, "right"), Column("text", 100.0)), [(str(i), f"row {i} " + "word " * 12) for i in range(90)]
    )
    flow.bullets([f"sentence {i} " + "and more of it " * 20 for i in range(30)])
    flow.checks([f"box {i}" for i in range(40)])
    flow.finish("foot")
    flow.document.write(tmp_path / "long.pdf")
    pages = pypdf.PdfReader(tmp_path / "long.pdf").pages
    assert len(pages) >= 5
    everything = "\n".join(page.extract_text() for page in pages)
    assert all(f"row {i} " in everything for i in range(90)) and all(f"box {i}" in everything for i in range(40))
    assert everything.count("number") >= 2 and "Rows, continued" in everything
    assert "long job (with brackets \\ )" in everything
    for page in pages:
        for text, _, y, _, _ in texts(page):
            assert y > 21.0 or text == "foot" or "page" in text
    with pytest.raises(ValueError, match="higher than a page"):
        flow.room(400.0)
