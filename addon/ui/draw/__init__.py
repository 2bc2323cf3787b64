# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawing over the 3D view: canvas, batches, hooks; knows nothing of the job."""
