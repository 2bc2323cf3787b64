# SPDX-License-Identifier: GPL-3.0-or-later
"""From a scan in any pose to wheel axes and measurements."""
