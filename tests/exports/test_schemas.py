"""What leaves as JSON: every output is as its declared model and its printed schema say, whatever set it comes from."""

from __future__ import annotations

import contextlib
import copy
import io
import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from jsonschema_rs import Draft202012Validator, meta
from pydantic import ValidationError

from planestock.exports.building import rows_of_extras
from planestock.exports.command_line import main
from planestock.exports.files.plain_data import DECIMALS
from planestock.exports.files.promised import PromiseBroken, Promised, promised, told
from planestock.exports.report.data import report
from planestock.exports.salvage.data import as_data as salvage_data
from planestock.exports.schemas import OUTPUTS, model_of, schema_of
from planestock.exports.variants.compare_text import as_data as comparison_data
from planestock.models.design import Design, design
from planestock.models.salvage.judging import salvage
from planestock.models.variants.compare import compare
from planestock.params.files import load, shipped
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.reading import exactly, parse
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import Values, full, full_design, plain, plain_design

EXAMPLES = 25
"""Sets drawn; each takes some 30 ms."""


def printed(*arguments: str) -> Any:
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        main(arguments)
    return json.loads(said.getvalue())


def require_promised(name: str, data: Any) -> None:
    """Fail unless data is what an output of this name promises, in pydantic's eyes and in those of a second library."""
    model_of(name).model_validate_json(json.dumps(data))
    assert [error.message for error in Draft202012Validator(schema_of(name)).iter_errors(data)] == []
    assert in_order(data, told(promised(model_of(name), data))), "keys in the order declared"


def in_order(one: Any, other: Any) -> bool:
    return json.dumps(one) == json.dumps(other)


def objects(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of every object in plain data, the first of each list standing for all."""
    if isinstance(data, dict):
        yield path
        for key, inner in data.items():
            yield from objects(inner, (*path, key))
    elif isinstance(data, list) and data:
        yield from objects(data[0], (*path, 0))


def at(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def require_every_key_counts(name: str, data: Any, free: tuple[str, ...] = ()) -> None:
    """Fail unless each key that is taken away, and each that is added, is noticed. free: keys of objects that are open."""
    model = model_of(name)
    for path in objects(data):
        if set(path) & set(free):
            continue
        for key in at(data, path):
            changed = copy.deepcopy(data)
            del at(changed, path)[key]
            with pytest.raises(ValidationError):
                model.model_validate(changed)
        changed = copy.deepcopy(data)
        at(changed, path)["another_key"] = 1
        with pytest.raises(ValidationError):
            model.model_validate(changed)


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
