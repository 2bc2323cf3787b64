# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage as the host holds it."""
