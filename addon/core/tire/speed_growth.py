# SPDX-License-Identifier: GPL-3.0-or-later
"""Growth of a tire's radius by the centrifugal law of tire models; for information, not for the envelope."""

from __future__ import annotations

ILLUSTRATIVE_COEFFICIENT = 0.00076
"""q_V1 of a synthetic motorcycle test file [S2]; no measured motorcycle tire is at hand."""

REFERENCE_SPEED_MS = 16.667


def speed_growth(
    radius_mm: float,
    speed_kmh: float,
    coefficient: float = ILLUSTRATIVE_COEFFICIENT,
    reference_speed_ms: float = REFERENCE_SPEED_MS,
) -> float:
    """Growth of the free radius at a speed, mm.

    R - R0 = R0 q_V1 (omega R0 / V0)^2, the MF-Tyre 6.1 free radius (Besselink et al. 2010, equation 1) with omega R0 the speed.
    """
    return radius_mm * coefficient * (speed_kmh / 3.6 / reference_speed_ms) ** 2
