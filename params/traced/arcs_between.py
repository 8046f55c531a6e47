"""Pieces between two points with given directions: a fillet (line, arc, line) or two arcs, all tangent.

The two arcs are the classical biarc: with unit directions t1 and t2, v from start to end and distances d1, d2 = r d1 from
the ends to where the tangents at the join cross, v² - 2 d1 (v·t1) - 2 d2 (v·t2) - 2 d1 d2 (1 - t1·t2) = 0 (from
|v - d1 t1 - d2 t2| = d1 + d2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, length, stepped, through, turn_between, unit
from planestock.params.traced.strokes import Floats

RATIOS = (1.0, 0.5, 2.0, 0.2, 5.0)
"""Ratios of the two distances of a biarc that are tried, the even one first."""

SHORTEST = 1e-4
"""A piece shorter than this, mm, is left out of a candidate: nothing that is cut shows it."""

MOST_TURN = 1.6 * math.pi
"""An arc of a fit that turns more than this goes the wrong way round."""


def fillet(start: Point, first: Point, end: Point, second: Point, share: float) -> Outline | None:
    """Return line, arc, line from start (direction `first`) to end (direction `second`), tangent; None where there is none.

    share: of the shorter way to where the two directions cross that the arc takes; at 1 one of the lines has no length.
    """
    crossing = _crossing(start, first, end, second)
    if crossing is None:
        return None
    ahead, behind = crossing
    reach = share * min(ahead, behind)
    begin = (start[0] + (ahead - reach) * first[0], start[1] + (ahead - reach) * first[1])
    finish = (end[0] - (behind - reach) * second[0], end[1] - (behind - reach) * second[1])
    begin = start if ahead - reach < SHORTEST else begin
    finish = end if behind - reach < SHORTEST else finish
    pieces: list[Piece] = [Line(start, begin), through(begin, finish, turn_between(first, second)), Line(finish, end)]
    return tuple(piece for piece in pieces if piece.start != piece.end)


def _crossing(start: Point, first: Point, end: Point, second: Point) -> tuple[float, float] | None:
    """Return how far ahead of the start, and behind the end, the two directions cross; None where they do not."""
    across = first[0] * second[1] - first[1] * second[0]
    vx, vy = end[0] - start[0], end[1] - start[1]
    if abs(across) < 1e-9:
        return None
    ahead = (vx * second[1] - vy * second[0]) / across
    behind = (first[0] * vy - first[1] * vx) / across
    return (ahead, behind) if min(ahead, behind) > SHORTEST else None


def biarc(start: Point, first: Point, end: Point, second: Point, ratio: float) -> Outline | None:
    """Return two tangent arcs from start to end with these directions; None where none turns the short way."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    square = vx * vx + vy * vy
    a = 2 * ratio * (1 - first[0] * second[0] - first[1] * second[1])
    b = 2 * (vx * (first[0] + ratio * second[0]) + vy * (first[1] + ratio * second[1]))
    near = _positive_root(a, b, square)
    if near is None:
        return None
    far = ratio * near
    p, q = stepped(start, first, near), stepped(end, second, -far)
    apart = math.dist(p, q)
    if apart < SHORTEST:
        return None
    way = unit(p, q)
    join = stepped(p, way, near)
    return (through(start, join, turn_between(first, way)), through(join, end, turn_between(way, second)))


def _positive_root(a: float, b: float, square: float) -> float | None:
    """Return d of a d² + b d - square = 0 that is positive and least."""
    if abs(a) < 1e-12:
        return square / b if b > 1e-12 else None
    return (-b + math.sqrt(b * b + 4 * a * square)) / (2 * a)


def candidates(start: Point, first: Point, end: Point, second: Point) -> Iterator[Outline]:
    """Yield ways from start to end with these directions, simplest first."""
    if math.dist(start, end) < SHORTEST:
        return
    whole = fillet(start, first, end, second, 1.0)
    if whole is not None:
        yield whole
    elif abs(turn_between(first, second)) < 1e-6 and abs(turn_between(first, unit(start, end))) < 1e-6:
        yield (Line(start, end),)
    for ratio in RATIOS:
        found = biarc(start, first, end, second, ratio)
        if found is not None:
            yield found


def strays(points: Floats, pieces: Outline) -> float:
    """Return the farthest that any of the points, shape (n, 2), lies from the nearest of the pieces."""
    if not len(points):
        return 0.0
    return float(np.min([_distances(points, piece) for piece in pieces], axis=0).max())


def _distances(points: Floats, piece: Piece) -> Floats:
    if isinstance(piece, Line):
        start, way = np.asarray(piece.start), np.subtract(piece.end, piece.start)
        share = np.clip((points - start) @ way / (way @ way), 0, 1)
        apart: Floats = np.hypot(*(points - start - share[:, None] * way).T)
        return apart
    offset = points - np.asarray(piece.centre)
    begin = math.atan2(piece.start[1] - piece.centre[1], piece.start[0] - piece.centre[0])
    turned = np.arctan2(offset[:, 1], offset[:, 0]) - begin
    turned = np.mod(-turned if piece.clockwise else turned, math.tau)
    to_arc = np.abs(np.hypot(offset[:, 0], offset[:, 1]) - piece.radius)
    to_ends = np.minimum(np.hypot(*(points - piece.start).T), np.hypot(*(points - piece.end).T))
    nearest: Floats = np.where(turned <= abs(piece.sweep), to_arc, to_ends)
    return nearest


def is_sane(pieces: Outline, along: float, tolerance: float) -> bool:
    """Tell whether pieces go no long way round compared with the length `along` the points they stand for."""
    if any(isinstance(piece, Arc) and abs(piece.sweep) > MOST_TURN for piece in pieces):
        return False
    return sum(length(piece) for piece in pieces) <= 1.05 * along + 2 * tolerance
