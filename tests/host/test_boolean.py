# SPDX-License-Identifier: GPL-3.0-or-later
"""Cuts by the host: what its solver is, and what happens where it has none."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from addon.core.base.errors import ShapeError
from addon.core.mesh.prism import box
from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.host import boolean

ONE = box(np.zeros(3), np.eye(3), np.zeros(3), np.full(3, 10.0))
OTHER = box(np.full(3, 4.0), np.eye(3), np.zeros(3), np.full(3, 10.0))


@pytest.fixture(autouse=True)
def new_trial() -> None:
    boolean.solver.cache_clear()


def without(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A host that was built without a solver: it leaves the base as it is."""
    really: Callable[..., TriangleMesh] = boolean._by_modifier

    def by_modifier(base: TriangleMesh, other: TriangleMesh, operation: str, name: str) -> TriangleMesh:
        return base if missing in ("all", name) else really(base, other, operation, name)  # type: ignore[arg-type]

    monkeypatch.setattr(boolean, "_by_modifier", by_modifier)


def test_the_hosts_own_solver_is_taken() -> None:
    assert boolean.solver() == "MANIFOLD"
    assert_allclose(boolean.difference(ONE, OTHER, "cut").volume, 1000.0 - 216.0, rtol=1e-6)
    assert_allclose(boolean.intersection(ONE, OTHER, "cut").volume, 216.0, rtol=1e-6)


def test_a_host_without_it_cuts_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    without("MANIFOLD", monkeypatch)
    assert boolean.solver() in ("FLOAT", "FAST")
    cut = boolean.difference(ONE, OTHER, "cut")
    assert cut.is_closed
    assert_allclose(cut.volume, 1000.0 - 216.0, rtol=1e-6)


def test_a_host_without_any_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    without("all", monkeypatch)
    with pytest.raises(ShapeError, match="no solver that cuts closed meshes"):
        boolean.difference(ONE, OTHER, "cut")


def test_what_was_left_uncut_is_not_taken_for_a_result(monkeypatch: pytest.MonkeyPatch) -> None:
    assert boolean.solver() == "MANIFOLD"
    without("all", monkeypatch)
    with pytest.raises(ShapeError, match="front piece: the host left the part uncut"):
        boolean.intersection(ONE, OTHER, "front piece")


def test_open_operands_are_refused() -> None:
    opened = TriangleMesh(ONE.vertices, ONE.triangles[1:])
    for base, other in ((opened, OTHER), (ONE, opened)):
        with pytest.raises(ShapeError, match="is not a closed body"):
            boolean.difference(base, other, "cut")


def test_without_manifold_another_solver_is_asked_when_one_leaves_the_part_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cubes of 10 mm that share 6 x 6 x 6 mm."""
    asked: list[str] = []
    really: Callable[..., TriangleMesh] = boolean._by_modifier

    def by_modifier(base: TriangleMesh, other: TriangleMesh, operation: str, name: str) -> TriangleMesh:
        asked.append(name)
        made = really(base, other, operation, "EXACT")
        return made if name == "EXACT" else TriangleMesh(made.vertices, made.triangles[1:])

    monkeypatch.setattr(boolean, "_by_modifier", by_modifier)
    with monkeypatch.context() as patch:
        patch.setattr(boolean, "solver", lambda: "FLOAT")
        assert_allclose(boolean.difference(ONE, OTHER, "test").volume, 784.0, rtol=1e-6)
    assert asked == ["FLOAT", "EXACT"]
    with monkeypatch.context() as patch:
        patch.setattr(boolean, "solver", lambda: "MANIFOLD")
        with pytest.raises(ShapeError, match="did not give a closed body"):
            boolean.difference(ONE, OTHER, "test")
    # moved a little for each further try, but never another solver
    assert asked[2:] == 5 * ["MANIFOLD"]


def test_a_union_that_leaves_out_the_small_body_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cube of 2 mm, 1 mm of it out of a face of one of 1400 mm: 4 mm3 more, far under the rounding of such a volume."""
    large, small = (
        box(np.zeros(3), np.eye(3), np.full(3, -700.0), np.full(3, 700.0)),
        box(np.array([700.0, 3.3, 5.1]), np.eye(3), np.full(3, -1.0), np.full(3, 1.0)),
    )
    made = boolean.union(large, small, "keys")
    assert made.is_closed and made.part_count == 1
    assert_allclose(made.volume - large.volume, 4.0, atol=0.01)
    monkeypatch.setattr(boolean, "_by_modifier", lambda base, other, operation, name: base)
    with pytest.raises(ShapeError, match="keys: the host left the part uncut"):
        boolean.union(large, small, "keys")
