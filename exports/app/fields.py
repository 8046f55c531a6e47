"""What kind of thing each declared field holds, and how a value is written into a form and read out of it."""

from __future__ import annotations

import re
import types
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from planestock.params.fields import quantity_of
from planestock.params.reading import Reading

Kind = Literal["reading", "readings", "choice", "count", "number", "text", "drawing"]

PLAIN_NUMBER = re.compile(r"[-+]?(?:0|[1-9]\d{0,20})(?:\.\d{1,20})?")
"""What is written into a set without quotes; everything else is a text, and the field's own rule judges it."""

DRAWING_MARK = "x-drawing"
"""Key by which a field's declaration says that it holds a traced shape or the file of one."""

BETWEEN_REPEATS = ";"
"""Stands between repeated readings of one quantity; a comma would be taken for a decimal comma."""


def kind_of(field: FieldInfo) -> Kind:
    """Return what a field holds: a reading, several, one of a few words, a count, a number, a text, a drawing.

    A drawing is a traced shape or the name of its file: shown in words, and taken out, but not typed.
    """
    if isinstance(field.json_schema_extra, dict) and DRAWING_MARK in field.json_schema_extra:
        return "drawing"
    if quantity_of(field) is not None:
        return "readings" if get_origin(field.annotation) is tuple else "reading"
    inner = _without_none(field.annotation)
    if get_origin(inner) is Literal:
        return "choice"
    return {int: "count", float: "number"}.get(inner, "text")  # type: ignore[return-value]


def _without_none(annotation: Any) -> Any:
    """Return what an annotation means where the field is given."""
    if get_origin(annotation) not in (Union, types.UnionType):
        return annotation
    return next(part for part in get_args(annotation) if part is not type(None))


def read_typed(kind: Kind, typed: str) -> Any:
    """Return what was typed as TOML has it: a plain number as a number, several readings as a list, the rest as text.

    A plain number keeps the form it was typed in (50.80 stays 50.80): it comes as a tomlkit item.
    """
    if kind in ("choice", "text", "drawing"):
        return typed
    text = typed.strip()
    if kind == "readings" or BETWEEN_REPEATS in text:
        return [_single(part.strip()) for part in text.split(BETWEEN_REPEATS) if part.strip()]
    return _single(text)


def _single(text: str) -> Any:
    import tomlkit

    return tomlkit.value(text.removeprefix("+")) if PLAIN_NUMBER.fullmatch(text) else text


def shown(value: object) -> str | None:
    """Return a raw value of a set as a form shows it, None for what no single line can hold."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return value
    if isinstance(value, int | float):
        return _plain(value)
    if isinstance(value, Sequence):
        parts = [shown(one) for one in value]
        if all(part is not None for part in parts):
            return f"{BETWEEN_REPEATS} ".join(str(part) for part in parts)
    return None


def _plain(value: float) -> str:
    """Return a number as it was typed where it comes from a document that remembers, else in its shortest form."""
    remembered = getattr(value, "as_string", None)
    return str(remembered()) if remembered else repr(value)


def shown_values(values: Mapping[str, Any], path: str = "") -> dict[str, str]:
    """Return every single value of a raw set as text, by dotted path; list items are numbered from 0."""
    found: dict[str, str] = {}
    for name, value in values.items():
        here = f"{path}{name}"
        if isinstance(value, Mapping):
            found |= shown_values(value, f"{here}.")
        elif _holds_groups(value):
            for index, one in enumerate(value):
                found |= shown_values(one, f"{here}.{index}.")
        else:
            text = shown(value)
            found |= {} if text is None else {here: text}
    return found


def _holds_groups(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)


def shown_default(value: Any) -> str | None:
    """Return a declared default as a form shows it; one that is exact shows no ±."""
    if isinstance(value, Reading):
        return (replace(value, limit=None) if value.limit == 0 else value).text
    if isinstance(value, tuple):
        return f"{BETWEEN_REPEATS} ".join(text for one in value if (text := shown_default(one)) is not None)
    return None if value is None else shown(value)
