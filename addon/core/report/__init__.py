# SPDX-License-Identifier: GPL-3.0-or-later
"""What is told of a job: report, cautions, lists, checks."""
