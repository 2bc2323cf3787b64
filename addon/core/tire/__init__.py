# SPDX-License-Identifier: GPL-3.0-or-later
"""The tire of a job: size, profile, growth."""
