"""The declarations: bounds hold at both ends, the catalogue is complete, the digest tells values and not their spelling."""

from __future__ import annotations

import copy
import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from planestock.params.catalogue import Declaration, catalogue, declared, nearest_paths
from planestock.params.fields import Quantity, group_of
from planestock.params.files import changed, load, parsed, raw, rewritten, shipped, text_as_used, value_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.reading import Reading
from tests.support.full_set import FULL, PLAIN, full, plain

ROOT = Path(__file__).resolve().parents[2]
FIELDS = {each.path: each for each in catalogue()}
READINGS = [each for each in catalogue() if each.quantity is not None]


def group_holding(path: str) -> tuple[type[Any], str]:
    """Return the group that a declared path ends in, and the field's name there."""
    group: type[Any] = ParameterSet
    *steps, name = path.replace("[]", "").split(".")
    for step in steps:
        inner, _ = group_of(group.model_fields[step].annotation)
        assert inner is not None
        group = inner
    return group, name


def errors_at(declaration: Declaration, value: Fraction) -> list[Any]:
    """Give one value to one field and return what is said about that field alone."""
    group, name = group_holding(declaration.path)
    unit = declaration.quantity.unit if declaration.quantity else "mm"
    text = Reading(value, None, unit).text
    given: Any = [text] if declaration.path == "shop.chisels" else text
    try:
        group.model_validate({name: given}, context={"units": "mm"})
    except ValidationError as error:
        return [one for one in error.errors() if one["loc"][:1] == (name,)]
    return []


@pytest.mark.parametrize("declaration", READINGS, ids=lambda each: each.path)
def test_a_reading_is_held_to_its_declared_bounds_both_included(declaration: Declaration) -> None:
    assert declaration.quantity is not None
    low, high = (Fraction(str(bound)) for bound in (declaration.quantity.low, declaration.quantity.high))
    assert low < high
    assert not errors_at(declaration, low)
    assert not errors_at(declaration, high)
    for outside in (low - Fraction(1, 10**9), high + Fraction(1, 10**9)):
        (error,) = errors_at(declaration, outside)
        assert error["ctx"]["rule"] == declaration.quantity.rule()


def test_every_field_is_declared_with_title_and_a_sentence() -> None:
    for path, each in FIELDS.items():
        assert each.title, path
        assert each.title != path
        assert each.how.endswith("."), path
        assert each.how[0].isupper() or not each.how[0].isalpha(), path


def test_the_catalogue_names_every_path_once_and_each_can_be_found_again() -> None:
    paths = [each.path for each in catalogue()]
    assert len(paths) == len(set(paths))
    for path in paths:
        assert declared(path.replace("[]", ".0")) is FIELDS[path].field


def test_a_field_is_required_only_where_its_whole_group_is() -> None:
    assert FIELDS["iron.width"].required
    assert not FIELDS["adjuster.pin_low"].required
    assert not FIELDS["body.pad"].required
    needed = {path for path, each in FIELDS.items() if each.required}
    missing = problems_of({})
    assert {path.partition(".")[0] for path in needed} == {problem.path for problem in missing}


def problems_of(values: dict[str, Any]) -> Any:
    with pytest.raises(InputProblem) as refused:
        parameter_set(values)
    return refused.value.problems


def test_all_unknown_species_are_named_at_once_when_the_set_is_read() -> None:
    fields = ("wood.species", "wood.strip_species", "wood.pad_species", "wood.slip_species")
    found = problems_of(changed(PLAIN, [f"{field}=ebonite" for field in fields]))
    assert tuple(problem.path for problem in found) == fields


def test_a_set_cannot_be_changed_afterwards() -> None:
    given = plain()
    with pytest.raises(ValidationError):
        given.iron.width = given.iron.thickness


@pytest.mark.parametrize("name", sorted(shipped()))
def test_every_shipped_set_loads_and_says_that_it_is_invented(name: str) -> None:
    assert load(name).note.startswith("Invented example")


def test_the_digest_does_not_tell_how_a_value_was_written() -> None:
    inches = copy.deepcopy(PLAIN)
    inches["iron"]["width"] = "1-31/32 in"
    exact = changed(PLAIN, ["iron.width=50.00625 mm"])
    assert parameter_set(inches).digest == parameter_set(exact).digest
    assert plain("iron.width=50.0 mm").digest == plain().digest
    turned = dict(reversed(list(PLAIN.items())))
    assert parameter_set(turned).digest == plain().digest
    assert plain("iron.width=50").digest == plain("iron.width=50 mm").digest


def test_a_default_and_the_same_value_written_out_have_one_digest() -> None:
    """Wishes have no ± of their own; the seat's gap is 0.3 mm where it is left out."""
    assert plain("body.seat_gap=0.3").digest == plain().digest


def test_a_set_in_inches_is_the_same_set_in_millimetres() -> None:
    fore = load("fore")
    values = fore.model_dump(mode="json") | {"units": "in"}
    assert parameter_set(values).digest == fore.digest


@pytest.mark.parametrize(
    "change",
    ["name=Another", "iron.width=50.1", "iron.width=50 ± 0.02 mm", "iron.width=[49.9, 50.1]", "body.dowels.count=2",
     "body.edge=chamfer", "body.thickness=50.1", "body.thickness=from window", "wood.cut=quarter", "wood.dry={humidity=31}"],
)  # fmt: skip
def test_the_digest_changes_with_every_value(change: str) -> None:
    assert plain(change).digest != plain().digest


def test_the_digest_is_the_same_in_every_process() -> None:
    program = "from tests.support.full_set import plain; print(plain().digest)"
    for seed in ("1", "2"):
        environment = os.environ | {"PYTHONHASHSEED": seed}
        ran = subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=environment, capture_output=True, check=True)
        assert ran.stdout.decode().strip() == plain().digest


def test_what_a_set_gives_out_as_data_reads_back_as_the_same_set() -> None:
    for given in (plain(), full(), *(load(name) for name in shipped())):
        assert parameter_set(given.model_dump(mode="json")).digest == given.digest


def test_the_json_schema_describes_every_field() -> None:
    schema = ParameterSet.model_json_schema()
    for path, each in FIELDS.items():
        here: Any = schema
        for name in path.replace("[]", "").split("."):
            here = resolved(here, schema)["properties"][name]
        assert here["title"] == each.title
        assert here["description"] == each.how
        if isinstance(each.quantity, Quantity):
            facts = first_with(here, "x-unit", schema)
            assert (facts["x-minimum"], facts["x-maximum"], facts["x-unit"]) == (
                each.quantity.low,
                each.quantity.high,
                each.quantity.unit,
            )


def resolved(node: Any, schema: Any) -> Any:
    """Follow references, lists and choices of a JSON schema to the object they lead to."""
    while "properties" not in node:
        if "$ref" in node:
            node = schema["$defs"][node["$ref"].rpartition("/")[2]]
        elif "items" in node:
            node = node["items"]
        else:
            node = next(one for one in node.get("anyOf", node.get("allOf", [])) if one.get("type") != "null")
    return node


def first_with(node: Any, key: str, schema: Any) -> Any:
    if key in node:
        return node
    inner = [*node.get("anyOf", []), *([node["items"]] if "items" in node else [])]
    return next(found for one in inner if (found := first_with(one, key, schema)))


@pytest.mark.parametrize(
    ("path", "named"),
    [
        ("iron.widht", "iron.width"),
        ("throut.opening", "throat.opening"),
        ("opening", "throat.opening"),
        ("cap_iron.slot", "cap_iron.slot_to_edge"),
        ("casting.screws.1.lenght", "casting.screws.1.length"),
        ("casting.screws.1.lengths", "casting.screws.1.length"),
        ("wood.dri", "wood.dry"),
        ("body.dowels.cuont", "body.dowels.count"),
        ("iron.width.x", "iron.width is a single value"),
        ("iron.", "[iron] holds width, thickness, length, bevel_angle"),
        ("qqqqqq", "a set holds name, note, units, instrument, iron, cap_iron"),
    ],
)
def test_an_unknown_path_is_answered_with_the_nearest_full_ones(path: str, named: str) -> None:
    assert named in nearest_paths(path)


def test_changes_are_laid_over_a_copy_and_reach_into_lists() -> None:
    before = copy.deepcopy(FULL)
    values = changed(FULL, ["casting.screws.1.length=30", "throat.opening=1.5", "wood.dry.moisture=7", "name=a=b"])
    assert before == FULL
    assert values["casting"]["screws"][1]["length"] == 30
    assert values["throat"]["opening"] == 1.5
    assert values["wood"] == {"dry": {"moisture": 7}}
    assert values["name"] == "a=b"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("41.2", 41.2),
        ("4", 4),
        ("1-5/8 in", "1-5/8 in"),
        ('"41 mm"', "41 mm"),
        ("true", True),
        ("[1, 2]", [1, 2]),
        ("{ count = 4 }", {"count": 4}),
        ("from window", "from window"),
        ("", ""),
        ("51 # wide", "51 # wide"),
        ("51, 52", "51, 52"),
        ("51\nname = 'x'", "51\nname = 'x'"),
        ("[" * 3000, "[" * 3000),
    ],
)
def test_a_value_on_the_command_line_is_one_toml_value_or_plain_text(text: str, value: object) -> None:
    assert value_of(text) == value


def test_a_value_that_is_not_a_number_stays_one() -> None:
    assert str(value_of("nan")) == "nan"
    assert isinstance(value_of("nan"), float)


@pytest.mark.parametrize("name", sorted(shipped()))
def test_a_rewritten_text_keeps_its_comments_and_has_the_changes(name: str) -> None:
    changes = ["throat.opening=0.77", "shop.paper=A3", "note=changed"]
    text = rewritten(shipped()[name], changes)
    comments = [line for line in shipped()[name].splitlines() if line.startswith("#")]
    assert comments
    assert all(line in text.splitlines() for line in comments)
    assert parsed(text, name) == changed(raw(name), changes)


def test_a_text_as_used_reads_back_as_the_set_even_where_comments_are_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    given = load("jack", ["throat.opening=2.5"])
    kept = text_as_used(shipped()["jack"], ["throat.opening=2.5"], given)
    assert kept.startswith("#")
    assert parameter_set(parsed(kept, "kept")).digest == given.digest
    monkeypatch.setattr("planestock.params.files.rewritten", lambda text, _: text)
    plainly = text_as_used(shipped()["jack"], ["throat.opening=2.5"], given)
    assert "#" not in plainly
    assert parameter_set(parsed(plainly, "plain")).digest == given.digest


def test_a_default_is_of_the_type_that_reading_it_back_gives() -> None:
    # 15 and 15.0 are one value and two digests, and a set that is written and read again would be another set.
    floats = [one for one in catalogue() if one.field.annotation is float]
    assert floats
    for one in floats:
        assert one.required or isinstance(one.field.default, float), one.path
