# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures rendered by the host."""
