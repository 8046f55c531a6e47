"""The page that can be mailed: one HTML file with viewer, numbers, gauge, checks and values, no network, no server.

What can be read stands in the page as plain HTML and needs no script; script and style are allowed by their digests only
(Content Security Policy, level 3: hash sources), so nothing that a set's texts may hold can run.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from planestock.exports.drawing.gauge import gauge, in_words
from planestock.exports.files.markup import Markup, json_block, tag, text
from planestock.exports.pages.scene import scene
from planestock.exports.pages.viewer_files import bundled
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.design import by_urgency, first_numbers, has_failing, outcome, row_text, to_act_on
from planestock.exports.wording.set_values import SetValue, ValueGroup, value_groups
from planestock.exports.wording.window import retake_sentence
from planestock.exports.wording.window_notes import window_notes
from planestock.models.checks.rows import Row
from planestock.params.lengths import Lengths, counted

if TYPE_CHECKING:
    from planestock.exports.files.stamp import Stamp
    from planestock.models.design import Design

NO_SCRIPT = "The drawing needs JavaScript, which does not run here. Every number on this page stands without it."
"""Stands in the drawing's place until the script takes it away; a mail program's own view may let no script run."""


def preview(design: Design, stamp: Stamp) -> bytes:
    """Return the page of a design, UTF-8. Builds the solids. Raises KernelProblem, or WriterFailed without the bundle."""
    script, style = bundled("preview.js"), bundled("preview.css")
    head = page_head(f"{design.given.name}: preview", script, style)
    body = tag("body", *_body(design, stamp), json_block("scene", scene(design, stamp)), tag("script", Markup(script)))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n".encode()


def page_head(title: str, script: str, style: str) -> Markup:
    """Return the head of a page that opens from a mail: it asks for nothing, and runs and wears only what it carries."""
    return tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=policy(script, style)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", text(title)),
        tag("style", Markup(style)),
    )


def policy(script: str, style: str) -> str:
    """Return a content security policy that allows this script and this style, images from the page itself, and no more."""
    return (
        f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )


def _digest(source: str) -> str:
    return "sha256-" + b64encode(hashlib.sha256(source.encode()).digest()).decode("ascii")


def _body(design: Design, stamp: Stamp) -> tuple[Markup, ...]:
    rows = by_urgency(design.checks)
    return (
        _header(design, stamp),
        tag(
            "main",
            _section(
                "Checks",
                tag("p", text(to_act_on(design, failing=has_failing(rows))), class_="to-act-on"),
                tag("p", text(outcome(rows, solids=True))),
                *_checks(rows, design.given.lengths),
            ),
            tag("div", tag("p", text(NO_SCRIPT), class_="no-drawing", id="no-script"), id="bench", class_="bench"),
            _section("Numbers", _numbers(design), gauge(design.settled), *_sure(design)),
            _section("Values of the set", _values(design)),
            _section("Cautions", tag("ul", *(tag("li", text(one)) for one in CAUTIONS), class_="cautions")),
        ),
        tag("footer", text(f"{stamp.line}. Digest {stamp.digest}.")),
    )


def _header(design: Design, stamp: Stamp) -> Markup:
    note = [tag("p", text(design.given.note), class_="set-note")] if design.given.note.strip() else []
    failing = (
        [tag("p", text(f"FAILS ITS CHECKS: {', '.join(stamp.failing)}"), class_="verdict-fail")] if stamp.failing else []
    )
    title = tag("div", tag("h1", text(design.given.name)), *note, *failing)
    return tag("header", title, tag("div", id="switches"))


def _section(title: str, *inside: Markup) -> Markup:
    name = title.lower().replace(" ", "-")
    return tag("section", tag("h2", text(title), id=name), *inside, aria_labelledby=name)


def _numbers(design: Design) -> Markup:
    return tag("dl", *(_number(one.name, one.value, one.words) for one in first_numbers(design)), class_="numbers")


def _number(name: str, value: str, words: str) -> Markup:
    return tag("div", tag("dt", text(name)), tag("dd", text(value), class_="value"), tag("dd", text(words), class_="words"))


def _sure(design: Design) -> tuple[Markup, ...]:
    said = (*window_notes(design.settled), retake_sentence(design.settled.retake, design.given.lengths))
    return tag("p", text(in_words(design.settled))), *(tag("p", text(sentence), class_="note") for sentence in said)


def _checks(rows: Sequence[Row], lengths: Lengths) -> Iterator[Markup]:
    """Yield the checks that do not pass, and those that pass folded away to their count."""
    open_rows = [row for row in rows if row.verdict != "pass"]
    passing = [row for row in rows if row.verdict == "pass"]
    if open_rows:
        yield checks_table(open_rows, lengths)
    if passing:
        summary = tag("summary", text(f"{counted(len(passing), 'check passes', 'checks pass')}"))
        yield tag("details", summary, checks_table(passing, lengths), class_="fold")


def checks_table(rows: Iterable[Row], lengths: Lengths) -> Markup:
    """Return checks as a table: verdict in a word, what was asked and what to change, value, limit."""
    names = ("Verdict", "What was asked", "Found", "Limit")
    head = tag("thead", tag("tr", *(tag("th", text(name), scope="col") for name in names)))
    body = tag("tbody", *(_check(row, lengths) for row in rows))
    return tag("div", tag("table", head, body, class_="checks"), class_="table")


def _check(row: Row, lengths: Lengths) -> Markup:
    told = row_text(row, lengths)
    change = [tag("p", text(f"To change: {row.change}"), class_="change")] if row.verdict != "pass" else []
    cells = (
        tag("td", text(row.verdict)),
        tag("td", text(row.asked), *change),
        tag("td", text(told.value), class_="value-cell"),
        tag("td", text(told.limit), class_="value-cell"),
    )
    return tag("tr", *cells, class_=f"verdict-{row.verdict}")


def _values(design: Design) -> Markup:
    return tag("div", *map(_group, value_groups(design.given)), class_="values")


def _group(group: ValueGroup) -> Markup:
    rows = tag("tbody", *map(_value, group.values))
    return tag("section", tag("h3", text(group.title)), tag("table", rows))


def _value(value: SetValue) -> Markup:
    named = tag("th", text(value.title), tag("br"), tag("code", text(value.path)), scope="row")
    return tag("tr", named, tag("td", text(value.text)))
