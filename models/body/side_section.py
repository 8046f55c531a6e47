"""The wood on the mid-plane as two closed outlines in the side view: the block ahead of the throat and the one behind it."""

from __future__ import annotations

import itertools

from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Line, Outline, Piece, Point, walked_back
from planestock.params.outlines.polygons import polygon


def front_block(at: Layout) -> Outline:
    """Return the wood from the toe to wear and breast, anticlockwise; holes left out."""
    height = at.height
    top = [at.breast_top, (0.0, height)]
    breast = at_height(at.wear_top, at.breast_top, at.thickness)
    if at.let_in > 0 and at.seat_front[0] < breast[0]:
        seat = max(0.0, at.seat_front[0])
        top = [breast, (seat, at.thickness), *([(seat, height), (0.0, height)] if seat > 0 else [])]
    return polygon([(0.0, 0.0), at.mouth_front, at.wear_top, *top])


def rear_block(at: Layout) -> Outline:
    """Return the wood from bed to heel, anticlockwise, with seat, cove, tail and the frog's recess; holes left out."""
    top = _rear_top(at)
    last, down = _down_the_bed(at)
    pieces: list[Piece] = [Line(at.bed_foot, (at.length, 0.0)), Line((at.length, 0.0), top[0].start), *top]
    corners = [top[-1].end, last, *down, at.bed_foot]
    pieces += [Line(start, end) for start, end in itertools.pairwise(corners) if start != end]
    return tuple(piece for piece in pieces if piece.start != piece.end)


def at_height(low: Point, high: Point, z: float) -> Point:
    """Return the point of the line through `low` and `high` at height z. The line must not lie level."""
    share = (z - low[1]) / (high[1] - low[1])
    return (low[0] + share * (high[0] - low[0]), z)


def _rear_top(at: Layout) -> list[Piece]:
    """Return the pieces along the top from the heel to the last point before the bed."""
    heel, rear = at.length, min(at.seat_rear[0], at.length)
    full = [(heel, at.height), (rear, at.height)] if rear < heel else []
    if at.tail is None:
        corners = [*full, (rear, at.thickness)] if at.let_in > 0 else [(heel, at.thickness)]
        return _chain([*corners, at.corner])
    level, tail = at.tail.level, at.tail
    corners = [(heel, level)] if at.tail_full_width or not full else [*full, (rear, level)]
    return [*_chain([*corners, tail.level_from]), *walked_back(tail.fall), *_chain([tail.cove_high, at.corner])]


def _chain(corners: list[Point]) -> list[Piece]:
    return [Line(start, end) for start, end in itertools.pairwise(corners) if start != end]


def _down_the_bed(at: Layout) -> tuple[Point, tuple[Point, ...]]:
    """Return where the top ends, and the corners from there down to the bed's foot."""
    if at.recess is None:
        return at.corner, ()
    low, low_floor, high_floor, high = at.recess
    if high[1] < at.thickness:
        return at.corner, (high, high_floor, low_floor, low)
    return at_height(low_floor, high_floor, at.thickness), (low_floor, low)
