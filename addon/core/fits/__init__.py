# SPDX-License-Identifier: GPL-3.0-or-later
"""Orthogonal-distance least squares of circle, plane, cylinder and torus, each with its covariance."""
