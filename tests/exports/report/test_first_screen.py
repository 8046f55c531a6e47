"""The first screen: one sentence to act on, then what does not pass and at which level, the passes as a count."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files.stamp import stamp_of
from planestock.exports.pages.preview import preview
from planestock.exports.report.data import report
from planestock.exports.report.screen import result_console, show_checks
from planestock.exports.report.text import as_text
from planestock.exports.wording.design import by_urgency, folded, has_failing, row_text, to_act_on
from planestock.exports.wording.numbers import measured
from planestock.models.checks.rows import Row, at_least, at_most
from planestock.models.design import Design, design
from planestock.params.files import load
from planestock.params.lengths import Lengths
from tests.support.full_set import full, plain

METRIC, INCHES = Lengths("mm"), Lengths("in")


def screen(made: Design, capsys: pytest.CaptureFixture[str], *, every: bool = False) -> str:
    rows = made.number_checks
    show_checks(result_console(), made, rows, solids=False, where="--all shows them", every=every)
    return " ".join(capsys.readouterr().out.split())


def test_a_body_that_passes_is_told_what_to_cut_first(capsys: pytest.CaptureFixture[str]) -> None:
    made = design(load("jack"))
    told = screen(made, capsys)
    cut = "Cut the body 47.19 mm thick from seat plane to sole (47 mm full on the rule); 45.55 to 47.19 mm is sure to work"
    assert cut in told[:200]
    assert f"{len(made.number_checks)} checks pass (--all shows them)." in told
    assert "mouth-now" not in told
    assert told.index(cut) < told.index("checks pass") < told.index("Window")


def test_a_set_in_inches_is_told_the_mark_on_its_rule(capsys: pytest.CaptureFixture[str]) -> None:
    told = screen(design(load("fore")), capsys)
    assert "Cut the body 1.973 in thick from seat plane to sole (1-31/32 in full on the rule); 1.881 to 1.973 in" in told


def test_what_fails_stands_before_what_warns_and_that_before_the_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    told = screen(design(load("jack", ["body.thickness=44.1 ± 0.1 mm"])), capsys)
    assert told.index("Do not cut yet") < told.index("FAIL ") < told.index("WARN ") < told.index(" checks pass (--all")
    assert "FAIL" not in told[told.index("WARN ") :]
    assert re.search(r"asked ≥ 0\.30 mm: 0\.\d\d mm too little change: make body\.thickness larger", told)


def test_all_checks_are_listed_on_request(capsys: pytest.CaptureFixture[str]) -> None:
    made = design(load("jack"))
    told = screen(made, capsys, every=True)
    assert all(f"pass {row.id} " in told for row in made.number_checks)
    assert "--all" not in told


def test_report_and_page_have_the_same_order() -> None:
    made = design(load("jack", ["body.thickness=44.3 ± 0.1 mm", "throat.opening=0.3"]))
    act = to_act_on(made, failing=True)
    text = " ".join(as_text(made, report(made, solids=False), solids=False).split())
    assert text.index(act) < text.index("FAIL ") < text.index("WARN ") < text.index("Key numbers") < text.index("How sure")
    page = preview(made, stamp_of(made, made.number_checks)).decode()
    act_there = page.index("Do not cut yet")
    assert act_there < page.index('class="verdict-fail">', act_there) < page.index('class="verdict-warn">', act_there)
    assert page.index('class="verdict-warn">', act_there) < page.index("<details") < page.index('id="numbers"')


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (["body.thickness=47.0"], r"Cut the body 47\.00 mm thick .*\(47 mm on the rule\)"),
        (
            ["body.thickness=47.62"],
            r"47\.62 mm thick \(47\.5 mm full on the rule\) is not sure to work; 45\.\d\d to 47\.\d\d mm",
        ),
        (["body.thickness=48.9"], r"Do not cut yet, 48\.90 mm thick does not surely work; 45\.\d\d to 47\.\d\d mm"),
        (
            ["bench.edge_low=50.6 ± 0.1 mm", "bench.edge_high=45.0 ± 0.1 mm"],
            r"Do not cut yet, readings .* contradict each other; by the bench method alone 46\.\d\d to 48\.\d\d mm",
        ),
        (["throat.opening=0.3"], r"Do not cut yet, a check fails; 45\.\d\d to 47\.\d\d mm"),
        (
            ["body.thickness=46.3", "work.deepest_cut=2.2", "work.withdraw=1.7"],
            r"with these readings no thickness is sure to work",
        ),
    ],
)
def test_each_case_has_its_sentence(changes: list[str], said: str) -> None:
    made = design(load("jack", changes))
    assert re.search(said, to_act_on(made, failing=has_failing(made.number_checks)))


def test_a_warning_shows_the_level_at_which_it_warns() -> None:
    row = at_least("covered", "Wood", 3.71, 3.0, "move it", warn_below=5.0)
    assert (row.verdict, row.limit, row.warns_at, row.missed) == ("warn", 3.0, 5.0, 5.0)
    assert row_text(row, METRIC).found == "3.71 mm, asked ≥ 5.00 mm: 1.29 mm too little; it fails below 3.00 mm"
    assert row_text(row, INCHES).found == "0.146 in, asked ≥ 0.197 in: 0.051 in too little; it fails below 0.118 in"
    failed = at_least("covered", "Wood", 2.5, 3.0, "move it", warn_below=5.0)
    assert row_text(failed, METRIC).found == "2.50 mm, asked ≥ 3.00 mm: 0.50 mm too little"
    over = at_most("wide", "Gap", 1.5, 2.0, "close it", warn_above=1.0)
    assert row_text(over, METRIC).found == "1.50 mm, asked ≤ 1.00 mm: 0.50 mm too much; it fails above 2.00 mm"
    advised = at_least("wear", "Wear", 0.5, 1.0, "plane less", advisory=True)
    assert row_text(advised, METRIC).found == "0.50 mm, asked ≥ 1.00 mm: 0.50 mm too little"


def test_the_report_for_machines_has_the_level_too() -> None:
    rows = {row["id"]: row for row in report(design(full()), solids=False)["checks"]}
    assert rows["clearance-angle"]["warns_at"] == 10.0
    assert rows["window-open"]["warns_at"] is None


@given(
    value=st.floats(-100, 100),
    limit=st.floats(-100, 100),
    stricter=st.floats(0, 20),
    least=st.booleans(),
    lengths=st.sampled_from([METRIC, INCHES]),
)
def test_a_row_that_does_not_pass_never_shows_a_level_that_is_kept(
    value: float, limit: float, stricter: float, least: bool, lengths: Lengths
) -> None:
    row = (
        at_least("a", "asked", value, limit, "change", warn_below=limit + stricter)
        if least
        else at_most("a", "asked", value, limit, "change", warn_above=limit - stricter)
    )
    told = row_text(row, lengths)
    if row.verdict == "pass" or abs(value - row.missed) < 1e-4:
        return
    shown, level = (number(text) for text in (told.value, told.limit))
    assert shown < level if least else shown > level
    assert told.margin.startswith("−")


def number(text: str) -> float:
    """Read a value or limit as it is shown."""
    plain_text = text.lstrip("≥≤ ").partition(" ")[0].replace("−", "-")
    if "×" in text:
        raised = text.partition("10")[2].split()[0].translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789"))
        return float(f"{plain_text}e{raised}")
    return float(plain_text)


@pytest.mark.parametrize("noise", [3e-12, -2.7e-13, 9e-10])
def test_noise_of_the_kernel_is_nought(noise: float) -> None:
    assert measured(noise, "mm³") == "0.00 mm³"
    assert measured(noise, "mm") == "0.00 mm"
    assert measured(0.4, "mm³") == "0.40 mm³"


def test_a_count_of_one_is_worded_as_one() -> None:
    one = Row("a", "asked", 1.0, 0.5, "mm", True, "pass", "nothing")
    assert folded([one], "there") == "1 check passes (there)."
    assert folded([one, one], "there") == "2 checks pass (there)."
    assert folded([replace(one, verdict="fail")], "there") == ""


def test_rows_keep_their_order_within_a_verdict() -> None:
    rows = design(plain("body.thickness=40")).number_checks
    ordered = by_urgency(rows)
    assert sorted(rows, key=lambda row: ["fail", "warn", "pass"].index(row.verdict)) == ordered
