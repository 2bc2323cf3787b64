# SPDX-License-Identifier: GPL-3.0-or-later
"""Fenderwright: motorcycle fenders that follow the tire and never touch it.

The host is imported only when it registers the extension, so that `core` can be read and run without it.
"""


def register() -> None:
    from .ui import registration

    registration.register()


def unregister() -> None:
    from .ui import registration

    registration.unregister()
