# SPDX-License-Identifier: GPL-3.0-or-later
"""What each layer of the extension may import, read from its syntax trees."""

import ast
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

ADDON = Path(__file__).resolve().parents[2] / "addon"
OF_THE_HOST = {"blf", "bmesh", "bpy", "bpy_extras", "gpu", "gpu_extras", "mathutils"}
BUNDLED = {"ezdxf", "lib3mf", "manifold3d", "pydyf", "tomli_w"}
SOURCES = sorted(ADDON.rglob("*.py"))
MOST_FILES = 18
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


FLOORS = (
    ("core.base",),
    ("core.tables", "core.fits", "core.shells"),
    ("core.job", "core.mesh", "core.plies", "core.scan", "core.colors", "core.drawing"),
    ("core.tire",),
    ("core.bodies", "core.seat"),
    ("core.wall",),
    ("core.clearance", "core.skin", "core.views"),
    (
        "core.cloth",
        "core.laminate",
        "core.shaping",
        "core.trim",
        "core.pieces",
        "core.readings",
        "core.printing",
        "core.stiffness",
    ),
    ("core.gauges", "core.lines", "core.metal", "core.coverage", "core.variants"),
    ("core.report",),
    ("pipeline",),
    ("output",),
    ("host",),
    ("ui.draw", "ui.state"),
    ("ui.properties",),
    ("ui.base", "ui.watch"),
    ("ui.measure", "ui.scan", "ui.shape"),
    ("ui.mount",),
    ("ui.finish", "ui.gauges"),
    ("ui.registration",),
)
"""The packages of the extension from the ground up: one imports only what lies on lower floors. DEVELOPERS.md has the picture."""


def module_of(path: Path) -> str:
    """Dotted name below the extension, such as "core.base.arrays"."""
    parts = path.relative_to(ADDON).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_of(path): path for path in SOURCES}


def imported_modules(path: Path) -> set[str]:
    """Modules of the extension that a file imports, wherever the import stands in it."""
    package = path.relative_to(ADDON).parts[:-1]
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level:
            base = [*package[: len(package) - node.level + 1], *(node.module or "").split(".")]
            name = ".".join(part for part in base if part)
            found.update(f"{name}.{alias.name}" if f"{name}.{alias.name}" in MODULES else name for alias in node.names)
    return found & MODULES.keys()


def floor_of(module: str) -> int | None:
    """Number of the floor that a module lies on; None for the root's own files, which see all."""
    for floor, packages in enumerate(FLOORS):
        if any(module == package or module.startswith(package + ".") for package in packages):
            return floor
    return None


def package_of(module: str) -> str:
    parts = module.split(".")
    return ".".join(parts[: 2 if parts[0] in ("core", "ui") else 1])


def upward_imports(imports_of: dict[str, set[str]]) -> list[str]:
    found = []
    for module, imported in imports_of.items():
        for other in imported:
            here, there = floor_of(module), floor_of(other)
            if package_of(module) != package_of(other) and here is not None and there is not None and there >= here:
                found.append(f"{module} imports {other}")
    return sorted(found)


def import_cycle(imports_of: dict[str, set[str]]) -> list[str]:
    """Files that import each other in a ring, the first such ring that is met; empty if there is none."""
    done: set[str] = set()
    trail: list[str] = []

    def visit(module: str) -> list[str]:
        if module in trail:
            return trail[trail.index(module) :]
        if module in done:
            return []
        trail.append(module)
        for other in sorted(imports_of[module]):
            ring = visit(other)
            if ring:
                return ring
        done.add(trail.pop())
        return []

    return next((ring for module in sorted(imports_of) if (ring := visit(module))), [])


IMPORTS = {module: imported_modules(path) for module, path in MODULES.items()}


def reaches_out_of_core(path: Path) -> bool:
    depth_in_core = len(path.relative_to(ADDON / "core").parts)
    return any(level > depth_in_core for level, _ in imports(path))


def touches_search_path(path: Path) -> bool:
    attributes = (node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Attribute))
    return any(ast.unparse(node) in ("sys.path", "sys.modules") for node in attributes)


def test_core_needs_numpy_and_the_modeler_only() -> None:
    assert offenders(CORE, lambda path: not outside_packages(path) <= {"numpy", "manifold3d"}) == []
    assert offenders(CORE, reaches_out_of_core) == []


def test_extension_needs_the_host_and_its_wheels_only() -> None:
    assert offenders(SOURCES, lambda path: not outside_packages(path) <= {"numpy", *OF_THE_HOST, *BUNDLED}) == []


def test_host_layer_does_not_know_the_screen() -> None:
    assert (
        offenders(HOST, lambda path: any(level == 2 and module.partition(".")[0] == "ui" for level, module in imports(path)))
        == []
    )


def test_every_package_has_a_floor() -> None:
    packages = {package_of(module) for module in MODULES} - {"", "core", "ui"}
    assert packages == {package for floor in FLOORS for package in floor}


def test_packages_import_lower_floors_only() -> None:
    assert upward_imports(IMPORTS) == []


def test_no_files_import_each_other_in_a_ring() -> None:
    assert import_cycle(IMPORTS) == []


def test_an_upward_import_and_a_ring_are_found() -> None:
    wrong = {"core.base.arrays": {"core.wall.rim"}, "core.wall.rim": {"core.wall.rib"}, "core.wall.rib": {"core.wall.rim"}}
    assert upward_imports(wrong) == ["core.base.arrays imports core.wall.rim"]
    assert import_cycle(wrong) == ["core.wall.rim", "core.wall.rib"]


def test_folders_stay_small_enough_to_read() -> None:
    crowded = {path.parent for path in SOURCES if len(list(path.parent.glob("*.py"))) > MOST_FILES}
    assert {str(folder.relative_to(ADDON)) for folder in crowded} == set()


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
