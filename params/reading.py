"""Readings: one measured or wanted length or angle, exact, with its limit of error.

A reading is written as people write it: `41.2`, `"41.20 ± 0.05 mm"`, `"41,2"`, `"1-5/8 in"`, `1' 5-5/8"`, `"45 ± 0.3 deg"`,
`44° 30'`, or a list of repeated readings. It is kept as an exact fraction of a millimetre or a degree (an inch is 25.4 mm
exactly), so that nothing drifts between reading, writing and reading again.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from pydantic_core import PydanticCustomError

from planestock.params.problems import refuse

Dimension = Literal["length", "angle"]
LengthUnit = Literal["mm", "in"]

MILLIMETRES: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": Fraction(127, 5),
    "inch": Fraction(127, 5),
    '"': Fraction(127, 5),
    "″": Fraction(127, 5),
    "”": Fraction(127, 5),
}
DEGREES: dict[str, Fraction] = {"deg": Fraction(1), "°": Fraction(1)}

LONGEST_TEXT = 64
"""Characters of a reading; a longer text is no reading, and refusing it early keeps exact arithmetic cheap."""

FINEST_INCH_FRACTION = 128
"""Rules and fractional calipers are divided in halves down to 1/128 in; another denominator is a slip of the pen."""

MOST_REPEATS = 100
"""Repeated readings of one quantity that are still taken by hand."""

PLACES_OF_A_MEAN = 12
"""Decimal places of a mean of repeated readings that does not end: a thousandth of a millionth of a millimetre."""

LARGEST_NUMBER = 1e9
"""A bare number beyond this is no reading in any unit."""

INCHES_IN_A_FOOT = 12
MINUTES_IN_A_DEGREE = 60

_NUMBER = r"(?P<sign>[-+−]?)\s*(?:(?P<whole>\d+)[-\s]\s*)?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|[-+−]?\d*[.,]?\d+|[-+−]?\d+[.,]"
_UNIT = r"mm|cm|inch|in|\"|″|”|deg|°"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\s*")
_FEET = re.compile(r"\s*(?P<sign>[-+−]?)\s*(?P<whole>\d+)\s*(?:'|′|’|ft)\s*-?\s*(?P<rest>\d.*)?")
_DEGREES = re.compile(r"\s*(?P<sign>[-+−]?)\s*(?P<whole>\d+)\s*(?:°|deg)\s*(?P<rest>\d+(?:[.,]\d+)?)\s*(?:'|′|’|min)\s*")
_THOUSANDS = re.compile(r"[-+−]?[1-9]\d{0,2},\d{3}")
"""A number whose comma may stand between ones and tenths, or between thousands and hundreds."""


@dataclass(frozen=True)
class Reading:
    """One length in millimetres or one angle in degrees.

    exact: the value (mean of `repeats` where there are any). limit: half-width of the limit of error, None when the set's
    instrument decides. unit: the unit it was written in, to show it the same way. repeats: each repeated reading.
    """

    exact: Fraction
    limit: Fraction | None = None
    unit: str = "mm"
    repeats: tuple[Fraction, ...] = ()

    @property
    def value(self) -> float:
        """The reading in millimetres or degrees."""
        return float(self.exact)

    @property
    def text(self) -> str:
        """The reading as it would be written in a set, with its unit and limit of error."""
        return self._text_of(self.exact)

    @property
    def shown(self) -> str:
        """The reading for people: the mean of repeated ones to a thousandth of its unit, and no ± of nought."""
        limit = self.limit or None
        if not self.repeats:
            return Reading(self.exact, limit, self.unit).text
        thousandth = _scale(self.unit) / 1000
        mean = Reading(round(self.exact / thousandth) * thousandth, limit, self.unit)
        return f"{mean.text}, mean of {len(self.repeats)}"

    @property
    def written(self) -> str | list[str]:
        """What `parse` reads back as this reading: its text, or a list of texts where it was repeated."""
        return [self._text_of(one) for one in self.repeats] if self.repeats else self.text

    def _text_of(self, exact: Fraction) -> str:
        unit = _unit_that_ends(exact, self.unit)
        value = _with_unit(exact, unit)
        if self.limit is None:
            return value
        limit_unit = _unit_that_ends(self.limit, unit)
        return f"{value.removesuffix(f' {unit}') if limit_unit == unit else value} ± {_with_unit(self.limit, limit_unit)}"


def exactly(number: str, unit: str = "mm") -> Reading:
    """Return a reading with no error, for defaults: `exactly("0.5")`, `exactly("45", "deg")`."""
    return Reading(Fraction(number) * _scale(unit), Fraction(0), unit)


def parse(raw: object, dimension: Dimension, units: LengthUnit = "mm") -> Reading:
    """Read one reading: a number, a text or a list of either.

    dimension: what the field holds; a unit of the other dimension is refused. units: the unit of bare numbers of length.
    Raises PydanticCustomError of type "reading" with `rule` and `remedy` in its context.
    """
    if isinstance(raw, Reading):
        return raw
    if isinstance(raw, list | tuple):
        return _repeated([parse(one, dimension, units) for one in _few(raw, dimension)])
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        raise _broken(f"must be {_a(dimension)}", _example(dimension))
    return _single(str(raw) if isinstance(raw, str) else _plain(raw, dimension), dimension, units)


def typed_length(name: str, text: str, units: LengthUnit = "mm", remedy: str = "") -> Reading:
    """Read a length that was typed outside a set. name: what to call it in a message, such as its option.

    remedy: what to do about one that cannot be read; the usual examples where it is left out. Raises InputProblem.
    """
    try:
        return parse(text, "length", units)
    except PydanticCustomError as error:
        said = error.context or {}
        raise refuse(name, text, said["rule"], remedy or said["remedy"]) from None


def _few(raw: list[object] | tuple[object, ...], dimension: Dimension) -> list[object]:
    if not 2 <= len(raw) <= MOST_REPEATS or any(isinstance(one, list | tuple) for one in raw):
        raise _broken(
            f"a list holds 2 to {MOST_REPEATS} repeated readings",
            f"write a single reading plainly, {_example(dimension)}",
        )
    return list(raw)


def _repeated(readings: list[Reading]) -> Reading:
    limits = {one.limit for one in readings}
    if len(limits) > 1:
        raise _broken("repeated readings carry the same ±", "give ± to all of them or to none")
    values = tuple(one.exact for one in readings)
    return Reading(sum(values, Fraction(0)) / len(values), limits.pop(), readings[0].unit, values)


def _plain(number: float, dimension: Dimension) -> str:
    """Return a bare number as plain decimal text; `repr` of a float is the shortest text that means it."""
    if number - number != 0:  # Only of infinite and not-a-number; math.isfinite fails on integers of hundreds of digits.
        raise _broken("must be a finite number", _example(dimension))
    if abs(number) > LARGEST_NUMBER:
        raise _broken("is too large to be a reading", _example(dimension))
    text = repr(number)
    return f"{number:.12f}" if "e" in text else text


def _single(text: str, dimension: Dimension, units: LengthUnit) -> Reading:
    if len(text) > LONGEST_TEXT:
        raise _broken(f"a reading has at most {LONGEST_TEXT} characters", _example(dimension))
    value_text, mark, limit_text = text.replace("+/-", "±").replace("+-", "±").partition("±")
    bare = units if dimension == "length" else "deg"
    value, unit = _quantity(value_text, dimension)
    if not mark:
        return Reading(value * _scale(unit or bare), None, _canonical(unit or bare))
    limit, limit_unit = _quantity(limit_text, dimension)
    if limit < 0 or limit_text.strip()[:1] in "-+−":
        raise _broken("the ± is a size and has no sign", _example(dimension))
    shared = unit or limit_unit or bare
    return Reading(value * _scale(shared), limit * _scale(limit_unit or shared), _canonical(shared))


def _quantity(text: str, dimension: Dimension) -> tuple[Fraction, str | None]:
    parted = (_FEET if dimension == "length" else _DEGREES).fullmatch(text)
    if parted is not None:
        return _in_two_units(parted, dimension)
    match = _PART.fullmatch(text)
    if match is None:
        raise _broken(f"is not {_a(dimension)}", _example(dimension))
    unit = match["unit"]
    if unit is not None and unit not in (MILLIMETRES if dimension == "length" else DEGREES):
        raise _broken(f"'{unit}' is not a unit of {dimension}", _example(dimension))
    return _number(match), unit


def _in_two_units(match: re.Match[str], dimension: Dimension) -> tuple[Fraction, str]:
    """Return feet and inches in inches, or degrees and minutes in degrees, with that unit."""
    whole, rest = int(match["whole"]), match["rest"] or "0"
    if dimension == "length":
        inches, unit = _quantity(rest, "length")
        if unit is not None and MILLIMETRES[unit] != MILLIMETRES["in"]:
            raise _broken(f"'{unit}' does not go with feet", "write feet and inches: 1' 5-5/8\"")
        if inches >= INCHES_IN_A_FOOT:
            raise _broken("the inches beside feet are less than twelve", "carry the foot: 1' 13\" is 2' 1\"")
        value, own = whole * INCHES_IN_A_FOOT + inches, "in"
    else:
        minutes = Fraction(rest.replace(",", "."))
        if minutes >= MINUTES_IN_A_DEGREE:
            raise _broken("the minutes beside degrees are less than sixty", "carry the degree: 44° 70' is 45° 10'")
        value, own = whole + minutes / MINUTES_IN_A_DEGREE, "deg"
    return (-value if match["sign"] in ("-", "−") else value), own


def _number(match: re.Match[str]) -> Fraction:
    if match["top"] is None:
        number = match["number"]
        if _THOUSANDS.fullmatch(number):
            point, thousands = number.replace(",", "."), number.replace(",", "")
            raise _broken("the comma may mean two things", f"write {point} or {thousands}, whichever it is")
        return Fraction(number.replace(",", ".").replace("−", "-"))
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom == 0 or bottom > FINEST_INCH_FRACTION or bottom & (bottom - 1):
        raise _broken(
            f"a fraction's lower number is 2, 4, 8 … {FINEST_INCH_FRACTION}", "write it as on the rule, or as a decimal"
        )
    if match["whole"] is not None and top >= bottom:
        raise _broken("the fraction of a mixed number is less than one", "carry the whole: 1-9/8 is 2-1/8")
    sign = -1 if match["sign"] in ("-", "−") else 1
    return sign * (whole + Fraction(top, bottom))


def _scale(unit: str) -> Fraction:
    return MILLIMETRES[unit] if unit in MILLIMETRES else DEGREES[unit]


def _canonical(unit: str) -> str:
    return {"inch": "in", '"': "in", "″": "in", "”": "in", "°": "deg"}.get(unit, unit)


def _unit_that_ends(exact: Fraction, unit: str) -> str:
    """Return the unit, or millimetres where a decimal in it would not end: 0.05 mm is no decimal of an inch."""
    ends = _places(exact / _scale(unit)) is not None or _places(exact) is None
    return unit if ends else "mm"


def _with_unit(exact: Fraction, unit: str) -> str:
    """Return a value with its unit, so that it reads back exactly: an angle that is no decimal in degrees and minutes."""
    in_minutes = exact * MINUTES_IN_A_DEGREE
    if unit == "deg" and _places(exact) is None and _places(in_minutes) is not None:
        whole, minutes = divmod(abs(in_minutes), MINUTES_IN_A_DEGREE)
        return f"{'-' if exact < 0 else ''}{whole} deg {_decimal(minutes)} min"
    return f"{_in_unit(exact, unit)} {unit}"


def _in_unit(exact: Fraction, unit: str) -> str:
    """Return a number in the trade's form: an inch fraction where it is one, else a decimal."""
    number = exact / _scale(unit)
    bottom = number.denominator
    if unit != "in" or bottom == 1 or bottom > FINEST_INCH_FRACTION or bottom & (bottom - 1):
        return _decimal(number)
    whole, top = divmod(abs(number.numerator), bottom)
    sign = "-" if number < 0 else ""
    return f"{sign}{whole}-{top}/{bottom}" if whole else f"{sign}{top}/{bottom}"


def _decimal(number: Fraction) -> str:
    """Return a number as a plain decimal: exactly where it ends, else to `PLACES_OF_A_MEAN`."""
    places = _places(number)
    places = PLACES_OF_A_MEAN if places is None else places
    digits = str(abs(round(number * 10**places))).rjust(places + 1, "0")
    sign = "-" if number < 0 else ""
    return sign + (f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".") if places else digits)


def _places(number: Fraction) -> int | None:
    """Return how many decimal places write the number exactly, None where no decimal does."""
    rest = number.denominator
    twos = (rest & -rest).bit_length() - 1
    rest >>= twos
    fives = 0
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None


def _a(dimension: Dimension) -> str:
    return "a length" if dimension == "length" else "an angle"


def _example(dimension: Dimension) -> str:
    return (
        'write it like 41.2, "41.20 ± 0.05 mm" or "1-5/8 in"'
        if dimension == "length"
        else 'write it like 45 or "45 ± 0.3 deg"'
    )


def _broken(rule: str, remedy: str) -> PydanticCustomError:
    return PydanticCustomError("reading", "{rule}; {remedy}", {"rule": rule, "remedy": remedy})
