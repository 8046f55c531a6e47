"""Lengths on an inch rule: the nearest 1/64 in, reduced, with what it is off by."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

INCH = 25.4

MILLIMETRES = Fraction(127, 5)
"""An inch in mm, exactly (NBS Circular 572, addendum of 22 January 1960)."""

NANOMETRE = 6
"""Decimals of a length in mm that are looked at; beyond them are only the last bits of floating point."""

FINEST = 64
"""Divisions of an inch on the finest rule that is read by eye."""

FULL_OR_SHY = Fraction(1, 4 * FINEST)
"""A length this far from its mark, in, is said to be full or shy of it: a quarter of the finest division, about as much as a
knife line is wide; our own choice."""


@dataclass(frozen=True)
class OnTheRule:
    """A length as read off an inch rule. inches: the mark; error: mm to add to the mark to have the length, exactly."""

    inches: Fraction
    error: Fraction

    @property
    def text(self) -> str:
        """The mark as it is said: `2-23/64`, `15`, `-1/2`; never with a fraction that could be reduced."""
        sign = "−" if self.inches < 0 else ""
        whole, part = divmod(abs(self.inches), 1)
        if not part:
            return f"{sign}{whole}"
        return f"{sign}{whole}-{part}" if whole else f"{sign}{part}"

    @property
    def said(self) -> str:
        """The mark with its unit, and which way the length lies from it: `2-23/64 in full`, `15 in`, `1-47/64 in shy`."""
        off = self.error / MILLIMETRES
        word = "" if abs(off) < FULL_OR_SHY else " full" if off * (self.inches or 1) > 0 else " shy"
        return f"{self.text} in{word}"

    @property
    def error_text(self) -> str:
        """The error in mm to 0.01 with its sign: `+0.06`, `−0.07`; `0` where the mark is the length."""
        return signed(float(self.error), exact=self.error == 0)


def on_the_rule(length: float) -> OnTheRule:
    """Return the nearest 1/64 in to a length in mm; halves go to the even mark."""
    exact = Fraction(str(round(length, NANOMETRE)))
    inches = Fraction(round(exact / MILLIMETRES * FINEST), FINEST)
    return OnTheRule(inches, exact - inches * MILLIMETRES)


def thousandths(length: float) -> str:
    """Return a length in mm as inches to a thousandth, with its unit and a true minus: `1.974 in`, `−0.012 in`."""
    return f"{round(length / INCH, 3) + 0.0:.3f} in".replace("-", "−")


def signed(value: float, *, exact: bool = False) -> str:
    """Return a number to 0.01 with its sign and a true minus; `0` when it is exactly that, `0.00` when it rounds to it."""
    if exact:
        return "0"
    text = f"{value:+.2f}".replace("-", "−")
    return "0.00" if text[1:] == "0.00" else text
