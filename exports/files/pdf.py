"""What every printed page shares: paper sizes, type, page style, text that the type can set, and the compiler.

Pages are set by typst: one wheel, no system libraries, exact lengths, and the same bytes for the same input. All text from
a set travels as JSON and reaches the page as plain strings, so that no character of it can act as markup. Only the fonts
inside the typst wheel are used; a system font would change the pages from one computer to the next.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line

if TYPE_CHECKING:
    import typst

FAMILY = "Libertinus Serif"
"""Family of all text, in SVG files and on pages; it is inside the typst wheel."""

INCH = 25.4

PaperName = Literal["A4", "Letter", "A3", "Tabloid", "A1", "roll"]


@dataclass(frozen=True)
class Paper:
    """One size of paper, upright, mm. ISO 216 for A sizes, ANSI/ASME Y14.1 (A and B) for Letter and Tabloid."""

    name: str
    width: float
    height: float


PAPERS = {
    "A4": Paper("A4", 210.0, 297.0),
    "A3": Paper("A3", 297.0, 420.0),
    "A1": Paper("A1", 594.0, 841.0),
    "Letter": Paper("Letter", 8.5 * INCH, 11 * INCH),
    "Tabloid": Paper("Tabloid", 11 * INCH, 17 * INCH),
}
"""Sheets by name; a roll has no height of its own."""


def text_paper(chosen: str, units: str) -> Paper:
    """Return the paper for pages that are read: A4 beside A sizes, Letter beside ANSI sizes, and by the units for a roll."""
    if chosen == "roll":
        return PAPERS["Letter" if units == "in" else "A4"]
    return PAPERS["Letter" if chosen in ("Letter", "Tabloid") else "A4"]


SETTABLE = (
    (0x20, 0x7E), (0xA1, 0xAC), (0xAE, 0x2FF), (0x370, 0x377), (0x37A, 0x37F), (0x384, 0x38A), (0x38C, 0x38C),
    (0x38E, 0x3A1), (0x3A3, 0x482), (0x48A, 0x4FF), (0x1E00, 0x1EFF), (0x2010, 0x2027), (0x2030, 0x2037),
    (0x2039, 0x2040), (0x2070, 0x2071), (0x2074, 0x208E), (0x20A0, 0x20BF), (0x2116, 0x2117), (0x2122, 0x2122),
    (0x2126, 0x2127), (0x2153, 0x215F), (0x2190, 0x21FF), (0x2200, 0x2220), (0x2248, 0x226B), (0x25A0, 0x25FF),
)  # fmt: skip
"""Ranges of characters that the embedded fonts hold upright, italic and bold; found by setting every character once."""

STAND_IN = "□"
"""What is set in place of a character that the embedded fonts lack; a page that uses it says so."""

LONGEST_WORD = 24
"""Letters after which a word without a break may be broken, so that no name can run off a page."""


def settable(text: str) -> str:
    """Return any text as one line of characters that the fonts hold; every other becomes `STAND_IN`."""
    composed = unicodedata.normalize("NFC", one_line(text))
    return "".join(letter if _held(ord(letter)) else STAND_IN for letter in composed)


def breakable(text: str) -> str:
    """Return a text whose words may be broken after `LONGEST_WORD` letters, by zero-width spaces."""
    return " ".join("\u200b".join(_pieces(word)) for word in text.split(" "))


def shortened(text: str, longest: int) -> str:
    """Return a text cut to so many characters, the last an ellipsis, where it is longer."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"


def _held(code: int) -> bool:
    return any(low <= code <= high for low, high in SETTABLE)


def _pieces(word: str) -> list[str]:
    return [word[start : start + LONGEST_WORD] for start in range(0, len(word), LONGEST_WORD)] or [""]


LONGEST_RUNNING_NAME = 60
"""Characters of a set's name in the running head; the title page has all of it."""


def page_head(stamp: Stamp, paper: Paper, kind: str) -> dict[str, Any]:
    """Return what `paper-style` needs of a document: identity, paper, and its kind, e.g. "shop sheet"."""
    name = settable(stamp.name)
    return {
        "name": breakable(name),
        "title": f"{name} - {kind}",
        "running": shortened(name, LONGEST_RUNNING_NAME),
        "kind": kind,
        "digest": stamp.digest,
        "version": stamp.version,
        "failing": [settable(each) for each in stamp.failing],
        "replaced": STAND_IN in name and STAND_IN not in stamp.name,
        "paper": asdict(paper),
    }


def compiled(source: str, data: Mapping[str, Any]) -> bytes:
    """Return the PDF of a typst source that finds `data` under the name `d`; `STYLE` goes before it.

    Raises WriterFailed where the page cannot be set, which is a fault of this program.
    """
    import typst

    given = json.dumps(data, ensure_ascii=False, sort_keys=True, allow_nan=False)
    try:
        pdf = typst.compile((STYLE + source).encode(), sys_inputs={"data": given}, font_paths=fonts(), timestamp=0)
    except typst.TypstError as error:
        raise WriterFailed(f"a page could not be set ({error.message}); this is a fault of the program") from error
    if not isinstance(pdf, bytes):
        raise WriterFailed("a page could not be set (no single document came back); this is a fault of the program")
    return pdf


@cache
def fonts() -> typst.Fonts:
    """Return the fonts inside the typst wheel, and no others."""
    import typst

    return typst.Fonts(include_system_fonts=False)


STYLE = r"""
#let d = json(bytes(sys.inputs.data))

// Lines in two widths, narrow and wide as 1 : 2 (ISO 128); grey is for what is beside the matter.
#let narrow = 0.18mm
#let wide = 0.35mm
#let quiet = luma(95)
#let tint = luma(238)
#let small = 8pt

#let rule(width: 100%) = line(length: width, stroke: narrow)

// Margins: our own choice; ISO 5457:1980, as quoted, asks 10 mm at least on A4.
#let paper-style(d, body) = {
  set document(title: d.title, author: (), description: "Set digest " + d.digest,
    keywords: (d.digest, "planestock " + d.version), date: none)
  set page(width: d.paper.width * 1mm, height: d.paper.height * 1mm,
    margin: (left: 18mm, right: 18mm, top: 20mm, bottom: 19mm), header-ascent: 4mm, footer-descent: 4mm,
    header: context {
      set text(size: small, fill: quiet)
      grid(columns: (1fr, auto), d.running, d.kind)
      v(-1.2mm)
      line(length: 100%, stroke: narrow + quiet)
    },
    footer: context {
      set text(size: small, fill: quiet)
      grid(columns: (1fr, auto, 1fr),
        [set #d.digest.slice(0, 12), planestock #d.version],
        if d.failing.len() > 0 { text(fill: black, weight: "bold")[fails its checks] },
        align(right)[#counter(page).display() of #counter(page).final().first()])
    })
  set text(font: ("Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"), size: 10pt, lang: "en",
    region: "GB", hyphenate: false, number-type: "lining", fallback: false)
  set par(leading: 0.58em, spacing: 0.85em)
  set list(indent: 0pt, body-indent: 0.5em, marker: [–])
  set enum(body-indent: 0.6em)
  show heading.where(level: 1): it => block(above: 0mm, below: 4mm, text(size: 17pt, weight: "regular", it.body))
  show heading.where(level: 2): it => block(above: 6mm, below: 2.6mm, text(size: 12pt, weight: "semibold", it.body))
  show heading.where(level: 3): it => block(above: 4mm, below: 2mm, text(size: 10pt, weight: "semibold", it.body))
  body
}

// A table of figures: rules above, below the head and below; figures of equal width so that columns can be read down.
// plain: without a head; tight: with less room between rows.
#let figures(columns: (), align: left, head: (), rows: (), size: 9pt, plain: false, tight: false) = {
  set text(size: size, number-width: "tabular")
  set par(leading: 0.5em)
  let inset = (x: 1.6mm, y: if tight { 0.65mm } else { 1.1mm })
  table(columns: columns, align: align, stroke: none, inset: inset, column-gutter: 0mm,
    table.hline(stroke: wide),
    ..if plain { () } else { (
      table.header(..head.map(each => table.cell(align: bottom, text(weight: "semibold", size: small, each)))),
      table.hline(stroke: narrow)) },
    ..rows.flatten(),
    table.hline(stroke: wide))
}

// A remark beside the matter: small, grey.
#let aside(body) = block(above: 2mm, below: 2mm, text(size: small, fill: quiet, body))

// A bar to check the printer by: 100 mm above, 4 in below, its ends as thin ticks.
#let check-bar() = box(width: 101.6mm, height: 9mm, {
  let tick(x, up, length) = place(top + left, dx: x, dy: 4.5mm + if up { -length } else { 0mm },
    line(angle: 90deg, length: length, stroke: narrow))
  place(top + left, dy: 4.5mm, line(length: 100mm, stroke: narrow))
  place(top + left, dx: 100mm, dy: 4.5mm, line(length: 1.6mm, stroke: narrow))
  for i in range(0, 11) { tick(i * 10mm, true, if i == 0 or i == 10 { 3mm } else { 1.2mm }) }
  for i in range(0, 17) {
    tick(i * 6.35mm, false, if i == 0 or i == 16 { 3mm } else if calc.rem(i, 4) == 0 { 1.8mm } else { 1mm })
  }
  set text(size: 7pt)
  place(top + left, dx: 80mm, dy: 0.2mm, box(width: 19mm, align(right)[100 mm]))
  place(top + left, dx: 82mm, dy: 6.6mm, box(width: 18.4mm, align(right)[4 in]))
})
"""
"""Source that goes before every page's: `d` (the data), `paper-style`, `figures`, `aside`, `rule`, `check-bar`."""
