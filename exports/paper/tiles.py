"""Full-size templates on paper: views laid out on boards, boards cut into overlapping sheets, with marks to join them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planestock.exports.drawing.clipping import clipped
from planestock.exports.drawing.model import Box, Item, Stroke, View, Words, around, box_of, chain, moved
from planestock.exports.paper.style import PAPERS
from planestock.models.shapes import Point

MARGIN = 10.0
"""Free edge of a sheet, mm: the frame margin of ISO 5457 for A4 to A2, and more than any printer leaves blank."""

FOOT = 15.0
"""Strip at a sheet's lower edge for the check bar, what the sheet is, and the tile map, mm."""

SIDE = 12.0
"""Strip at a sheet's left edge for the upright check bar, mm."""

OVERLAP = 20.0
"""Least overlap of neighbouring sheets, mm: room for glue and for the marks."""

EDGE = 6.0
"""Free edge of a board, where the marks stand, mm."""

GAP = 9.0
"""Between views on one board, mm."""

TITLE = 3.5
"""Type size of a view's title, mm: 10 points."""

TITLE_ROOM = 7.0
"""Height kept above a view for its title, mm."""

ROLL_HEIGHT = 600.0
"""Sheets from a roll are at most this high, mm: rolls are 610 mm wide (24 in)."""

CROSS = 3.5
"""Half the length of a mark's arms, mm, along the edge of the board."""

SHORT = 2.2
"""Half the length of its other arms, mm: they stay clear of the drawing and of the edge."""

LIGHT_TOUCH = 1e-6
"""A board this little larger than its sheet still fits, mm."""


@dataclass(frozen=True)
class Page:
    """A sheet lying down. width, height: of the paper, mm; room: width and height that a drawing may fill."""

    width: float
    height: float

    @property
    def room(self) -> Point:
        """Width and height left for the drawing, mm."""
        return (self.width - 2 * MARGIN - SIDE, self.height - 2 * MARGIN - FOOT)


@dataclass(frozen=True)
class Placed:
    """A view on a board: `at` is where its origin lies."""

    view: View
    at: Point


@dataclass(frozen=True)
class Board:
    """Views laid out together at full size. box: around them, with the free edge for marks."""

    placed: tuple[Placed, ...]
    items: tuple[Item, ...]
    box: Box

    @property
    def title(self) -> str:
        """Titles of its views."""
        titles = [one.view.title for one in self.placed]
        return "; ".join([titles[0], *(title[:1].lower() + title[1:] for title in titles[1:])])


@dataclass(frozen=True)
class Tile:
    """One sheet of a board. window: what it shows; column, row: from the board's upper left, counted from 0."""

    board: Board
    page: Page
    window: Box
    column: int
    row: int
    columns: int
    rows: int
    items: tuple[Item, ...]


def page_of(paper: str, boards_width: float = 0.0, boards_height: float = 0.0) -> Page:
    """Return the sheet, lying down; a sheet from a roll is as long and as high as its board asks for."""
    if paper == "roll":
        return Page(boards_width + 2 * MARGIN + SIDE, boards_height + 2 * MARGIN + FOOT)
    found = PAPERS[paper]
    return Page(found.height, found.width)


def tiled(views: Sequence[View], paper: str) -> tuple[Tile, ...]:
    """Return all sheets for full-size views, board by board, each from left to right and from the top down."""
    if paper == "roll":
        wide = max(view.box.width for view in views) + 2 * EDGE
        room = (max(wide, PAPERS["A1"].height), ROLL_HEIGHT - 2 * MARGIN - FOOT)
    else:
        room = page_of(paper).room
    return tuple(tile for board in boards(views, room) for tile in _tiles(board, paper))


def boards(views: Sequence[View], room: Point) -> tuple[Board, ...]:
    """Return boards: views side by side in rows that fit the room's width, rows on the first board that has height left.

    A view larger than the room is a row, or a board, of its own.
    """
    width, height = room[0] - 2 * EDGE, room[1] - 2 * EDGE
    stacks: list[list[list[View]]] = []
    for row in _rows(views, width):
        fits = [stack for stack in stacks if _stack_height([*stack, row]) <= height]
        if fits:
            fits[0].append(row)
        else:
            stacks.append([row])
    return tuple(_board(stack) for stack in stacks)


def _rows(views: Sequence[View], width: float) -> list[list[View]]:
    rows: list[list[View]] = []
    for view in views:
        used = sum(one.box.width + GAP for one in rows[-1]) if rows else math.inf
        if used + view.box.width <= width:
            rows[-1].append(view)
        else:
            rows.append([view])
    return rows


def _stack_height(stack: Sequence[Sequence[View]]) -> float:
    return sum(max(view.box.height for view in row) + TITLE_ROOM for row in stack) + GAP * (len(stack) - 1)


def _board(stack: Sequence[Sequence[View]]) -> Board:
    placed: list[Placed] = []
    items: list[Item] = []
    top = 0.0
    for row in stack:
        left = 0.0
        for view in row:
            box = view.box
            at = (left - box.left, top - TITLE_ROOM - box.high)
            placed.append(Placed(view, at))
            items.append(Words("text", view.title, (left, top - TITLE), TITLE))
            items += [moved(item, at) for item in view.items]
            left += box.width + GAP
        top -= max(view.box.height for view in row) + TITLE_ROOM + GAP
    return Board(tuple(placed), tuple(items), around(items).grown(EDGE))


def _tiles(board: Board, paper: str) -> Iterator[Tile]:
    page = page_of(paper, board.box.width, board.box.height)
    boxes = [box_of(item) for item in board.items if isinstance(item, Words) or item.layer == "mouth"]
    across = windows(board.box.left, board.box.right, page.room[0], [(box.left, box.right) for box in boxes])
    down = windows(-board.box.high, -board.box.low, page.room[1], [(-box.high, -box.low) for box in boxes])
    marks = tuple(_marks(board.box, across, down))
    for row, (high, low) in enumerate(down):
        for column, (left, right) in enumerate(across):
            window = Box(left, -low, right, -high)
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


def _marks(box: Box, across: Sequence[tuple[float, float]], down: Sequence[tuple[float, float]]) -> Iterator[Item]:
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


def on_board(board: Board, view: str, point: Point) -> Point:
    """Return where a point of a view lies on a board. Raises KeyError where the board does not have the view."""
    for one in board.placed:
        if one.view.name == view:
            return (point[0] + one.at[0], point[1] + one.at[1])
    raise KeyError(view)
