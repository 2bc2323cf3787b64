# SPDX-License-Identifier: GPL-3.0-or-later
"""Mount face and bolt holes in a scan."""
