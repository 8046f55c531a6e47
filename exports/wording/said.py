"""Lengths and angles as the shop sheet says them, in the units the maker measures in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planestock.exports.wording.inch import INCH, MILLIMETRES, on_the_rule, thousandths
from planestock.params.lengths import Lengths
from planestock.params.reading import Reading

POUND_FORCE = 4.4482216152605
"""Newtons in a pound-force, exactly (NIST SP 811, appendix B.8)."""


SAME_BIT = 0.0005
"""A diameter this near to a fractional bit is that bit, in: thousandths could not tell them apart."""


@dataclass(frozen=True)
class Said:
    """How lengths are said. units: of the set; a set in inches gets marks on the rule and thousandths, no mm."""

    units: Literal["mm", "in"]

    def length(self, value: float, decimals: int = 1) -> str:
        """Return a length that is marked by a rule, with its unit: `46.2 mm`, or `a full 1-13/16 in`."""
        if self.units == "mm":
            return f"{number(value, decimals)} mm"
        mark = on_the_rule(value)
        if mark.inches == 0 and value:
            return thousandths(value)
        text, _, word = mark.said.partition(" in")
        return f"a {word.strip()} {text} in" if word else f"{text} in"

    def fine(self, value: float) -> str:
        """Return a length that a rule cannot show: `0.30 mm`, or `0.012 in`."""
        return self.lengths(value)

    @property
    def lengths(self) -> Lengths:
        """How every other text of the set has its lengths: mm to a hundredth, inches to a thousandth."""
        return Lengths(self.units)

    def bore(self, value: float) -> str:
        """Return a diameter as a bit is named: `6.35 mm`, `8 mm`; in inches `1/4 in`, and `0.117 in` between the marks."""
        if self.units == "mm":
            return f"{number(value, 2)} mm"
        mark = on_the_rule(value)
        return f"{mark.text} in" if abs(mark.error / MILLIMETRES) < SAME_BIT else thousandths(value)

    def bare(self, value: float) -> str:
        """Return a length for a column whose head has the unit: mm to 0.01, or inches to a thousandth."""
        return self.lengths.number(value)

    def area(self, value: float) -> str:
        """Return an area in mm² as it is said: `84 cm²`, or `13.0 in²`."""
        return self.lengths.area(value)

    def force(self, value: float) -> str:
        """Return a force in N as it is said: `2.5 kN`, or `560 lbf`, to the next ten."""
        return f"{value / 1000:.1f} kN" if self.units == "mm" else f"{round(value / POUND_FORCE, -1):.0f} lbf"

    def pressures(self, low: float, high: float) -> str:
        """Return two pressures in N/mm² as they are said: `0.7 to 1.4 N/mm²`, or `100 to 200 psi`, to the next ten."""
        if self.units == "mm":
            return f"{low} to {high} N/mm²"
        return " to ".join(f"{round(one * INCH**2 / POUND_FORCE, -1):.0f}" for one in (low, high)) + " psi"


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
