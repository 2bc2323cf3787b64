# SPDX-License-Identifier: GPL-3.0-or-later
"""Fastener and edge distance tables against values read in other places."""

from __future__ import annotations

import pytest

from addon.core.tables.edge_distance import edge_distance
from addon.core.tables.fasteners import (
    BUTTON_HEAD,
    CLEARANCE_HOLE,
    COUNTERSUNK_HEAD,
    FITS,
    LARGE_WASHER,
    NOMINAL_DIAMETER,
    PLAIN_WASHER,
    SOCKET_HEAD,
    THREADS,
)
from addon.core.tables.inserts import HEAT_SET_INSERT, RIVET_NUT_HOLE, pocket_depth


@pytest.mark.parametrize(
    ("thread", "fit", "hole"),
    [("M6", "medium", 6.6), ("M8", "medium", 9.0), ("M12", "medium", 13.5), ("M5", "fine", 5.3), ("M10", "coarse", 12.0)],
)  # ISO 273 by engineeringhardware.com and jlhy.miizo.top (second-hand)
def test_clearance_holes(thread: str, fit: str, hole: float) -> None:
    assert CLEARANCE_HOLE[thread][fit] == hole


def test_washers_and_heads() -> None:
    # second-hand: FreeCAD_FastenersWB and cq_warehouse tables, see the module
    washer = PLAIN_WASHER["M6"]
    assert (washer.hole, washer.outer, washer.thickness) == (6.4, 12.0, 1.6)  # ISO 7089
    assert LARGE_WASHER["M8"].outer == 24.0  # ISO 7093
    assert BUTTON_HEAD["M6"].diameter == 10.5  # ISO 7380-1
    assert (SOCKET_HEAD["M8"].diameter, SOCKET_HEAD["M8"].height) == (13.0, 8.0)  # ISO 4762


@pytest.mark.parametrize("thread", THREADS)
def test_countersunk_height_follows_from_the_90_degree_cone(thread: str) -> None:
    """ISO 10642: head height = (theoretical diameter - thread) / 2."""
    head = COUNTERSUNK_HEAD[thread]
    assert head.height == pytest.approx((head.sharp_diameter - NOMINAL_DIAMETER[thread]) / 2, abs=0.005)
    assert head.diameter < head.sharp_diameter


@pytest.mark.parametrize("thread", THREADS)
def test_tables_are_in_order(thread: str) -> None:
    nominal = NOMINAL_DIAMETER[thread]
    holes = [CLEARANCE_HOLE[thread][fit] for fit in FITS]
    assert nominal < holes[0] < holes[1] < holes[2]
    assert nominal < PLAIN_WASHER[thread].hole <= LARGE_WASHER[thread].hole
    assert PLAIN_WASHER[thread].outer < LARGE_WASHER[thread].outer
    assert SOCKET_HEAD[thread].height == nominal
    assert holes[2] < PLAIN_WASHER[thread].outer


@pytest.mark.parametrize(
    ("thread", "laminate", "least"),
    [("M6", False, 13.0), ("M6", True, 18.0), ("M8", False, 17.0), ("M8", True, 24.0), ("M3", False, 7.0)],
)  # facts trade 1.6: 2 d + 1 mm for a print, 3 d for fiberglass
def test_edge_distance(thread: str, laminate: bool, least: float) -> None:
    assert edge_distance(thread, laminate) == least


def test_edge_distance_is_never_under_the_washer() -> None:
    for thread in THREADS:
        for laminate in (False, True):
            assert edge_distance(thread, laminate) >= PLAIN_WASHER[thread].outer / 2 + 1.0


def test_inserts() -> None:
    # accu.co.uk p/488: pilot 8.0 for M6, length 12.7; pocket depth = length + 0.5 (creative3dp blog)
    assert HEAT_SET_INSERT["M6"].pilot == 8.0
    assert pocket_depth("M6") == pytest.approx(13.2)
    for thread, insert in HEAT_SET_INSERT.items():
        assert NOMINAL_DIAMETER[thread] < insert.pilot < insert.outer
    for thread, hole in RIVET_NUT_HOLE.items():  # from memory
        assert hole > NOMINAL_DIAMETER[thread]
