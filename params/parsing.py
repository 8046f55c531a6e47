"""A mapping as read from TOML made a parameter set, and errors told in the maker's words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import TypeAdapter, ValidationError

from planestock.params.catalogue import declaration, declared, nearest_paths
from planestock.params.consistency import contradictions
from planestock.params.fields import group_of
from planestock.params.parameter_set import ParameterSet, _of_the_other_unit
from planestock.params.problems import NOTHING, InputProblem, Problem, path_shown, shown
from planestock.params.reading import LengthUnit


def parameter_set(raw: Mapping[str, Any]) -> ParameterSet:
    """Validate a mapping as read from TOML. Raises InputProblem with every broken rule, fields before contradictions."""
    units: LengthUnit = "in" if raw.get("units") == "in" else "mm"
    try:
        made = ParameterSet.model_validate(raw, context={"units": units})
    except ValidationError as error:
        found = error.errors(include_url=False)
        problems = [_problem(one, (), guessing=count < MOST_GUESSED) for count, one in enumerate(found)]
        raise InputProblem(_of_the_other_unit(raw, units, problems) or problems) from None
    broken = contradictions(made)
    if broken:
        raise InputProblem(broken)
    return made


def field_value(path: str, raw: Any, units: LengthUnit) -> Any:
    """Validate the value of a single declared field, as a set with these units would.

    Raises InputProblem, and ValueError for a path that is not declared.
    """
    field = declared(path)
    if field is None:
        raise ValueError(f"{path} is not a field of a parameter set")
    try:
        return TypeAdapter(field.rebuild_annotation()).validate_python(raw, context={"units": units})
    except ValidationError as error:
        raise InputProblem([_problem(one, tuple(path.split("."))) for one in error.errors(include_url=False)]) from None


MOST_GUESSED = 50
"""Unknown fields for which the nearest known one is looked for; no message lists more."""


def _problem(error: Any, where: tuple[str, ...], *, guessing: bool = True) -> Problem:
    """Turn one pydantic error into a problem in the maker's words.

    where: path of what was validated; guessing: name what an unknown field may be meant for.
    """
    path = (*where, *(part for part in error["loc"] if not _is_branch(part)))
    dotted = path_shown(".".join(str(part) for part in path)) if path else "the set"
    given = shown(error["input"])
    context = error.get("ctx", {})
    field = declaration(path)
    how = (field.description if field else None) or "see `planestock schema`"
    if error["type"] == "missing":
        remedy = f"add a section [{dotted}]" if field and group_of(field.annotation)[0] else how
        return Problem(dotted, NOTHING, "is required and was not given", remedy)
    if error["type"] == "extra_forbidden":
        return Problem(dotted, given, "is not a field of a parameter set", nearest_paths(dotted) if guessing else how)
    if error["type"] == "reading":
        return Problem(dotted, given, context["rule"], context["remedy"] or how)
    return Problem(dotted, given, _in_our_words(error), how)


_RULES = {
    "model_type": "must be a group of fields, not a single value",
    "tuple_type": "must be a list",
    "string_type": "must be a text in quotes",
    "string_too_short": "must not be empty",
    "string_unicode": "holds bytes that are no text",
    "finite_number": "must be a finite number",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "int_parsing_size": "is too large",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
}
"""Rules that pydantic words for programmers, by its error type."""


def _in_our_words(error: Any) -> str:
    known = _RULES.get(error["type"])
    if known:
        return known
    worded = str(error["msg"]).replace("Input should be", "must be").replace("should have", "must have")
    return worded[:1].lower() + worded[1:]


def _is_branch(part: str | int) -> bool:
    """Tell the labels that pydantic puts into a path for the branches of a union from the names of fields."""
    return isinstance(part, str) and ("[" in part or "(" in part or part in {"nullable", "str", "float", "none"})
