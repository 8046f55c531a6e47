"""The setup sheet: one page with everything that a shop with a router needs beside the solids."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planestock.exports.drawing.svg import picture
from planestock.exports.files.pdf import compiled, page_head, text_paper
from planestock.exports.files.stamp import Stamp
from planestock.exports.machining.setup_drawings import picture_of
from planestock.exports.machining.sheet_source import PAGE
from planestock.exports.wording.cautions import AT_THE_ROUTER
from planestock.exports.wording.machining import (
    PART_WORDS,
    TIGHTER,
    Figures,
    check_lines,
    corner_rows,
    cut_rows,
    hand_rows,
    holding_words,
    lies_on,
    stock_size,
    tolerance_rows,
    waste,
    zero,
)
from planestock.models.machining.all_setups import PlanOfWork
from planestock.models.machining.setups import PartPlan, Setup

if TYPE_CHECKING:
    from planestock.models.design import Design

PICTURE_WIDTH = 92.0
"""Width of the widest picture on paper, mm."""

MOST_CORNERS = 12
"""Corners told on the sheet; the rest stand in the data file."""

FIRST_IN_SCRAP = (
    "Run every program in the air, then in scrap wood, before the good block is clamped; measure the scrap's seat height "
    "and bed angle."
)
"""The sheet's own caution; common practice, no published source."""


def setup_sheet(made: Design, work: PlanOfWork, stamp: Stamp) -> bytes:
    """Return the setup sheet as PDF, one page. Raises WriterFailed where the page cannot be set."""
    return compiled(PAGE, sheet_data(made, work, stamp))


def sheet_data(made: Design, work: PlanOfWork, stamp: Stamp) -> dict[str, Any]:
    """Return all that the page shows, as plain data."""
    given = made.given
    said = Figures(given.units)
    parts = [plan for plan in work.parts if plan.mirror_of is None]
    rows = corner_rows(work.corners, said)
    return {
        **page_head(stamp, text_paper(given.shop.paper, given.units), "setup sheet"),
        "unit": said.unit,
        "cutter": f"Ø {said.said(work.cutter.diameter)}, reach {said.said(work.cutter.reach)}",
        "setups": [_setup(made, plan, setup, work, said) for plan in parts for setup in plan.setups],
        "hand": hand_rows(parts),
        "corners": rows[:MOST_CORNERS],
        "more_corners": max(0, len(rows) - MOST_CORNERS),
        "tolerances": tolerance_rows(work.tolerances, said),
        "tighter": [TIGHTER[one] for one in dict.fromkeys(one.asked for one in work.tolerances if one.tighter)],
        "checks": check_lines(work.checks),
        "cautions": [FIRST_IN_SCRAP, *AT_THE_ROUTER],
    }


def _setup(made: Design, plan: PartPlan, setup: Setup, work: PlanOfWork, said: Figures) -> dict[str, Any]:
    longest = max(one.stock.size[0] for part in work.parts for one in part.setups)
    scale = PICTURE_WIDTH / longest
    items, box = picture_of(made.layout, plan, setup, work, scale)
    return {
        "title": f"{PART_WORDS[plan.name]}, setup {setup.number}: {setup.position}",
        "lies": f"Lies on {lies_on(plan, setup)}",
        "zero": zero(plan, setup),
        "stock": stock_size(setup, said),
        "waste": waste(plan, setup, said),
        "cuts": cut_rows(setup, work.cutter, said),
        "hold": holding_words(work.holdings[plan.name, setup.number], plan, said),
        "svg": picture(items, box, scale),
        "width": box.width * scale,
        "height": box.height * scale,
        "alt": f"{plan.name} as it lies in setup {setup.number}, seen along the spindle",
    }
