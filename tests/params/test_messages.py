"""Messages about a set that cannot be used: what was meant, in the words and the unit of who wrote it."""

from __future__ import annotations

import pytest

from planestock.exports.wording.window import sole_life_sentence
from planestock.models.checks.reach import reach_checks
from planestock.models.design import design
from planestock.models.window.old_body import old_body_notes
from planestock.models.window.sole_life import SoleLife, Truing
from planestock.params.files import load, parsed
from planestock.params.lengths import Lengths
from planestock.params.parsing import parameter_set
from planestock.params.problems import NOTHING, InputProblem, Problem
from planestock.params.template import template


def refused(*changes: str, source: str = "jack") -> InputProblem:
    with pytest.raises(InputProblem) as caught:
        design(load(source, changes))
    return caught.value


@pytest.mark.parametrize(
    ("changes", "question"),
    [
        # The place is beyond the field's bounds, contradicts its neighbour, or lies above the body.
        (["casting.front=5/8 in"], "did you mean -5/8 in?"),
        (["frog.foot_low=30"], "did you mean -30 mm?"),
        (["frog.foot_low=5/8 in"], "did you mean -5/8 in?"),
        (["frog.foot_low=5/8 in", "frog.foot_high=40"], "did you mean frog.foot_low = -5/8 in?"),
    ],
)
def test_a_forgotten_minus_is_asked_for(changes: list[str], question: str) -> None:
    assert question in str(refused(*changes))


def test_no_minus_is_asked_for_where_it_would_mend_nothing() -> None:
    assert "did you mean" not in str(refused("iron.width=5"))
    assert "did you mean" not in str(refused("body.toe_to_mouth=90", "body.length=200"))


@pytest.mark.parametrize(("source", "units", "names"), [("jack", "in", "millimetres"), ("fore", "mm", "inches")])
def test_a_changed_unit_is_one_problem_and_says_that_the_numbers_were_not(source: str, units: str, names: str) -> None:
    given = load(source)
    values = parsed(template(given, "Mine"), "mine")
    assert values["units"] == given.units
    with pytest.raises(InputProblem) as caught:
        parameter_set(values | {"units": units})
    (problem,) = caught.value.problems
    assert problem.path == "units"
    assert f"the bare numbers are still in {names}" in problem.rule
    assert f'write units = "{"mm" if units == "in" else "in"}" again' in problem.remedy


def test_one_wrong_number_is_not_taken_for_another_unit() -> None:
    assert [problem.path for problem in refused("iron.width=2").problems] == ["iron.width"]


def test_what_was_not_given_has_no_value_in_its_message() -> None:
    assert str(Problem("iron.width", NOTHING, "is required and was not given", "Caliper across the iron.")) == (
        "iron.width: is required and was not given. Caliper across the iron."
    )
    assert str(Problem("iron.width", "5", "is too small", "measure it again")) == (
        "iron.width = 5: is too small; measure it again"
    )


def test_a_refusal_names_the_reading_as_it_was_written_and_what_follows_from_it() -> None:
    told = str(refused("iron.width=69"))
    assert "body.width = 72 mm: leaves a cheek of less than 1 mm beside the throat (" in told
    inches = str(refused("iron.width=3.2 in", source="fore"))
    assert "leaves a cheek of less than 0.039 in beside the throat" in inches
    assert " mm" not in inches


def test_a_new_body_that_is_thinner_than_the_old_wood_is_said_to_be_so() -> None:
    made = design(load("jack", ["old_body.thickness_mouth=45.5", "body.thickness=45.2"]))
    assert made.old_body is not None
    told = " ".join(old_body_notes(made.old_body, made.settled.thickness, Lengths("mm")))
    assert "it is 0.30 mm thicker than the new one" in told
    assert "−0" not in told


def test_one_truing_is_one() -> None:
    rows = tuple(Truing(count, 0.3 * count, 47.0, 1.0, 3.0, 1.0, 2.0, ()) for count in (0, 1))
    assert "takes 1 truing." in sole_life_sentence(SoleLife(rows, 1.0, 2.0, None, False), Lengths("mm"))
    made = design(load("jack", ["work.truings=1"]))
    asked = {row.id: row.asked for row in reach_checks(made.given, made.settled)}
    assert asked["mouth-after-truings"] == "The mouth after 1 truing"
    assert asked["wear-left"] == "The sole can surely be planed once"


def test_checks_name_a_hole_as_people_do() -> None:
    made = design(load("jack", ["body.thickness=44.1 ± 0.1 mm"]))
    asked = " ".join(row.asked for row in made.number_checks)
    assert "(frog screw 2)" in asked
    assert "frog.screws" not in asked
