# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies that distance is measured to, still or moving."""
