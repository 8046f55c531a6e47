"""The shop sheet: one PDF with all that the maker takes to the bench.

Set by typst: exact lengths, good tables, real text in embedded fonts, same bytes for the same input, one wheel and no system
libraries. Drawings come from the views of `drawing.py` as SVG, templates at exactly 1 : 1.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from planestock.exports.cautions import CAUTIONS
from planestock.exports.drawing.model import Box, Item, View
from planestock.exports.drawing.svg import picture
from planestock.exports.drawing.views import views
from planestock.exports.inch import INCH, on_the_rule
from planestock.exports.paper.said import Said, many, number
from planestock.exports.paper.sheet_gauge import gauge
from planestock.exports.paper.sheet_holder import holders
from planestock.exports.paper.sheet_source import PAGES
from planestock.exports.paper.sheet_tables import angle_table, drill_table, layout_table, piece_table, totals, width_table
from planestock.exports.paper.sheet_templates import printer_off, printing_rules, template_sheets
from planestock.exports.paper.style import breakable, compiled, page_head, settable, text_paper
from planestock.exports.paper.work_steps import PRACTICE, order_of_work
from planestock.exports.stamp import Stamp
from planestock.exports.wording import by_urgency, first_numbers, outcome, row_text
from planestock.models.bench.cut_list import LENGTH_ALLOWANCE, THICKNESS_ALLOWANCE, WIDTH_ALLOWANCE
from planestock.models.bench.marks import mouth_wear
from planestock.models.confidence import words as confidence_words
from planestock.models.confidence.window_notes import window_notes
from planestock.models.screws import HARDWOOD_FROM

if TYPE_CHECKING:
    from planestock.models.design import Design

DRILL_NOTES = (
    (
        "Places from the toe, heights from the sole, on the bed from the corner D along it. Depths are those of the "
        "full diameter, along the hole; a frog screw's from the floor of the recess, where there is one. “Wider by” is "
        "what the inch bit is over the hole, mm."
    ),
    (
        "Pilots: 90 % of the screw's root diameter in hardwood, 70 % in softwood (rule of the NDS commentary); the line "
        f"between them, specific gravity {HARDWOOD_FROM}, is our own choice. Root diameters from common screw charts, about "
        "two thirds of the shank (Wood Handbook, FPL-GTR-190, p. 8-10); shank 0.060 + 0.013 N inch (ASME B18.6.1). That a "
        "third of a screw is plain shank is common practice, no published source."
    ),
)
"""Notes under the drill table, with their sources."""


def shop_sheet(design: Design, stamp: Stamp, drawn: Sequence[View] | None = None) -> bytes:
    """Return the shop sheet as PDF. drawn: the views, where they are at hand already. Builds the solids.

    Raises WriterFailed where a page cannot be set, KernelProblem where the solids cannot be built.
    """
    return compiled(PAGES, sheet_data(design, stamp, {view.name: view for view in drawn or views(design)}))


def sheet_data(design: Design, stamp: Stamp, drawn: dict[str, View]) -> dict[str, Any]:
    """Return all that the pages show, as plain data."""
    given = design.given
    paper = text_paper(given.shop.paper, given.units)
    return {
        **page_head(stamp, paper, "shop sheet"),
        **_cover(design),
        **_tables(design),
        **_drawings(design, drawn),
        **_templates(design, drawn),
        "stages": [{"title": stage.title, "steps": list(stage.steps)} for stage in order_of_work(design)],
        "practice": PRACTICE,
        "holders": holders(design),
        "cautions": list(CAUTIONS),
    }


def _cover(design: Design) -> dict[str, Any]:
    settled, rows = design.settled, design.checks
    items, box = gauge(settled)
    shown = [(row, row_text(row, design.given.lengths)) for row in by_urgency(rows) if row.verdict != "pass"]
    sentences = [
        *window_notes(settled), confidence_words.thickness_sentence(settled), confidence_words.wear_sentence(settled)
    ]  # fmt: skip
    return {
        "note": breakable(settable(design.given.note)),
        "numbers": [*([one.name, one.value, one.words] for one in first_numbers(design)), *_more_numbers(design)],
        "inches": _in_inches(design.layout.thickness),
        "gauge": _picture(items, box, 1.0, "The window of thicknesses and the thickness chosen"),
        "thickness": sentences,
        "outcome": outcome(rows, solids=True),
        "checks": [[row.verdict, row.asked, told.value, told.limit, row.change] for row, told in shown],
    }


def _more_numbers(design: Design) -> Iterator[list[str]]:
    """Yield the mouth when the truings asked for are done, and the mass."""
    last = mouth_wear(design.given, design.layout)[-1]
    if last.truings:
        yield [
            "Mouth later",
            f"{last.opening:.2f} mm",
            f"after {many(last.truings, 'truing')}, {last.sole:.2f} mm off the sole",
        ]
    yield ["Mass", f"{design.mass:.0f} g", f"{design.given.wood.species}; without the metal"]


def _in_inches(thickness: float) -> str:
    mark = on_the_rule(thickness)
    return f"{thickness:.2f} mm is {thickness / INCH:.3f} in; on the rule {mark.text} in, error {mark.error_text} mm."


def _tables(design: Design) -> dict[str, Any]:
    said = Said(design.given.units)
    return {
        "pieces": piece_table(design, said),
        "totals": totals(design),
        "allowances": f"{number(LENGTH_ALLOWANCE)}, {number(WIDTH_ALLOWANCE)} and {number(THICKNESS_ALLOWANCE)} mm",
        "grain": _grain(design),
        "layout": layout_table(design),
        "widths": width_table(design),
        "drilling": drill_table(design),
        "drill_notes": list(DRILL_NOTES),
        "angles": angle_table(design),
    }


def _grain(design: Design) -> str:
    rings = "stand upright" if design.given.wood.cut == "quarter" else "lie level"
    return f"Grain runs from toe to heel in every piece; growth rings {rings} in the end of the body."


def _drawings(design: Design, drawn: dict[str, View]) -> dict[str, Any]:
    wear = drawn["mouth-wear"]
    depth = Said(design.given.units).fine(design.given.work.truing_depth.value)
    note = (
        f"Each truing takes {depth} off the sole. The edge follows the sole down the bed; the front wall leans away."
        if design.given.work.truings
        else ""
    )
    return {
        "exploded": _view(drawn["exploded"]),
        "section": _view(drawn["mouth-section"]),
        "wear": _view(wear),
        "wear_title": wear.title,
        "wear_note": note,
    }


def _templates(design: Design, drawn: dict[str, View]) -> dict[str, Any]:
    names = [view.name for view in drawn.values() if view.scale == 1 and view.name != "exploded"]
    sheets = template_sheets([drawn[name] for name in names], design.given.shop.paper)
    length = design.layout.length
    return {
        "tiles": sheets.tiles,
        "boards": sheets.boards,
        "form": sheets.form,
        "printing": printing_rules(length),
        "off": printer_off(length),
    }


def _view(view: View) -> dict[str, Any]:
    return _picture(view.items, view.box.grown(1.0 / view.scale), view.scale, view.title)


def _picture(items: Sequence[Item], box: Box, scale: float, alt: str) -> dict[str, Any]:
    return {"svg": picture(items, box, scale), "width": box.width * scale, "height": box.height * scale, "alt": alt}
