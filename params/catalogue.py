"""The catalogue of the declared fields of a parameter set: walking them, finding one by its path."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass

from pydantic.fields import FieldInfo

from planestock.params.fields import Group, Quantity, group_of, quantity_of
from planestock.params.parameter_set import ParameterSet


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
