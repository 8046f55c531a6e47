"""The form as data, made from the declarations: groups in bench order, each field with all that is needed to fill it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, get_args

from pydantic.fields import FieldInfo

from planestock.exports.app.fields import kind_of, shown_default
from planestock.params.fields import Group, Quantity, group_of, quantity_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import known_species
from planestock.params.tools import spoken
from planestock.params.wanted import FROM_WINDOW

Entry = dict[str, Any]

ONLY_WITH = {"casting.tracing": ["casting.outline", "casting.profile"]}
"""Groups that the page shows only where one of some values is there."""

FIRST = ("", "The plane", "What it is called, and the unit of lengths that are written without one.")
"""Path, title and explanation of the group of the set's own single values."""


@cache
def form() -> list[Entry]:
    """Return the groups of the form, in the order in which they are declared; a group may hold groups."""
    own = [_field(name, field) for name, field in ParameterSet.model_fields.items() if group_of(field.annotation)[0] is None]
    path, title, how = FIRST
    first = {"path": path, "title": title, "how": how, "optional": False, "most": None, "fields": own, "groups": []}
    return [first | {"only_with": []}, *_groups(ParameterSet, "")]


def _groups(group: type[Group], path: str) -> Iterator[Entry]:
    for name, field in group.model_fields.items():
        inner, many = group_of(field.annotation)
        if inner is not None:
            yield _group(f"{path}{name}", inner, field, many=many)


def _group(path: str, inner: type[Group], field: FieldInfo, *, many: bool) -> Entry:
    """Return one group. optional: it may be left out; most: of a list, how many items it may have."""
    start = f"{path}.[]." if many else f"{path}."
    fields = [
        _field(f"{start}{name}", one) for name, one in inner.model_fields.items() if group_of(one.annotation)[0] is None
    ]
    return {
        "path": path,
        "title": field.title or path,
        "how": field.description or "",
        "optional": not many and not field.is_required() and field.default is None,
        "most": _bound(field, "max_length") if many else None,
        "only_with": ONLY_WITH.get(path, []),
        "fields": fields,
        "groups": [] if many else list(_groups(inner, f"{path}.")),
    }


def _field(path: str, field: FieldInfo) -> Entry:
    quantity, kind = quantity_of(field), kind_of(field)
    words = [FROM_WINDOW] if FROM_WINDOW in (field.description or "") else []
    usual = words[0] if words else shown_default(None if field.is_required() else field.default)
    return {
        "path": path,
        "title": field.title or path,
        "how": field.description or "",
        "kind": kind,
        "needed": field.is_required(),
        "default": usual or (quantity.left_out() if quantity else "") or None,
        "choices": [str(one) for one in get_args(field.annotation)] if kind == "choice" else [],
        "suggestions": list(known_species()) if path.endswith("species") else words,
        "long": _bound(field, "max_length") if kind == "text" else None,
        **_measuring(quantity),
        "bounds": _bounds(field, quantity),
    }


def _measuring(quantity: Quantity | None) -> Entry:
    if quantity is None:
        return {"dimension": None, "unit": None, "measured": False, "tool": None}
    return {
        "dimension": quantity.dimension,
        "unit": quantity.unit,
        "measured": quantity.measured,
        "tool": spoken(quantity.tool) if quantity.measured else None,
    }


def _bounds(field: FieldInfo, quantity: Quantity | None) -> dict[str, str]:
    """Return the bounds in words, by the set's unit; both the same where inches do not come into it."""
    if quantity is not None:
        metric = f"{quantity.low:g} to {quantity.high:g} {'°' if quantity.unit == 'deg' else quantity.unit}"
        inches = f"{_inches(quantity.low)} to {_inches(quantity.high)} in" if quantity.unit == "mm" else metric
        return {"mm": metric, "in": inches}
    low, high = _bound(field, "ge"), _bound(field, "le")
    text = "" if low is None or high is None else f"{low:g} to {high:g}"
    return {"mm": text, "in": text}


def _inches(millimetres: float) -> str:
    """Return a bound in inches to three digits, never with a power of ten."""
    text = f"{float(f'{millimetres / 25.4:.3g}'):.5f}"
    return text.rstrip("0").rstrip(".")


def _bound(field: FieldInfo, name: str) -> Any:
    return next((getattr(one, name) for one in field.metadata if hasattr(one, name)), None)
