"""What is typed after the options of trace: lengths are read as readings are."""

from __future__ import annotations

import pytest

from planestock.exports.traced.typed import distance, length, sides
from planestock.params.problems import InputProblem


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1/64 in", 25.4 / 64),
        ("0.1 mm", 0.1),
        ("0.1", 0.1),
        ("0,1 mm", 0.1),
        ("0.004 in", 0.1016),
        ('1-1/2"', 38.1),
        ("1 cm", 10.0),
    ],
)
def test_a_length_is_read_as_a_reading_is(text: str, millimetres: float) -> None:
    assert length("--gap", text) == pytest.approx(millimetres, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "both"),
    [
        ("210 x 297 mm", (210.0, 297.0)),
        ("210x297", (210.0, 297.0)),
        ("8-1/2 x 11 in", (215.9, 279.4)),
        ("8.5 in × 11 in", (215.9, 279.4)),
        ("8 1/2 by 11 inch", (215.9, 279.4)),
        ("210 mm, 297 mm", (210.0, 297.0)),
        ("210,297", (210.0, 297.0)),
        ("210,5 x 297,2 mm", (210.5, 297.2)),
    ],
)
def test_two_sides_may_share_a_unit(text: str, both: tuple[float, float]) -> None:
    assert sides("--sides", text) == pytest.approx(both, abs=1e-9)


def test_a_distance_between_two_points_may_be_a_fraction() -> None:
    first, second, apart = distance("--scale", "120,340 2010,352 7-7/8 in")
    assert (first, second) == ((120.0, 340.0), (2010.0, 352.0))
    assert apart == pytest.approx(200.025)


@pytest.mark.parametrize("text", ["1/3 in", "0.1 ± 0.05 mm", "wide", "", "5 deg", "1,234 mm"])
def test_what_is_no_length_is_refused_with_the_option_and_a_remedy(text: str) -> None:
    with pytest.raises(InputProblem, match=r"--gap = .*; write "):
        length("--gap", text)
