"""What leaves as JSON: every output is as its declared model and its printed schema say, whatever set it comes from."""

from __future__ import annotations

import contextlib
import io
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from jsonschema_rs import meta

from planestock.exports.building import rows_of_extras
from planestock.exports.command_line import main
from planestock.exports.files.plain_data import DECIMALS
from planestock.exports.files.promised import PromiseBroken, Promised, promised, told
from planestock.exports.files.stamp import stamp_of
from planestock.exports.machining.data import setups_data
from planestock.exports.report.data import report
from planestock.exports.salvage.data import as_data as salvage_data
from planestock.exports.schemas import OUTPUTS, schema_of
from planestock.exports.variants.compare_text import as_data as comparison_data
from planestock.models.design import Design, design
from planestock.models.machining.all_setups import plan_of_work
from planestock.models.salvage.judging import salvage
from planestock.models.variants.compare import compare
from planestock.models.variants.sweep import OUTCOMES as SWEPT_OUTCOMES
from planestock.params.files import load, shipped
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.reading import exactly, parse
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import Values, full, full_design, plain, plain_design
from tests.support.promises import require_every_key_counts, require_promised

EXAMPLES = 25
"""Sets drawn; each takes some 30 ms."""


def printed(*arguments: str) -> Any:
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        main(arguments)
    return json.loads(said.getvalue())


@pytest.mark.parametrize("name", [*shipped(), "full", "plain"])
def test_the_report_is_as_promised(name: str) -> None:
    own = {"full": full_design, "plain": plain_design}
    made: Design = own[name]() if name in own else design(load(name))
    require_promised("report.json", report(made, solids=False))


@drawn(values=drawn_sets(starting_sets()))
@settings(max_examples=EXAMPLES, deadline=None)
def test_the_report_of_drawn_sets_is_as_promised(values: Values) -> None:
    try:
        made = design(parameter_set(values))
    except InputProblem:
        return
    require_promised("report.json", report(made, solids=False))


def test_check_prints_what_is_promised() -> None:
    require_promised("check --json", printed("check", "jack", "--json"))


def test_build_prints_what_is_promised(tmp_path: Path) -> None:
    data = printed("build", "jack", "--numbers", "--json", "-o", str(tmp_path))
    require_promised("build --json", data)
    assert data == {
        **json.loads((tmp_path / "report.json").read_text("utf-8")),
        "folder": str(tmp_path),
        "files": data["files"],
    }


def test_every_key_of_the_report_counts() -> None:
    require_every_key_counts("report.json", report(full_design(), solids=False), free=("values",))


def test_thickness_prints_what_is_promised_and_every_key_counts() -> None:
    by_pin = ("--pin-low=22", "--pin-high=29", "--slot-to-edge=92.4", "--cap-iron-setback=1", "--iron-thickness=2.1",
              "--bed-angle=45")  # fmt: skip
    for given in (("--edge-low=48.9", "--edge-high=44.1"), by_pin, (*by_pin, "--edge-low=48.9", "--edge-high=44.1")):
        require_promised("thickness --json", printed("thickness", *given, "--json"))
    answer = printed("thickness", *by_pin, "--edge-low=45", "--edge-high=44.1", "--json")
    require_promised("thickness --json", answer)
    require_every_key_counts("thickness --json", answer, free=("readings", "values"))


SALVAGED = ("44.1 ± 0.1 mm", "47 mm", "50.3 mm")
"""Bodies that came out too thin, about right and too thick for the shipped sets."""


@pytest.mark.parametrize("name", [*shipped(), "full", "plain"])
def test_salvage_is_as_promised(name: str) -> None:
    given = {"full": full, "plain": plain}[name]() if name in ("full", "plain") else load(name)
    for thickness in SALVAGED:
        require_promised("salvage --json", salvage_data(salvage(given, parse(thickness, "length"))))


@drawn(values=drawn_sets(starting_sets()), off=st.floats(-4.0, 4.0))
@settings(max_examples=EXAMPLES, deadline=None)
def test_salvage_of_drawn_sets_is_as_promised(values: Values, off: float) -> None:
    try:
        made = design(parameter_set(values))
        found = salvage(made.given, exactly(f"{made.settled.thickness + off:.2f}"))
    except InputProblem:
        return
    require_promised("salvage --json", salvage_data(found))


def test_every_key_of_salvage_counts() -> None:
    require_every_key_counts("salvage --json", printed("salvage", "jack", "--thickness", "44.1", "--json"))


def test_compare_is_as_promised() -> None:
    sets = [(name, load(name)) for name in shipped()] + [("full", full()), ("plain", plain())]
    data = comparison_data(compare([*sets, ("no body", load("jack", ["body.thickness=20"]))], solids=False))
    require_promised("compare --json", data)
    assert data["variants"][-1]["problem"], "a set that is no body is among them"
    require_every_key_counts("compare --json", data)


def setups(made: Design) -> dict[str, Any]:
    return setups_data(plan_of_work(made.given, made.settled, made.layout), stamp_of(made, made.number_checks))


@pytest.mark.parametrize("name", [*shipped(), "full", "plain"])
def test_the_setups_are_as_promised(name: str) -> None:
    own = {"full": full_design, "plain": plain_design}
    require_promised("setups.json", setups(own[name]() if name in own else design(load(name))))


@drawn(values=drawn_sets(starting_sets()))
@settings(max_examples=EXAMPLES, deadline=None)
def test_the_setups_of_drawn_sets_are_as_promised(values: Values) -> None:
    try:
        found = setups(design(parameter_set(values)))
    except InputProblem:
        return
    require_promised("setups.json", found)


def test_every_key_of_the_setups_counts() -> None:
    require_every_key_counts("setups.json", setups(full_design()))


SWEPT = (
    ("--vary", "throat.opening=0.5 to 3 mm in 3"),
    ("--vary", "body.width=60 to 80 mm in 3"),
    ("--vary", "throat.opening=0.5 to 3 mm", "--random", "3"),
    ("--vary", "body.dowels.count=0 to 2 in 3", "--vary", "frog.bed_angle=44:46:2"),
)


@pytest.mark.parametrize("name", shipped())
def test_sweep_is_as_promised(name: str) -> None:
    for options in SWEPT:
        data = printed("sweep", name, *options, "--json")
        require_promised("sweep --json", data)
        assert [outcome for outcome in SWEPT_OUTCOMES if outcome not in data["columns"]] == []
        require_every_key_counts("sweep --json", data, free=("columns",))


def test_a_fact_that_was_renamed_is_no_other_key_outside() -> None:
    class Fact:
        def __init__(self, **named: object) -> None:
            self.__dict__.update(named)

    class Told(Promised):
        inside: float

    assert told(promised(Told, Fact(inside=1.0, beside=2.0))) == {"inside": 1.0}
    with pytest.raises(PromiseBroken, match="inside"):
        promised(Told, Fact(within=1.0))


@pytest.mark.parametrize("name", OUTPUTS)
def test_every_schema_is_printed_and_is_one(name: str) -> None:
    shown = printed("schema", "--of", name)
    meta.validate(shown)
    assert shown == schema_of(name)
    assert shown["additionalProperties"] is False
    assert sorted(shown["required"]) == sorted(shown["properties"]), "every key is always there"
    assert [title for title, one in shown.get("$defs", {}).items() if not one.get("description")] == []


def test_no_number_of_a_report_shows_its_last_bit() -> None:
    rows = rows_of_extras(design(load("jack")), frozenset({"router"}))
    assert rows, "the router's cutter has checks of its own"
    checks = report(design(load("jack")), solids=False, extra_rows=rows)["checks"]
    numbers = [one[key] for one in checks for key in ("value", "limit", "margin") if isinstance(one[key], float)]
    assert [number for number in numbers if round(number, DECIMALS) != number] == []


def test_an_unknown_output_is_refused() -> None:
    with pytest.raises(InputProblem, match=r"report\.json"):
        schema_of("reprt.json")
