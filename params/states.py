"""Readings belong to the state in which they were taken: a change of the metal leaves the old state beside its readings.

A field declared `same_as` another says in which state the other readings of its group were taken, and is seldom written:
what it would say is what the set says of the metal in use. So when that is changed, it is written down as it was before.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple

from pydantic_core import PydanticCustomError

from planestock.params.catalogue import catalogue
from planestock.params.reading import LengthUnit, parse


class Kept(NamedTuple):
    """One field of a state: group and name where it is kept, and the path of the field in use that it is the same as."""

    group: str
    name: str
    in_use: str


@cache
def kept_fields() -> tuple[Kept, ...]:
    """Return every field that keeps a state, in the order in which they are declared."""
    found = []
    for each in catalogue():
        if each.quantity is not None and each.quantity.measured and each.quantity.same_as:
            group, _, name = each.path.rpartition(".")
            found.append(Kept(group, name, each.quantity.same_as))
    return tuple(found)


def keep_states(before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Write into the raw values `after` each state that they do not say and that a change would take from `before`.

    Only where readings of that state were there before: a group without any has no state. A value that stays, with another ±
    or in another unit, is the same metal still.
    """
    units: LengthUnit = "in" if after.get("units") == "in" else "mm"
    for kept in kept_fields():
        old, new = _at(before, kept.group), _at(after, kept.group)
        was, now = _at(before, kept.in_use), _at(after, kept.in_use)
        if not isinstance(old, Mapping) or not isinstance(new, dict) or not _has_readings(old, kept.group):
            continue
        if new.get(kept.name) is None and was is not None and _value(was, units) != _value(now, units):
            new[kept.name] = _plain(was)


def drop_states_in_use(values: Mapping[str, Any]) -> None:
    """Take out of raw values each state that is written as the one in use is: it says nothing."""
    for kept in kept_fields():
        group = _at(values, kept.group)
        if isinstance(group, dict) and group.get(kept.name) is not None and group[kept.name] == _at(values, kept.in_use):
            del group[kept.name]


def _value(raw: Any, units: LengthUnit) -> Any:
    """Return the value of a reading as it was written; what is no reading stands for itself."""
    try:
        return parse(raw, "length", units).exact
    except PydanticCustomError:
        return raw


def _has_readings(group: Mapping[str, Any], path: str) -> bool:
    """Tell whether a group holds a reading besides those that say its state."""
    states = {kept.name for kept in kept_fields() if kept.group == path}
    return any(value is not None and name not in states for name, value in group.items())


def _at(values: Mapping[str, Any], path: str) -> Any:
    here: Any = values
    for name in path.split("."):
        here = here.get(name) if isinstance(here, Mapping) else None
    return here


def _plain(value: Any) -> Any:
    """Return a value without the comment that stood beside it in its file."""
    return value.unwrap() if hasattr(value, "unwrap") else value
