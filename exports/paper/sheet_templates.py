"""The shop sheet's template pages as data: tiles with their place, an overview of the sheets, how to print.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from planestock.exports.drawing.model import Item, Stroke, View, Words
from planestock.exports.drawing.svg import picture
from planestock.exports.paper.tiles import FOOT, MARGIN, SIDE, Tile, tiled
from planestock.exports.wording.inch import INCH
from planestock.exports.wording.said import Said
from planestock.params.outlines.pieces import Bounds
from planestock.params.outlines.polygons import chain

OVERVIEW_WIDTH = 82.0
"""Room for a board on the overview, mm on paper."""

OVERVIEW_SCALE = 0.2
"""Largest scale of the overview."""

SHEET_NUMBER = 3.2
"""Type size of a sheet's number on the overview, mm on paper: 9 points."""

BARS = (99.0, 99.5, 99.8, 100.2, 100.5, 101.0)
"""Readings of the 100 mm bar that the table answers."""

BAR = 100.0
"""Length of the check bar, mm."""

BAR_OFF = 0.1
"""Error of the bar whose effect is told, mm: what a good steel rule shows."""

BARS_APART = 0.2
"""Difference of the two bars, mm, from which the printer stretches the paper one way and templates are not to be trusted."""

MEASURE = (
    "Measure both bars on every sheet, the level one and the upright one, with a caliper or a good steel rule. Both must "
    "read 100 mm (the other side 4 in)."
)
STRETCHED = "Use the layout table and leave the templates, or have them printed elsewhere."
JOIN = "Join sheets on their crosses, the right one over the left, before anything is cut out."


@dataclass(frozen=True)
class Sheets:
    """All template pages as plain data."""

    tiles: list[dict[str, Any]]
    boards: list[dict[str, Any]]
    form: dict[str, float]


def template_sheets(views: Sequence[View], paper: str) -> Sheets:
    """Return the template pages for full-size views on a kind of paper."""
    found = tiled(views, paper)
    groups = _by_board(found)
    tiles = [entry for first, group in groups for entry in _tiles(first, group)]
    boards = [_overview(first, group) for first, group in groups]
    return Sheets(tiles, boards, {"margin": MARGIN, "side": SIDE, "foot": FOOT})


def _by_board(tiles: Sequence[Tile]) -> list[tuple[int, list[Tile]]]:
    """Return the tiles of each board with the number of its first sheet."""
    groups: list[tuple[int, list[Tile]]] = []
    for number, tile in enumerate(tiles, 1):
        if tile.row == 0 and tile.column == 0:
            groups.append((number, []))
        groups[-1][1].append(tile)
    return groups


def _tiles(first: int, group: Sequence[Tile]) -> Iterator[dict[str, Any]]:
    for offset, tile in enumerate(group):
        yield {
            "number": first + offset,
            "first": first,
            "title": tile.board.title,
            "column": tile.column,
            "row": tile.row,
            "columns": tile.columns,
            "rows": tile.rows,
            "page": {"width": tile.page.width, "height": tile.page.height},
            "picture": {
                "svg": picture(tile.items, tile.window),
                "width": tile.window.width,
                "height": tile.window.height,
                "alt": f"{tile.board.title}, full size, sheet {first + offset}",
            },
        }


def _overview(first: int, group: Sequence[Tile]) -> dict[str, Any]:
    """Return a board in small with the sheets' frames and numbers; its own words would be too small to read."""
    board = group[0].board
    box = _around(group)
    scale = min(OVERVIEW_SCALE, OVERVIEW_WIDTH / box.width)
    items: list[Item] = [
        item for item in board.items if isinstance(item, Stroke) and item.layer not in ("dimensions", "text")
    ]
    for number, tile in enumerate(group, first):
        w = tile.window
        frame = chain((w.left, w.low), (w.right, w.low), (w.right, w.high), (w.left, w.high), (w.left, w.low))
        items.append(Stroke("text", frame, "dashed"))
        items.append(
            Words("text", str(number), ((w.left + w.right) / 2, w.low + 2.0 / scale), SHEET_NUMBER / scale, anchor="middle")
        )
    shown = box.grown(0.6 / scale)
    return {
        "title": board.title,
        "picture": {"svg": picture(items, shown, scale), "width": shown.width * scale, "height": shown.height * scale,
                    "alt": f"Sheets {first} to {first + len(group) - 1}: {board.title}"},
    }  # fmt: skip


def _around(group: Sequence[Tile]) -> Bounds:
    windows = [tile.window for tile in group]
    return Bounds(
        min(w.left for w in windows),
        min(w.low for w in windows),
        max(w.right for w in windows),
        max(w.high for w in windows),
    )


def printing_rules(length: float, said: Said) -> list[str]:
    """Return how to print and what to do with a printer that is off. length: of the body, mm."""
    off, out = said.fine(BAR_OFF), said.fine(length * BAR_OFF / BAR)
    return [
        "Print at 100 % (“actual size”): no fitting to the page, no scaling, no borderless mode.",
        f"{MEASURE} A 100 mm bar that is off by {off} puts the heel {out} out.",
        "If both bars are off alike, print again at the setting in the table: 100 % × what it should read / what it reads.",
        f"Two bars that differ by more than {said.fine(BARS_APART)}: the printer stretches one way. {STRETCHED}",
        f"{JOIN} Then check the whole length from toe to heel: {said.length(length)}.",
    ]


def printer_off(length: float, said: Said) -> list[list[str]]:
    """Return for each reading of the bar: the setting that puts it right, and how long the body comes out as printed."""
    shown = [said.fine(bar if said.units == "mm" else bar * 4 * INCH / BAR) for bar in BARS]
    return [
        [text, f"{10000 / bar:.1f} %", f"{said.length(length * bar / BAR)} long"]
        for bar, text in zip(BARS, shown, strict=True)
    ]


def bar_head(said: Said) -> str:
    """Return the head of the column of what the bar reads."""
    return "100 mm bar reads" if said.units == "mm" else "4 in bar reads"
