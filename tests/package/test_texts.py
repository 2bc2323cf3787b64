# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels and tooltips of all our own classes by the host's Human Interface Guidelines."""

import re
from typing import Any

import pytest

SMALL_WORDS = frozenset(
    {
        "a",
        "an",
        "and",
        "as",
        "at",
        "but",
        "by",
        "for",
        "from",
        "if",
        "in",
        "into",
        "is",
        "nor",
        "of",
        "off",
        "on",
        "onto",
        "or",
        "out",
        "over",
        "per",
        "so",
        "than",
        "the",
        "to",
        "up",
        "via",
        "with",
    }
)
UNITS = {"mm", "km/h", "deg", "mm3", "g", "kg"}


def is_title_case(label: str) -> bool:
    """Each word begins with a capital or a digit, but small words inside and units; no final period."""
    words = re.findall(r"[^\s()/,-]+(?:/h)?", label)
    inner = (index not in (0, len(words) - 1) for index in range(len(words)))
    return (
        bool(words)
        and not label.endswith(".")
        and all(
            not word[0].islower() or word in UNITS or (inside and word in SMALL_WORDS)
            for word, inside in zip(words, inner, strict=True)
        )
    )


def is_tooltip(text: str) -> bool:
    """One sentence, capital or digit first, no period at its end."""
    return bool(text) and not text[0].islower() and not text.endswith(".") and ". " not in text


@pytest.fixture(scope="module")
def texts(installed: dict[str, Any]) -> list[dict[str, Any]]:
    assert installed["texts"]
    return list(installed["texts"])


@pytest.mark.parametrize(
    ("label", "good"),
    [("Build Solid", True), ("Gap at the Mount (mm)", True), ("Build solid", False), ("Build Solid.", False), ("", False)],
)
def test_title_case(label: str, good: bool) -> None:
    assert is_title_case(label) == good


@pytest.mark.parametrize(
    ("text", "good"),
    [("Move the cage back", True), ("Move it.", False), ("move it", False), ("Move it. Then wait", False), ("", False)],
)
def test_tooltip(text: str, good: bool) -> None:
    assert is_tooltip(text) == good


def test_labels_are_title_case(texts: list[dict[str, Any]]) -> None:
    wrong = [
        f"{cls['name']}: {cls['label']!r}" for cls in texts if cls["kind"] != "PropertyGroup" and not is_title_case(cls["label"])
    ]
    for cls in texts:
        for prop in cls["properties"]:
            labels = [prop["label"], *(name for name, _ in prop["choices"])]
            wrong += [f"{cls['name']}.{prop['name']}: {label!r}" for label in labels if not is_title_case(label)]
    assert not wrong, "\n".join(wrong)


def test_tooltips_are_one_sentence(texts: list[dict[str, Any]]) -> None:
    wrong = [
        f"{cls['name']}: {cls['tooltip']!r}" for cls in texts if cls["kind"] == "Operator" and not is_tooltip(cls["tooltip"])
    ]
    for cls in texts:
        for prop in cls["properties"]:
            tooltips = [prop["tooltip"], *(text for _, text in prop["choices"] if text)]
            wrong += [f"{cls['name']}.{prop['name']}: {text!r}" for text in tooltips if not is_tooltip(text)]
    assert not wrong, "\n".join(wrong)


def test_names_follow_the_hosts_pattern(texts: list[dict[str, Any]]) -> None:
    letters = {"Panel": "PT", "Operator": "OT", "Menu": "MT", "UIList": "UL", "PropertyGroup": "PG", "AddonPreferences": "AP"}
    for cls in texts:
        for kind, pair in letters.items():
            if cls["kind"] == kind:
                assert cls["name"].startswith(f"FENDERWRIGHT_{pair}_"), cls["name"]
