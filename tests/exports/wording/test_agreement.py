"""What is said agrees with the numbers: over drawn sets, in either unit, each length is the design's at its rounding."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from planestock.exports.wording.design import first_numbers, has_failing, row_text, to_act_on
from planestock.exports.wording.evidence import old_body_notes_of
from planestock.exports.wording.window import retake_sentence
from planestock.exports.wording.window_notes import window_notes
from planestock.models.design import Design, design
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.drawn_sets import drawn_sets, in_inches, starting_sets
from tests.support.full_set import Values

STARTS = starting_sets()

NUMBER = re.compile(r"(?<![\w./\-⁻])([−+]?\d+(?:\.\d+)?)(?![\w/\-]|\.\w| × 10)")
"""A plain number: no part of a path, a fraction or a power."""

SCALE = {"mm": 1.0, "in": 25.4}


def numbers(text: str) -> list[tuple[float, float]]:
    """Return each number in a text, and half a unit of its last place."""
    found = []
    for match in NUMBER.finditer(text):
        digits = match.group(1).replace("−", "-")
        found.append((float(digits), 0.5 * 10.0 ** -len(digits.partition(".")[2]) * 1.000001))
    return found


def says(text: str, *lengths: float, units: str, beside: tuple[float, ...] = ()) -> bool:
    """Tell whether a text has these lengths, mm, in this order, each at its rounding, in `units` first.

    beside: what stands in millimetres in brackets after inches.
    """
    told = numbers(text)
    expected = [(length, SCALE[units]) for length in lengths] + [(length, 1.0) for length in beside]
    if len(told) < len(expected):
        return False
    return all(
        abs(number * scale - length) <= half * scale + 1e-6
        for (number, half), (length, scale) in zip(told, expected, strict=False)
    )


def in_both_units(values: Values) -> Iterator[Design]:
    """Yield a set's design in mm and in inches, its lengths the very same; nothing where there is none."""
    given = {**values, "name": "Drawn", "note": "", "units": "mm"}
    for each in (given, in_inches(given)):
        try:
            yield design(parameter_set(each))
        except InputProblem:
            return


drawn = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@drawn
@given(drawn_sets(STARTS))
def test_the_first_sentence_and_the_key_numbers_are_the_designs(values: Values) -> None:
    for made in in_both_units(values):
        units, settled, body = made.given.units, made.settled, made.layout
        inches = units == "in"
        first = to_act_on(made, failing=False)
        sure = (settled.safe_low, settled.safe_high)
        assert says(first, settled.thickness, units=units), first
        if sure[0] <= sure[1]:
            tail = re.split(r"on the rule\)(?:;| is not sure to work;) ", first)[1]
            assert says(tail, *sure, units=units), first
            failing = to_act_on(made, failing=True)
            assert failing.startswith("Do not cut yet")
            assert says(failing.rpartition("; ")[2], *sure, units=units), failing
        window = settled.window
        out, back = window.out(settled.thickness), window.back(settled.thickness)
        ends = (window.low, window.high)
        wide, high = 2 * body.plan.half_width, body.height
        expected = {
            "Thickness": ((settled.thickness,), ()),
            "Window": (ends, (settled.low.expanded, settled.high.expanded)),
            "Edge out": ((abs(out),), (window.deepest_cut,)),
            "Edge back": ((abs(back),), (window.withdraw,)),
            "Wear left": ((settled.wear_left,), ()),
            "Mouth": ((made.given.throat.opening.value,), ()),
            "Body": ((body.length,), (wide, high)),
        }
        told = {number.name: number for number in first_numbers(made)}
        assert {*told} == {*expected, "Clearance"}
        for name, (value, words) in expected.items():
            assert says(told[name].value, *value, units=units, beside=value if inches else ()), told[name]
            metric = words if inches and name == "Body" else ()
            assert says(told[name].words, *words, units=units, beside=metric), told[name]
        assert told["Edge out"].words.startswith("below" if out >= 0 else "above")
        assert told["Edge back"].words.startswith("above" if back >= 0 else "below")
        angle = made.given.frog.bed_angle.value - made.given.iron.bevel_angle.value
        assert says(told["Clearance"].value, angle, units="mm"), told["Clearance"]


@drawn
@given(drawn_sets(STARTS))
def test_each_row_shows_its_value_the_level_it_is_told_beside_and_its_margin(values: Values) -> None:
    for made in in_both_units(values):
        assert has_failing(made.number_checks) == any(row.verdict == "fail" for row in made.number_checks)
        for row in made.number_checks:
            told = row_text(row, made.given.lengths)
            units = made.given.units if row.unit == "mm" else "mm"
            for text, value in ((told.value, row.value), (told.limit, row.missed), (told.margin, row.shown_margin)):
                if value is not None and "10" not in text.partition("×")[2]:
                    assert says(text, value, units=units), (row, text)


@drawn
@given(drawn_sets(STARTS))
def test_remedies_and_notes_say_the_same_lengths_in_either_unit(values: Values) -> None:
    metric, inches = ([_said(made) for made in in_both_units(values)] + [[], []])[:2]
    assert len(metric) == len(inches) or not inches
    for one, other in zip(metric, inches, strict=False):
        told = list(zip(numbers(one), numbers(other), strict=True))
        for (number, half), (inch, half_inch) in told:
            same = abs(number - inch) <= max(half, half_inch)
            assert same or abs(number - 25.4 * inch) <= half + 25.4 * half_inch, (one, other)


def _said(made: Design) -> list[str]:
    """Return everything a maker is asked to do, and what the window and the old body tell."""
    return [
        *(row.change for row in made.number_checks),
        *window_notes(made.settled),
        *old_body_notes_of(made),
        retake_sentence(made.settled.retake, made.given.lengths),
    ]


@pytest.mark.parametrize("wrong", ["Cut 46.21 mm", "Cut 46.2 in", "Cut -46.20 mm"])
def test_the_rule_of_this_test_finds_a_wrong_number(wrong: str) -> None:
    assert says("Cut 46.20 mm", 46.2, units="mm")
    assert says("Cut 1.819 in", 46.2, units="in")
    assert not says(wrong, 46.2, units="mm" if wrong.endswith("mm") else "in")
