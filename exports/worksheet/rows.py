"""Rows of the worksheet, made from the declared fields: title, how and with what to measure, box, value of a set."""

from __future__ import annotations

import types
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin

from planestock.exports.files.pdf import breakable, settable, shortened
from planestock.params.catalogue import Declaration, catalogue
from planestock.params.fields import Group, Quantity, group_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import FINEST_INCH_FRACTION, MILLIMETRES, LengthUnit, Reading
from planestock.params.tools import TOOLS, spoken

Row = dict[str, Any]
"""One row as the page takes it: plain texts, lists of texts and flags."""

DECIDING = frozenset(
    {
        "iron.thickness",
        "cap_iron.slot_to_edge",
        "cap_iron.setback",
        "adjuster.pin_low",
        "adjuster.pin_high",
        "adjuster.play",
        "bench.edge_low",
        "bench.edge_high",
        "frog.bed_angle",
    }
)
"""Readings that the window of thicknesses hangs on; their boxes have room for three readings."""

DECIMALS = {"mm": 3, "cm": 4, "in": 4, "deg": 3}
"""Decimals of a converted or averaged value; finer than any tool of a workshop reads."""

NO_READINGS = ("casting.outline", "casting.profile", "casting.tracing.")
"""Beginnings of paths that no one fills in on paper: drawings of the casting, and how they are read."""

NOTHING = "–"
"""Stands for an empty default: leaving the box empty then says that there is none."""

LONGEST_WORDS = 58
"""Characters of a word box, in two lines of small type."""

LONGEST_NOTE = 620
"""Characters of the set's note that the form repeats; the file has all of it."""

LONGEST_IN_COMPARTMENT = 7
"""Characters of a value that fits one of the three compartments of a box."""

SHOWN_REPEATS = 3
"""Repeated readings shown one by one, each in its compartment; of more, their mean is shown."""


@cache
def declarations() -> dict[str, Declaration]:
    """Return every declared field that a form asks for by its path, in the order of the bench."""
    return {each.path: each for each in catalogue() if not each.path.startswith(NO_READINGS)}


def rows(paths: Iterable[str], given: ParameterSet | None, units: LengthUnit | None) -> list[Row]:
    """Return a row for each declared path. units: to convert all lengths to; None leaves them as they were written."""
    return [row(declarations()[path], path, given, units) for path in paths]


def row(declared: Declaration, path: str, given: ParameterSet | None, units: LengthUnit | None) -> Row:
    """Return one row. path: the declared one, or with a place in the list instead of `[]`, as in `frog.screws.0.along`."""
    quantity = declared.quantity
    measured = quantity is not None and quantity.measured
    value = None if given is None else value_at(given, path)
    form: LengthUnit = units or (given.units if given else "mm")
    if value is not None and isinstance(value, Reading | tuple) and value == default_of(path):
        # No one wrote it: it has no unit of its own.
        units = form
    unit = _unit(quantity, value, form, units)
    return {
        "path": path,
        "title": declared.title,
        "how": declared.how,
        "with": _with(quantity, path, unit) if quantity is not None and measured else "",
        "unit": unit,
        "required": declared.field.is_required(),
        "decides": path in DECIDING,
        "measured": measured,
        "options": _options(declared.field.annotation),
        "values": [] if given is None else _values(value, path, units),
        "limit": _limit(value, given, unit, quantity) if given is not None and measured else "",
        "empty": "" if declared.field.is_required() else _default(path, form),
    }


def value_at(given: Group, path: str) -> Any:
    """Return what a set holds at a path, None where the group or the item is not there."""
    here: Any = given
    for name in path.split("."):
        if here is None:
            return None
        here = _item(here, int(name)) if isinstance(here, tuple) else getattr(here, name)
    return here


def _item(items: tuple[Any, ...], index: int) -> Any:
    return items[index] if index < len(items) else None


def count_at(given: ParameterSet | None, path: str) -> int:
    """Return how many items a set has in a list, 0 without a set."""
    return 0 if given is None else len(value_at(given, path))


def _unit(quantity: Quantity | None, value: Any, form: LengthUnit, units: LengthUnit | None) -> str:
    """Return the unit of a box: of the form, or that a reading was written in where nothing is converted."""
    if quantity is None:
        return ""
    if quantity.dimension == "angle":
        return "deg"
    return value.unit if isinstance(value, Reading) and units is None else form


def _with(quantity: Quantity, path: str, unit: str) -> str:
    """Return tool and precision in words."""
    limits = TOOLS[quantity.tool]
    both = limits.reads_closer if path in DECIDING else limits.reads_to
    return f"{spoken(quantity.tool)}, to {both[1 if unit == 'in' else 0]}"


def usual(cell: Row) -> str:
    """Return what an empty box for the ± of a tool stands for, in the unit of the box; "" for every other box."""
    head, _, name = cell["path"].rpartition(".")
    if head != "instrument":
        return ""
    return cell["empty"] if cell["empty"] != NOTHING else f"± of {'angles' if name == 'protractor' else 'lengths'}"


def _options(annotation: Any) -> list[str]:
    """Return the words a field chooses from, none for any other field."""
    if get_origin(annotation) is Literal:
        return [str(each) for each in get_args(annotation)]
    if get_origin(annotation) in (Union, types.UnionType):
        return [option for part in get_args(annotation) for option in _options(part)]
    return []


def _values(value: Any, path: str, units: LengthUnit | None) -> list[str]:
    """Return the texts of a box: one, or one for each repeated reading."""
    if value is None:
        return ["from window"] if path == "body.thickness" else []
    if isinstance(value, Reading):
        unit = _written_in(value, units)
        repeats = value.repeats if len(value.repeats) <= SHOWN_REPEATS else ()
        limit = None if value.limit is None else value.limit / scale(unit)
        return [number(each / scale(unit), unit, limit) for each in repeats or (value.exact,)]
    if isinstance(value, tuple):
        return [", ".join(_values(each, "", units)[0] for each in value)]
    if isinstance(value, float):
        return [f"{value:g}"]
    longest = LONGEST_NOTE if path == "note" else 300 if path == "name" else LONGEST_WORDS
    return [breakable(shortened(settable(str(value)), longest))]


def _limit(value: Any, given: ParameterSet, unit: str, quantity: Quantity | None) -> str:
    """Return the ± of a reading, in brackets where it is that of the tool it was read with; none for a default."""
    if not isinstance(value, Reading) or value.limit == 0:
        return ""
    if value.limit is not None:
        return number(value.limit / scale(unit), unit)
    return "" if quantity is None else f"({number(given.instrument.limit_of(quantity).exact / scale(unit), unit)})"


def _default(path: str, units: LengthUnit) -> str:
    """Return what stands when a box stays empty, in words; `NOTHING` where its absence means that there is none."""
    value = default_of(path)
    if path == "body.thickness":
        return "from window"
    if isinstance(value, Reading):
        unit = "deg" if value.unit == "deg" else units
        return f"{number(value.exact / scale(unit), unit)}{'°' if unit == 'deg' else f' {unit}'}"
    if isinstance(value, tuple):
        return f"{', '.join(number(each.exact / scale(units), units) for each in value)} {units}" if value else "none"
    if isinstance(value, float):
        return f"{value:g}"
    if value is None and (instead := _left_out(path, units)):
        return instead
    return NOTHING if value is None or value == "" else str(value)


def _left_out(path: str, units: LengthUnit) -> str:
    quantity = declarations()[path].quantity
    return quantity.left_out(units) if quantity is not None else ""


def default_of(path: str) -> Any:
    """Return the value a field takes when it is left out, that of a whole default group before the field's own."""
    group: type[Group] = ParameterSet
    value: Any = None
    for name in path.replace("[]", "").split("."):
        if name.isdecimal():
            continue
        field = group.model_fields[name]
        own = None if field.is_required() else field.get_default(call_default_factory=True)
        value = getattr(value, name) if isinstance(value, Group) else own
        group = group_of(field.annotation)[0] or group
    return value


def _written_in(reading: Reading, units: LengthUnit | None) -> str:
    return reading.unit if units is None or reading.unit == "deg" else units


def scale(unit: str) -> Fraction:
    """Return millimetres in a unit of length, 1 for degrees."""
    return MILLIMETRES.get(unit, Fraction(1))


def number(value: Fraction, unit: str, limit: Fraction | None = None) -> str:
    """Return a number for people: an inch fraction where it is one of a rule's, else a decimal with a true minus sign.

    limit: its ±; the number then has at least as many decimals.
    """
    bottom = value.denominator
    if unit == "in" and bottom > 1 and bottom <= FINEST_INCH_FRACTION and bottom & (bottom - 1) == 0:
        whole, top = divmod(abs(value.numerator), bottom)
        text = f"{whole}-{top}/{bottom}" if whole else f"{top}/{bottom}"
    else:
        text = _decimal(abs(value), DECIMALS[unit], limit)
    return f"−{text}" if value < 0 and text.strip("0.") else text


def _decimal(value: Fraction, most: int, limit: Fraction | None) -> str:
    """Return a decimal without needless zeros, but with as many decimals as its ± has."""
    text = f"{float(value):.{most}f}".rstrip("0")
    least = 0 if limit is None else len(f"{float(limit):.{most}f}".rstrip("0").partition(".")[2])
    whole, _, part = text.partition(".")
    part = part.ljust(least, "0")
    return f"{whole}.{part}" if part else whole
