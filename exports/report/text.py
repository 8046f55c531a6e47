"""The report of a design as readable text: what to cut, checks, key numbers, layout, holes, wood, how to make it again."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from planestock.exports.files.stamp import stamp_of
from planestock.exports.files.writer_rules import one_line
from planestock.exports.report.data import Entry, rows_of
from planestock.exports.wording import window as words
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.design import (
    by_urgency,
    first_numbers,
    has_failing,
    hole_lines,
    outcome,
    places,
    row_text,
    to_act_on,
)
from planestock.exports.wording.evidence import as_lines, old_body_notes_of, sure_tables
from planestock.exports.wording.window_notes import window_notes
from planestock.exports.wording.window_tables import Table, old_body_table, seasons_table, sole_life_table
from planestock.models.checks.rows import Row
from planestock.params.lengths import Lengths

if TYPE_CHECKING:
    from planestock.models.design import Design

WIDTH = 80
"""Characters of a line."""


def as_text(made: Design, found: Entry, *, solids: bool) -> str:
    """Return the report as text. found: the same report as data, see `report.report`."""
    rows = rows_of(made, solids=solids)
    sections = [
        _head(made, rows, solids=solids),
        _section("Checks", _checks(rows, made.given.lengths)),
        _section("Key numbers", _numbers(made)),
        _section("How sure", _sure(made)),
        _section(f"Side view: x from the toe, z above the sole, {made.given.units}", _places(made)),
        _section(f"Holes: x from the toe, y from the mid-plane, z above the sole; {made.given.units}", _holes(made)),
        _section("Wood and seasons", _wood(made, found)),
        _section("Sole and mouth in years to come", _life(made)),
        _section("Cautions", (line for caution in CAUTIONS for line in _wrapped(caution, "- "))),
        _section("To make it again", _again(made, rows, solids=solids)),
    ]
    if made.old_body is not None:
        sections.insert(4, _section("The old body", _old_body(made)))
    return "\n\n".join("\n".join(section) for section in sections) + "\n"


def _head(made: Design, rows: Sequence[Row], *, solids: bool) -> Iterator[str]:
    stamp = stamp_of(made, rows)
    title = one_line(made.given.name) or "A body without a name"
    yield title
    yield "=" * min(len(title), WIDTH)
    yield f"planestock {stamp.version}, set {stamp.digest[:12]}"
    if stamp.failing:
        yield from _wrapped(f"FAILS ITS CHECKS: {', '.join(stamp.failing)}. Do not cut wood by these files.")
    note = one_line(made.given.note)
    yield from _wrapped(note) if note else ()
    yield ""
    yield from _wrapped(to_act_on(made, failing=has_failing(rows)))
    yield from _wrapped(outcome(rows, solids=solids))


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield title
    yield "-" * len(title)
    yield from lines


def _wrapped(text: str, bullet: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=bullet, subsequent_indent=" " * len(bullet))


def _table(rows: Sequence[Sequence[str]], sides: str) -> Iterator[str]:
    """Yield rows with their columns lined up. sides: < or > for each column."""
    if not rows:
        return
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (
            cell.ljust(width) if side == "<" else cell.rjust(width)
            for cell, width, side in zip(row, widths, sides, strict=True)
        )
        yield "  ".join(cells).rstrip()


def _numbers(made: Design) -> Iterator[str]:
    found = first_numbers(made)
    left = WIDTH - sum(2 + max(map(len, column)) for column in zip(*((one.name, one.value) for one in found), strict=True))
    rows: list[tuple[str, str, str]] = []
    for one in found:
        first, *more = textwrap.wrap(one.words, left)
        rows += [(one.name, one.value, first), *(("", "", line) for line in more)]
    yield from _table(rows, "<<<")


def _sure(made: Design) -> Iterator[str]:
    settled, length = made.settled, made.given.lengths
    both = settled.comparison
    sentences = (
        words.window_sentence(settled),
        *window_notes(settled),
        words.thickness_sentence(settled),
        words.retake_sentence(settled.retake, length),
        *([words.comparison_sentence(both, length)] if both and both.agree else []),
        words.chance_sentence(settled),
        words.mouth_sentence(settled),
    )
    yield from (line for sentence in sentences for line in _wrapped(sentence))
    yield from _tables(sure_tables(made))


def _tables(found: Iterable[Table]) -> Iterator[str]:
    for table in found:
        yield ""
        yield from as_lines(table)


def _old_body(made: Design) -> Iterator[str]:
    yield from (line for note in old_body_notes_of(made) for line in _wrapped(note))
    if made.old_body is not None:
        yield from _tables([old_body_table(made.old_body, made.given.lengths)])


def _checks(rows: Sequence[Row], length: Lengths) -> Iterator[str]:
    """Yield what does not pass with what to change, worst first, and then every check as a line."""
    for row in by_urgency(rows):
        if row.verdict != "pass":
            yield from _wrapped(f"{row.verdict.upper()} {row.id}: {row.asked}. {row_text(row, length).found}.")
            yield from _wrapped(row.change, "  change: ")
            yield ""
    yield from _table([_check_line(row, length) for row in by_urgency(rows)], "<<>>")
    yield ""
    yield from _wrapped("Limits that the set does not give are common practice or our own choice where no source is named.")


def _check_line(row: Row, length: Lengths) -> tuple[str, str, str, str]:
    told = row_text(row, length)
    return (row.verdict, row.id, told.value, told.limit)


def _places(made: Design) -> Iterator[str]:
    length = made.given.lengths
    lines = [("point", "x", "z"), *((name, length.number(x), length.number(z)) for name, (x, z) in places(made.layout))]
    yield from _table(lines, "<>>")


def _holes(made: Design) -> Iterator[str]:
    head = ("hole", "x", "y", "z", "way down", "diameter", "depth")
    lines = hole_lines(made.layout.holes, made.given.lengths)
    yield from _table([head, *lines], "<>>><>>") if lines else ["none"]


def _wood(made: Design, found: Entry) -> Iterator[str]:
    yield f"{found['wood']['species']}, {found['wood']['cut']}-sawn; worked at {made.seasons.worked.moisture:.1f} % moisture"
    yield from _wrapped(words.seasons_sentence(made.seasons, made.given.lengths))
    yield from _tables([seasons_table(made.seasons, made.given.lengths)])
    yield ""
    masses = [(name, value) for name, value in found["mass"].items() if value is not None]
    if masses:
        yield "Mass while worked:"
        yield from _table([(f"  {name.replace('_', ' ')}", f"{value:.0f} g") for name, value in masses], "<>")


def _life(made: Design) -> Iterator[str]:
    yield from _wrapped(words.wear_sentence(made.settled))
    yield from _wrapped(words.sole_life_sentence(made.sole_life, made.given.lengths))
    yield from _tables([sole_life_table(made.sole_life, made.given.lengths)])


def _again(made: Design, rows: Sequence[Row], *, solids: bool) -> Iterator[str]:
    stamp = stamp_of(made, rows)
    options = ("" if solids else " --numbers") + (" --allow-failing" if stamp.failing else "")
    yield from _wrapped(
        "set.toml beside this file is the set exactly as used. These files come out again, byte for byte, with"
    )
    yield f"  planestock build set.toml{options}"
    yield f"and planestock {stamp.version}."
