"""A minus that was forgotten: a reading below D or ahead of it, typed as if it lay above or behind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from planestock.models.body.layout import lay_out
from planestock.models.checks.refusals import broken_rules
from planestock.models.window.thickness import settle
from planestock.params.catalogue import catalogue
from planestock.params.files import changed
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem, Problem


def asking_for_the_minus(given: ParameterSet, problems: list[Problem]) -> list[Problem]:
    """Return the problems, each with the question for a minus where that would mend it."""
    return [_asking(given, problem) for problem in problems]


def _asking(given: ParameterSet, problem: Problem) -> Problem:
    for path in _signed(problem.path):
        reading = given.reading_at(path)
        if reading is not None and reading.exact > 0 and not reading.repeats:
            negative = replace(reading, exact=-reading.exact).text
            if _mended(given, f"{path}={negative}", problem.path):
                return replace(problem, remedy=f"did you mean {path} = {negative}? Else {problem.remedy}")
    return problem


def _signed(path: str) -> Iterator[str]:
    """Yield the readings at or in a path that may be negative."""
    numbered = ".".join("[]" if part.isdecimal() else part for part in path.split(".")).replace(".[]", "[]")
    for declared in catalogue():
        if declared.quantity is not None and declared.quantity.low < 0 and declared.quantity.dimension == "length":
            if declared.path == numbered:
                yield path
            elif declared.path.startswith(f"{numbered}."):
                yield f"{path}{declared.path.removeprefix(numbered)}"


def _mended(given: ParameterSet, change: str, path: str) -> bool:
    try:
        other = parameter_set(changed(given.model_dump(mode="json", exclude_none=True), [change]))
        return all(broken.path != path for broken in broken_rules(lay_out(other, settle(other).thickness)))
    except InputProblem:
        return False
