"""A traced underside of the casting: from where it leaves the seat, over the cove, to the rear end.

Coordinates: x from the corner D towards the heel, z up from the seat plane, mm. Ahead of the cove the wood is level,
whatever small waves the drawing has: that is the seat plane.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from planestock.params.metal import Casting
from planestock.params.outlines.along import directions, height_on
from planestock.params.outlines.path_text import read
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, extremes
from planestock.params.traced.evening import FINE, with_ends

FLAT = 0.3
"""The cove is looked for where the underside is lower than this below the seat plane, mm, and then followed up to it."""

LEVEL = 0.01
"""A last straight piece that rises or falls less than this, mm, is level: the tail."""

STEEP = math.radians(10)
"""The foot of a cove is where the underside is nowhere steeper than this any more."""

A_HAIR = 0.5
"""The underside's and the outline's drawings may end this far apart, mm, without a level piece of its own between."""

NO_TAIL = 0.05
"""An underside that nowhere falls lower than this, mm, has no tail."""


@dataclass(frozen=True)
class TracedTail:
    """A traced underside behind the seat. fall: pieces from the seat plane to where it stays level, or to the rear end.

    foot: where it is nowhere steep any more; rear: the rear end, level with the end of the fall.
    """

    fall: Outline
    foot: Point
    rear: Point


def traced_tail(casting: Casting, rear: float) -> TracedTail | None:
    """Return the traced underside from where it leaves the seat to the rear end at x = `rear`; None without a tail."""
    return None if casting.profile is None else _tail(casting.profile, rear)


@lru_cache(maxsize=64)
def _tail(text: str, rear: float) -> TracedTail | None:
    pieces = _up_to(read(text, "casting.profile"), rear)
    if min(z for piece in pieces for _, z in extremes(piece)) > -NO_TAIL:
        return None
    fall = _fallen(pieces)
    first = with_ends(fall[0], (fall[0].start[0], 0.0), fall[0].end)
    fall = (first, *fall[1:])
    last = fall[-1]
    if len(fall) > 1 and isinstance(last, Line) and abs(last.end[1] - last.start[1]) < LEVEL:
        fall = fall[:-1]
    return TracedTail(fall, _foot(fall), (rear, fall[-1].end[1]))


def _up_to(pieces: Outline, rear: float) -> Outline:
    """Return an underside that ends at the rear: cut there, or carried on level; its last piece takes up a hair."""
    kept: list[Piece] = []
    for piece in pieces:
        if kept and piece.start[0] >= rear - NO_TAIL:
            break
        kept.append(piece if piece.end[0] <= rear else _until(piece, rear))
    last = kept[-1]
    if rear - last.end[0] > A_HAIR:
        return (*kept, Line(last.end, (rear, last.end[1])))
    return (*kept[:-1], with_ends(last, last.start, (rear, last.end[1])))


def _until(piece: Piece, x: float) -> Piece:
    (sx, sz), (ex, ez) = piece.start, piece.end
    if isinstance(piece, Line):
        return Line(piece.start, (x, sz + (x - sx) / (ex - sx) * (ez - sz)))
    return replace(piece, end=(x, height_on(piece, x)))


def _fallen(pieces: Outline) -> Outline:
    """Return the pieces from where the underside leaves the seat plane for good."""
    first = max(index for index, piece in enumerate(pieces) if piece.start[1] > -FLAT or index == 0)
    while first > 0 and pieces[first].start[1] < -FINE and pieces[first - 1].end[1] < pieces[first - 1].start[1]:
        first -= 1
    return pieces[first:]


def _foot(fall: Outline) -> Point:
    steep = [index for index, piece in enumerate(fall) if max(abs(_lean(way)) for way in _ways(piece)) > STEEP]
    return fall[max(steep)].end if steep else fall[-1].end


def _ways(piece: Piece) -> Iterator[Point]:
    """Yield the directions of a piece at its start and a little before its end: an arc may be level just there."""
    if isinstance(piece, Arc):
        yield from directions(Arc(piece.start, piece.at(0.5), piece.centre, piece.clockwise))
    else:
        yield directions(piece)[0]


def _lean(way: Point) -> float:
    return math.atan2(way[1], way[0])
