# SPDX-License-Identifier: GPL-3.0-or-later
"""The only state besides the file: what is known of each scene, and the sheet that it is read from."""
