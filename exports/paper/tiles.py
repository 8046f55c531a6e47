"""Full-size templates on paper: boards of views cut into overlapping sheets, with marks to join them.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planestock.exports.drawing.model import Item, Stroke, View, Words, bounds_of_item, clipped
from planestock.exports.files.pdf import PAPERS, Paper
from planestock.exports.paper.boards import EDGE, LIGHT_TOUCH, Board, Room, layouts
from planestock.params.outlines.pieces import Bounds, Point
from planestock.params.outlines.polygons import chain

MARGIN = 10.0
"""Free edge of a sheet, mm: the frame margin of ISO 5457 for A4 to A2, and more than any printer leaves blank."""

FOOT = 15.0
"""Strip at a sheet's lower edge for the check bar, what the sheet is, and the tile map, mm."""

SIDE = 12.0
"""Strip at a sheet's left edge for the upright check bar, mm."""

OVERLAP = 20.0
"""Least overlap of neighbouring sheets, mm: room for glue and for the marks."""

ROLL_HEIGHT = 600.0
"""Sheets from a roll are at most this high, mm: rolls are 610 mm wide (24 in)."""

CROSS = 3.5
"""Half the length of a mark's arms, mm, along the edge of the board."""

SHORT = 2.2
"""Half the length of its other arms, mm: they stay clear of the drawing and of the edge."""


@dataclass(frozen=True)
class Page:
    """A sheet. width, height: as it lies before the reader, mm; room: width and height that a drawing may fill."""

    width: float
    height: float

    @property
    def room(self) -> Point:
        """Width and height left for the drawing, mm."""
        return (self.width - 2 * MARGIN - SIDE, self.height - 2 * MARGIN - FOOT)


@dataclass(frozen=True)
class Tile:
    """One sheet of a board. window: what it shows; column, row: from the board's upper left, counted from 0."""

    board: Board
    page: Page
    window: Bounds
    column: int
    row: int
    columns: int
    rows: int
    items: tuple[Item, ...]


def tiled(views: Sequence[View], paper: str) -> tuple[Tile, ...]:
    """Return all sheets for full-size views, board by board, each from left to right and from the top down.

    Views are laid out as takes the fewest sheets, lying or upright; a roll's one sheet is as long as its board asks for.
    """
    if paper == "roll":
        long = max(PAPERS["A1"].height, max(view.box.width for view in views) + 2 * EDGE)
        found = [(board, _cut_off(board)) for board in _on_a_roll(views, long)]
    else:
        found = _fewest(views, PAPERS[paper])
    return tuple(tile for board, page in found for tile in _tiles(board, page))


def _on_a_roll(views: Sequence[View], long: float) -> tuple[Board, ...]:
    return min(layouts(views, lambda _: (long, ROLL_HEIGHT - 2 * MARGIN - FOOT)), key=len)


def _cut_off(board: Board) -> Page:
    return Page(board.box.width + 2 * MARGIN + SIDE, board.box.height + 2 * MARGIN + FOOT)


def _fewest(views: Sequence[View], paper: Paper) -> list[tuple[Board, Page]]:
    """Return the boards that take the fewest sheets, each with its sheet."""
    pages = (Page(paper.height, paper.width), Page(paper.width, paper.height))
    ways = [
        [_lying_or_upright(board, pages) for board in boards] for page in pages for boards in layouts(views, _room(page))
    ]
    return min(ways, key=lambda way: sum(_count(board, page) for board, page in way))


def _room(page: Page) -> Room:
    """Return what a row of sheets, as many as a view needs, has room for."""
    width, height = page.room

    def room(wanted: float) -> Point:
        more = max(0, math.ceil((wanted - width) / (width - OVERLAP) - 1e-9))
        return (width + more * (width - OVERLAP), height)

    return room


def _lying_or_upright(board: Board, pages: Sequence[Page]) -> tuple[Board, Page]:
    return board, min(pages, key=lambda page: _count(board, page))


def _count(board: Board, page: Page) -> int:
    """Return how many sheets a board takes."""
    across, down = _whole(board)
    box, (width, height) = board.box, page.room
    return len(_stretches(box.left, box.right, width, across, OVERLAP)) * len(
        _stretches(-box.high, -box.low, height, down, OVERLAP)
    )


def _whole(board: Board) -> tuple[list[Point], list[Point]]:
    """Return what must lie whole on a sheet, from where to where, across and down: texts, and the mouth."""
    boxes = [bounds_of_item(item) for item in board.items if isinstance(item, Words) or item.layer == "mouth"]
    return [(box.left, box.right) for box in boxes], [(-box.high, -box.low) for box in boxes]


def _tiles(board: Board, page: Page) -> Iterator[Tile]:
    whole_across, whole_down = _whole(board)
    across = windows(board.box.left, board.box.right, page.room[0], whole_across)
    down = windows(-board.box.high, -board.box.low, page.room[1], whole_down)
    marks = tuple(_marks(board.box, across, down))
    for row, (high, low) in enumerate(down):
        for column, (left, right) in enumerate(across):
            window = Bounds(left, -low, right, -high)
            shown = clipped([*board.items, *marks], window)
            yield Tile(board, page, window, column, row, len(across), len(down), tuple(shown))


def windows(start: float, end: float, room: float, whole: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the stretches that cover start to end, each `room` long: as few as can be, overlapping by `OVERLAP` at least.

    whole: what must lie whole in one stretch, from where to where: texts, and the mouth. What is longer than three quarters
    of a stretch cannot, and is left out of account. Room to spare goes into wider overlaps.
    """
    best = _stretches(start, end, room, whole, OVERLAP)
    for overlap in range(int(OVERLAP) + 1, int(room / 2)):
        wider = _stretches(start, end, room, whole, float(overlap))
        if len(wider) > len(best):
            break
        best = wider
    return best


def _stretches(
    start: float, end: float, room: float, whole: Sequence[tuple[float, float]], overlap: float
) -> list[tuple[float, float]]:
    found = [(start, start + room)]
    while found[-1][1] < end - LIGHT_TOUCH:
        begin, finish = found[-1]
        cut = [first for first, last in whole if last > finish and begin + room / 4 < first]
        following = min([finish - overlap, *cut])
        found.append((following, following + room))
    return found


def _marks(box: Bounds, across: Sequence[tuple[float, float]], down: Sequence[tuple[float, float]]) -> Iterator[Item]:
    """Yield a cross in the middle of every overlap, on the board's free edges, each with a letter of its own."""
    xs = _joints(across)
    ys = [-y for y in _joints(down)]
    edge = EDGE / 2
    places = [(x, y) for x in xs for y in (box.high - edge, box.low + edge)]
    places += [(x, y) for y in ys for x in (box.left + edge, box.right - edge)]
    for letter, (x, y) in zip("ABCDEFGHJKLMNPQRSTUVWXYZ" * 4, places, strict=False):
        level, upright = (CROSS, SHORT) if (x, y) in places[: 2 * len(xs)] else (SHORT, CROSS)
        yield Stroke("text", chain((x - level, y), (x + level, y)), "narrow")
        yield Stroke("text", chain((x, y - upright), (x, y + upright)), "narrow")
        yield Words("text", letter, (x + 1.0, y + 0.5) if level == CROSS else (x + 0.4, y + 1.0), 2.5)


def _joints(stretches: Sequence[tuple[float, float]]) -> list[float]:
    return [(one[1] + other[0]) / 2 for one, other in itertools.pairwise(stretches)]
