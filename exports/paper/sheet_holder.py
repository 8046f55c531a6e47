"""A page for whoever holds the metal, the tote or the knob elsewhere: just the readings that they must keep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planestock.exports.wording.said import Said, angle, as_read
from planestock.models.design import Design
from planestock.params.fields import Group
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import Reading

Rows = list[list[str]]

METAL = ("iron", "cap_iron", "adjuster", "bench", "frog", "casting")
"""Groups of the set that belong to whoever holds the metal."""

NOT_KEPT = {"recess_depth", "let_in", "diameter", "depth"}
"""Fields of these groups that are cut in wood and so do not bind the metal."""


def holders(made: Design) -> list[dict[str, Any]]:
    """Return one entry for each holder: a head, a sentence, and rows of name, reading as written, path."""
    given = made.given
    result = [_entry("The metal: iron, cap iron, adjuster, frog, casting", _metal_note(made), _metal(made))]
    if given.tote is not None:
        result.append(_entry("The tote", _tote_note(made), list(_fields(given.tote, "tote", ""))))
    if given.knob is not None:
        result.append(_entry("The knob", _knob_note(made), list(_fields(given.knob, "knob", ""))))
    return result


def _entry(head: str, note: str, rows: Rows) -> dict[str, Any]:
    return {"head": head, "note": note, "rows": rows}


def _metal(made: Design) -> Rows:
    rows: Rows = []
    for name in METAL:
        group = getattr(made.given, name)
        if group is not None:
            rows += [[ParameterSet.model_fields[name].title or name, "", ""], *_fields(group, name, "")]
    return rows


def _fields(group: Group, path: str, before: str) -> Iterator[list[str]]:
    for name, field in type(group).model_fields.items():
        value, here = getattr(group, name), f"{path}.{name}"
        title = before + (field.title or name)
        if isinstance(value, Reading) and name not in NOT_KEPT:
            yield [title, as_read(value), here]
        elif isinstance(value, int):
            yield [title, str(value), here]
        elif isinstance(value, tuple):
            for index, one in enumerate(value):
                yield from _fields(one, f"{here}.{index}", f"{(field.title or name).removesuffix('s')} {index + 1}: ")


def _metal_note(made: Design) -> str:
    at, said = made.layout, Said(made.given.units)
    return (
        f"The wood is cut to these readings. Its thickness is {said.fine(at.thickness)} from seat plane to sole and "
        f"its bed lies at {angle(at.bed_angle)}; the corner D is where they meet. Tell the maker before any of them "
        "changes: another cap iron, a ground frog, a bent pin."
    )


def _tote_note(made: Design) -> str:
    at, tote, said = made.layout, made.given.tote, Said(made.given.units)
    assert tote is not None
    places = [f"The bolt enters the wood {said.length(at.corner[0] + tote.bolt_x.value)} from the toe"]
    if tote.toe_screw_x is not None:
        places.append(f"the toe screw {said.length(tote.bolt_x.value - tote.toe_screw_x.value)} nearer the toe")
    lean = tote.bolt_tilt.value
    way = (
        "plumb" if lean == 0 else f"{angle(abs(lean))} from plumb, its lower end towards the {'heel' if lean > 0 else 'toe'}"
    )
    return f"{', '.join(places)}; the bolt stands {way}. Keep foot, bolt and screw in these places and the tote fits."


def _knob_note(made: Design) -> str:
    knob, said = made.given.knob, Said(made.given.units)
    assert knob is not None
    return f"The bolt is plumb, {said.length(knob.from_toe.value)} from the toe, on the middle."
