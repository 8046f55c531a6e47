"""Who works in inches reads inches: no millimetre stands alone in any sentence, table or check of a set in inches.

The rule: a length in mm may stand only in brackets after its inches, `1.819 in (46.20 mm)`, as the first numbers have it;
a declared field may name a length in both units, `0.5 mm or 0.02 in`; a value that was itself written in mm stays as it
was written. Angles are degrees, masses grams, data for machines mm.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import lxml.html
import pytest
from hypothesis import HealthCheck, given, settings

from planestock.exports.app.evaluation import numbers_of
from planestock.exports.files.stamp import stamp_of
from planestock.exports.pages.preview import preview
from planestock.exports.report.data import report
from planestock.exports.report.screen import result_console, show_checks, show_evidence
from planestock.exports.report.text import as_text
from planestock.exports.variants.compare_text import input_rows, outcome_rows
from planestock.models.design import Design, design
from planestock.models.variants.compare import compare
from planestock.params.catalogue import catalogue
from planestock.params.files import load
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import Values

BESIDE = re.compile(r"in(?: long| high| wide)? \([^()]*? mm\)|[\d.]+ mm or [\d.]+ in\b|ISO \d+ [^;]*\bmm\b")
"""Millimetres in brackets after their inches, a length in both units, or the figures of a metric standard."""

METRIC = re.compile(r"(?<![a-z_.])[cm]m[²³]?(?![a-z_])")

STARTS = starting_sets()


def in_inches(values: Values) -> Values:
    """Return raw values in mm as a maker with an inch rule has them: bare numbers of inches, to a thousandth."""
    lengths = {one.path for one in catalogue() if one.quantity is not None and one.quantity.dimension == "length"}

    def turned(value: Any, path: str) -> Any:
        if isinstance(value, dict):
            return {name: turned(one, f"{path}.{name}" if path else name) for name, one in value.items()}
        if isinstance(value, list):
            return [turned(one, path if isinstance(one, int | float) else f"{path}[]") for one in value]
        if path in lengths and isinstance(value, int | float) and not isinstance(value, bool):
            return round(value / 25.4, 3)
        return value

    found: Values = turned({name: one for name, one in values.items() if name != "units"}, "")
    return {**found, "units": "in"}


def alone(text: str) -> list[str]:
    """Return each place where a metric unit stands alone."""
    bare = BESIDE.sub("in", " ".join(text.split()))
    return [bare[max(0, found.start() - 60) : found.end() + 10] for found in METRIC.finditer(bare)]


def texts(value: Any) -> Iterator[str]:
    """Yield every text in plain data."""
    if isinstance(value, str):
        yield value
    for one in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from texts(one)


def said_of(made: Design, capsys: pytest.CaptureFixture[str]) -> Iterator[tuple[str, str]]:
    """Yield everything that is said of a design by its numbers: what says it, and the words."""
    capsys.readouterr()
    console = result_console()
    show_checks(console, made, made.number_checks, solids=False, where="there", every=True)
    show_evidence(console, made)
    yield "screen", capsys.readouterr().out
    yield "report", as_text(made, report(made, solids=False), solids=False)
    yield "app", " ".join(texts(json.loads(json.dumps(numbers_of(made)))))
    yield "asked and change", " ".join(f"{row.asked} {row.change}" for row in made.number_checks)


def said_of_values(values: Values, capsys: pytest.CaptureFixture[str]) -> list[tuple[str, str]]:
    """Return everything that is said of raw values: of the design, or of why there is none."""
    try:
        return list(said_of(design(parameter_set(values)), capsys))
    except InputProblem as problem:
        return [("refusal", str(problem))]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(drawn_sets(STARTS))
def test_no_millimetre_stands_alone_in_what_is_said_of_a_set_in_inches(
    capsys: pytest.CaptureFixture[str], values: Values
) -> None:
    for what, text in said_of_values(in_inches({**values, "name": "Drawn", "note": ""}), capsys):
        assert alone(text) == [], what


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(drawn_sets(STARTS))
def test_sentences_have_true_minus_signs_singulars_and_units(capsys: pytest.CaptureFixture[str], values: Values) -> None:
    for what, text in said_of_values({**values, "name": "Drawn", "note": "", "units": "mm"}, capsys):
        bare = " ".join(text.split())
        assert "= nothing:" not in bare, what
        assert not re.search(r"\b1 (truings|checks pass|holes|variants|teeth)\b", bare), what
        assert not re.search(r"[-−]\d[\d.]* mm (thinner|thicker|less|more|too|below|above)", bare), what
        assert not re.search(r"(?<![\w.(\[])-\d+\.\d\d(?!\d)", bare), what
        assert "; At the" not in bare, what
        assert not re.search(r"[−]0\.0+ (mm|in)\b", bare), what
        assert not re.search(r"\b\d\.?\d* × 10⁻¹\d", bare), what


def test_the_page_of_an_inch_set_has_no_millimetre_alone() -> None:
    made = design(load("fore"))
    page = lxml.html.fromstring(preview(made, stamp_of(made, made.checks)).decode())
    for each in page.xpath("//script|//style"):
        each.drop_tree()
    assert alone(page.text_content()) == []


def test_a_comparison_of_inch_sets_has_no_millimetre_alone() -> None:
    found = compare([("A", load("fore")), ("B", load("fore", ["body.thickness=1.9 in"]))], solids=False)
    cells = [*input_rows(found), *outcome_rows(found)]
    assert alone(" ".join(" ".join((cell.title, *cell.values)) for cell in cells)) == []


def test_the_rule_of_this_test_finds_a_millimetre() -> None:
    assert alone("Thickness 1.819 in (46.20 mm)") == []
    assert alone("Thickness 46.20 mm") != []
    assert alone("over 3.2 cm²") != []
