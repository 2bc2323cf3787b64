# SPDX-License-Identifier: GPL-3.0-or-later
"""Files of a job: meshes, sheets, gauges; without the host."""
