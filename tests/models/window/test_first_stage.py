"""The window of thicknesses from the few readings of its stage: the same numbers as a full set gives, and by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings

from planestock.models.window.budgets import known_windows
from planestock.models.window.thickness import Safe, safe_thicknesses
from planestock.params.files import load, shipped
from planestock.params.first_stage import BENCH, CHOICES, IN_USE, PINS, STATE, FirstStage, from_values, needed, of_set
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import full, plain

SAME = 1e-12
"""Relative difference of numbers that are worked out by the same lines."""


def told(of: ParameterSet) -> FirstStage:
    """What a maker would type of a set: each reading of the stage as it is written, its ±, its wood."""
    values: dict[str, Any] = {
        "instrument": of.instrument.model_dump(mode="json", exclude_none=True),
        "wood": of.wood.model_dump(mode="json", exclude_none=True),
    }
    for path in (*BENCH, *PINS, *STATE, *CHOICES):
        reading = of.reading_at(path)
        if reading is not None:
            group, _, name = path.partition(".")
            values.setdefault(group, {})[name] = reading.written
    return from_values(values, of.units)


def with_usual_tools(of: ParameterSet) -> ParameterSet:
    """The set with the ± that `told` has: a tool that the set says nothing of has its usual one there."""
    return of.model_copy(update={"instrument": told(of).instrument})


def assert_same(one: Safe, other: Safe, *, ends: bool) -> None:
    pairs = [(one.low.value, other.low.value), (one.high.value, other.high.value),
             (one.low.expanded, other.low.expanded), (one.high.expanded, other.high.expanded)]  # fmt: skip
    if ends:
        pairs += [(one.safe_low, other.safe_low), (one.safe_high, other.safe_high)]
    for mine, theirs in pairs:
        assert math.isclose(mine, theirs, rel_tol=SAME, abs_tol=SAME)
    assert one.known.road == other.known.road
    assert [known.assumed for known in one.roads] == [known.assumed for known in other.roads]
    assert (one.retake and one.retake.path) == (other.retake and other.retake.path)
    assert (one.comparison is None) == (other.comparison is None)
    if one.comparison is not None and other.comparison is not None:
        assert math.isclose(one.comparison.worst_error, other.comparison.worst_error, rel_tol=SAME, abs_tol=SAME)


def is_plain(of: ParameterSet) -> bool:
    """Whether the body is one wood from top to sole, with no ± of its own: all that is known before it is drawn."""
    return of.body.pad.exact == of.body.slip.exact == 0 and (of.body.thickness is None or of.body.thickness.limit is None)


@pytest.mark.parametrize("name", shipped())
def test_the_readings_of_a_shipped_set_give_its_window(name: str) -> None:
    of = load(name)
    assert_same(safe_thicknesses(of_set(of)), safe_thicknesses(of), ends=True)
    of = with_usual_tools(of)
    assert_same(safe_thicknesses(told(of)), safe_thicknesses(of), ends=is_plain(of))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(drawn_sets(starting_sets()))
def test_the_readings_of_a_drawn_set_give_its_window(values: dict[str, Any]) -> None:
    try:
        of = parameter_set(values)
        whole = safe_thicknesses(of)
    except InputProblem:
        assume(False)
        return
    assert_same(safe_thicknesses(of_set(of)), whole, ends=True)
    of = with_usual_tools(of)
    assert_same(safe_thicknesses(told(of)), safe_thicknesses(of), ends=is_plain(of))


def test_two_depths_by_hand() -> None:
    """T_max = 48.7 - 0.5 and T_min = 44.1 + 0.3, each ± 2 · 0.1 / √3 by a depth gauge."""
    safe = safe_thicknesses(from_values({"bench": {"edge_low": "48.7", "edge_high": 44.1}}))
    assert (safe.window.high, safe.window.low) == pytest.approx((48.2, 44.4), abs=1e-12)
    assert (safe.high.expanded, safe.low.expanded) == pytest.approx((0.2 / math.sqrt(3), 0.2 / math.sqrt(3)), abs=1e-12)
    assert (safe.retake and safe.retake.path) == "bench.edge_low"


def test_the_readings_by_pin_by_hand() -> None:
    """(c + b - a) sin θ - t cos θ at 45°, the play at its assumed middle of 0.25 mm."""
    values = {"adjuster": {"pin_low": 22, "pin_high": 29}, "cap_iron": {"slot_to_edge": 92.4, "setback": 1},
              "iron": {"thickness": 2.1}, "frog": {"bed_angle": 45}}  # fmt: skip
    safe = safe_thicknesses(from_values(values))
    half = math.sqrt(0.5)
    assert safe.window.high == pytest.approx((92.4 + 1 - 22 - 2.1) * half - 0.5, abs=1e-12)
    assert safe.window.low == pytest.approx((92.4 + 1 - 29 - 2.1 + 0.25) * half + 0.3, abs=1e-12)
    assert safe.known.assumed == ("adjuster.play",)


def test_no_other_reading_moves_the_window() -> None:
    of = full()
    others = {"width": "60 mm", "bevel_angle": "31 deg", "length": "170 mm"}
    changed = parameter_set(of.model_dump(mode="json") | {"iron": of.iron.model_dump(mode="json") | others})
    assert known_windows(of_set(changed)) == known_windows(of_set(of)) == known_windows(of)


@pytest.mark.parametrize("path", [*BENCH, *(path for path in PINS if path != "adjuster.play")])
def test_each_reading_that_is_taken_out_is_named_as_missing(path: str) -> None:
    road = BENCH if path in BENCH else PINS
    left = [one for one in road if one != path]
    assert set(needed(left)) - set(left) == {path}


def test_nothing_is_needed_before_a_road_is_begun() -> None:
    assert needed(()) == ()
    assert needed(["bench.edge_low"]) == needed(["bench.edge_low", "iron.thickness"]) == BENCH
    assert set(needed(["iron.thickness"])) == set(PINS) - {"adjuster.play"}
    assert set(needed(["adjuster.play"])) == set(PINS) - {"adjuster.play"}


@pytest.mark.parametrize(("own", "in_use"), IN_USE.items())
def test_bench_readings_of_other_metal_need_that_in_use_and_the_angle(own: str, in_use: str) -> None:
    assert set(needed([*BENCH, own, in_use])) == {*BENCH, in_use, "frog.bed_angle"}


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"bench": {"edge_low": 44, "edge_high": 48}}, "must be less than bench.edge_low"),
        ({"bench": {"edge_low": 4}}, "must lie between 10 and 160 mm"),
        ({"body": {"length": 300}}, "does not move the thickness"),
        ({"body": {"pad": 3}}, "does not move the thickness"),
        ({"bench": 4}, "does not move the thickness"),
        ({"instrument": "fine"}, "group of fields"),
        ({"wood": {"species": "wood"}}, "no species of that name"),
        ({"wood": {"dry": {"moisture": 8, "humidity": 30}}}, "not both"),
    ],
)
def test_what_cannot_be_used_is_refused_by_its_path(values: dict[str, Any], said: str) -> None:
    with pytest.raises(InputProblem, match=said):
        from_values(values)


def test_a_reading_of_another_stage_is_left_out() -> None:
    stage = of_set(plain())
    assert stage.reading_at("iron.width") is None
    assert stage.reading_at("frog.bed_angle") == plain().frog.bed_angle
