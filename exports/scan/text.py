"""A fit as plain text, for the screen and for fit.txt."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line
from planestock.exports.scan.colours import legend_lines
from planestock.exports.wording import fit as words

if TYPE_CHECKING:
    from planestock.models.scan.corrected import Corrected
    from planestock.models.scan.fit import Fitted

WIDTH = 100
"""Columns; tables fit, sentences are broken there."""


def as_text(fitted: Fitted, found: Corrected | None, stamp: Stamp, reach: float) -> str:
    """Return all of a fit that has words or numbers, stamped at the end."""
    return "\n".join(_lines(fitted, found, stamp, reach)) + "\n"


def _lines(fitted: Fitted, found: Corrected | None, stamp: Stamp, reach: float) -> Iterator[str]:
    yield one_line(fitted.made.given.name)
    for sentence in words.about_the_scan(fitted):
        yield from _wrapped(sentence)
    yield ""
    yield from _wrapped(words.outcome(fitted))
    yield ""
    yield from _body(fitted) if fitted.body is not None else _metal(fitted, found)
    yield ""
    yield f"Residuals from the design, {fitted.made.given.lengths.units}, over the faces that its readings fix"
    yield from _table(words.RESIDUAL_NAMES, words.residual_rows(fitted))
    yield ""
    yield "Colours of fit.glb and fit.html"
    yield from (f"  {line}" for line in legend_lines(fitted, reach))
    yield ""
    yield stamp.line


def _metal(fitted: Fitted, found: Corrected | None) -> Iterator[str]:
    for sentence in words.datum_sentences(fitted):
        yield from _wrapped(sentence)
    yield ""
    yield words.contact_sentence(fitted)
    yield from (f"  {line}" for line in words.places_words(fitted.contacts, "deep", fitted.made.given.lengths))
    yield words.gap_sentence(fitted)
    yield from (f"  {line}" for line in words.places_words(fitted.gaps, "too wide", fitted.made.given.lengths))
    yield ""
    yield from _wrapped(words.reading_sentence(fitted))
    yield from _table(words.READING_NAMES, [words.reading_row(one) for one in fitted.proposed])
    if fitted.corrected:
        yield ""
        yield "Lines for the set"
        yield from (f"  {one.line}" for one in fitted.corrected)
    for sentence in words.window_sentences(fitted, found):
        yield from _wrapped(sentence)


def _body(fitted: Fitted) -> Iterator[str]:
    for sentence in [*words.body_sentences(fitted)][1:]:
        yield from _wrapped(sentence)
    for sentence in words.datum_sentences(fitted):
        yield from _wrapped(sentence)
    yield ""
    yield from _table(words.BODY_NAMES, words.body_rows(fitted))
    lines = words.old_body_lines(fitted)
    if lines:
        yield ""
        yield "Lines for the set"
        yield from (f"  {line}" for line in lines)


def _wrapped(sentence: str) -> list[str]:
    return textwrap.wrap(sentence, WIDTH, break_long_words=False, break_on_hyphens=False) or [""]


def _table(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield a table with aligned columns: the first to the left, the others to the right."""
    every = [names, *rows]
    widths = [max(len(row[column]) for row in every) for column in range(len(names))]
    for row in every:
        cells = [row[0].ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True))]
        yield ("  " + "  ".join(cells)).rstrip()
