"""The set that `new` writes: every field explained, every value read back, nothing invented where nothing was measured."""

from __future__ import annotations

import textwrap
import tomllib

import pytest

from planestock.params.catalogue import catalogue
from planestock.params.files import load, parsed, shipped
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.template import WIDEST_LINE, template
from planestock.params.tools import TOOLS, spoken
from tests.support.full_set import full, plain

SETS = {**{name: load(name) for name in shipped()}, "plain": plain(), "full": full()}


def renamed(given: ParameterSet, name: str) -> ParameterSet:
    return given.model_copy(update={"name": name, "note": ""})


def comments(text: str) -> str:
    """All comment lines as one running text."""
    lines = [line.removeprefix("#").strip() for line in text.splitlines() if line.startswith("#")]
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("name", SETS)
def test_the_text_reads_back_as_the_same_values_under_the_new_name(name: str) -> None:
    text = template(SETS[name], "A plane of mine")
    assert parameter_set(parsed(text, name)).digest == renamed(SETS[name], "A plane of mine").digest


@pytest.mark.parametrize(
    "change",
    [
        "iron.width=[50.1, 50, 50.3]",
        "iron.width=1-31/32 in",
        "iron.width=50.123456789 ± 0.001 mm",
        "wood.dry={moisture = 7}",
    ],
)
def test_readings_of_every_kind_survive(change: str) -> None:
    given = full(change)
    assert parameter_set(parsed(template(given, "x"), "x")).digest == renamed(given, "x").digest


@pytest.mark.parametrize("name", ['"', "\\", "a = b", "# hash", "ü 木", "line\nbreak", "'''", "[table]"])
def test_any_name_is_written_so_that_it_reads_back(name: str) -> None:
    assert tomllib.loads(template(plain(), name))["name"] == name


@pytest.mark.parametrize("empty", [False, True])
def test_every_field_is_explained_with_its_sentence_and_bounds(empty: bool) -> None:
    told = comments(template(full(), "x", empty=empty))
    for each in catalogue():
        sentence = " ".join(each.how.split())
        assert sentence[1:] in told, each.path
        if each.quantity is not None:
            assert f"{each.quantity.low:g} to {each.quantity.high:g} {each.quantity.unit}" in told
            assert spoken(each.quantity.tool) in told or not each.quantity.measured


def test_a_set_in_inches_is_explained_in_inches_and_written_in_fractions() -> None:
    text = template(load("fore"), "x")
    assert "[caliper; 0.787 to 4.33 in]" in text  # Iron width: 20 to 110 mm.
    assert 'width = "2-3/8 in"' in text


def test_groups_that_are_not_given_are_there_as_comments_to_be_filled_in() -> None:
    text = template(load("jack"), "x")
    lines = text.splitlines()
    start = lines.index("# [bench]")
    assert "# edge_low =" in lines[start:]
    assert "bench" not in tomllib.loads(text)


def test_what_was_not_measured_is_left_as_its_default_in_a_comment() -> None:
    text = template(full(), "x")
    assert "tail_length = 76" in text.splitlines()
    assert "# tail_length = 0" in template(plain(), "x").splitlines()
    assert "  { along = -18, across = 13, diameter = 3.5, depth = 16 }," in text.splitlines()
    assert "  { along = -36, across = 0, diameter = 3.5, depth = 12, tilt = 4 }," in text.splitlines()


def test_an_empty_set_holds_nothing_that_has_to_be_measured_and_says_what_is_missing() -> None:
    text = template(full(), "x", empty=True)
    values = tomllib.loads(text)
    for each in catalogue():
        if each.quantity is None or not each.quantity.measured or "[]" in each.path:
            continue
        here: object = values
        for step in each.path.split("."):
            here = here.get(step) if isinstance(here, dict) else None
        assert here is None, each.path
    with pytest.raises(InputProblem) as refused:
        parameter_set(values)
    missing = {problem.path for problem in refused.value.problems if problem.value == "nothing"}
    measured = {each.path for each in catalogue() if each.required and each.quantity and each.quantity.measured}
    assert missing == measured


def test_an_empty_set_is_complete_once_its_gaps_are_filled() -> None:
    given = plain()
    full_lines = dict(sectioned(template(given, "x")))
    text = "\n".join(full_lines.get(key, line) for key, line in sectioned(template(given, "x", empty=True)))
    assert parameter_set(tomllib.loads(text)).digest == renamed(given, "x").digest


def sectioned(text: str) -> list[tuple[str, str]]:
    """Return the lines of a set with a key for each: its section and the name it gives, whether it is a comment or not."""
    found, section = [], ""
    for line in text.splitlines():
        bare = line.removeprefix("# ")
        name = bare.partition(" =")[0]
        if bare.startswith("[") and bare.endswith("]"):
            section = name = bare
        found.append((f"{section} {name}", line))
    return found


def test_no_comment_line_is_wider_than_a_page() -> None:
    lines = template(full(), "x").splitlines()
    assert max(len(line) for line in lines if line.startswith("#")) <= WIDEST_LINE


def test_the_introduction_explains_readings_and_the_corner() -> None:
    told = comments(template(plain(), "x"))
    for said in ("41.20 ± 0.05 mm", "1-5/8 in", "[41.2, 41.3, 41.2]", "The corner D", "planestock check FILE"):
        assert said in told


def test_comments_are_wrapped_between_words() -> None:
    text = template(plain(), "x")
    assert textwrap.dedent(text) == text
    assert not any(line != line.rstrip() for line in text.splitlines())


@pytest.mark.parametrize(("name", "of_micrometer"), [("jack", 0.02), ("fore", 0.0254)])
def test_an_empty_set_gives_every_tool_its_usual_limit(name: str, of_micrometer: float) -> None:
    limits = tomllib.loads(template(load(name), "x", empty=True))["instrument"]
    assert set(limits) == {"length", "angle", *TOOLS}
    made = load(name, [f"instrument.{tool}={value}" for tool, value in limits.items()]).instrument
    assert made.micrometer is not None
    assert made.micrometer.value == pytest.approx(of_micrometer)
    for tool, each in TOOLS.items():
        assert each.best <= getattr(made, tool).value, tool
