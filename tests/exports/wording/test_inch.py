from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.wording.design import first_numbers
from planestock.exports.wording.inch import FULL_OR_SHY, MILLIMETRES, on_the_rule, thousandths
from planestock.models.design import design
from planestock.params.files import load


def value_of(text: str) -> Fraction:
    """Read a mark as a person does: whole inches, then a fraction."""
    sign = -1 if text.startswith("−") else 1
    parts = text.removeprefix("−").split("-")
    return sign * sum((Fraction(part) for part in parts), Fraction(0))


@pytest.mark.parametrize(
    ("length", "text", "error"),
    [
        # Exact arithmetic on 1 in = 25.4 mm (NBS Circular 572, addendum of 22 January 1960).
        (60.0, "2-23/64", "+0.07"),
        (50.0, "1-31/32", "−0.01"),
        (44.0, "1-47/64", "−0.05"),
        (381.0, "15", "0"),
        (12.7, "1/2", "0"),
        (457.2, "18", "0"),
        (0.0, "0", "0"),
        (-12.7, "−1/2", "0"),
    ],
)
def test_known_lengths_fall_on_their_marks(length: float, text: str, error: str) -> None:
    found = on_the_rule(length)
    assert found.text == text
    assert found.error_text == error


@given(st.floats(-1000, 1000).map(lambda value: round(value, 4)))
def test_mark_and_error_make_the_length(length: float) -> None:
    found = on_the_rule(length)
    assert found.inches * MILLIMETRES + found.error == Fraction(str(length))
    assert value_of(found.text) == found.inches
    shown = float(found.error_text.replace("−", "-"))
    assert abs(float(found.inches * MILLIMETRES) + shown - length) <= 0.005 + 1e-9


@given(st.floats(0, 1000))
def test_a_mark_is_the_nearest_of_its_kind_and_reduced(length: float) -> None:
    found = on_the_rule(length)
    # Half of 1/64 in, exactly.
    assert abs(found.error) <= Fraction(25400, 128 * 1000)
    _, _, fraction = found.text.rpartition("-")
    if "/" in fraction:
        top, bottom = (int(part) for part in fraction.split("/"))
        assert bottom in (2, 4, 8, 16, 32, 64)
        assert top % 2 == 1, "an even top could be halved: never 8/16"


@given(st.floats(0.2, 1000))
def test_full_and_shy_say_which_way_a_length_lies_from_its_mark(length: float) -> None:
    found = on_the_rule(length)
    mark, _, word = found.said.partition(" in")
    assert value_of(mark) == found.inches
    assert (word == " full") == (found.error / MILLIMETRES >= FULL_OR_SHY)
    assert (word == " shy") == (-found.error / MILLIMETRES >= FULL_OR_SHY)
    assert abs(float(thousandths(length).removesuffix(" in")) - length / 25.4) <= 0.0005 + 1e-9


def test_lengths_below_zero_are_full_when_they_are_longer_than_their_mark() -> None:
    assert on_the_rule(-12.83).said == "−1/2 in full"
    assert on_the_rule(-12.57).said == "−1/2 in shy"
    assert thousandths(-0.3) == "−0.012 in"
    assert thousandths(-0.001) == "0.000 in"


def test_a_set_in_inches_gets_them_beside_its_first_numbers_and_one_in_millimetres_does_not() -> None:
    made = design(load("fore"))
    numbers = {number.name: number.value for number in first_numbers(made)}
    inches, millimetres = re.fullmatch(r"(\d\.\d{3}) in \((\d+\.\d\d) mm\)", numbers["Thickness"]).groups()  # type: ignore[union-attr]
    assert float(millimetres) == pytest.approx(made.settled.thickness, abs=0.0051)
    assert float(inches) == pytest.approx(made.settled.thickness / 25.4, abs=0.00051)
    window = f"{made.settled.window.low / 25.4:.3f} to {made.settled.window.high / 25.4:.3f} in ("
    assert numbers["Window"].startswith(window)
    assert not any(re.search(r"\d in\b", one.value + one.words) for one in first_numbers(design(load("jack"))))
