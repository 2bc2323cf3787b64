# SPDX-License-Identifier: GPL-3.0-or-later
"""A real window of the host, with keys and mouse as a person has them."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any, Self

from tests.gui.hands import Hands
from tests.gui.json_lines import JsonLines
from tests.gui.real_host import RealHost

WIDTH, HEIGHT = 1600, 1000
PREPARE = """
import bpy
view = bpy.context.preferences.view
view.show_splash = False
view.smooth_view = 0
view.show_tooltips = False
view.filebrowser_display_type = "SCREEN"  # there is no window manager
bpy.context.preferences.system.use_region_overlap = False  # else each move over the sidebar draws the whole view
bpy.context.preferences.filepaths.use_auto_save_temporary_files = False
bpy.context.preferences.use_preferences_save = False
bpy.ops.wm.save_userpref()
"""
LEFT, MIDDLE, RIGHT = 1, 2, 3
TURNS = 3
"""Turns of the event loop until what was done is handled and drawn."""


class Window:
    """A host with the built extension, started on a screen of its own; use it in a with statement."""

    def __init__(self, host: RealHost, *arguments: str) -> None:
        self._host = host
        self._arguments = arguments
        self._number = 0

    def __enter__(self) -> Self:
        self.folder = Path(tempfile.mkdtemp(prefix="fenderwright-window-"))
        self._environment = {
            "HOME": str(self.folder),
            "BLENDER_USER_RESOURCES": str(self.folder / "resources"),
            "FENDERWRIGHT_SCENARIO": str(self.folder),
            "LIBGL_ALWAYS_SOFTWARE": "1",
            "LC_ALL": "C.UTF-8",
        }
        (self.folder / "resources").mkdir()
        self._answers = JsonLines(self.folder / "answers.jsonl")
        self._updates = JsonLines(self.folder / "updates.jsonl")
        self._all_updates: list[dict[str, Any]] = []
        self._processes: list[subprocess.Popen[bytes]] = []
        self._hands: Hands | None = None
        try:
            self._start()
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._end()

    def _start(self) -> None:
        shutil.copy(self._host.extension, self.folder)
        shutil.copy(Path(__file__).with_name("driver.py"), self.folder)
        extension = str(self.folder / Path(self._host.extension).name)
        install = ["--command", "extension", "install-file", "-r", "user_default", "--enable", extension]
        self._run([self._host.program, *install])
        self._run([self._host.program, "--background", "--python-expr", PREPARE])
        self._start_screen()
        self._spawn(
            [
                self._host.program,
                *("--gpu-backend", "opengl", "--window-geometry", "0", "0", str(WIDTH), str(HEIGHT)),
                *self._arguments,
                *("--python", str(self.folder / "driver.py")),
            ],
            "host.log",
        )
        self.ask("result = 1", timeout_s=60.0)
        self._hands = Hands(self._host, self.folder, self._environment)
        self._hands.do("search --onlyvisible --class blender windowfocus")

    def _start_screen(self) -> None:
        screen = self._spawn(
            ["Xvfb", "-displayfd", "1", "-screen", "0", f"{WIDTH}x{HEIGHT}x24", "-nolisten", "tcp"], "screen.log"
        )
        number = self._wait(lambda: (self.folder / "screen.log").read_text().strip().split("\n")[0], 30.0, "the screen")
        if screen.poll() is not None or not number.isdigit():
            raise RuntimeError(f"Xvfb did not start: {number}")
        self._environment["DISPLAY"] = f":{number}"

    def _spawn(self, arguments: list[str], log: str) -> subprocess.Popen[bytes]:
        with open(self.folder / log, "wb") as output:
            process = subprocess.Popen(
                self._host.command(arguments, self.folder),
                env={**os.environ, **self._environment},
                stdout=output,
                stderr=output if log != "screen.log" else subprocess.DEVNULL,
            )
        self._processes.append(process)
        return process

    def _run(self, arguments: list[str]) -> str:
        return self._host.run(arguments, self.folder, self._environment)

    def _end(self) -> None:
        if self._hands is not None:
            self._hands.end()
        for process in reversed(self._processes):
            process.terminate()
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)
        self._host.forget(self.folder)

    # What a person does

    def keys(self, *names: str) -> None:
        """Press and release keys by X names, such as "g", "Return", "ctrl+z"."""
        self._do(f"key --delay 60 {' '.join(names)}")

    def type(self, text: str) -> None:
        self._do(f"type --delay 40 {shlex.quote(text)}")

    def move(self, x: float, y: float) -> None:
        """Mouse to a place in the window; y counts from the bottom, as the host does."""
        self._do(f"mousemove {round(x)} {round(HEIGHT - 1 - y)}")

    def click(self, x: float, y: float, button: int = LEFT) -> None:
        self.move(x, y)
        self.settle()
        self._do(f"click {button}")
        self.settle()

    def double_click(self, x: float, y: float) -> None:
        self.move(x, y)
        self.settle()
        self._do(f"click --repeat 2 --delay 60 {LEFT}")
        self.settle()

    def turn_wheel(self, button: int, times: int) -> None:
        self._do(f"click --repeat {times} --delay 10 {button}")
        self.settle()

    def drag(self, start: tuple[float, float], end: tuple[float, float], steps: int, after_step: Any = None) -> None:
        """Mouse from start to end in steps with no button pressed (a transform follows it); after_step(i) after each."""
        for i in range(1, steps + 1):
            share = i / steps
            self.move(start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            self.settle()
            if after_step is not None:
                after_step(i)

    def _do(self, command: str) -> None:
        assert self._hands is not None
        self._hands.do(command)

    def picture(self, name: str) -> Path:
        """Picture of the whole screen into the folder of the pictures."""
        taken = self.folder / f"{name}.png"
        self._run(["import", "-window", "root", str(taken)])
        target = Path(self._host.pictures) / taken.name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(taken, target)
        return target

    # What the host tells

    def ask(self, code: str, timeout_s: float = 20.0, turns: int = 0) -> Any:
        """Run code in the host (bpy is at hand); returns what it leaves in `result`. Raises AssertionError with its traceback.

        turns : turns of the host's event loop to wait before
        """
        self._number += 1
        with open(self.folder / "requests.jsonl", "a", encoding="utf-8") as file:
            file.write(json.dumps({"number": self._number, "turns": turns, "code": code}) + "\n")
        answer = self._wait(lambda: self._answer(self._number), timeout_s, f"an answer to: {code}")
        assert "error" not in answer, answer["error"]
        return answer["result"]

    def _answer(self, number: int) -> dict[str, Any] | None:
        return next((line for line in self._answers.new_lines() if line["number"] == number), None)

    def updates(self) -> list[dict[str, Any]]:
        """All updates of the dependency graph since the start, with what the scenario's probe() said."""
        self._all_updates += self._updates.new_lines()
        return self._all_updates

    def printed(self) -> str:
        """What the host has printed since the start, tracebacks too."""
        return (self.folder / "host.log").read_text(encoding="utf-8", errors="replace")

    def settle(self) -> None:
        """Wait until the host has taken in what was done and drawn it."""
        self.ask("result = 1", turns=TURNS)

    def wait_for(self, expression: str, timeout_s: float = 20.0) -> Any:
        """Value of an expression in the host, as soon as it is true. Raises AssertionError if it never is."""
        return self._wait(lambda: self.ask(f"result = {expression}"), timeout_s, expression)

    def _wait(self, condition: Any, timeout_s: float, what: str) -> Any:
        end = time.monotonic() + timeout_s
        while time.monotonic() < end:
            value = condition()
            if value:
                return value
            ended = [process.args for process in self._processes if process.poll() is not None]
            assert not ended, f"ended: {ended}\n{self._log_end()}"
            time.sleep(0.002)
        raise AssertionError(f"waited {timeout_s:g} s in vain for {what}\n{self._log_end()}")

    def _log_end(self) -> str:
        return self.printed()[-3000:] if (self.folder / "host.log").exists() else ""
