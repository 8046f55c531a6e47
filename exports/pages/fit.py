"""The page of a fit: the scan coloured by its deviation over the see-through wood, its legend in numbers, and the readings.

Built on the preview's viewer; the scan is one more part of the scene, with a colour number for each of its points.
"""

from __future__ import annotations

import hashlib
import json
from base64 import b64encode
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from planestock.exports.files.markup import Markup, json_block, tag, text
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line
from planestock.exports.pages.preview import NO_SCRIPT, page_head
from planestock.exports.pages.scene import STEPS_EACH_WAY, scene
from planestock.exports.pages.viewer_files import bundled
from planestock.exports.scan.colours import LEFT_OUT, LEFT_OUT_WORDS, Colour, bands, meaning, palette
from planestock.exports.scan.shown import Shown, shown, table_shown
from planestock.exports.wording import fit as words

if TYPE_CHECKING:
    from planestock.models.scan.corrected import Corrected
    from planestock.models.scan.fit import Fitted

MOST_TRIANGLES = 50_000
"""Triangles of the scan in the page: about a megabyte, and a turn of the hand stays smooth."""

MOST_OF_TABLE = 10_000
"""Triangles of a table that was left out."""

FROM_BELOW = [0.0, -1.15]
"""Turn of the first view for metal, radians to the right and up: its true faces look down."""

UNIT_WORDS = {"mm": "mm", "in": "inches"}
"""A set's unit in a sentence; "in in" cannot be read."""

SWATCH = (26.0, 20.0)
"""Size of a colour in the legend."""


def page(fitted: Fitted, found: Corrected | None, stamp: Stamp) -> bytes:
    """Return the page, UTF-8. Builds the solids. Raises KernelProblem, or WriterFailed without the viewer's bundle."""
    script, style = bundled("preview.js"), bundled("preview.css")
    seen = shown(fitted, MOST_TRIANGLES)
    head = page_head(f"{fitted.made.given.name}: scan against design", script, style)
    drawn = with_scan(scene(fitted.made, stamp), fitted, seen)
    body = tag("body", *_body(fitted, found, stamp, seen), json_block("scene", drawn), tag("script", Markup(script)))
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n".encode()


def with_scan(drawn: dict[str, Any], fitted: Fitted, seen: Shown) -> dict[str, Any]:
    """Return a scene with the scan as its first part and the table that was left out as its second; that and the wood are
    see-through, the metal's stand-ins are hidden."""
    scan = _part(drawn["grid"], seen, "scan", f"{fitted.scan.name}, by its deviation", palette())
    table = table_shown(fitted, MOST_OF_TABLE)
    of_table = [] if table is None else [_part(drawn["grid"], table, "table", LEFT_OUT_WORDS, [LEFT_OUT])]
    states = {one["name"]: "see-through" if one["kind"] == "wood" else "hidden" for one in drawn["parts"]}
    states |= {one["name"]: "see-through" for one in of_table}
    seen_words = one_line(f"Scan {fitted.scan.name} coloured by its deviation, in the see-through body. {drawn['seen']}")
    turn = {"turn": FROM_BELOW} if fitted.body is None else {}
    return {**drawn, "parts": [scan, *of_table, *drawn["parts"]], "states": states, **turn, "seen": seen_words}


def _part(grid: dict[str, Any], seen: Shown, name: str, material: str, colours: Sequence[Colour]) -> dict[str, Any]:
    """Return a mesh with a colour for each point as a part of the scene."""
    origin, step = np.array(grid["origin"]), grid["step"]
    steps = np.rint((seen.points - origin) / step)
    held = (np.abs(steps) <= STEPS_EACH_WAY).all(axis=1)
    faces = seen.faces[held[seen.faces].all(axis=1)]
    wide = len(steps) > np.iinfo(np.uint16).max
    content: dict[str, Any] = {
        "name": name,
        "kind": "scan",
        "material": one_line(material),
        "finish": "scan",
        "colour": [0.56, 0.56, 0.56],
        "cut": "flat",
        "rides": False,
        "apart": [0.0, 0.0, 0.0],
        "wide": wide,
        "points": _packed(np.where(held[:, None], steps, 0).astype("<i2")),
        "faces": _packed(faces.astype("<u4" if wide else "<u2")),
        "sharp": _NO_LINES,
        "smooth": _NO_LINES,
        "centres": "",
        "shades": _packed(seen.shade),
        "palette": [list(colour) for colour in colours],
    }
    told = json.dumps([content, grid], sort_keys=True).encode()
    return {**content, "key": hashlib.sha256(told).hexdigest()[:16]}


_NO_LINES = {"points": "", "lengths": ""}


def _packed(values: npt.NDArray[Any]) -> str:
    return b64encode(np.ascontiguousarray(values).tobytes()).decode("ascii")


def _body(fitted: Fitted, found: Corrected | None, stamp: Stamp, seen: Shown) -> tuple[Markup, ...]:
    units = fitted.made.given.lengths.units
    verdict = "verdict-fail" if words.contradicted(fitted) else "set-note"
    name = tag("h1", text(f"{fitted.made.given.name}: scan against design"))
    title = tag("div", name, tag("p", text(words.outcome(fitted)), class_=verdict))
    return (
        tag("header", title, tag("div", id="switches")),
        tag(
            "main",
            legend(fitted, seen.reach),
            tag("div", tag("p", text(NO_SCRIPT), class_="no-drawing", id="no-script"), id="bench", class_="bench"),
            *_sections(fitted, found),
            _section("Residuals", tag("p", text(f"From the design, {units}, over the faces that its readings fix.")),
                     _table(words.RESIDUAL_NAMES, words.residual_rows(fitted))),
            _section("The scan", *_paragraphs(words.about_the_scan(fitted))),
        ),
        tag("footer", text(f"{stamp.line}. Digest {stamp.digest}.")),
    )  # fmt: skip


def _sections(fitted: Fitted, found: Corrected | None) -> list[Markup]:
    length = fitted.made.given.lengths
    if fitted.body is not None:
        lines = words.old_body_lines(fitted)
        told = _paragraphs([*[*words.body_sentences(fitted)][1:], *words.datum_sentences(fitted)])
        return [_section("The body", *told, _table(words.BODY_NAMES, words.body_rows(fitted)), *_lines(lines))]
    return [
        _section("Readings", *_paragraphs([words.reading_sentence(fitted)]),
                 _table(words.READING_NAMES, [words.reading_row(one) for one in fitted.proposed]),
                 *_lines([one.line for one in fitted.corrected]), *_paragraphs(words.window_sentences(fitted, found))),
        _section("Datum and seat", *_paragraphs(words.datum_sentences(fitted))),
        _section("Contacts and gaps", tag("p", text(words.contact_sentence(fitted))),
                 _list(words.places_words(fitted.contacts, "deep", length)), tag("p", text(words.gap_sentence(fitted))),
                 _list(words.places_words(fitted.gaps, "too wide", length))),
    ]  # fmt: skip


def legend(fitted: Fitted, reach: float) -> Markup:
    """Return the colour scale as swatches with their numbers, missing at the left, in the way at the right."""
    more, less = meaning(fitted)
    length = fitted.made.given.lengths
    every = [*reversed(bands(reach)[:-1]), bands(reach)[-1]]
    items = [tag("li", _swatch(band.colour), text(band.words(length))) for band in every]
    if fitted.scan.left_out:
        items.append(tag("li", _swatch(LEFT_OUT), text(LEFT_OUT_WORDS)))
    said = f"Deviation from the design in {UNIT_WORDS[length.units]}. Positive: {more}. Negative: {less}."
    return tag("div", tag("p", text(said)), tag("ul", *items, class_="bands"), class_="scale")


def _swatch(colour: Colour) -> Markup:
    red, green, blue = (round(255 * value) for value in colour)
    wide, high = SWATCH
    return tag("svg", tag("rect", width=wide, height=high, rx=2, fill=f"#{red:02x}{green:02x}{blue:02x}"),
               width=wide, height=high, aria_hidden="true")  # fmt: skip


def _section(title: str, *inside: Markup) -> Markup:
    name = title.lower().replace(" ", "-")
    return tag("section", tag("h2", text(title), id=name), *inside, aria_labelledby=name)


def _paragraphs(sentences: Iterable[str]) -> list[Markup]:
    return [tag("p", text(one)) for one in sentences if one]


def _list(lines: Sequence[str]) -> Markup:
    return tag("ul", *(tag("li", text(line)) for line in lines)) if lines else Markup("")


def _lines(lines: Sequence[str]) -> list[Markup]:
    """Return lines to paste into a set."""
    if not lines:
        return []
    block = Markup("\n".join(text(line) for line in lines))
    return [tag("p", text("Lines for the set:")), tag("pre", tag("code", block))]


def _table(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Markup:
    head = tag("thead", tag("tr", *(tag("th", text(name), scope="col") for name in names)))
    body = [
        tag("tr", tag("th", text(first), scope="row"), *(tag("td", text(cell), class_="value-cell") for cell in cells))
        for first, *cells in rows
    ]
    # On a narrow screen the table scrolls sideways, and must be reached by keys to do so.
    table = tag("table", head, tag("tbody", *body))
    return tag("div", table, class_="table", tabindex=0, role="region", aria_label=f"Table by {names[0]}")
