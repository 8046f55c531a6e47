"""Bounds of a set's TOML text, held before it is parsed: parsers take the square of the length of a dotted key, or more."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

MOST_VALUES = 10_000
"""Values of a set, items of lists too; one has some hundred, and a few hundred readings repeated."""

MOST_DOTS = 20
"""Dots of one key or table's name; the deepest field of a set has four."""

DEEPEST = 100
"""Lists and tables within one another."""

_TOKEN = re.compile(
    r'"""(?:[^\\"]|\\.|"(?!""))*+(?:"""|\Z)'  # Texts over several lines, texts, comments: nothing inside counts.
    r"|'''(?:[^']|'(?!''))*+(?:'''|\Z)"
    r'|"(?:[^\\"\n]|\\.)*+"?'
    r"|'[^'\n]*+'?"
    r"|\#[^\n]*+"
    r"|[.=,\n\[\]{}]",
    re.DOTALL,
)


def too_much(text: str) -> str | None:
    """Return what a TOML text has too much of, in words; None where it may be parsed."""
    values = dots = depth = 0
    for match in _TOKEN.finditer(text):
        token = match[0]
        if token == ".":
            dots += 1
        elif token in "=,\n[]{}":
            dots = 0
            values += token in "=,["
            depth += (token in "[{") - (token in "]}")
        if dots > MOST_DOTS:
            return f"a name of more than {MOST_DOTS} parts"
        if depth > DEEPEST:
            return "nested too deeply"
        if values > MOST_VALUES:
            return f"more than {MOST_VALUES} values"
    return None


def is_too_deep(values: Mapping[str, Any]) -> bool:
    """Tell whether parsed values lie deeper in one another than `DEEPEST`: names with dots nest too."""
    level: list[Any] = [values]
    for _ in range(DEEPEST):
        level = [inner for each in level for inner in (each.values() if isinstance(each, dict) else each)
                 if isinstance(inner, dict | list)]  # fmt: skip
        if not level:
            return False
    return True
