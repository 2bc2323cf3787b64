# SPDX-License-Identifier: GPL-3.0-or-later
"""What a key of the job sheet may hold: each kind reads a TOML value or says in one sentence what is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Protocol

from ..base.errors import JobError

_LONGEST_SHOWN = 60


class Kind(Protocol):
    """A kind of value."""

    def read(self, key: str, value: object) -> Any:
        """The value as the job holds it; raises JobError(key, sentence)."""
        ...

    def write(self, value: Any) -> object:
        """The value as TOML holds it."""
        ...


def shown(value: object) -> str:
    """A value as it is quoted in a message: one line, cut to a readable length."""
    text = f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else repr(value)
    text = "".join(letter if letter.isprintable() else " " for letter in text)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."


def nearest(word: str, known: Iterable[str]) -> str:
    """A hint for a misspelled word, such as ' (did you mean "height"?)', or nothing."""
    close = get_close_matches(word.lower(), list(known), n=1, cutoff=0.6)
    return f' (did you mean "{close[0]}"?)' if close else ""


@dataclass(frozen=True)
class Number:
    """A finite number from low to high, both included; whole numbers are taken as well, truth values are not."""

    low: float
    high: float
    unit: str = "mm"

    @property
    def allowed(self) -> str:
        return f"a number from {self.low:g} to {self.high:g} {self.unit}".rstrip()

    def read(self, key: str, value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise JobError(key, f"{shown(value)} is not a number; allowed is {self.allowed}")
        # a whole number of more than 308 digits has no float
        number = float(value) if isinstance(value, float) or abs(value) < 10**300 else math.inf
        # a NaN is in no range
        if not self.low <= number <= self.high:
            raise JobError(key, f"{shown(value)} is out of range; allowed is {self.allowed}")
        return number

    def write(self, value: float) -> object:
        return float(value)


@dataclass(frozen=True)
class Whole:
    """A whole number from low to high, both included."""

    low: int
    high: int

    def read(self, key: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise JobError(key, f"{shown(value)} is not a whole number; allowed is {self.low} to {self.high}")
        if not self.low <= value <= self.high:
            raise JobError(key, f"{shown(value)} is out of range; allowed is {self.low} to {self.high}")
        return value

    def write(self, value: int) -> object:
        return int(value)


@dataclass(frozen=True)
class Text:
    """One line of text that is not blank."""

    longest: int = 200

    def read(self, key: str, value: object) -> str:
        allowed = f"allowed is one line of text, 1 to {self.longest} characters"
        if not isinstance(value, str):
            raise JobError(key, f"{shown(value)} is not text; {allowed}")
        if not value.strip() or len(value) > self.longest or not value.isprintable():
            raise JobError(key, f"{shown(value)} cannot be used; {allowed}")
        return value

    def write(self, value: str) -> object:
        return value


@dataclass(frozen=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, key: str, value: object) -> str:
        if not isinstance(value, str) or value not in self.words:
            hint = nearest(value, self.words) if isinstance(value, str) else ""
            listed = ", ".join(f'"{word}"' for word in self.words)
            raise JobError(key, f"{shown(value)} is not known{hint}; allowed is one of {listed}")
        return value

    def write(self, value: str) -> object:
        return value


@dataclass(frozen=True)
class Numbers:
    """A list of a fixed count of numbers, all of one kind."""

    count: int
    of: Number

    def read(self, key: str, value: object) -> tuple[float, ...]:
        if not isinstance(value, list | tuple) or len(value) != self.count:
            raise JobError(key, f"{shown(value)} is not a list of {self.count} numbers; each may be {self.of.allowed}")
        return tuple(self.of.read(f"{key}[{i}]", item) for i, item in enumerate(value))

    def write(self, value: tuple[float, ...]) -> object:
        return [float(item) for item in value]


@dataclass(frozen=True)
class Items:
    """A list of low to high entries of one kind; what names an entry in messages."""

    of: Kind
    low: int
    high: int
    what: str

    def read(self, key: str, value: object) -> tuple[Any, ...]:
        if not isinstance(value, list | tuple) or not self.low <= len(value) <= self.high:
            count = f"holds {len(value)}" if isinstance(value, list | tuple) else "is not a list"
            raise JobError(key, f"{shown(value)} {count}; allowed is a list of {self.low} to {self.high} {self.what}")
        return tuple(self.of.read(f"{key}[{i}]", item) for i, item in enumerate(value))

    def write(self, value: tuple[Any, ...]) -> object:
        return [self.of.write(item) for item in value]


@dataclass(frozen=True)
class ForwardAndRearward:
    """Two lengths [forward, rearward]; a single number is the rearward one."""

    of: Number = field(default_factory=lambda: Number(0.0, 150.0))

    def read(self, key: str, value: object) -> tuple[float, float]:
        if isinstance(value, list | tuple):
            forward, rearward = Numbers(2, self.of).read(key, value)
            return forward, rearward
        return 0.0, self.of.read(key, value)

    def write(self, value: tuple[float, float]) -> object:
        return [float(item) for item in value]
