# SPDX-License-Identifier: GPL-3.0-or-later
"""Student's t against scipy."""

import pytest
from scipy import stats

from addon.core.base.student_t import student_t_quantile, student_t_tail


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 30])
def test_tail_and_quantile_agree_with_scipy(freedom: int) -> None:
    for t in (-3.0, -0.2, 0.0, 0.7, 2.5, 12.0):
        assert student_t_tail(t, freedom) == pytest.approx(stats.t.sf(t, freedom), abs=1e-12)
    for tail in (0.5, 0.1, 0.025, 0.001):
        assert student_t_quantile(tail, freedom) == pytest.approx(stats.t.isf(tail, freedom), rel=1e-9, abs=1e-9)


def test_arguments_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="freedom"):
        student_t_tail(1.0, 0)
    with pytest.raises(ValueError, match="tail"):
        student_t_quantile(0.6, 3)
