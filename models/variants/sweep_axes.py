"""What a sweep varies: one path with its values each, as a grid or at random, checked before any memory goes."""

from __future__ import annotations

import math
import re
import types
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

import numpy as np
import numpy.typing as npt
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from planestock.params.catalogue import declared, nearest_paths
from planestock.params.fields import Quantity, group_of, quantity_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem, refuse
from planestock.params.reading import LengthUnit, Reading, parse

Floats = npt.NDArray[np.float64]
Kind = Literal["mm", "deg", "count", "number"]

OPTION = "--vary"
"""Where a range comes from, for messages."""

MOST_ROWS = 1_000_000
"""Variants of one sweep; their table takes some 150 MB."""

EXAMPLE = 'for example --vary "cap_iron.setback=0.2 to 1.5 mm in 14"'
"""Shown beside a range that cannot be read."""

PLACES = 9
"""Decimals of a varied value: the same value then always gives the same set."""

LONGEST_POSITION = 4
"""Digits of a number of values that can be allowed at all."""


@dataclass(frozen=True)
class Axis:
    """One varied field: its path, what its values are in, the ends of its range, and how many values a grid takes."""

    path: str
    title: str
    kind: Kind
    low: float
    high: float
    count: int | None

    def values(self) -> Floats:
        """Return the grid's values, evenly spaced, both ends included. Shape (count,)."""
        assert self.count is not None, "a random sample has no grid"
        return np.round(np.linspace(self.low, self.high, self.count), PLACES)

    @property
    def label(self) -> str:
        """The field's name with its unit, for a picture."""
        unit = {"mm": ", mm", "deg": ", °"}.get(self.kind, "")
        return f"{self.title} ({self.path}){unit}"


def axes(texts: Sequence[str], units: LengthUnit, *, at_random: bool) -> tuple[Axis, ...]:
    """Return the axes written as PATH="FROM to TO in N" or PATH=FROM:TO:N (without N for a random sample).

    units: of bare lengths. Raises InputProblem for an unknown path, a field that cannot be varied, a reversed or empty
    range, a wrong unit, a count that is no number or too large, and a path given twice.
    """
    if not texts:
        raise refuse(OPTION, "nothing", "a sweep varies at least one value", EXAMPLE)
    found = tuple(_axis(text, units, at_random=at_random) for text in texts)
    paths = [axis.path for axis in found]
    for path in paths:
        if paths.count(path) > 1:
            raise refuse(OPTION, path, "is varied twice", "give each path one range")
    return found


def _axis(text: str, units: LengthUnit, *, at_random: bool) -> Axis:
    path, mark, span = (part.strip() for part in text.partition("="))
    if not mark or not path or not span:
        raise refuse(OPTION, text, 'must be PATH="FROM to TO in N"', EXAMPLE)
    field = declared(path)
    if field is None:
        raise refuse(path, span, "is not a field of a parameter set", nearest_paths(path))
    parts = _parts(span.strip("'") if span.count('"') == 1 else span.strip("\"'"))
    if len(parts) != (2 if at_random else 3):
        form = '"FROM to TO", without a count, in a random sample' if at_random else '"FROM to TO in N"'
        raise refuse(path, span, f"a range is written {form}", EXAMPLE)
    kind = _kind(path, field)
    low, high = (_value(path, part.strip("\"'"), field, kind, units) for part in parts[:2])
    if low >= high:
        raise refuse(path, span, "FROM must be less than TO", "turn the range round, or use --set for a single value")
    return Axis(path, field.title or path, kind, low, high, None if at_random else _count(path, parts[2], kind, low, high))


_WORDED = re.compile(r"(?P<low>.+?)\s+to\s+(?P<high>.+?)(?:\s+in\s+(?P<count>[^\s\"°±]+))?")
_ENDS_IN_UNIT = re.compile(r".*?\s*(?P<unit>mm|cm|inch|in|\"|deg|°)")


def _parts(span: str) -> list[str]:
    """Return FROM, TO and, where there is one, the count; a unit after TO alone is FROM's too, as people say it."""
    worded = _WORDED.fullmatch(span.strip())
    if worded is None:
        return [part.strip() for part in span.split(":")]
    low, high, count = worded["low"], worded["high"], worded["count"]
    unit = _ENDS_IN_UNIT.fullmatch(high)
    if unit and not _ENDS_IN_UNIT.fullmatch(low):
        low = f"{low} {unit['unit']}"
    return [low, high] if count is None else [low, high, count]


def _kind(path: str, field: FieldInfo) -> Kind:
    quantity = quantity_of(field)
    inside_list = path.rpartition(".")[2].isdecimal()
    if group_of(field.annotation)[0] is not None or (get_origin(field.annotation) is tuple and not inside_list):
        raise refuse(path, "a group", "holds several values", f"vary one of them, {EXAMPLE}")
    if quantity is not None:
        return "deg" if quantity.dimension == "angle" else "mm"
    number = _number_type(field.annotation)
    if number is None:
        raise refuse(path, "a text", "holds words, which have no range", "compare such variants with `planestock compare`")
    return "count" if number is int else "number"


def _number_type(annotation: Any) -> type | None:
    if annotation in (int, float):
        found: type = annotation
        return found
    if get_origin(annotation) in (Union, types.UnionType):
        return next((one for one in get_args(annotation) if one in (int, float)), None)
    return None


def _value(path: str, text: str, field: FieldInfo, kind: Kind, units: LengthUnit) -> float:
    if kind in ("mm", "deg"):
        quantity = quantity_of(field)
        assert quantity is not None, "lengths and angles are declared as quantities"
        return _reading(path, text, quantity, units)
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number) or (kind == "count" and number != round(number)):
        raise refuse(path, text, "must be a whole number" if kind == "count" else "must be a number", EXAMPLE)
    return number


def _reading(path: str, text: str, quantity: Quantity, units: LengthUnit) -> float:
    try:
        reading = parse(text, quantity.dimension, units)
    except PydanticCustomError as error:
        context = error.context or {}
        raise refuse(path, text, context.get("rule", "cannot be read"), context.get("remedy", EXAMPLE)) from None
    if not quantity.low <= reading.value <= quantity.high:
        raise refuse(path, text, quantity.rule(reading.unit), "keep the range within these bounds")
    if reading.limit is not None:
        raise refuse(path, text, "the ends of a range carry no ±", "every variant keeps the ± that the set has there")
    return round(reading.value, PLACES)


def _count(path: str, text: str, kind: Kind, low: float, high: float) -> int:
    """Return the number of values; nothing is made yet, so a number of any size is only text here."""
    if not text.isdecimal() or not text.isascii():
        raise refuse(path, text, "N must be a whole number", EXAMPLE)
    count = int(text) if len(text) <= len(str(MOST_ROWS)) else MOST_ROWS + 1
    if count < 2:
        raise refuse(path, text, "a range takes at least 2 values", "use --set for a single value")
    if count > MOST_ROWS:
        raise refuse(path, text, f"a sweep has at most {MOST_ROWS:,} variants", "ask for fewer values")
    if kind == "count" and (high - low) % (count - 1):
        steps = int(high - low) + 1
        raise refuse(path, text, f"does not divide {low:.0f} to {high:.0f} into whole numbers", f"ask for {steps} values")
    return count


def grid(found: Sequence[Axis], most: int = MOST_ROWS) -> dict[str, Floats]:
    """Return every combination of the axes' values by path, the last axis changing fastest. Shape (n,) each.

    Raises InputProblem, before anything is made, where there are more than `most`.
    """
    total = math.prod(axis.count or 0 for axis in found)
    if total > most:
        raise too_many(total, most)
    meshes = np.meshgrid(*(axis.values() for axis in found), indexing="ij")
    return {axis.path: mesh.reshape(-1) for axis, mesh in zip(found, meshes, strict=True)}


def random_sample(found: Sequence[Axis], size: int, seed: int, most: int = MOST_ROWS) -> dict[str, Floats]:
    """Return values drawn evenly from each range, by path. Shape (size,) each; the same seed gives the same values.

    Raises InputProblem, before anything is drawn, for a size below 1 or above `most`, or a negative seed.
    """
    if size < 1:
        raise refuse("--random", size, "must be at least 1", "for example --random 1000")
    if size > most:
        raise too_many(size, most)
    if seed < 0:
        raise refuse("--seed", seed, "must not be negative", "any whole number from 0 up")
    generator = np.random.Generator(np.random.PCG64(seed))
    drawn = {}
    for axis in found:
        if axis.kind == "count":
            drawn[axis.path] = generator.integers(int(axis.low), int(axis.high) + 1, size).astype(np.float64)
        else:
            drawn[axis.path] = np.round(generator.uniform(axis.low, axis.high, size), PLACES)
    return drawn


def too_many(total: int, most: int) -> InputProblem:
    """Return the refusal of a sweep that is too large."""
    remedy = "ask for fewer values, or take a sample with --random"
    return refuse(OPTION, f"{total:,} variants", f"at most {most:,} can be worked out in one sweep of these paths", remedy)


def value_text(given: ParameterSet, axis_path: str, value: float) -> str:
    """Return a varied value as a set takes it; a reading keeps the ± that the set has at that path."""
    field = declared(axis_path)
    quantity = quantity_of(field) if field else None
    number = f"{value:.{PLACES}f}".rstrip("0").rstrip(".")
    if quantity is None:
        return number
    limit = limit_written(given, axis_path)
    spread = "" if limit is None else f" ± {limit:.{PLACES}f}".rstrip("0").rstrip(".")
    return f"{number}{spread} {quantity.unit}"


def limit_written(given: ParameterSet, path: str) -> float | None:
    """Return the ± written in the set at a path, mm or degrees; None where none is written or nothing is there."""
    reading = reading_there(given, path)
    return None if reading is None or reading.limit is None else float(reading.limit)


def reading_there(given: ParameterSet, path: str) -> Reading | None:
    """Return the reading that the set has at a path, None where it or its group was left out or it is no reading."""
    here: Any = given
    for name in path.split("."):
        if isinstance(here, tuple):
            here = here[int(name)] if name.isdecimal() and int(name) < len(here) else None
        else:
            here = getattr(here, name, None)
    return here if isinstance(here, Reading) else None
