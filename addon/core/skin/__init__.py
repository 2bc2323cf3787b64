# SPDX-License-Identifier: GPL-3.0-or-later
"""The cage and the limit surface that it makes."""
