"""A new parameter set as commented TOML: each field with title, way to measure, tool and bounds, from the declarations."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from planestock.params.fields import Group, Quantity, group_of, quantity_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import Reading
from planestock.params.tools import spoken
from planestock.params.wanted import FROM_WINDOW, usual_limits

WIDEST_LINE = 100
"""Characters of a comment line."""

INTRODUCTION = """\
A parameter set for planestock: what was measured on the plane's metal, and what its new body should be.

A reading is written as 41.2, "41.20 ± 0.05 mm", "1-5/8 in", "45 ± 0.3 deg", or, taken several times, as \
[41.2, 41.3, 41.2]. A length with no unit is in `units`. ± is the limit you are sure of; where none is written, a measured \
value takes that of its tool in [instrument].

The corner D, from which the frog and the casting are measured, is where the frog's face (the bed) meets the underside of \
the casting (the seat plane). "Up the bed" is along the frog's face, positive away from the sole; on the casting, towards \
the heel is positive.

A line that begins with # is not read. Lines such as "# width = " are fields without a value: take the # away when you \
have one. What is left out has a default: common practice or our own choice, as planestock schema says of each group. See \
what is still missing or wrong with: planestock check FILE --numbers"""


def template(given: ParameterSet, name: str, *, empty: bool = False, read: Collection[str] | None = None) -> str:
    """Return the TOML text of a new set called `name`, commented, ready to be filled in.

    given: where the values come from. empty: leave out everything that is measured and has to be read off the new metal, and
    give each tool its usual ±. read: paths of what has been measured all the same; the tools' ± then are those given.
    The text reads back as the same values (`name` and `note` aside) unless `empty`.
    """
    usual = {"instrument": usual_limits(given.units)} if empty and read is None else {}
    started = given.model_copy(update={"name": name, "note": "", **usual})
    lines = [*_comment(INTRODUCTION), "", *_fields(started, "", _Style(given.units, empty=empty, read=read or ()))]
    return "\n".join(lines).rstrip() + "\n"


class _Style:
    """How values are written. units: of bare lengths; empty: measured values are left out, but for those at paths `read`."""

    def __init__(self, units: str, *, empty: bool, read: Collection[str] = ()) -> None:
        self.units = units
        self.empty = empty
        self.read = read

    def leaves_out(self, path: str) -> bool:
        """Tell whether what is measured at a path, or inside it, is left out."""
        return self.empty and not any(f"{one}.".startswith(f"{path}.") for one in self.read)


def _comment(text: str, hanging: str = "") -> Iterator[str]:
    """Yield a text as comment lines; a blank line stays one."""
    for line in text.splitlines():
        wrapped = textwrap.wrap(line, WIDEST_LINE - 2, subsequent_indent=hanging, break_on_hyphens=False)
        yield from (f"# {piece}" for piece in wrapped)
        if not wrapped:
            yield "#"


def _fields(group: Group | type[Group], path: str, style: _Style) -> Iterator[str]:
    """Yield the lines of a group: single values first, as TOML needs it, then the groups in it.

    A type instead of a group stands for one that is not given: all its lines are comments.
    """
    declared = (group if isinstance(group, type) else type(group)).model_fields
    inner = {name: group_of(field.annotation) for name, field in declared.items()}
    for name, field in declared.items():
        value = None if isinstance(group, type) else getattr(group, name)
        if inner[name][0] is None or inner[name][1]:
            yield from _single(f"{path}{name}", field, value, style, given=not isinstance(group, type))
    for name, field in declared.items():
        kind, many = inner[name]
        if kind is not None and not many:
            value = kind if isinstance(group, type) else getattr(group, name)
            yield from _group(f"{path}{name}", field, kind if value is None else value, style)


def _group(path: str, field: FieldInfo, value: Group | type[Group], style: _Style) -> Iterator[str]:
    absent = isinstance(value, type) or (style.leaves_out(path) and not field.is_required() and _is_measured(type(value)))
    yield ""
    yield from _comment(f"{field.title}: {_lowered(field.description or '')}")
    yield f"# [{path}]" if absent else f"[{path}]"
    kind = value if isinstance(value, type) else type(value)
    yield from _fields(kind if absent else value, f"{path}.", style)


def _is_measured(group: type[Group]) -> bool:
    """Tell whether a group describes something that is measured."""
    quantities = [quantity_of(field) for field in group.model_fields.values()]
    return any(quantity.measured for quantity in quantities if quantity)


def _single(path: str, field: FieldInfo, value: Any, style: _Style, *, given: bool) -> Iterator[str]:
    """Yield the comment and the line of a value or a list; a comment where there is no value to write."""
    name = path.rpartition(".")[2]
    yield from _comment(_explained(field, style), hanging="  ")
    kind, many = group_of(field.annotation)
    if kind is not None and many:
        yield from _comment_keys(kind, style)
        yield from _list_of_groups(name, value if given else None, style)
        return
    quantity = quantity_of(field)
    measured = (quantity is not None and quantity.measured) or _is_traced(field)
    blank = not given or (measured and style.leaves_out(path)) or _only_by_default(field, value)
    written = None if blank else _written(value, field, style)
    if written is not None:
        yield f"{name} = {written}"
    else:
        yield f"# {name} = {_default(field, style)}".rstrip()


def _is_traced(field: FieldInfo) -> bool:
    """Tell whether a field holds a traced shape, or the file of one."""
    return isinstance(field.json_schema_extra, dict) and "x-drawing" in field.json_schema_extra


def _default(field: FieldInfo, style: _Style) -> str:
    """Return what leaving a field out means, as it would be written; a default has no ± that anyone would write."""
    if field.is_required():
        return ""
    default = replace(field.default, limit=None) if isinstance(field.default, Reading) else field.default
    return _written(default, field, style) or ""


def _only_by_default(field: FieldInfo, value: Any) -> bool:
    """Tell whether a measured value is the one that leaving it out would give: nothing was measured there."""
    quantity = quantity_of(field)
    return not field.is_required() and quantity is not None and quantity.measured and value == field.default


def explained(field: FieldInfo, units: str, *, asked: bool = False) -> str:
    """Return title, how to measure, and in brackets tool, bounds or choices; lengths in `units`.

    asked: as a question, which has no use for it that a set may do without the field.
    """
    told = _explained(field, _Style(units, empty=False))
    return told.replace(f"; {NOT_NEEDED}]", "]") if asked else told


NOT_NEEDED = "may be left out"
"""Said of a field that has no default and stands for nothing where it is not written."""


def _explained(field: FieldInfo, style: _Style, *, titled: bool = True) -> str:
    """Return title, how to measure, and in brackets tool, bounds or choices."""
    quantity = quantity_of(field)
    kind, _ = group_of(field.annotation)
    facts = [] if kind else [*_bounds(quantity, style), *_choices(field)]
    if not field.is_required() and field.default is None and FROM_WINDOW not in (field.description or ""):
        instead = quantity.left_out("in" if style.units == "in" else "mm") if quantity else ""
        facts.append(f"left out: {instead}" if instead else NOT_NEEDED)
    bracket = f" [{'; '.join(facts)}]" if facts else ""
    title = f"{field.title}: " if titled else ""
    return f"{title}{_lowered(field.description or '')}{bracket}"


def _lowered(sentence: str) -> str:
    """Return a sentence as it goes on after a colon; a word in capitals or a single letter keeps its capital."""
    return sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() else sentence


def _bounds(quantity: Quantity | None, style: _Style) -> Iterator[str]:
    if quantity is None:
        return
    if quantity.measured:
        yield spoken(quantity.tool)
    if quantity.dimension == "length" and style.units == "in":
        low, high = (float(f"{bound / 25.4:.3g}") for bound in (quantity.low, quantity.high))
        yield f"{low:.5f}".rstrip("0").rstrip(".") + f" to {high:g} in"
    else:
        yield f"{quantity.low:g} to {quantity.high:g} {quantity.unit}"


def _choices(field: FieldInfo) -> Iterator[str]:
    """Yield what a field that is no reading may hold."""
    if get_origin(field.annotation) is Literal:
        yield " or ".join(f'"{choice}"' for choice in get_args(field.annotation))
    low = [each.ge for each in field.metadata if hasattr(each, "ge")]
    high = [each.le for each in field.metadata if hasattr(each, "le")]
    if low and high:
        whole = "whole number, " if field.annotation is int else ""
        yield f"{whole}{low[0]:g} to {high[0]:g}"


def _comment_keys(kind: type[Group], style: _Style) -> Iterator[str]:
    for name, field in kind.model_fields.items():
        yield from _comment(f"  {name}: {_explained(field, style, titled=False)}", hanging="    ")


def _list_of_groups(name: str, items: tuple[Group, ...] | None, style: _Style) -> Iterator[str]:
    if not items or style.empty:
        yield f"# {name} = []" if items is None or style.empty else f"{name} = []"
        return
    yield f"{name} = ["
    yield from (f"  {{ {', '.join(_pairs(item, style))} }}," for item in items)
    yield "]"


def _pairs(item: Group, style: _Style) -> Iterator[str]:
    for name, field in type(item).model_fields.items():
        value = getattr(item, name)
        if not _only_by_default(field, value):
            yield f"{name} = {_written(value, field, style)}"


def _written(value: Any, field: FieldInfo, style: _Style) -> str | None:
    """Return a value as TOML, None where there is none to write."""
    import tomlkit

    plain = _plain(value, quantity_of(field), style)
    if plain is None:
        return f'"{FROM_WINDOW}"' if FROM_WINDOW in (field.description or "") else None
    return str(tomlkit.item(plain).as_string())


def _plain(value: Any, quantity: Quantity | None, style: _Style) -> Any:
    """Return a value as TOML has it: a reading as a bare number where that means the same, else as text."""
    if isinstance(value, tuple):
        return [_plain(one, quantity, style) for one in value]
    if not isinstance(value, Reading) or quantity is None:
        return value
    unmeant = value.limit == 0 and not quantity.measured
    reading = replace(value, limit=None) if unmeant else value
    bare_unit = style.units if quantity.dimension == "length" else "deg"
    if reading.repeats or reading.limit is not None or reading.unit != bare_unit or not _reads_well(reading):
        return reading.written
    text = reading.text.removesuffix(f" {bare_unit}")
    return float(text) if "." in text else int(text)


LONGEST_NUMBER = 8
"""Characters of a bare number; a longer one is left as the text that it was."""


def _reads_well(reading: Reading) -> bool:
    """Tell whether a reading is a short decimal in its unit; an inch fraction is written as one."""
    number = reading.text.partition(" ")[0]
    return "/" not in number and len(number) <= LONGEST_NUMBER and reading.text.endswith(f" {reading.unit}")
