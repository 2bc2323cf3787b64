# SPDX-License-Identifier: GPL-3.0-or-later
"""What all tests share: the host keeps its user files in a folder of their own."""

import atexit
import os
import shutil
import tempfile

if "BLENDER_USER_RESOURCES" not in os.environ:
    os.environ["BLENDER_USER_RESOURCES"] = tempfile.mkdtemp(prefix="fenderwright-tests-")
    atexit.register(shutil.rmtree, os.environ["BLENDER_USER_RESOURCES"], ignore_errors=True)
