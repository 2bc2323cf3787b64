# SPDX-License-Identifier: GPL-3.0-or-later
"""A write that fails midway leaves the former files whole."""

from pathlib import Path

import pytest

from addon.output.atomic_output import atomic_output


def content(folder: Path) -> dict[str, str]:
    return {str(path.relative_to(folder)): path.read_text() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture
def former(tmp_path: Path) -> Path:
    folder = tmp_path / "out"
    (folder / "gauges").mkdir(parents=True)
    for name in ("fender_front.stl", "fender_rear.stl", "gauges/strip.stl", "notes.txt"):
        (folder / name).write_text(f"former {name}")
    return folder


def test_files_appear_when_complete(tmp_path: Path) -> None:
    target = tmp_path / "deep" / "out"
    with atomic_output(target) as folder:
        (folder / "gauges").mkdir()
        (folder / "gauges" / "strip.stl").write_text("strip")
        (folder / "report.json").write_text("{}")
        assert content(target) == {str((folder / name).relative_to(target)): text for name, text in content(folder).items()}
    assert content(target) == {"gauges/strip.stl": "strip", "report.json": "{}"}
    assert {path.name for path in target.iterdir()} == {"gauges", "report.json"}


def test_other_files_stay_and_replaced_ones_go(former: Path) -> None:
    with atomic_output(former, replaces=("fender_*.stl",)) as folder:
        (folder / "fender_front.stl").write_text("new")
        (folder / "fender_left.stl").write_text("new")
    found = content(former)
    assert found["fender_front.stl"] == found["fender_left.stl"] == "new"
    assert "fender_rear.stl" not in found
    assert found["notes.txt"] == "former notes.txt"
    assert found["gauges/strip.stl"] == "former gauges/strip.stl"


def test_failure_while_writing_changes_nothing(former: Path) -> None:
    before = content(former)
    with pytest.raises(OSError, match="disk full"), atomic_output(former, replaces=("*.stl",)) as folder:
        (folder / "fender_front.stl").write_text("half a fi")
        raise OSError("disk full")
    assert content(former) == before


def test_failure_while_writing_leaves_no_new_folder(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="disk full"), atomic_output(tmp_path / "a" / "b") as folder:
        (folder / "fender_front.stl").write_text("half a fi")
        raise OSError("disk full")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("failing_move", range(1, 7))
def test_failure_at_each_move_is_undone(former: Path, monkeypatch: pytest.MonkeyPatch, failing_move: int) -> None:
    before = content(former)
    moves = 0
    replace = Path.replace

    def failing(self: Path, target: Path) -> Path:
        nonlocal moves
        moves += 1
        if moves == failing_move:
            raise PermissionError("file is open elsewhere")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(PermissionError), atomic_output(former, replaces=("fender_*.stl",)) as folder:
        (folder / "gauges").mkdir()
        for name in ("fender_front.stl", "fender_left.stl", "gauges/strip.stl"):
            (folder / name).write_text("new")
    assert moves >= failing_move
    assert content(former) == before
