# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed since the files that lie in a folder were written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..core.report.change_list import change_list

REPORT = "report.json"


def changes_since(folder: Path, report: Mapping[str, Any]) -> list[str]:
    """Sentences on what differs from the report.json in a folder; none if there is no such file.

    A file that cannot be read or is no report of ours gives one sentence that says so.
    """
    former = folder / REPORT
    if not former.exists():
        return []
    try:
        return list(change_list(json.loads(former.read_text(encoding="utf-8")), report))
    except (OSError, ValueError) as error:
        return [f"What changed is not known: the former {REPORT} cannot be read ({error})."]
