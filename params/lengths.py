"""How lengths and counts are written for people: in the unit of the set, to a hundredth of a mm or a thousandth of an inch.

Everything inside is in millimetres; this is the one place that turns a length into words. A set has its own as
`given.lengths`. Angles stay degrees, and data for machines stays in millimetres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from planestock.params.reading import MILLIMETRES, LengthUnit

DECIMALS: dict[str, int] = {"mm": 2, "in": 3}
"""Decimals of a length: what a caliper shows in either unit, shown to people."""

WRITTEN_DECIMALS = 3
"""Decimals of a length that is computed and written into a set: a thousandth of either unit, so that places that were
computed to meet still meet, and a maker can read them."""

NOTHING = 1e-6
"""A length nearer to nought than this, mm, is nought: a thousandth of a micrometre is left by arithmetic, not by a tool."""

RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
"""Digits of a power."""

Side = Literal["down", "up", "nearest"]


@dataclass(frozen=True)
class Lengths:
    """Writes lengths, given in mm, in one unit. Called with a length it returns number and unit: `46.20 mm`, `1.819 in`."""

    units: LengthUnit = "mm"

    def __call__(self, value: float) -> str:
        """Return a length with its unit."""
        return f"{self.number(value)} {self.units}"

    def number(self, value: float, decimals: int | None = None) -> str:
        """Return a length without its unit, for a table whose head or a span whose end has it; mm or thousandths of an inch.

        A length that would read 0 and is not gets one more decimal, and then a power of ten.
        """
        places = DECIMALS[self.units] if decimals is None else decimals
        return decimal(0.0 if abs(value) < NOTHING else self._in_unit(value), places)

    def signed(self, value: float) -> str:
        """Return a length without its unit and with its sign, none where it rounds to nought: `+0.12`, `−0.005`."""
        places = DECIMALS[self.units]
        shown = f"{self._in_unit(value):+.{places}f}".replace("-", "−")
        return shown[1:] if float(shown[1:]) == 0 else shown

    def span(self, low: float, high: float) -> str:
        """Return two lengths with one unit: `44.35 to 48.20 mm`."""
        return f"{self.number(low)} to {self(high)}"

    def spread(self, value: float, limit: float) -> str:
        """Return a length with its ±: `44.10 ± 0.10 mm`."""
        return f"{self.number(value)} ± {self(limit)}"

    def rough(self, value: float) -> str:
        """Return a length that is only to be found again, not cut: whole millimetres, or hundredths of an inch."""
        return f"{decimal(self._in_unit(value), 0 if self.units == 'mm' else 2)} {self.units}"

    def sizes(self, *values: float, decimals: int | None = None) -> str:
        """Return the sides of a piece: `300.0 × 66.0 × 48.0 mm`."""
        return f"{' × '.join(self.number(value, decimals) for value in values)} {self.units}"

    def short(self, value: float) -> str:
        """Return a round length, such as a limit, with no more digits than it means: `0.5 mm`, `0.02 in`."""
        return f"{round(value, 6):g} mm" if self.units == "mm" else f"{float(f'{value / 25.4:.2g}'):g} in"

    def area(self, value: float) -> str:
        """Return an area, given in mm², in whole cm² or square inches."""
        return f"{value / 100:.0f} cm²" if self.units == "mm" else f"{value / 25.4**2:.1f} in²"

    def written(self, value: float, side: Side = "nearest", places: int = WRITTEN_DECIMALS) -> str:
        """Return a length as a set takes it, rounded to `side`: `47.192 mm`, `1.858 in`, without noughts at its end."""
        # Arithmetic leaves a last bit on either side of a round number; it must not carry it to the next.
        steps = round(Fraction(round(value, 9)) / MILLIMETRES[self.units] * 10**places, 5)
        whole = math.floor(steps) if side == "down" else math.ceil(steps) if side == "up" else round(steps)
        text = f"{whole / 10**places:.{places}f}".rstrip("0").rstrip(".")
        return f"{'0' if text == '-0' else text} {self.units}"

    def _in_unit(self, value: float) -> float:
        return value if self.units == "mm" else value / 25.4


METRIC = Lengths("mm")
"""Millimetres, for what belongs to no set."""


def decimal(value: float, places: int) -> str:
    """Return a number with a true minus and no sign on nought.

    One that would read 0 and is not gets a decimal more, and a power of ten where that does not show it either.
    """
    for shown in (places, places + 1):
        if value == 0 or abs(value) >= 0.5 * 10**-shown or places == 0:
            text = f"{value:.{shown}f}"
            return (text.removeprefix("-") if float(text) == 0 else text).replace("-", "−")
    digits, power = f"{value:.0e}".split("e")
    return f"{digits} × 10{str(int(power)).translate(RAISED)}".replace("-", "−")


def counted(count: int, one: str, more: str = "") -> str:
    """Return a count with its noun: `1 truing`, `4 truings`, `2 faces` where another plural is given."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"
