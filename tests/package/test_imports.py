# SPDX-License-Identifier: GPL-3.0-or-later
"""What each layer of the extension may import, read from its syntax trees."""

import ast
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

ADDON = Path(__file__).resolve().parents[2] / "addon"
OF_THE_HOST = {"blf", "bmesh", "bpy", "bpy_extras", "gpu", "gpu_extras", "mathutils"}
BUNDLED = {"lib3mf", "pydyf", "tomli_w"}
SOURCES = sorted(ADDON.rglob("*.py"))
CORE = sorted((ADDON / "core").rglob("*.py"))
HOST = sorted((ADDON / "host").rglob("*.py"))


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Level (number of dots) and module of each import in a file, wherever it stands."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((0, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.level, node.module or ""


def outside_packages(path: Path) -> set[str]:
    return {module.partition(".")[0] for level, module in imports(path) if level == 0} - set(sys.stdlib_module_names)


def offenders(paths: list[Path], is_wrong: Callable[[Path], bool]) -> list[str]:
    assert paths
    return [str(path.relative_to(ADDON)) for path in paths if is_wrong(path)]


def reaches_out_of_core(path: Path) -> bool:
    depth_in_core = len(path.relative_to(ADDON / "core").parts)
    return any(level > depth_in_core for level, _ in imports(path))


def touches_search_path(path: Path) -> bool:
    attributes = (node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Attribute))
    return any(ast.unparse(node) in ("sys.path", "sys.modules") for node in attributes)


def test_core_needs_numpy_only() -> None:
    assert offenders(CORE, lambda path: not outside_packages(path) <= {"numpy"}) == []
    assert offenders(CORE, reaches_out_of_core) == []


def test_extension_needs_the_host_and_its_wheels_only() -> None:
    assert offenders(SOURCES, lambda path: not outside_packages(path) <= {"numpy", *OF_THE_HOST, *BUNDLED}) == []


def test_host_layer_does_not_know_the_screen() -> None:
    assert (
        offenders(HOST, lambda path: any(level == 2 and module.partition(".")[0] == "ui" for level, module in imports(path)))
        == []
    )


def test_search_path_is_left_alone() -> None:
    assert offenders(SOURCES, touches_search_path) == []


def test_license_comes_first() -> None:
    first = "# SPDX-License-Identifier: GPL-3.0-or-later\n"
    assert offenders(SOURCES, lambda path: not path.read_text(encoding="utf-8").startswith(first)) == []


def test_a_wrong_import_is_found(tmp_path: Path) -> None:
    source = tmp_path / "wrong.py"
    source.write_text("def f():\n    from scipy.spatial import KDTree\n    import os, bpy.types\n    sys.path.append('x')\n")
    assert outside_packages(source) == {"scipy", "bpy"}
    assert touches_search_path(source)
