"""Lengths and angles as the shop sheet says them, in the units the maker measures in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planestock.exports.inch import MILLIMETRES, on_the_rule
from planestock.params.reading import Reading


@dataclass(frozen=True)
class Said:
    """How lengths are said. units: of the set; inch sets get the mark on the rule first, mm after it."""

    units: Literal["mm", "in"]

    def length(self, value: float, decimals: int = 1) -> str:
        """Return a length with its unit: `46.2 mm`, or `1-13/16 in (46.2 mm)`."""
        metric = f"{number(value, decimals)} mm"
        if self.units == "mm":
            return metric
        mark = on_the_rule(value)
        return metric if mark.inches == 0 else f"{mark.text} in ({metric})"

    def fine(self, value: float) -> str:
        """Return a length that a rule cannot show, with two decimals: `0.30 mm`, or `0.012 in (0.30 mm)`."""
        metric = f"{value:.2f} mm".replace("-", "−")
        return metric if self.units == "mm" else f"{value / 25.4:.3f} in ({metric})".replace("-", "−")


def number(value: float, decimals: int = 1) -> str:
    """Return a number with at most so many decimals, no needless noughts, and a true minus."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")


def angle(value: float) -> str:
    """Return an angle with at most one decimal: `45°`, `86.5°`."""
    return f"{number(value, 1)}°"


def as_read(reading: Reading) -> str:
    """Return a reading as the set has it: true minus, degree sign, no ± of nought; repeated ones as their mean to 0.001."""
    text = reading.text.replace(f" ± 0 {reading.unit}", f" {reading.unit}").replace(" deg", "°")
    if reading.repeats:
        value = reading.exact / MILLIMETRES if reading.unit == "in" else reading.exact
        limit = (
            ""
            if reading.limit is None
            else f" ± {float(reading.limit if reading.unit != 'in' else reading.limit / MILLIMETRES):g}"
        )
        text = f"{number(float(value), 3)}{limit} {reading.unit}".replace(" deg", "°")
    return "−" + text[1:] if text.startswith("-") else text


def listed(words: list[str]) -> str:
    """Return words as people list them: `a`, `a and b`, `a, b and c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def many(count: int, one: str) -> str:
    """Return a count with its noun: `1 hole`, `4 holes`."""
    return f"{count} {one}" if count == 1 else f"{count} {one}s"
