"""Inside corners: left for the chisel, or relieved by the cutter itself, where enough wood stays around the relief.

A relief that bites into both walls alike has its circle's middle on the line that halves the corner, one radius from it, so
that the circle passes through the corner; in a square corner that is r √2 / 2 back from it both ways (plane geometry). Where
metal lies on one of the walls the circle only touches that wall and bites into the other one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from planestock.models.body.layout import Layout
from planestock.models.machining.leftovers import Leftover
from planestock.models.machining.part_blocks import PartName, Stretch
from planestock.models.machining.pockets import Pocket
from planestock.models.machining.relief_room import Limits, Room, plan_room, side_room
from planestock.models.machining.setups import Cut, PartPlan, Setup, all_cuts
from planestock.params.outlines.along import direction
from planestock.params.outlines.pieces import Arc, Line, Outline, Point, circle, left_of, shifted, stepped, unit

Choice = Literal["chisel", "relieved", "relieved everywhere"]

Kept = Literal["by choice", "metal lies there", "not a corner", "leaning walls", "little wood"]
"""Why a corner is not relieved."""

SAME = 1e-6
"""Places nearer than this are one, mm."""


@dataclass(frozen=True)
class Corner:
    """One leftover of a pocket and what becomes of it. relief: its outline, anticlockwise, in the pocket's plane, or None.

    why: it is left, None where it is relieved; room: the least wood around the relief that would be, where that was asked.
    """

    part: PartName
    setup: int
    feature: str
    pocket: str
    left: Leftover
    relief: Outline | None
    why: Kept | None
    room: Room | None


def corners(at: Layout, plans: Sequence[PartPlan], choice: Choice, limits: Limits) -> tuple[Corner, ...]:
    """Return every leftover once, with its relief where one is wanted and has room; the left half's are the right one's."""
    found: list[Corner] = []
    for plan, setup, cut in all_cuts(plans):
        for pocket in cut.pockets:
            for left in pocket.leftovers:
                if not any(_same(corner, setup, left) for corner in found):
                    found.append(_corner(at, (plan.stretch, setup, cut, pocket), left, choice, limits))
    return tuple(found)


def _same(corner: Corner, setup: Setup, left: Leftover) -> bool:
    """Tell whether a leftover is known already: the recess is open to the throat and shares its mouth."""
    return (
        corner.part == setup.part
        and corner.setup == setup.number
        and math.dist(corner.left.place, left.place) < SAME
        and abs(corner.left.area - left.area) < SAME
        and corner.pocket != "casting's seat"
    )


def _corner(at: Layout, where: tuple[Stretch, Setup, Cut, Pocket], left: Leftover, choice: Choice, limits: Limits) -> Corner:
    own, setup, cut, pocket = where

    def told(relief: Outline | None, why: Kept | None, room: Room | None = None) -> Corner:
        return Corner(setup.part, setup.number, cut.feature, pocket.title, left, relief, why, room)

    if left.kind in ("passage", "everything") or left.stand is None or pocket.title == "cove":
        return told(None, "not a corner")
    if choice == "chisel":
        return told(None, "by choice")
    if pocket.sloped:
        return told(None, "leaning walls")
    outline = relief_outline(left, pocket, everywhere=choice == "relieved everywhere")
    if outline is None:
        return told(None, "metal lies there")
    room = _room(at, own, setup, pocket, outline, limits)
    return told(None, "little wood", room) if room.short else told(outline, None, room)


def _room(at: Layout, own: Stretch, setup: Setup, pocket: Pocket, outline: Outline, limits: Limits) -> Room:
    if setup.position == "top up" or own.whole_width:
        across = 0.0 if own.whole_width else own.inner
        return plan_room(at, shifted(outline, (0.0, across)), own.high - pocket.depth, limits)
    return side_room(at, shifted(outline, (0.0, own.low)), own.inner + pocket.depth, pocket.title, limits)


def relief_outline(left: Leftover, pocket: Pocket, *, everywhere: bool) -> Outline | None:
    """Return the outline that relieves a corner, the cutter's way from where it stands included.

    everywhere: whether it may bite into walls that metal lies on. None where both walls are such and it may not.
    """
    assert left.stand is not None
    bearing = [] if everywhere else [line for line in _walls_at(left) if _lies_on(line, pocket.bearing)]
    if len(bearing) > 1:
        return None
    way = unit(left.place, left.stand) if not bearing else left_of(direction(bearing[0], 0.0))
    return slot(left.stand, stepped(left.place, way, pocket.radius), pocket.radius)


def _walls_at(left: Leftover) -> Iterator[Line]:
    for piece in left.outline:
        if isinstance(piece, Line) and min(math.dist(left.place, piece.start), math.dist(left.place, piece.end)) < SAME:
            yield piece


def _lies_on(piece: Line, lines: Sequence[Line]) -> bool:
    return any(_off(line, piece.start) < SAME and _off(line, piece.end) < SAME for line in lines)


def _off(line: Line, point: Point) -> float:
    (ux, uy), (x, y) = direction(line, 0.0), line.start
    return abs(ux * (point[1] - y) - uy * (point[0] - x))


def slot(start: Point, end: Point, radius: float) -> Outline:
    """Return the outline of what a round cutter takes on its way from one place to another, anticlockwise."""
    if math.dist(start, end) < SAME:
        return circle(end, radius)
    side = left_of(unit(start, end))
    a, b = stepped(start, side, -radius), stepped(end, side, -radius)
    c, d = stepped(end, side, radius), stepped(start, side, radius)
    return (Line(a, b), Arc(b, c, end, clockwise=False), Line(c, d), Arc(d, a, start, clockwise=False))
