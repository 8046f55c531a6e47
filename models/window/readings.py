"""Readings of a parameter set as inputs of an uncertainty budget, found by their dotted paths.

A measured reading's limit of error is the ± written with it, else its tool's in the set's instrument. A wish (declared
as not measured) has none of its own; what it may stray by is the caller's to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from typing import Protocol

from planestock.models.window.uncertainty import Input, from_limit, from_repeats
from planestock.params.catalogue import declaration
from planestock.params.fields import Quantity, quantity_of
from planestock.params.lengths import Lengths
from planestock.params.reading import Reading
from planestock.params.tools import TOOLS
from planestock.params.wanted import Instrument, Wood


class Given(Protocol):
    """What was read and chosen, by path: a full parameter set, or the readings of one stage."""

    @property
    def instrument(self) -> Instrument:
        """The ± of readings that carry none."""

    @property
    def wood(self) -> Wood:
        """Species and seasons."""

    @property
    def lengths(self) -> Lengths:
        """How lengths are written for who took the readings."""

    def reading_at(self, path: str) -> Reading | None:
        """Return the reading at a dotted path, None where it was left out."""


def value_at(given: Given, path: str) -> float:
    """Return the value at a path, mm or degrees. Raises ValueError where it was left out and nothing stands for it."""
    return reading_or_stand_in(given, path).value


def reading_or_stand_in(given: Given, path: str) -> Reading:
    """Return the reading at a path, or the one that stands for it. Raises ValueError where there is neither."""
    reading = given.reading_at(path) or _stand_in(given, path)
    if reading is None:
        raise ValueError(f"{path} was left out of the set")
    return reading


def _stand_in(given: Given, path: str) -> Reading | None:
    """Return what stands for a reading that was left out (`Quantity.same_as`, `Quantity.assumed`), if anything does.

    Of a span, its middle with half of it as limit (JCGM 100 4.3.7).
    """
    span = assumed_span(path)
    if span is not None:
        low, high = (Fraction(str(end)) for end in span)
        return Reading((low + high) / 2, (high - low) / 2)
    quantity = _declared(path)[1]
    return given.reading_at(quantity.same_as) if quantity is not None and quantity.same_as else None


def assumed_span(path: str) -> tuple[float, float] | None:
    """Return the span that is assumed of a reading where none is written, mm or degrees; None where none is."""
    quantity = _declared(path)[1]
    return quantity.assumed if quantity is not None else None


def span_of(path: str) -> tuple[float, float]:
    """Return the span that is assumed where nothing is written at a path. Raises ValueError where none is."""
    span = assumed_span(path)
    if span is None:
        raise ValueError(f"nothing is assumed of {path}")
    return span


def assumed_in(given: Given, paths: Iterable[str]) -> tuple[str, ...]:
    """Return those of the paths whose reading was left out and is assumed."""
    return tuple(path for path in paths if assumed_span(path) is not None and given.reading_at(path) is None)


def limit_at(given: Given, path: str, stray: float | None = None) -> float:
    """Return the limit of error of the reading at a path, in its own unit.

    stray: limit of one that carries no ± itself; left out, it is the instrument's for a measured one and 0 for a wish.
    """
    reading = reading_or_stand_in(given, path)
    if reading.limit is not None:
        return float(reading.limit)
    return instrument_limit(given, path) if stray is None else stray


def instrument_limit(given: Given, path: str) -> float:
    """Return the limit of error of a reading that is written without ±: the instrument's, 0 for a wish."""
    quantity = _declared(path)[1]
    if quantity is None or not quantity.measured:
        return 0.0
    return given.instrument.limit_of(quantity).value


def input_at(given: Given, path: str, stray: float | None = None) -> Input:
    """Return the reading at a path as an input: rectangular within its limit, repeated ones with their scatter added.

    stray: as in `limit_at`. Raises ValueError where the reading was left out.
    """
    reading, limit = reading_or_stand_in(given, path), limit_at(given, path, stray)
    if reading.repeats:
        return from_repeats(path, [float(one) for one in reading.repeats], limit)
    return from_limit(path, reading.value, limit)


def best_limits(paths: Iterable[str]) -> dict[str, float]:
    """Return the ± that can be reached for each measured path with its declared tool; wishes are left out."""
    measured = ((path, quantity) for path in paths if (quantity := _declared(path)[1]) is not None and quantity.measured)
    return {path: TOOLS[quantity.tool].best for path, quantity in measured}


def title_of(path: str) -> str:
    """Return the declared short name of the field at a path, for tables."""
    return _declared(path)[0]


def unit_of(path: str) -> str:
    """Return the unit of values and limits at a path: mm or deg."""
    quantity = _declared(path)[1]
    return quantity.unit if quantity else "mm"


def told(path: str, value: float, length: Lengths) -> str:
    """Return a value at a path with its unit for a sentence: a length as the set has it, an angle in degrees."""
    return length(value) if unit_of(path) == "mm" else f"{value:.2f}°".replace("-", "−")


def told_limit(path: str, limit: float, length: Lengths) -> str:
    """Return a limit of error at a path with its unit, as short as it is: `0.1°`, `0.03 mm`, `0.0012 in`."""
    return length.short(limit) if unit_of(path) == "mm" else f"{limit:g}°"


def named(path: str) -> str:
    """Return the field's name for a sentence, with its path: `bed angle (frog.bed_angle)`."""
    title = title_of(path)
    return f"{title[:1].lower()}{title[1:]} ({path})"


@cache
def _declared(path: str) -> tuple[str, Quantity | None]:
    field = declaration(tuple(int(name) if name.isdecimal() else name for name in path.split(".")))
    if field is None:
        raise ValueError(f"{path} is not a field of a parameter set")
    return field.title or path, quantity_of(field)
