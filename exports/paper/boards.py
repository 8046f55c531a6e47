"""Boards: full-size views laid out together so that they take few sheets, lying or upright.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planestock.exports.drawing.model import Item, View, Words, around, moved
from planestock.params.outlines.pieces import Bounds, Point

EDGE = 6.0
"""Free edge of a board, where the marks stand, mm."""

GAP = 7.0
"""Between views on one board, mm."""

TITLE = 3.5
"""Type size of a view's title, mm: 10 points."""

TITLE_ROOM = 6.0
"""Height kept above a view for its title, mm."""

LIGHT_TOUCH = 1e-6
"""A board this little larger than its sheet still fits, mm."""


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
    box: Bounds

    @property
    def title(self) -> str:
        """Titles of its views."""
        titles = [one.view.title for one in self.placed]
        return "; ".join([titles[0], *(title[:1].lower() + title[1:] for title in titles[1:])])


Room = Callable[[float], Point]
"""Turns the width a view needs into the width and height of the board that its sheets make, mm."""

MOST_ORDERS = 120
"""Orders of the widest views that are tried: all of five."""

BEST = 3
"""Ways to lay out all views that are looked at closely, those whose boards are smallest."""


def layouts(views: Sequence[View], room: Room) -> list[tuple[Board, ...]]:
    """Return the best ways found to lay out all views on boards, those with the least paper first.

    Wide views are laid in every order, the others after them, the highest first.
    """
    single = room(0.0)[0]
    wide = [view for view in views if view.box.width + 2 * EDGE > single] or list(views)
    rest = sorted((view for view in views if view not in wide), key=lambda view: -view.box.height)
    orders = itertools.islice(itertools.permutations(wide), MOST_ORDERS)
    ways = [_packed([*order, *rest], room) for order in orders]
    ways.sort(key=lambda way: sum(paper for _, paper in way))
    return [tuple(_board(placed) for placed, _ in way) for way in ways[:BEST]]


def _packed(views: Sequence[View], room: Room) -> list[tuple[list[Placed], float]]:
    """Return what lies on each board, and how much paper that takes: the width of its sheets."""
    found: list[tuple[list[Placed], float]] = []
    left = list(views)
    while left:
        width, height = room(left[0].box.width + 2 * EDGE)
        tallest = left[0].box.height + TITLE_ROOM
        placed, left = _filled(left, (width - 2 * EDGE, max(height - 2 * EDGE, tallest)))
        found.append((placed, width))
    return found


def _filled(views: Sequence[View], size: Point) -> tuple[list[Placed], list[View]]:
    """Return as many of the views as fit on a board, each as high up and then as far left as it can lie, and the rest."""
    taken: list[Bounds] = []
    placed: list[Placed] = []
    rest: list[View] = []
    for view in views:
        spot = _spot((view.box.width, view.box.height + TITLE_ROOM), taken, size)
        if spot is None:
            rest.append(view)
            continue
        taken.append(spot)
        placed.append(Placed(view, (spot.left - view.box.left, spot.high - TITLE_ROOM - view.box.high)))
    return placed, rest


def _spot(wanted: Point, taken: Sequence[Bounds], size: Point) -> Bounds | None:
    """Return the first place that is free: its corner lies at the board's own or beside or below what is there already."""
    lefts = sorted({0.0, *(box.right + GAP for box in taken)})
    highs = sorted({0.0, *(box.low - GAP for box in taken)}, reverse=True)
    for high in highs:
        for left in lefts:
            spot = Bounds(left, high - wanted[1], left + wanted[0], high)
            if spot.right <= size[0] + LIGHT_TOUCH and spot.low >= -size[1] - LIGHT_TOUCH and _is_free(spot, taken):
                return spot
    return None


def _is_free(spot: Bounds, taken: Sequence[Bounds]) -> bool:
    room = spot.grown(GAP - LIGHT_TOUCH)
    return not any(room.meets(box) for box in taken)


def _board(placed: Sequence[Placed]) -> Board:
    items: list[Item] = []
    for one in placed:
        box, (x, y) = one.view.box, one.at
        items.append(Words("text", one.view.title, (box.left + x, box.high + y + TITLE_ROOM - TITLE), TITLE))
        items += [moved(item, one.at) for item in one.view.items]
    return Board(tuple(placed), tuple(items), around(items).grown(EDGE))


def on_board(board: Board, view: str, point: Point) -> Point:
    """Return where a point of a view lies on a board. Raises KeyError where the board does not have the view."""
    for one in board.placed:
        if one.view.name == view:
            return (point[0] + one.at[0], point[1] + one.at[1])
    raise KeyError(view)
