# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs inside the host (--python): answers the scenario's questions and logs every change, as lines of JSON.

The scenario appends requests {"number", "turns", "code"} to requests.jsonl; after so many further turns of the event loop
the code is run with bpy at hand, and what it leaves in `result` comes back in answers.jsonl. Each update of the dependency graph adds a line to updates.jsonl, with what
`probe()` returns, if the scenario has defined such a function in the driver's namespace.
"""

import json
import os
import time
import traceback
from pathlib import Path

import bpy

FOLDER = Path(os.environ["FENDERWRIGHT_SCENARIO"])
INTERVAL_S = 0.004

namespace = {"bpy": bpy}
read_position = 0
waiting = []
inside_probe = False


def append(name, line):
    with open(FOLDER / name, "a", encoding="utf-8") as file:
        file.write(json.dumps(line, default=str) + "\n")


def new_requests():
    global read_position
    path = FOLDER / "requests.jsonl"
    if not path.exists():
        return []
    with open(path, "rb") as file:
        file.seek(read_position)
        whole_lines = file.read().rpartition(b"\n")[0]
    read_position += len(whole_lines) + 1 if whole_lines else 0
    return [json.loads(line) for line in whole_lines.splitlines()]


def answer(request):
    try:
        namespace.pop("result", None)
        exec(compile(request["code"], "scenario", "exec"), namespace)  # noqa: S102 - the scenario is our own test
        append("answers.jsonl", {"number": request["number"], "result": namespace.get("result")})
    except Exception:  # noqa: BLE001 - whatever it was, the scenario is told
        append("answers.jsonl", {"number": request["number"], "error": traceback.format_exc()})


def attend():
    waiting.extend(new_requests())
    while waiting and waiting[0]["turns"] <= 0:
        answer(waiting.pop(0))
    if waiting:
        waiting[0]["turns"] -= 1
    return INTERVAL_S


@bpy.app.handlers.persistent
def log_update(scene, depsgraph):
    global inside_probe
    if inside_probe:
        return
    line = {"time": time.time(), "mode": bpy.context.mode, "updated": [update.id.name for update in depsgraph.updates]}
    if "probe" in namespace:
        inside_probe = True
        try:
            line["probe"] = namespace["probe"]()
        except Exception:  # noqa: BLE001 - whatever it was, the scenario is told
            line["error"] = traceback.format_exc()
        finally:
            inside_probe = False
    append("updates.jsonl", line)


bpy.app.handlers.depsgraph_update_post.append(log_update)
bpy.app.timers.register(attend, first_interval=0.5, persistent=True)
