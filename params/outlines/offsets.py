"""Where the middle of a round cutter can be: the walls of a pocket moved inwards by the cutter's radius, and trimmed.

Each wall gives one line or arc at the cutter's radius from it, each corner of wood that sticks out an arc around itself. Cut
at all their crossings, those parts stay that no other wall comes nearer to than the radius. They bound the places of the
cutter's middle, and each knows the part of the wall that the cutter touches from there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planestock.params.outlines.along import direction, part, point_at, share_of
from planestock.params.outlines.crossings import crossings
from planestock.params.outlines.distances import least_distance
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, cross, left_of, length, stepped

TANGENT = 1e-7
"""Sine of a turn from one wall to the next below which they are one smooth wall: at a radius of 20 mm it hides less wood
than a millionth of a square millimetre."""

NEAR = 1e-7
"""A part of a wall shorter than this, mm, is none: far above what arithmetic loses, far below what a cutter finds."""

ROOM = 1e-10
"""A place this much nearer to a wall than the radius, mm, still has room: arithmetic loses a thousandth of that. More would
keep the ends of walls that meet almost straight, which lie behind their crossing by less than it."""


@dataclass(frozen=True)
class Track:
    """One part of the border of the cutter's middle, free space on its left.

    ring, element: what it runs along: element 2 k + 1 is piece k of the ring, element 2 k the corner before piece k.
    begin, finish: the shares of the element that it touches.
    """

    piece: Piece
    ring: int
    element: int
    begin: float
    finish: float

    @property
    def order(self) -> tuple[int, int, float]:
        """Sorts tracks along their rings."""
        return (self.ring, self.element, self.begin)


def tracks(rings: Sequence[Outline], radius: float) -> list[Track]:
    """Return the border of the places that the middle of a cutter of this radius can take, in the order of the walls."""
    moved_walls = [(piece, ring, element) for ring, pieces in enumerate(rings) for piece, element in _offset(pieces, radius)]
    pieces = [piece for piece, _, _ in moved_walls]
    found: list[Track] = []
    for piece, ring, element in moved_walls:
        shares = _cuts(piece, pieces)
        for begin, finish in pairwise(shares):
            kept = part(piece, begin, finish)
            if length(kept) > NEAR and least_distance(rings, point_at(kept, 0.5)) >= radius - ROOM:
                found.append(Track(kept, ring, element, begin, finish))
    return sorted(found, key=lambda track: track.order)


def _cuts(piece: Piece, others: Sequence[Piece]) -> list[float]:
    inner = [share_of(piece, point) for other in others if other is not piece for point in crossings(piece, other)]
    return sorted({0.0, 1.0, *(share for share in inner if 0 < share < 1)})


def _offset(ring: Outline, radius: float) -> Iterator[tuple[Piece, int]]:
    for index, piece in enumerate(ring):
        corner = _around(ring[index - 1], piece, radius)
        if corner is not None:
            yield corner, 2 * index
        beside = _beside(piece, radius)
        if beside is not None:
            yield beside, 2 * index + 1


def _around(before: Piece, after: Piece, radius: float) -> Arc | None:
    """Return the arc around a corner of wood that sticks out between two walls; None where the walls run on or turn in."""
    one, other = direction(before, 1.0), direction(after, 0.0)
    if cross(one, other) >= -TANGENT and one[0] * other[0] + one[1] * other[1] > 0:
        return None
    if cross(one, other) >= 0:
        return None
    start, end = (stepped(after.start, left_of(way), radius) for way in (one, other))
    return Arc(start, end, after.start, clockwise=True)


def _beside(piece: Piece, radius: float) -> Piece | None:
    """Return a wall moved to its left; None where a hollow arc is too tight for the cutter."""
    start = stepped(piece.start, left_of(direction(piece, 0.0)), radius)
    end = stepped(piece.end, left_of(direction(piece, 1.0)), radius)
    if isinstance(piece, Line):
        return Line(start, end)
    room = piece.radius + radius if piece.clockwise else piece.radius - radius
    return Arc(start, end, piece.centre, piece.clockwise) if room > NEAR else None


def touched(rings: Sequence[Outline], track: Track, share: float) -> Point:
    """Return the point of the wall that the cutter touches at a share of the element that a track runs along."""
    ring = rings[track.ring]
    index, on_wall = divmod(track.element, 2)
    return point_at(ring[index], share) if on_wall else ring[index].start
