# SPDX-License-Identifier: GPL-3.0-or-later
"""The steps from a job to its pieces, without the host."""
