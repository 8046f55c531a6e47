"""The report: keys that stay, strict JSON, values that are the design's own, text that a maker can read."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from typing import Any

import pytest

from planestock.exports.files.plain_data import DECIMALS, as_json
from planestock.exports.files.stamp import overall
from planestock.exports.report.data import report
from planestock.exports.report.text import WIDTH, as_text
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.design import hole_lines, way
from planestock.models.body.holes import Hole
from planestock.models.checks.rows import Row
from planestock.models.design import Design, design
from planestock.params.files import load, shipped
from planestock.params.lengths import Lengths
from planestock.params.parsing import parameter_set
from tests.support.full_set import full_design, plain_design

KEYS = (
    "planestock", "set.name", "set.digest", "set.values", "verdict", "window.min", "window.max", "window.u_min",
    "window.u_max", "thickness", "reach.out", "reach.in", "wear_left", "layout.edge", "layout.bed_foot",
    "layout.corner", "layout.mouth_front", "layout.wear_top", "layout.breast_top", "layout.seat_front",
    "layout.seat_rear", "layout.recess", "layout.cove_high", "layout.cove_low", "mouth.opening",
    "mouth.growth_per_mm", "clearance_angle", "wood.species", "wood.cut", "wood.thickness_change",
    "wood.dry.moisture", "wood.wet.moisture", "mass.right_half", "mass.left_half", "mass.centre_strip", "mass.pad",
    "mass.slip", "mass.body", "checks",
)  # fmt: skip
"""Keys that scripts may rest on; they may be added to, not taken away."""


def at(found: dict[str, Any], dotted: str) -> Any:
    here: Any = found
    for name in dotted.split("."):
        here = here[name]
    return here


def numbers(made: Design) -> dict[str, Any]:
    return report(made, solids=False)


def text_of(made: Design, *, solids: bool = False) -> str:
    return as_text(made, report(made, solids=solids), solids=solids)


@pytest.mark.parametrize("made", [plain_design(), full_design()], ids=["plain", "full"])
def test_every_promised_key_is_there_whatever_the_body_has(made: Design) -> None:
    found = numbers(made)
    for key in KEYS:
        at(found, key)


def test_the_values_are_the_designs_own() -> None:
    made = full_design()
    found, settled = numbers(made), made.settled
    expected = {
        "window.min": settled.window.low,
        "window.max": settled.window.high,
        "window.u_min": settled.low.expanded,
        "window.u_max": settled.high.expanded,
        "thickness": settled.thickness,
        "reach.out": settled.window.out(settled.thickness),
        "reach.in": settled.window.back(settled.thickness),
        "wear_left": settled.wear_left,
        "mouth.opening": 2.0,
        "clearance_angle": 20.0,
    }
    for key, value in expected.items():
        assert at(found, key) == pytest.approx(value, abs=1e-9), key


def test_the_window_of_a_hand_computed_case() -> None:
    """p = (c + b - a) sin θ - t cos θ - T at 45°, c 96, b 1, t 3, a 20 and 28: T_max = 74/√2 - 0.8, T_min = 66/√2 + 0.3."""
    found = numbers(plain_design())
    assert found["window"]["max"] == pytest.approx(74 / math.sqrt(2) - 0.8, abs=1e-9)
    assert found["window"]["min"] == pytest.approx(66 / math.sqrt(2) + 0.3, abs=1e-9)
    assert found["layout"]["edge"] == [100.0, 0.0]
    assert found["layout"]["corner"] == [pytest.approx(100 + 3 * math.sqrt(2) + 50, abs=1e-9), 50.0]
    assert found["mouth"]["growth_per_mm"] == 1.0


def test_checks_are_rows_with_all_that_a_row_says() -> None:
    made = full_design()
    rows = numbers(made)["checks"]
    assert [row["id"] for row in rows] == [row.id for row in made.number_checks]
    for row, own in zip(rows, made.number_checks, strict=True):
        assert set(row) == {"id", "asked", "value", "limit", "unit", "at_least", "verdict", "change", "warns_at",
                            "margin"}  # fmt: skip
        assert row["verdict"] == own.verdict
        assert (row["margin"] is None) == (own.margin is None)


def test_without_solids_masses_are_null_and_solid_checks_absent() -> None:
    made = full_design()
    without, complete = report(made, solids=False), report(made, solids=True)
    assert set(without) == set(complete)
    assert set(without["mass"].values()) == {None}
    assert complete["mass"]["body"] == pytest.approx(made.mass, abs=1e-9)
    assert complete["mass"]["right_half"] == pytest.approx(complete["mass"]["left_half"], rel=1e-9)
    assert complete["mass"]["pad"] is None
    assert {row["id"] for row in complete["checks"]} - {row["id"] for row in without["checks"]} >= {
        "solids-sound",
        "frog-clear",
    }


def test_json_is_strict_and_the_same_each_time() -> None:
    made = full_design()
    text = as_json(numbers(made))
    assert text == as_json(numbers(design(made.given)))

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    assert json.loads(text, parse_constant=refuse) == numbers(made)


def test_numbers_without_end_become_null_and_all_others_are_rounded() -> None:
    made = plain_design()
    endless = Row("endless", "asked", math.inf, 0.1 + 0.2, "mm", True, "pass", "nothing")
    minus = Row("minus", "asked", -1e-12, math.nan, "mm", True, "pass", "nothing")
    twisted = Design(made.given, made.settled, made.layout, made.seasons, made.old_body, (endless, minus))
    first, second = report(twisted, solids=False)["checks"]
    assert (first["value"], first["limit"]) == (None, 0.3)
    assert str(second["value"]) == "0.0"
    assert second["limit"] is None


def test_every_float_is_rounded_to_nine_decimals() -> None:
    def floats(value: Any) -> list[float]:
        if isinstance(value, float):
            return [value]
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        return [found for one in inner for found in floats(one)]

    found = floats(numbers(full_design()))
    assert len(found) > 100
    assert all(value == round(value, DECIMALS) for value in found)


def test_ascii_json_says_the_same() -> None:
    found = numbers(design(load("jack", ["name=Großvaters Hobel ±"])))
    assert as_json(found, ascii_only=True).isascii()
    assert json.loads(as_json(found, ascii_only=True)) == json.loads(as_json(found))


@pytest.mark.parametrize("name", sorted(shipped()))
def test_the_values_of_a_report_make_the_same_set_again(name: str) -> None:
    given = load(name)
    values = json.loads(as_json(numbers(design(given))))["set"]["values"]
    assert parameter_set(values).digest == given.digest


def test_the_worst_verdict_counts() -> None:
    def row(verdict: Any) -> Row:
        return Row("id", "asked", 1.0, 1.0, "mm", True, verdict, "")

    assert overall([row("pass")]) == "pass"
    assert overall([row("warn"), row("pass")]) == "warn"
    assert overall([row("pass"), row("warn"), row("fail"), row("warn")]) == "fail"


@pytest.mark.parametrize("name", sorted(shipped()))
def test_the_text_fits_a_page_and_has_every_section(name: str) -> None:
    lines = text_of(design(load(name))).splitlines()
    assert max(map(len, lines)) <= WIDTH
    heads = [above for above, below in pairwise(lines) if below and set(below) == {"-"}]
    assert [head.partition(":")[0] for head in heads] == [
        "Checks", "Key numbers", "How sure", "Side view", "Holes", "Wood and seasons", "Sole and mouth in years to come",
        "Cautions", "To make it again",
    ]  # fmt: skip


def test_the_text_says_what_fails_and_what_to_change() -> None:
    made = plain_design("throat.opening=0.9")
    text = " ".join(text_of(made).split())
    row = next(row for row in made.number_checks if row.id == "mouth-passes-cut")
    assert row.verdict == "fail"
    assert f"FAIL mouth-passes-cut: {row.asked}. 0.10 mm, asked ≥ 0.80 mm: 0.70 mm too little. change: {row.change}" in text
    assert "FAILS ITS CHECKS: mouth-passes-cut" in text
    assert "planestock build set.toml --numbers --allow-failing" in text


def test_the_text_carries_every_caution() -> None:
    text = " ".join(text_of(plain_design()).split())
    assert all(" ".join(caution.split()) in text for caution in CAUTIONS)
    told = " ".join(CAUTIONS).lower()
    for word in (
        "sharp",
        "band saw",
        "drill press",
        "eye",
        "ear",
        "dust",
        "100c",
        "linseed",
        "japanning",
        "lead",
        "cnc",
        "manual",
        "local codes",
    ):
        assert word in told


def test_a_name_of_any_letters_stays_on_one_line() -> None:
    made = plain_design('name="two\\nlines\\u0007 and \\u001b[31mred"')
    assert text_of(made).splitlines()[0] == "two lines and [31mred"


def test_a_pair_of_holes_is_one_line_and_a_single_one_is_not() -> None:
    pair = [Hole("frog screw", "frog.screws.0", (10.0, y, 5.0), (0.0, 0.0, -1.0), 3.0, 12.0, 1.0) for y in (8.0, -8.0)]
    single = Hole("knob bolt", "knob.from_toe", (40.0, 0.0, 50.0), (0.0, 0.0, -1.0), 6.0, 30.0, 5.0)
    assert hole_lines([*pair, single], Lengths("mm")) == (
        ("frog screw", "10.0", "± 8.0", "5.0", "plumb", "3.00", "12.0"),
        ("knob bolt", "40.0", "0.0", "50.0", "plumb", "6.00", "30.0"),
    )
    assert hole_lines([single], Lengths("in")) == (("knob bolt", "1.575", "0.000", "1.969", "plumb", "0.236", "1.181"),)


@pytest.mark.parametrize(
    ("direction", "said"),
    [
        ((0.0, 0.0, -1.0), "plumb"),
        ((0.0, 1.0, 0.0), "across"),
        ((math.sin(math.radians(12)), 0.0, -math.cos(math.radians(12))), "12.0° to the heel"),
        ((-math.sin(math.radians(8)), 0.0, -math.cos(math.radians(8))), "8.0° to the toe"),
    ],
)
def test_the_way_of_a_hole_is_its_lean_from_plumb(direction: tuple[float, float, float], said: str) -> None:
    assert way(Hole("tote bolt", "tote.bolt_x", (0.0, 0.0, 0.0), direction, 6.0, 20.0, 1.0)) == said
