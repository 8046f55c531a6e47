"""A comparison as one HTML page: what differs, what follows, and the same views of each variant side by side.

Self-contained: no script, no network, and a content security policy that lets nothing else in. Same comparison, same bytes.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Sequence

from planestock.exports.files.markup import Markup, tag, text
from planestock.exports.variants.compare_drawings import mouth_view, plan_frame, plan_view, side_frame, side_view
from planestock.exports.variants.compare_text import Cell, input_rows, letter, outcome_rows, window_lines
from planestock.models.variants.compare import Comparison, Variant

STYLE = """
:root{--ink:#1d2429;--quiet:#5d6870;--line:#d5dade;--paper:#fff;--ground:#f4f5f3;--best:#eaf1f6;--bad:#a03216;--mark:#1f5c8a}
@media (prefers-color-scheme:dark){:root{--ink:#e7eaec;--quiet:#9fabb4;--line:#3a444b;--paper:#1b2126;--ground:#12171a;
--best:#22303a;--bad:#f0916f;--mark:#8cc0e6}}
*{box-sizing:border-box}
body{margin:0;padding:1.5rem clamp(1rem,3vw,3rem) 3rem;font:16px/1.45 system-ui,sans-serif;color:var(--ink);
background:var(--ground)}
h1{font-size:1.5rem;margin:0 0 .25rem}h2{font-size:1.1rem;margin:2rem 0 .6rem}
p{margin:.2rem 0;max-width:70ch}.quiet{color:var(--quiet)}.bad{color:var(--bad)}
.scroll{overflow-x:auto;background:var(--paper);border:1px solid var(--line);border-radius:6px}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
th,td{padding:.35rem .8rem;text-align:right;border-bottom:1px solid var(--line);vertical-align:top}
tbody tr:last-child th,tbody tr:last-child td{border-bottom:0}
th:first-child{text-align:left;font-weight:500;position:sticky;left:0;background:var(--paper)}
td,thead th{width:9rem;overflow-wrap:break-word}th:first-child{width:14rem}
thead th{font-weight:650}tr.differs td,tr.differs th{font-weight:650}
tr.differs td{background:var(--best)}small{display:block;color:var(--quiet);font-weight:400}
.cards{display:grid;gap:1rem;grid-template-columns:repeat(auto-fit,minmax(min(100%,26rem),1fr))}
.card{background:var(--paper);border:1px solid var(--line);border-radius:6px;padding:.8rem 1rem 1rem;min-width:0}
.card h3{font-size:1rem;margin:0 0 .2rem;overflow-wrap:anywhere}.key{color:var(--mark);margin-right:.4em}
figure{margin:.8rem 0 0}figcaption{font-size:.85rem;color:var(--quiet)}
svg{display:block;width:100%;height:auto;background:#fbfaf7;border-radius:4px}
svg.mouth{width:60%}
.wood{stroke:none}.rim,.plan .wood{fill-opacity:1;stroke:#4b3a2a;stroke-width:.6}.rim{fill:none}
.metal{fill:#6b747c;fill-opacity:.28;stroke:#3b4349;stroke-width:.45}
.open{fill:#efe9df;stroke:#4b3a2a;stroke-width:.5}.plan .mouth{fill:#2b2119}
.hole{fill:#fff;fill-opacity:.35;stroke:#5c4632;stroke-width:.35;stroke-dasharray:1.4 1}
.hidden{fill:none;stroke:#5c4632;stroke-width:.4;stroke-dasharray:2 1.4}
.glue{fill:none;stroke:#4b3a2a;stroke-width:.4}.mark{fill:none;stroke:#1d2429;stroke-width:.18}
svg.mouth .rim{stroke-width:.15}svg.mouth .metal{stroke-width:.12}svg.mouth .hole{stroke-width:.1}
footer{margin-top:1.5rem}
@media print{body{background:#fff}.card{break-inside:avoid}}
"""

POLICY = "default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
"""What the page may load: its own style, known by its digest, and nothing else."""


def page(found: Comparison, version: str) -> bytes:
    """Return the page as UTF-8. version: the program's, for the foot."""
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY.format(digest=digest)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", text("Comparison: " + ", ".join(variant.label for variant in found.variants))),
        tag("style", Markup(STYLE)),
    )
    body = tag("body", tag("main", *_body(found)), _foot(found, version))
    return ("<!doctype html>\n" + tag("html", head, body, lang="en") + "\n").encode()


def _body(found: Comparison) -> Iterator[Markup]:
    count = len(found.variants)
    yield tag("h1", text(f"{count} variants compared"))
    units = found.lengths.units
    yield tag("p", text(f"Lengths in {units}, angles in degrees, masses in g. Rows that differ are marked. All views of one "
                        "kind have one scale."), class_="quiet")  # fmt: skip
    yield tag("h2", text("What differs in the sets"))
    rows = input_rows(found)
    yield _table(found.variants, rows) if rows else tag("p", text("Nothing: the sets hold the same values."))
    yield tag("h2", text("What follows"))
    yield _table(found.variants, outcome_rows(found))
    yield tag("h2", text("Views"))
    yield tag("div", *_cards(found), class_="cards")


def _table(variants: Sequence[Variant], rows: Sequence[Cell]) -> Markup:
    heads = [tag("th", text(""), scope="col")]
    heads += [tag("th", text(letter(index)), scope="col") for index in range(len(variants))]
    lines = [
        tag(
            "tr",
            tag("th", text(row.title), _small(row.path), scope="row"),
            *(_cell(value, note) for value, note in zip(row.values, row.notes, strict=True)),
            class_="differs" if row.differs else False,
        )
        for row in rows
    ]
    whole = tag("table", tag("thead", tag("tr", *heads)), tag("tbody", *lines))
    return tag("div", whole, class_="scroll", tabindex="0")


def _cell(value: str, note: str) -> Markup:
    return tag("td", text(value), _small(note))


def _small(words: str) -> Markup:
    return tag("small", text(words)) if words else Markup("")


def _cards(found: Comparison) -> Iterator[Markup]:
    built = [variant.made for variant in found.variants if variant.made is not None]
    frames = (side_frame(built), plan_frame(built)) if built else None
    for index, variant in enumerate(found.variants):
        title = tag("h3", tag("span", text(letter(index)), class_="key"), text(variant.label))
        digest = tag("p", text(f"set {variant.given.digest[:12]}"), class_="quiet")
        if variant.made is None or frames is None:
            yield tag("section", title, digest, tag("p", text(f"No body: {variant.problem}"), class_="bad"), class_="card")
            continue
        side, plan = frames
        views = (
            ("Side view, on the mid-plane", side_view(variant.made, side, f"wood{index}a")),
            ("Mouth, enlarged", mouth_view(variant.made, f"wood{index}b")),
            ("Plan", plan_view(variant.made, plan)),
        )
        figures = (tag("figure", view, tag("figcaption", text(words))) for words, view in views)
        yield tag("section", title, digest, _verdict(variant), *figures, class_="card")


def _verdict(variant: Variant) -> Markup:
    if variant.failing:
        return tag("p", text(f"Fails: {', '.join(variant.failing)}"), class_="bad")
    scope = "" if variant.solids else " (solids not built)"
    return tag("p", text(f"No check fails{scope}."))


def _foot(found: Comparison, version: str) -> Markup:
    lines = (f"{letter(index)}: {variant.given.name} (set {variant.given.digest[:12]})"
             for index, variant in enumerate(found.variants))  # fmt: skip
    said = (*window_lines(found), *lines)
    return tag("footer", *(tag("p", text(line), class_="quiet") for line in (*said, f"planestock {version}")))
