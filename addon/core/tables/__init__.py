# SPDX-License-Identifier: GPL-3.0-or-later
"""Numbers of the trade, each with its source and mark.

Marks: [S] read in the source named; [S2] second-hand copy; [M], [M-hi], [M-lo] from memory; [C] computed; [J] judgement.
"""
