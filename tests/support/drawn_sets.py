"""Parameter sets drawn at random within the declared bounds: most of them near a set that works, some anywhere at all."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from annotated_types import Ge, Le
from hypothesis import strategies as st
from pydantic.fields import FieldInfo

from planestock.params.catalogue import Declaration, catalogue
from planestock.params.fields import Group, Quantity, group_of, quantity_of
from planestock.params.files import load, shipped
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import known_species
from planestock.params.wanted import FROM_WINDOW
from tests.support.full_set import Values, full, plain, plain_values

MOST_CHANGES = 12
"""Values changed in one set; with more, hardly any is left that can be built."""

MOST_DRAWN_SCREWS = 3
"""Screws of one kind in a set drawn from scratch."""

Place = tuple[str | int, ...]


def starting_sets() -> list[Values]:
    """Return the sets that are varied: the shipped ones, the tests' own, and variants with every lamination."""
    laminated = full("body.centre_strip=6", "body.pad=12", "body.slip=5", "body.edge=chamfer")
    resting = full("casting.let_in=0", "body.heel_top=full", "body.centre_strip=3")
    sets = [*map(load, shipped()), plain(), full(), laminated, resting, full("body.pad=10"), full("body.slip=4")]
    return [plain_values(one) for one in sets]


@st.composite
def drawn_sets(draw: st.DrawFn, starts: list[Values]) -> Values:
    """Draw raw values of a set: one in fifteen from scratch, the others by changing some values of a starting set."""
    if draw(st.integers(0, 14)) == 14:
        return draw(from_scratch())
    values = copy.deepcopy(draw(st.sampled_from(starts)))
    for group in ("knob", "tote", "adjuster" if "bench" in values else "old_body"):
        if group in values and draw(st.integers(0, 7)) == 7:
            del values[group]
    fields = {declared.path: declared for declared in catalogue()}
    places = sorted(_places(values, fields), key=str)
    for _ in range(draw(st.integers(0, MOST_CHANGES))):
        place = draw(st.sampled_from(places))
        _lay(values, place, draw(_changed(_at(values, place), fields[_path(place)])))
    return values


def _places(values: Any, fields: dict[str, Declaration], here: Place = ()) -> Iterator[Place]:
    """Yield the place of every value that may be changed, those that the set leaves to their default too."""
    if isinstance(values, list):
        for index, one in enumerate(values):
            yield from _places(one, fields, (*here, index))
        return
    if not isinstance(values, dict):
        return
    for name, inner in values.items():
        place = (*here, name)
        if _path(place) in fields and not isinstance(inner, list):
            if name != "units" and (fields[_path(place)].quantity or _choices(fields[_path(place)].field) is not None):
                yield place
        else:
            yield from _places(inner, fields, place)


def _path(place: Place) -> str:
    return ".".join("[]" if isinstance(part, int) else part for part in place).replace(".[]", "[]")


def _at(values: Values, place: Place) -> Any:
    here: Any = values
    for part in place:
        here = here[part]
    return here


def _lay(values: Values, place: Place, value: Any) -> None:
    _at(values, place[:-1])[place[-1]] = value


def _changed(old: Any, declared: Declaration) -> st.SearchStrategy[Any]:
    """Draw a new value: usually near the old one, sometimes anywhere within the bounds."""
    if declared.quantity is None:
        choices = _choices(declared.field)
        return st.just(old) if choices is None else choices
    if not isinstance(old, int | float):
        return _anywhere(declared.quantity)
    near = _numbers(*_around(float(old), declared.quantity))
    return st.one_of(*[near] * 7, _anywhere(declared.quantity))


def _around(old: float, quantity: Quantity) -> tuple[float, float]:
    spread = max(0.25 * abs(old), 0.03 * (quantity.high - quantity.low))
    return max(quantity.low, old - spread), min(quantity.high, old + spread)


def _anywhere(quantity: Quantity) -> st.SearchStrategy[float]:
    """Draw a number anywhere within the bounds, at times at a bound or a thousandth of a hair inside it."""
    low, high = quantity.low, quantity.high
    return _numbers(low, high) | st.sampled_from([low, high, low + 1e-6, high - 1e-6, low + 0.05, high - 0.05])


def _numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Draw a number on a raster: whole millimetres make cuts touch, thousandths make slivers, both are wanted."""
    rasters = [_on_raster(low, high, steps) for steps in (1, 10, 100, 1000)]
    return st.one_of([raster for raster in rasters if raster is not None])


def _on_raster(low: float, high: float, steps: int) -> st.SearchStrategy[float] | None:
    first, last = math.ceil(round(low * steps, 6)), math.floor(round(high * steps, 6))
    return st.integers(first, last).map(lambda number: number / steps) if first <= last else None


def _choices(field: FieldInfo) -> st.SearchStrategy[Any] | None:
    """Return what may stand in a field that holds no reading; None where it is free text."""
    if get_origin(field.annotation) is Literal:
        return st.sampled_from(get_args(field.annotation))
    bounds = {type(rule): rule for rule in field.metadata}
    if Ge in bounds and Le in bounds:
        low, high = float(bounds[Ge].ge), float(bounds[Le].le)
        return st.integers(int(low), int(high)) if field.annotation is int else _numbers(low, high)
    return st.sampled_from(known_species()) if "species" in (field.title or "").lower() else None


def from_scratch() -> st.SearchStrategy[Values]:
    """Draw every value anywhere within its declared bounds; hardly any such set can be built."""
    return _group(ParameterSet).map(lambda values: {**values, "name": "Drawn", "units": "mm"})


def _group(group: type[Group]) -> st.SearchStrategy[Values]:
    needed: dict[str, st.SearchStrategy[Any]] = {}
    optional: dict[str, st.SearchStrategy[Any]] = {}
    for name, field in group.model_fields.items():
        value = _field(field)
        if value is not None:
            (needed if field.is_required() else optional)[name] = value
    return st.fixed_dictionaries(needed, optional=optional)


def _field(field: FieldInfo) -> st.SearchStrategy[Any] | None:
    inner, many = group_of(field.annotation)
    if inner is not None:
        return st.lists(_group(inner), max_size=MOST_DRAWN_SCREWS) if many else _group(inner)
    quantity = quantity_of(field)
    if quantity is None:
        return _choices(field)
    if get_origin(field.annotation) is tuple:
        return st.lists(_anywhere(quantity), max_size=MOST_DRAWN_SCREWS)
    return st.one_of(_anywhere(quantity), st.just(FROM_WINDOW)) if field.title == "Thickness" else _anywhere(quantity)


def in_inches(values: Values) -> Values:
    """Return the same set as one whose unit is the inch: its lengths are written out in mm, which changes none of them."""
    lengths = {one.path for one in catalogue() if one.quantity is not None and one.quantity.dimension == "length"}

    def written(here: Any, path: str) -> Any:
        if isinstance(here, dict):
            return {name: written(inner, f"{path}.{name}".removeprefix(".")) for name, inner in here.items()}
        if isinstance(here, list):
            return [written(inner, path if path in lengths else f"{path}[]") for inner in here]
        return f"{here!r} mm" if path in lengths and isinstance(here, int | float) else here

    return {**written(values, ""), "units": "in"}
