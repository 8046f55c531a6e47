"""The worksheet: a printable form that leads from the metal on the bench to a complete parameter set."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from planestock.exports.drawing.dimensions import Picture, legible, svg
from planestock.exports.files.pdf import PAPERS, STAND_IN, compiled, page_head, settable
from planestock.exports.files.stamp import Stamp
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.worksheet.body_drawings import body_picture, old_body_picture, throat_picture
from planestock.exports.worksheet.casting_drawings import (
    casting_plan_picture,
    casting_screw_picture,
    casting_side_picture,
    handles_picture,
)
from planestock.exports.worksheet.metal_drawings import (
    adjuster_picture,
    bench_picture,
    corner_picture,
    frog_picture,
    iron_picture,
)
from planestock.exports.worksheet.page_source import PAGE
from planestock.exports.worksheet.rows import (
    LONGEST_IN_COMPARTMENT,
    NOTHING,
    Row,
    count_at,
    declarations,
    row,
    rows,
    usual,
)
from planestock.exports.worksheet.sections import (
    CLAMP,
    COVER,
    COVER_WORDS,
    FILLED_WORDS,
    READING,
    SECTIONS,
    TOOLS,
    TYPING,
    Part,
    limits_words,
    paths_by_part,
    tools,
)
from planestock.exports.worksheet.shape import Shape, general_shape, shape_of
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import LengthUnit

FormPaper = Literal["A4", "Letter"]

LEAST_LINES = 3
"""Lines of an empty table of screws; one or two pairs are usual, and there is room below."""

BOX_HEIGHT = {"A4": 10.6, "Letter": 9.8}
"""Height of a box to write in, mm; Letter is 18 mm shorter and takes the same rows."""

EMPTY_NAME, NO_SET = "Empty form", "no set"
"""Name and digest of a form that belongs to no set."""

OWN_NOTE = "Drawn from this set's readings; fitted to the page, not to scale."
GENERAL_NOTE = "General shape, not to scale; your plane's parts will look different."

PICTURES: dict[str, tuple[Callable[[Shape], Picture], Callable[[Shape], bool]]] = {
    "iron": (iron_picture, lambda seen: seen.given.cap_iron.slot_to_edge is not None),
    "corner": (corner_picture, lambda _: True),
    "adjuster": (adjuster_picture, lambda seen: seen.given.adjuster is not None),
    "frog": (frog_picture, lambda seen: bool(seen.given.frog.screws)),
    "bench": (bench_picture, lambda _: True),
    "casting side": (casting_side_picture, lambda seen: seen.at.tail is not None and seen.at.tail.centre is not None),
    "casting plan": (casting_plan_picture, lambda seen: bool(seen.given.casting.screws) and not seen.at.is_traced),
    "casting screw": (casting_screw_picture, lambda seen: bool(seen.given.casting.screws)),
    "handles": (handles_picture, lambda seen: _has_handles(seen.given)),
    "old body": (old_body_picture, lambda _: True),
    "body": (body_picture, lambda _: True),
    "throat": (throat_picture, lambda _: True),
}
"""Each picture by name, and whether a plane has all the parts it points at; the general shape stands in where not."""


def _has_handles(given: ParameterSet) -> bool:
    return given.tote is not None and given.tote.toe_screw_x is not None and given.knob is not None


def picture(name: str, seen: Shape) -> Picture:
    """Return a picture of a plane.

    The general shape stands in where the plane lacks a part that the picture points at, and where its proportions are such
    that numbers would cover one another or leave the picture.
    """
    draw, complete = PICTURES[name]
    own = draw(seen) if complete(seen) else None
    return own if own is not None and legible(own) else draw(general_shape())


@dataclass(frozen=True)
class Filling:
    """What the form is filled with. numbers: of the fields that a picture points at; units: as for `worksheet_pdf`."""

    given: ParameterSet | None
    units: LengthUnit | None
    pictures: Mapping[str, Picture]
    numbers: Mapping[str, int]


def worksheet_pdf(
    given: ParameterSet | None, version: str, paper: FormPaper = "A4", units: LengthUnit | None = None
) -> bytes:
    """Return the worksheet as PDF: empty, or filled in with a set.

    version: of the program, for the footer. units: of the boxes, all lengths of the set turned into it; None leaves each
    as it was written (millimetres on an empty form). The same input gives the same bytes. Raises WriterFailed.
    """
    return compiled(PAGE, worksheet_data(given, version, paper, units))


def worksheet_data(
    given: ParameterSet | None, version: str, paper: FormPaper = "A4", units: LengthUnit | None = None
) -> dict[str, Any]:
    """Return all that the form's pages show, as plain texts and numbers."""
    stamp = Stamp(EMPTY_NAME, NO_SET, version) if given is None else Stamp(given.name, given.digest, version)
    origin = "empty form" if given is None else f"set {given.digest[:12]}"
    drawn, paths = pictures(shape_of(given)), paths_by_part()
    filling = Filling(given, units, drawn, numbers(drawn))
    return {
        **page_head(stamp, PAPERS[paper], "worksheet"),
        "origin": f"{origin}, planestock {version}",
        "longest": LONGEST_IN_COMPARTMENT,
        "nothing": NOTHING,
        "tall": BOX_HEIGHT[paper],
        "cover": _cover(filling),
        "sections": [
            {"title": section.title, "words": section.words,
             "parts": [_part(part, paths[s, p], filling) for p, part in enumerate(section.parts)]}
            for s, section in enumerate(SECTIONS)
        ],
    }  # fmt: skip


def pictures(seen: Shape) -> dict[str, Picture]:
    """Return all pictures of a plane by name."""
    return {name: picture(name, seen) for name in PICTURES}


def numbers(drawn: Mapping[str, Picture]) -> dict[str, int]:
    """Return the number of each field that a picture points at, in the order of the form."""
    paths = paths_by_part()
    pointed = {mark.path for each in drawn.values() for mark in each.drawn.marks}
    order = [path for s, section in enumerate(SECTIONS) for p in range(len(section.parts)) for path in paths[s, p]]
    return {path: number for number, path in enumerate((path for path in order if path in pointed), start=1)}


def _cover(filling: Filling) -> dict[str, Any]:
    words = [filling.given.name, filling.given.note, filling.given.wood.species] if filling.given else []
    replaced = any(STAND_IN in settable(each) and STAND_IN not in each for each in words)
    return {
        "title": "Worksheet",
        "words": (*COVER_WORDS, FILLED_WORDS) if filling.given else COVER_WORDS,
        "rows": [_numbered({**each, "usual": usual(each)}, filling) for each in rows(COVER, filling.given, filling.units)],
        "limits": limits_words(filling.units or (filling.given.units if filling.given else "mm")),
        "reading-title": "How to take a reading",
        "reading": READING,
        "tools-title": "Tools",
        "tools": TOOLS.format(tools=", ".join(tools()).capitalize()),
        "cautions-title": "Cautions",
        "cautions": (*CAUTIONS, CLAMP),
        "remark": f"{STAND_IN} stands for a character that the type of this form lacks." if replaced else "",
    }


def _part(part: Part, paths: list[str], filling: Filling) -> dict[str, Any]:
    data: dict[str, Any] = {
        "kind": part.kind,
        "title": part.title,
        "words": part.words,
        "beside": part.beside,
        "picture": _picture(filling.pictures[part.picture], filling) if part.picture else None,
    }
    if part.kind == "table":
        return {**data, **_table(part.items, paths, filling)}
    if part.kind == "typing":
        return {**data, "typing": TYPING}
    return {**data, "rows": [_numbered(each, filling) for each in rows(paths, filling.given, filling.units)]}


def _numbered(one: Row, filling: Filling) -> Row:
    return {**one, "number": filling.numbers.get(one["path"], 0)}


def _picture(drawn: Picture, filling: Filling) -> dict[str, Any]:
    marks = [[*each.at, str(filling.numbers[each.path])] for each in drawn.drawn.marks]
    labels = [[each.text, *each.at, each.anchor, each.bold] for each in drawn.drawn.labels]
    note = OWN_NOTE if drawn.own else GENERAL_NOTE
    return {"svg": svg(drawn), "width": drawn.width, "height": drawn.height, "alt": drawn.alt, "marks": marks,
            "labels": labels, "note": note}  # fmt: skip


def _table(items: tuple[str, ...], paths: list[str], filling: Filling) -> dict[str, Any]:
    """Return columns (the fields of an item) and lines (its items) of a table."""
    if items[0].endswith("[]"):
        return _list_table(items[0].removesuffix("[]"), paths, filling)
    lines = [(declarations()[next(path for path in paths if path.startswith(f"{item}."))].group,
              [path for path in paths if path.startswith(f"{item}.")]) for item in items]  # fmt: skip
    columns = [{**_column(path, filling), "path": ""} for path in lines[0][1]]
    cells = [{"name": name if len(items) > 1 else "", "cells": [_cell(path, path, filling) for path in those]}
             for name, those in lines]  # fmt: skip
    return {"columns": columns, "lines": cells, "first": 30 if len(items) > 1 else 0}


def _list_table(path: str, paths: list[str], filling: Filling) -> dict[str, Any]:
    count = max(count_at(filling.given, path), LEAST_LINES)
    lines = [
        {"name": "", "cells": [{**_cell(each, each.replace("[]", f".{index}"), filling), "empty": ""} for each in paths]}
        for index in range(count)
    ]
    return {"columns": [_column(each, filling) for each in paths], "lines": lines, "first": 0}


def _column(path: str, filling: Filling) -> dict[str, Any]:
    one = row(declarations()[path], path, filling.given if "[]" not in path else None, filling.units)
    left_empty = f" Left empty: {one['empty']}." if path.count("[]") and one["empty"] not in ("", NOTHING) else ""
    return {"title": one["title"], "how": one["how"] + left_empty, "path": path, "number": filling.numbers.get(path, 0)}


def _cell(declared: str, path: str, filling: Filling) -> dict[str, Any]:
    one = row(declarations()[declared], path, filling.given, filling.units)
    own = one["limit"] and not one["limit"].startswith("(")
    values = [f"{'  '.join(one['values'])} ± {one['limit']}"] if own else one["values"]
    return {"path": path, "unit": one["unit"], "values": values, "required": one["required"],
            "empty": "" if one["empty"] == NOTHING else one["empty"]}  # fmt: skip
