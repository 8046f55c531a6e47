"""The parameter set: everything that was measured and is wanted, for one plane; and the catalogue of its fields."""

from __future__ import annotations

import difflib
import hashlib
import json
import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import Field, ValidationError
from pydantic.fields import FieldInfo

from planestock.params.consistency import contradictions
from planestock.params.fields import Group, Quantity
from planestock.params.lengths import Lengths
from planestock.params.metal import Adjuster, Bench, CapIron, Casting, Frog, Iron, Knob, Tote
from planestock.params.problems import NOTHING, InputProblem, Problem, shown
from planestock.params.reading import LengthUnit, Reading
from planestock.params.wanted import Body, Instrument, OldBody, Shop, Throat, Wood, Work


class ParameterSet(Group):
    """One plane. Make it with `parameter_set`, which also holds it to the rules between fields."""

    name: str = Field(min_length=1, max_length=300, title="Name", description="Any name for this plane.")
    note: str = Field(default="", max_length=5000, title="Note", description="Anything worth remembering about it.")
    units: Literal["mm", "in"] = Field(
        default="mm", title="Units", description="Unit of lengths written without one: mm or in."
    )
    instrument: Instrument = Field(default=Instrument(), title="Instrument", description="± of readings that carry none.")
    iron: Iron = Field(title="Iron", description="The cutting iron.")
    cap_iron: CapIron = Field(title="Cap iron", description="The cap iron, screwed to the iron.")
    adjuster: Adjuster | None = Field(
        default=None,
        title="Adjuster",
        description="Travel of the adjuster; leave it out when only the bench method is used.",
    )
    bench: Bench | None = Field(
        default=None, title="Bench method", description="Metal bolted together without the wood; the better road."
    )
    frog: Frog = Field(title="Frog", description="The frog and its foot in the bed.")
    casting: Casting = Field(title="Casting", description="The casting screwed on top.")
    tote: Tote | None = Field(default=None, title="Tote", description="The handle; leave it out where there is none.")
    knob: Knob | None = Field(default=None, title="Knob", description="The front knob; leave it out where there is none.")
    old_body: OldBody | None = Field(default=None, title="Old body", description="What is left of the old body.")
    body: Body = Field(title="Body", description="The body to be made.")
    throat: Throat = Field(title="Throat", description="Mouth, wear and breast.")
    wood: Wood = Field(default=Wood(), title="Wood", description="Species and seasons.")
    work: Work = Field(default=Work(), title="Work", description="What the plane is to do.")
    shop: Shop = Field(default=Shop(), title="Shop", description="What the shop has.")

    @property
    def lengths(self) -> Lengths:
        """How lengths are written for who made this set: in its own unit."""
        return Lengths(self.units)

    @property
    def digest(self) -> str:
        """Hexadecimal SHA-256 over all values as exact fractions; the same for the same set, however it was written."""
        text = json.dumps(_canonical(self), sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(text.encode()).hexdigest()


def _canonical(value: Any, *, measured: bool = False) -> Any:
    """Return a value as plain JSON with readings as exact fractions, whatever unit they were written in.

    A reading that is only wanted has no error until one is written: no ± and a ± of 0 are the same there. A reading that
    another one or an assumption stands for is left out where it was not written.
    """
    if isinstance(value, Reading):
        limit = value.limit if measured else value.limit or 0
        return [str(value.exact), str(limit), [str(one) for one in value.repeats]]
    if isinstance(value, Group):
        fields = type(value).model_fields
        return {
            name: _canonical(inner, measured=_is_measured(fields[name]))
            for name in fields
            if (inner := getattr(value, name)) is not None or not _is_stood_for(fields[name])
        }
    return [_canonical(one, measured=measured) for one in value] if isinstance(value, tuple) else value


def _is_measured(field: FieldInfo) -> bool:
    quantity = quantity_of(field)
    return quantity is not None and quantity.measured


def _is_stood_for(field: FieldInfo) -> bool:
    quantity = quantity_of(field)
    return quantity is not None and (quantity.same_as != "" or quantity.assumed is not None)


def parameter_set(raw: Mapping[str, Any]) -> ParameterSet:
    """Validate a mapping as read from TOML. Raises InputProblem with every broken rule, fields before contradictions."""
    units: LengthUnit = "in" if raw.get("units") == "in" else "mm"
    try:
        made = ParameterSet.model_validate(raw, context={"units": units})
    except ValidationError as error:
        problems = [_problem(one) for one in error.errors(include_url=False)]
        raise InputProblem(_of_the_other_unit(raw, units, problems) or problems) from None
    found = contradictions(made)
    if found:
        raise InputProblem(found)
    return made


FEWEST_OF_THE_OTHER_UNIT = 5
"""Broken rules from which on numbers in the old unit are a likelier cause than as many slips of the pen."""


def _of_the_other_unit(raw: Mapping[str, Any], units: LengthUnit, problems: list[Problem]) -> list[Problem]:
    """Return one problem for a set whose unit was changed and whose bare numbers were not; none where that is no cause."""
    if len(problems) < FEWEST_OF_THE_OTHER_UNIT:
        return []
    other: LengthUnit = "mm" if units == "in" else "in"
    left = 0
    try:
        ParameterSet.model_validate(raw, context={"units": other})
    except ValidationError as error:
        left = error.error_count()
    if 4 * left > len(problems):
        return []
    names = {"mm": "millimetres", "in": "inches"}
    rule = f"the bare numbers are still in {names[other]}: as {names[units]} {len(problems)} of them do not fit their fields"
    remedy = f'write units = "{other}" again, or write each length with its unit, such as "41.2 mm" or "1-5/8 in"'
    return [Problem("units", f'"{units}"', rule, remedy)]


@dataclass(frozen=True)
class Declaration:
    """One field of a parameter set as it was declared.

    path: dotted, `[]` after a list; quantity: bounds of a reading, None for words and counts; default: None where there
    is none or where leaving it out has a meaning of its own.
    """

    path: str
    group: str
    field: FieldInfo
    quantity: Quantity | None
    required: bool

    @property
    def title(self) -> str:
        """Short name for people."""
        return self.field.title or self.path

    @property
    def how(self) -> str:
        """How to measure it, or what to choose, in one sentence."""
        return self.field.description or ""


def catalogue() -> Iterator[Declaration]:
    """Yield every declared field, in the order of the bench: metal first, then what is wanted."""
    yield from _walk(ParameterSet, "", "", required=True)


def _walk(group: type[Group], path: str, title: str, *, required: bool) -> Iterator[Declaration]:
    for name, field in group.model_fields.items():
        here = f"{path}{name}"
        inner, many = group_of(field.annotation)
        if inner is None:
            needed = required and field.is_required()
            yield Declaration(here, title, field, quantity_of(field), needed)
        else:
            suffix = "[]." if many else "."
            yield from _walk(inner, here + suffix, field.title or name, required=required and field.is_required())


def group_of(annotation: Any) -> tuple[type[Group] | None, bool]:
    """Return the group of parameters that a field's annotation holds, if any, and whether it is a list of them."""
    if isinstance(annotation, type) and issubclass(annotation, Group):
        return annotation, False
    many = get_origin(annotation) is tuple
    if many or get_origin(annotation) in (Union, types.UnionType):
        for part in get_args(annotation):
            inner, _ = group_of(part)
            if inner is not None:
                return inner, many
    return None, False


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Return the bounds of the reading a field holds, wherever its annotation carries them."""
    return _quantity_in([*field.metadata, field.annotation])


def _quantity_in(parts: list[Any]) -> Quantity | None:
    for part in parts:
        if isinstance(part, Quantity):
            return part
        found = _quantity_in([*getattr(part, "__metadata__", ()), *get_args(part)])
        if found is not None:
            return found
    return None


def declaration(path: tuple[str | int, ...]) -> FieldInfo | None:
    """Return the declared field at a path of names and list positions, None where there is none."""
    group: type[Group] | None = ParameterSet
    field: FieldInfo | None = None
    for name in path:
        if isinstance(name, int):
            continue
        field = None if group is None else group.model_fields.get(name)
        if field is None:
            return None
        group = group_of(field.annotation)[0]
    return field


def declared(dotted: str) -> FieldInfo | None:
    """Return the declared field at a dotted path such as casting.screws.0.length, None where there is none."""
    names = dotted.split(".")
    return None if names[0].isdecimal() else declaration(tuple(0 if name.isdecimal() else name for name in names))


def _problem(error: Any) -> Problem:
    """Turn one pydantic error into a problem in the maker's words."""
    path = tuple(part for part in error["loc"] if not _is_branch(part))
    dotted = ".".join(str(part) for part in path) or "the set"
    given = shown(error["input"])
    context = error.get("ctx", {})
    field = declaration(path)
    how = (field.description if field else None) or "see `planestock schema`"
    if error["type"] == "missing":
        remedy = f"add a section [{dotted}]" if field and group_of(field.annotation)[0] else how
        return Problem(dotted, NOTHING, "is required and was not given", remedy)
    if error["type"] == "extra_forbidden":
        return Problem(dotted, given, "is not a field of a parameter set", nearest_paths(dotted))
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


def nearest_paths(dotted: str) -> str:
    """Return a remedy that names the declared paths nearest to one that is not declared.

    Within the group where the path goes wrong first; else by the whole path, or by its last name anywhere.
    """
    names = dotted.split(".")
    good = next(count for count in range(len(names), -1, -1) if count == 0 or declared(".".join(names[:count])))
    inside = ".".join(names[:good])
    field = declared(inside) if inside else None
    if field and group_of(field.annotation)[0] is None:
        return f"{inside} is a single value, nothing is inside it"
    known = [_numbered(each, names) for each in _all_paths()]
    group = [each for each in known if each.startswith(f"{inside}.")] if inside else known
    close = difflib.get_close_matches(dotted, group, n=MOST_GUESSES, cutoff=LIKENESS)
    same_name = [each for each in known if each.rpartition(".")[2] == names[-1]]
    found = list(dict.fromkeys([*same_name, *close] if good == 0 else [*close, *same_name]))[:MOST_GUESSES]
    if found:
        return f"did you mean {' or '.join(found)}?"
    direct = [each for each in group if each.count(".") == inside.count(".") + 1] if inside else []
    if direct:
        return f"[{inside}] holds {', '.join(each.rpartition('.')[2] for each in direct)}"
    return f"a set holds {', '.join(ParameterSet.model_fields)}"


MOST_GUESSES = 3
"""Paths that a message about an unknown one suggests."""

LIKENESS = 0.75
"""Least likeness (difflib ratio) of a suggested path: whole paths share much, so that it takes more than for a name."""


def _all_paths() -> Iterator[str]:
    """Yield every declared path, groups before their fields."""
    seen: set[str] = set()
    for each in catalogue():
        names = each.path.split(".")
        for count in range(1, len(names) + 1):
            path = ".".join(names[:count]).removesuffix("[]")
            if path not in seen:
                seen.add(path)
                yield ".".join(names[:count])


def _numbered(path: str, names: list[str]) -> str:
    """Return a declared path with the positions that the given one has, 0 where it has none."""
    positions = iter([name for name in names if name.isdecimal()])
    head, *rest = path.split("[]")
    return head + "".join(f".{next(positions, '0')}{part}" if part else "" for part in rest)
