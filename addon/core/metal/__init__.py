# SPDX-License-Identifier: GPL-3.0-or-later
"""The same shape in sheet metal: a buck of plywood stations, profile templates, the crown laid flat."""
