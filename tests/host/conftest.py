# SPDX-License-Identifier: GPL-3.0-or-later
"""The host is loaded before the tests: bmesh and mathutils can be imported only after it."""

from collections.abc import Iterator

import bpy  # noqa: F401
import pytest

from tests.host.extension_scene import extension


@pytest.fixture
def troubles() -> Iterator[list[str]]:
    """The extension registered in an empty file; tracebacks of its handlers, of which there may be none at the end."""
    with extension() as found:
        yield found
    assert not found, "\n".join(found)
