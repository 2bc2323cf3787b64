# SPDX-License-Identifier: GPL-3.0-or-later
"""Files that appear all at once or not at all."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path


@contextlib.contextmanager
def atomic_output(folder: Path, replaces: Sequence[str] = ()) -> Iterator[Path]:
    """A new folder to write into, whose files take their places in `folder` when the block ends without an error.

    folder : where the files are to be, made if need be; its other files stay
    replaces : patterns of files directly in `folder` that a former run may have left; those not written anew are removed
    If the block raises, or a file cannot be moved, `folder` is as it was before, and the error is raised. The new folder
    lies within `folder`, so that files only have to be renamed.
    """
    folder = folder.absolute()
    made = _outermost_missing(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".fenderwright-", dir=folder) as temporary:
            new, former = Path(temporary) / "new", Path(temporary) / "former"
            new.mkdir()
            yield new
            _exchange(new, folder, former, replaces)
    except BaseException:
        if made is not None:
            shutil.rmtree(made, ignore_errors=True)
        raise


def _outermost_missing(folder: Path) -> Path | None:
    """The outermost folder that has to be made for `folder` to be, if any."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    return missing[-1] if missing else None


def _exchange(new: Path, folder: Path, former: Path, replaces: Sequence[str]) -> None:
    """Move the files of `new` into `folder`, those that they replace into `former`; undo it all at an error."""
    names = [path.relative_to(new) for path in sorted(new.rglob("*")) if path.is_file()]
    stale = {path.relative_to(folder) for pattern in replaces for path in folder.glob(pattern) if path.is_file()}
    undo: list[tuple[Path, Path]] = []
    try:
        for name in sorted({*names, *stale}):
            if (folder / name).exists():
                _move(folder / name, former / name, undo)
        for name in names:
            _move(new / name, folder / name, undo)
    except BaseException:
        for source, target in reversed(undo):
            target.replace(source)
        raise


def _move(source: Path, target: Path, undo: list[tuple[Path, Path]]) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    source.replace(target)
    undo.append((source, target))
