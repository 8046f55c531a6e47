"""The values of a set as a list for people: in the order of the bench, by group, each with its path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from planestock.params.fields import Group
from planestock.params.lengths import Lengths
from planestock.params.outlines.path_text import SHAPES, in_words
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import Reading
from planestock.params.wanted import FROM_WINDOW

LEFT_OUT = ("name", "note")
"""Texts that stand at the head of a page and not among its values."""


@dataclass(frozen=True)
class SetValue:
    """One value as it is written in a set. path: dotted, as `--set` takes it; title: the field's name for people."""

    path: str
    title: str
    text: str


@dataclass(frozen=True)
class ValueGroup:
    """Values that belong together, such as those of the iron."""

    title: str
    values: tuple[SetValue, ...]


def value_groups(given: ParameterSet) -> Iterator[ValueGroup]:
    """Yield the groups of a set that hold a value, the set's own plain values first; what was left out is left out here."""
    own = tuple(value for value in _plain_values(given, "", given.lengths) if value.path not in LEFT_OUT)
    yield ValueGroup("Set", own)
    for name, field in type(given).model_fields.items():
        inner = getattr(given, name)
        if isinstance(inner, Group):
            yield from _groups(inner, f"{name}.", field.title or name, given.lengths)


def _groups(group: Group, path: str, title: str, length: Lengths) -> Iterator[ValueGroup]:
    values = tuple(_plain_values(group, path, length))
    if values:
        yield ValueGroup(title, values)
    for name, field in type(group).model_fields.items():
        inner = getattr(group, name)
        called = field.title or name
        if isinstance(inner, Group):
            yield from _groups(inner, f"{path}{name}.", called, length)
        elif isinstance(inner, tuple):
            for number, one in enumerate(inner):
                if isinstance(one, Group):
                    yield from _groups(one, f"{path}{name}.{number}.", f"{called}, {number + 1}", length)


def _plain_values(group: Group, path: str, length: Lengths) -> Iterator[SetValue]:
    for name, field in type(group).model_fields.items():
        written = _written(getattr(group, name), f"{path}{name}", length)
        if written is not None:
            yield SetValue(f"{path}{name}", field.title or name, written)


def _written(value: Any, path: str, length: Lengths) -> str | None:
    """Return one value as text, None where it is a group or was left out."""
    if isinstance(value, Reading):
        return _reading(value, length)
    if value is None:
        return FROM_WINDOW if path == "body.thickness" else None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if path in SHAPES:
        return in_words(value, length)
    if isinstance(value, str | int):
        return str(value)
    return f"{value:g}" if isinstance(value, float) else None


def _reading(value: Reading, length: Lengths) -> str:
    """Return a reading as it was written; in a set in inches a length in mm, as defaults are, has its inches before it."""
    if value.unit in ("mm", "cm") and length.units == "in":
        return f"{length(value.value)} ({value.shown})"
    return value.shown
