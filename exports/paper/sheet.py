"""The shop sheet: one PDF with all that the maker takes to the bench.

Set by typst: exact lengths, good tables, real text in embedded fonts, same bytes for the same input, one wheel and no system
libraries. Drawings come from the views of `drawing.py` as SVG, templates at exactly 1 : 1.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from planestock.exports.drawing.model import Item, View
from planestock.exports.drawing.svg import picture
from planestock.exports.drawing.views import views
from planestock.exports.files.pdf import breakable, compiled, page_head, settable, text_paper
from planestock.exports.files.stamp import Stamp
from planestock.exports.paper.sheet_gauge import gauge
from planestock.exports.paper.sheet_holder import holders
from planestock.exports.paper.sheet_source import PAGES
from planestock.exports.paper.sheet_tables import (
    angle_table,
    drill_table,
    heads,
    layout_table,
    piece_table,
    volume_heads,
    width_table,
    wood_to_buy,
)
from planestock.exports.paper.sheet_templates import bar_head, printer_off, printing_rules, template_sheets
from planestock.exports.wording import window as confidence_words
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.design import by_urgency, first_numbers, outcome, row_text
from planestock.exports.wording.inch import on_the_rule, thousandths
from planestock.exports.wording.order_of_work import PRACTICE, order_of_work
from planestock.exports.wording.said import Said
from planestock.exports.wording.window_notes import window_notes
from planestock.models.bench.marks import mouth_wear
from planestock.models.body.screws import HARDWOOD_FROM
from planestock.params.lengths import counted
from planestock.params.outlines.pieces import Bounds

if TYPE_CHECKING:
    from planestock.models.design import Design

PILOTS = (
    "Pilots: 90 % of the screw's root diameter in hardwood, 70 % in softwood (rule of the NDS commentary); the line "
    f"between them, specific gravity {HARDWOOD_FROM}, is our own choice. Root diameters from common screw charts, about "
    "two thirds of the shank (Wood Handbook, FPL-GTR-190, p. 8-10); shank 0.060 + 0.013 N inch (ASME B18.6.1). That a "
    "third of a screw is plain shank is common practice, no published source."
)
"""Where pilots and shank holes come from; a note under the drill table."""


PICTURES = ("exploded", "mouth-section", "mouth-wear")
"""Views that are looked at and not stuck on the wood."""


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
    items, box = gauge(settled, design.given.lengths)
    shown = [(row, row_text(row, design.given.lengths)) for row in by_urgency(rows) if row.verdict != "pass"]
    sentences = [
        *window_notes(settled), confidence_words.thickness_sentence(settled), confidence_words.wear_sentence(settled)
    ]  # fmt: skip
    return {
        "note": breakable(settable(design.given.note)),
        "numbers": [*([one.name, one.value, one.words] for one in first_numbers(design)), *_more_numbers(design)],
        "inches": _on_the_rule(design),
        "gauge": _picture(items, box, 1.0, "The window of thicknesses and the thickness chosen"),
        "thickness": sentences,
        "outcome": outcome(rows, solids=True),
        "checks": [[row.verdict, row.asked, told.value, told.limit, row.change] for row, told in shown],
    }


def _more_numbers(design: Design) -> Iterator[list[str]]:
    """Yield the mouth when the truings asked for are done, and the mass."""
    last, lengths = mouth_wear(design.given, design.layout)[-1], design.given.lengths
    if last.truings:
        after = f"after {counted(last.truings, 'truing')}, {lengths(last.sole)} off the sole"
        yield ["Mouth later", lengths(last.opening), after]
    yield ["Mass", f"{design.mass:.0f} g", f"{design.given.wood.species}; without the metal"]


def _on_the_rule(design: Design) -> str:
    """Return where the thickness lies on an inch rule."""
    thickness, lengths = design.layout.thickness, design.given.lengths
    mark = on_the_rule(thickness)
    if design.given.units == "in":
        return f"{lengths(thickness)}: {mark.said} on the rule."
    return (
        f"{lengths(thickness)} is {thousandths(thickness)}: {mark.said} on an inch rule, {mark.error_text} mm off the mark."
    )


def _tables(design: Design) -> dict[str, Any]:
    said = Said(design.given.units)
    return {
        "heads": asdict(heads(said)),
        "pieces": piece_table(design, said),
        "volume_heads": volume_heads(said),
        "to_buy": f"{wood_to_buy(design)} {_grain(design)}",
        "layout": layout_table(design),
        "widths": width_table(design),
        "drilling": drill_table(design),
        "drill_notes": [_drill_note(said), PILOTS],
        "angles": angle_table(design),
    }


def _drill_note(said: Said) -> str:
    return (
        "Places from the toe, heights from the sole, on the bed from the corner D along it. Depths are those of the "
        "full diameter, along the hole; a frog screw's from the floor of the recess, where there is one. “Wider by” is "
        f"what the inch bit is over the hole. All in {'millimetres' if said.units == 'mm' else 'inches'}."
    )


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
    names = [view.name for view in drawn.values() if view.name not in PICTURES]
    sheets = template_sheets([drawn[name] for name in names], design.given.shop.paper)
    length, said = design.layout.length, Said(design.given.units)
    return {
        "tiles": sheets.tiles,
        "boards": sheets.boards,
        "form": sheets.form,
        "figures": f"Figures in {design.given.units}.",
        "bar_head": bar_head(said),
        "printing": printing_rules(length, said),
        "off": printer_off(length, said),
    }


def _view(view: View) -> dict[str, Any]:
    return _picture(view.items, view.box.grown(1.0 / view.scale), view.scale, view.title)


def _picture(items: Sequence[Item], box: Bounds, scale: float, alt: str) -> dict[str, Any]:
    return {"svg": picture(items, box, scale), "width": box.width * scale, "height": box.height * scale, "alt": alt}
