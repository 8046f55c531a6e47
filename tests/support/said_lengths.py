"""Lengths read back from texts, as a person reads them: millimetres, thousandths of an inch, marks on the rule."""

from __future__ import annotations

import re
from fractions import Fraction

MARK = r"(?:\d+-)?\d+/\d+|\d+(?!\.\d)"
LENGTH = rf"(?:a (?:full|shy) )?−?(?:\d+\.\d+ (?:mm|in)\b|\d+ mm\b|(?:{MARK}) in\b)"
"""A length with its unit, as a regular expression without groups."""

OF_A_MARK = 25.4 / 128 + 1e-9
"""A mark is the nearest 1/64 in, mm."""


def millimetres(text: str) -> tuple[float, float]:
    """Return a length in mm and by how much it may be off for being rounded."""
    rest = text.strip().removeprefix("a full ").removeprefix("a shy ").replace("−", "-")
    number, unit = rest.rsplit(" ", 1)
    sign = -1 if number.startswith("-") else 1
    number = number.removeprefix("-")
    if "/" in number or (unit == "in" and "." not in number):
        value = sum((Fraction(part) for part in number.split("-")), Fraction(0))
        return sign * float(value) * 25.4, OF_A_MARK
    decimals = len(number.partition(".")[2])
    scale = 1.0 if unit == "mm" else 25.4
    return sign * float(number) * scale, (0.5 * 10**-decimals if decimals else 0.05) * scale + 1e-9


def is_said(text: str, value: float) -> bool:
    """Tell whether a text says a length in mm, to its own rounding. Whole millimetres have dropped their nought."""
    found, off = millimetres(text)
    return abs(found - value) <= off


def lengths_in(text: str) -> list[str]:
    """Return every length with its unit in a text."""
    return re.findall(LENGTH, text)
