"""Readings: exact fractions in, the same reading back out of what is written, and a clear refusal of everything else."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from planestock.params.reading import LONGEST_TEXT, MOST_REPEATS, Dimension, Reading, exactly, parse

INCH = Fraction(127, 5)
"""The international inch is 25.4 mm exactly (agreement of 1959, published in NIST SP 811 and many others)."""


@pytest.mark.parametrize(
    ("raw", "exact", "limit"),
    [
        (41, Fraction(41), None),
        (41.2, Fraction(412, 10), None),
        (-0.05, Fraction(-1, 20), None),
        (1e-07, Fraction(1, 10**7), None),
        ("41.2", Fraction(412, 10), None),
        (" 41.20mm ", Fraction(412, 10), None),
        (".5", Fraction(1, 2), None),
        ("5.", Fraction(5), None),
        ("−5", Fraction(-5), None),
        ("4.12 cm", Fraction(412, 10), None),
        ("41.20 ± 0.05 mm", Fraction(412, 10), Fraction(1, 20)),
        ("41.20 +/- 0.05 mm", Fraction(412, 10), Fraction(1, 20)),
        ("41.20 +- 0.05", Fraction(412, 10), Fraction(1, 20)),
        ("41.20 mm ± 0.05", Fraction(412, 10), Fraction(1, 20)),
        ("1-5/8 in", Fraction(13, 8) * INCH, None),
        ("1 5/8 inch", Fraction(13, 8) * INCH, None),
        ('5/8"', Fraction(5, 8) * INCH, None),
        ("-1-7/8 in", Fraction(-15, 8) * INCH, None),
        ("13/8 in", Fraction(13, 8) * INCH, None),
        ("7-1/2 ± 1/64 in", Fraction(15, 2) * INCH, Fraction(1, 64) * INCH),
        ("1 in ± 0.05 mm", INCH, Fraction(1, 20)),
        ("41,2", Fraction(412, 10), None),
        ("41,20 ± 0,05 mm", Fraction(412, 10), Fraction(1, 20)),
        ("0,234 mm", Fraction(234, 1000), None),
        ("-,5", Fraction(-1, 2), None),
        ("1234,567 mm", Fraction(1234567, 1000), None),
        ("1,2345", Fraction(12345, 10000), None),
        ("1' 5-5/8\"", (12 + Fraction(45, 8)) * INCH, None),
        ("1′-5 5/8″ ± 1/16″", (12 + Fraction(45, 8)) * INCH, Fraction(1, 16) * INCH),
        ("2 ft 3 in", 27 * INCH, None),
        ("-1'", -12 * INCH, None),
        ("2’ 3”", 27 * INCH, None),
        ("0.812 ± 0.004 in", Fraction(812, 1000) * INCH, Fraction(4, 1000) * INCH),
    ],
)
def test_a_length_is_read_exactly(raw: object, exact: Fraction, limit: Fraction | None) -> None:
    reading = parse(raw, "length")
    assert (reading.exact, reading.limit) == (exact, limit)


def test_a_bare_number_takes_the_units_of_the_set() -> None:
    assert parse("2", "length", "in").exact == 2 * INCH
    assert parse(0.1, "length", "in").exact == INCH / 10
    assert parse("2 mm", "length", "in").exact == 2
    assert parse(45, "angle", "in").exact == 45


def test_an_angle_is_read_in_degrees() -> None:
    assert parse("45 ± 0.3 deg", "angle") == Reading(Fraction(45), Fraction(3, 10), "deg")
    assert parse("44° 30'", "angle") == parse("44 deg 30 min", "angle") == Reading(Fraction(89, 2), None, "deg")
    assert parse("-0°20′ ± 0°5'", "angle") == Reading(Fraction(-1, 3), Fraction(1, 12), "deg")
    assert parse("44,5°", "angle") == Reading(Fraction(89, 2), None, "deg")
    assert parse("45°", "angle") == parse(45, "angle") == Reading(Fraction(45), None, "deg")


def test_no_float_drifts_in() -> None:
    """Ten tenths, added as readings, are one; added as floats they are not."""
    tenth = parse(0.1, "length").exact
    assert sum([tenth] * 10) == 1
    assert sum([0.1] * 10) != 1


def test_repeated_readings_are_their_mean_and_are_kept() -> None:
    reading = parse(["41.1", 41.2, "41.4 mm"], "length")
    assert reading.exact == Fraction(1237, 30)
    assert reading.repeats == (Fraction(411, 10), Fraction(412, 10), Fraction(414, 10))
    assert parse(reading.written, "length") == reading


@pytest.mark.parametrize(
    ("raw", "dimension", "rule"),
    [
        (True, "length", "must be a length"),
        (None, "length", "must be a length"),
        ({"a": 1}, "length", "must be a length"),
        (True, "angle", "must be an angle"),
        ("", "length", "is not a length"),
        ("wide", "length", "is not a length"),
        ("41.2.3", "length", "is not a length"),
        ("41 2", "length", "is not a length"),
        ("1e3", "length", "is not a length"),
        ("nan", "length", "is not a length"),
        ("± 0.05", "length", "is not a length"),
        ("41 ±", "length", "is not a length"),
        ("41 ± 0.1 ± 0.1", "length", "is not a length"),
        ("1,234 mm", "length", "the comma may mean two things"),
        ("-12,500", "length", "the comma may mean two things"),
        ("5 ± 1,000 mm", "length", "the comma may mean two things"),
        ("1,234.5", "length", "is not a length"),
        ("41,2,3", "length", "is not a length"),
        ("41, 42", "length", "is not a length"),
        ("1' 12\"", "length", "less than twelve"),
        ("1' 5 mm", "length", "'mm' does not go with feet"),
        ("44° 60'", "angle", "less than sixty"),
        ("44'", "angle", "is not an angle"),
        ("41 furlong", "length", "is not a length"),
        ("41 deg", "length", "'deg' is not a unit of length"),
        ("41 mm", "angle", "'mm' is not a unit of angle"),
        ("41 ± 1 deg", "length", "'deg' is not a unit of length"),
        ("41 ± -0.1 mm", "length", "has no sign"),
        ("41 ± +0.1 mm", "length", "has no sign"),
        ("1/3 in", "length", "a fraction's lower number is 2, 4, 8"),
        ("1/0 in", "length", "a fraction's lower number is 2, 4, 8"),
        ("1/256 in", "length", "a fraction's lower number is 2, 4, 8"),
        ("1-9/8 in", "length", "the fraction of a mixed number is less than one"),
        (float("nan"), "length", "must be a finite number"),
        (float("inf"), "length", "must be a finite number"),
        (float("-inf"), "angle", "must be a finite number"),
        (1e300, "length", "too large"),
        pytest.param(10**5000, "length", "too large", id="thousands of digits"),
        ("4" * (LONGEST_TEXT + 1), "length", f"at most {LONGEST_TEXT} characters"),
        ([41.2], "length", "2 to 100 repeated readings"),
        ([], "length", "2 to 100 repeated readings"),
        ([41.2] * (MOST_REPEATS + 1), "length", "2 to 100 repeated readings"),
        ([[41.2, 41.3], 41.2], "length", "2 to 100 repeated readings"),
        (["41 ± 0.1 mm", 41], "length", "carry the same ±"),
        ([41, "41 deg"], "length", "'deg' is not a unit of length"),
    ],
)
def test_what_is_no_reading_is_refused_by_a_named_rule_with_a_remedy(raw: object, dimension: Dimension, rule: str) -> None:
    with pytest.raises(PydanticCustomError) as refused:
        parse(raw, dimension)
    assert refused.value.type == "reading"
    assert refused.value.context is not None
    assert rule in refused.value.context["rule"]
    assert refused.value.context["remedy"]


DECIMALS = st.tuples(st.integers(-999_999_999, 999_999_999), st.integers(0, 9)).map(
    lambda pair: Fraction(pair[0], 10 ** pair[1])
)
SIZES = DECIMALS.map(abs)
INCH_FRACTIONS = st.tuples(st.integers(-4000, 4000), st.integers(0, 7)).map(lambda pair: Fraction(pair[0], 2 ** pair[1]))


@st.composite
def single_readings(draw: st.DrawFn) -> Reading:
    """Draw readings such as people write: decimals in any unit, inch fractions, ± in the same unit or in millimetres."""
    unit = draw(st.sampled_from(["mm", "in", "deg", "cm"]))
    scale = {"in": INCH, "cm": Fraction(10)}.get(unit, Fraction(1))
    exact = draw(st.one_of(DECIMALS, INCH_FRACTIONS) if unit == "in" else DECIMALS) * scale
    limits = [SIZES.map(lambda size: size * scale), st.none()] + ([] if unit == "deg" else [SIZES])
    return Reading(exact, draw(st.one_of(limits)), unit)


@given(st.integers(-90 * 60, 90 * 60), st.integers(0, 59))
def test_minutes_read_back_exactly(minutes: int, limit: int) -> None:
    reading = Reading(Fraction(minutes, 60), Fraction(limit, 60), "deg")
    assert parse(reading.text, "angle") == reading


def test_both_meanings_of_a_comma_are_named() -> None:
    with pytest.raises(PydanticCustomError) as refused:
        parse("1,234 mm", "length")
    assert refused.value.context is not None
    assert refused.value.context["remedy"] == "write 1.234 or 1234, whichever it is"


def dimension_of(reading: Reading) -> Dimension:
    return "angle" if reading.unit == "deg" else "length"


@given(single_readings())
def test_what_is_written_reads_back_as_the_same_value_and_limit(reading: Reading) -> None:
    back = parse(reading.text, dimension_of(reading))
    assert (back.exact, back.limit) == (reading.exact, reading.limit)
    assert parse(back.text, dimension_of(back)) == back


@given(st.lists(DECIMALS, min_size=2, max_size=7), st.none() | SIZES, st.sampled_from(["mm", "in"]))
def test_repeated_readings_read_back_as_the_same_reading(values: list[Fraction], limit: Fraction | None, unit: str) -> None:
    scale = INCH if unit == "in" else Fraction(1)
    repeats = tuple(value * scale for value in values)
    reading = Reading(sum(repeats, Fraction(0)) / len(repeats), limit, unit, repeats)
    back = parse(reading.written, "length")
    assert (back.exact, back.limit, back.repeats) == (reading.exact, reading.limit, reading.repeats)


@given(st.integers(-4000, 4000), st.integers(1, 7))
def test_an_inch_fraction_is_shown_as_one(top: int, power: int) -> None:
    number = Fraction(top, 2**power)
    text = Reading(number * INCH, None, "in").text
    assert ("/" in text) == (number.denominator > 1)
    assert "." not in text


@given(st.text(max_size=70), st.sampled_from(["length", "angle"]))
def test_any_text_is_read_or_refused_and_nothing_else_happens(text: str, dimension: Dimension) -> None:
    try:
        kind = type(parse(text, dimension)).__name__
    except PydanticCustomError as refused:
        kind = refused.type
    assert kind in ("Reading", "reading")


def test_the_value_is_the_nearest_float() -> None:
    assert exactly("0.1").value == 0.1
    assert parse("1-5/8 in", "length").value == 41.275
