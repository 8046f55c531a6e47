"""Lengths in words: one writer that knows the unit of the set, for every output alike."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.params.files import load
from planestock.params.lengths import DECIMALS, Lengths
from planestock.params.reading import parse

METRIC, INCHES = Lengths("mm"), Lengths("in")
UNITS: list[Literal["mm", "in"]] = ["mm", "in"]


def test_a_set_writes_lengths_in_its_own_unit() -> None:
    assert load("jack").lengths(46.2) == "46.20 mm"
    # Exact: 1 in = 25.4 mm (NBS Circular 572, addendum of 22 January 1960); 46.2 / 25.4 = 1.8190.
    assert load("fore").lengths(46.2) == "1.819 in"


@pytest.mark.parametrize(
    ("said", "metric", "inches"),
    [
        (lambda length: length(-0.004), "−0.004 mm", "−0.0002 in"),
        (lambda length: length(3e-12), "0.00 mm", "0.000 in"),
        (lambda length: length(-3e-12), "0.00 mm", "0.000 in"),
        (lambda length: length(2e-5), "2 × 10⁻⁵ mm", "8 × 10⁻⁷ in"),
        (lambda length: length.span(44.35, 48.2), "44.35 to 48.20 mm", "1.746 to 1.898 in"),
        (lambda length: length.spread(44.1, 0.1), "44.10 ± 0.10 mm", "1.736 ± 0.004 in"),
        (lambda length: length.signed(0.12), "+0.12", "+0.005"),
        (lambda length: length.signed(-0.12), "−0.12", "−0.005"),
        (lambda length: length.signed(-0.0001), "0.00", "0.000"),
        (lambda length: length.rough(381.2), "381 mm", "15.01 in"),
        (lambda length: length.short(0.5), "0.5 mm", "0.02 in"),
        (lambda length: length.short(15.0), "15 mm", "0.59 in"),
        (lambda length: length.sizes(254.0, 50.8, decimals=1), "254.0 × 50.8 mm", "10.0 × 2.0 in"),
        (lambda length: length.area(64516.0), "645 cm²", "100.0 in²"),
        (lambda length: length.written(114.205), "114.205 mm", "4.496 in"),
        (lambda length: length.written(-12.7), "-12.7 mm", "-0.5 in"),
    ],
)
def test_known_lengths_are_written_so(said, metric: str, inches: str) -> None:  # type: ignore[no-untyped-def]
    assert said(METRIC) == metric
    assert said(INCHES) == inches


@given(st.floats(-2000, 2000), st.sampled_from(UNITS))
def test_what_is_shown_is_the_length_to_half_a_digit(value: float, units: Literal["mm", "in"]) -> None:
    number, unit = Lengths(units)(value).split(" ", 1)
    if "×" in unit:
        return
    assert unit == units
    scale = 1.0 if units == "mm" else 25.4
    assert abs(float(number.replace("−", "-")) * scale - value) <= 0.5 * 10 ** -DECIMALS[units] * scale + 1e-9
    assert not re.fullmatch(r"[-−]0\.?0*", number)


@given(st.floats(-2000, 2000), st.sampled_from(UNITS), st.sampled_from(["down", "up", "nearest"]))
def test_what_is_written_reads_back_on_the_side_that_was_asked_for(value, units, side) -> None:  # type: ignore[no-untyped-def]
    read = parse(Lengths(units).written(value, side), "length", units)
    step = Fraction(1, 1000) if units == "mm" else Fraction(254, 10000)
    assert read.exact % step == 0
    off = float(read.exact) - value
    # What arithmetic leaves of a round number is not carried to the next step.
    least, most = {"down": (-1.0, 1e-6), "up": (-1e-6, 1.0), "nearest": (-0.5 - 1e-6, 0.5 + 1e-6)}[side]
    assert min(least * float(step), -1e-6) <= off <= max(most * float(step), 1e-6)


@pytest.mark.parametrize("value", [47.19, 114.2, 25.4 * 4.496, 25.4 * 0.001])
def test_a_round_length_stays_whatever_the_side(value: float) -> None:
    for length in (METRIC, INCHES):
        if value in (47.19, 114.2) and length is INCHES:
            continue
        if value not in (47.19, 114.2) and length is METRIC:
            continue
        assert length.written(value, "down") == length.written(value, "up")
