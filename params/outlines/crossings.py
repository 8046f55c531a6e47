"""Where straight pieces and arcs cross one another, and pieces cut at points that lie on them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from planestock.params.outlines.along import between, share_of
from planestock.params.outlines.pieces import Arc, Line, Piece, Point, cross, left_of, stepped, unit

NEAR = 1e-7
"""A crossing this near to an end, mm, is at the end; two this near are one."""

PARALLEL = 1e-12
"""Sine of the angle between two lines below which they do not cross: their crossing would be rounding."""


def crossings(one: Piece, other: Piece) -> list[Point]:
    """Return the points that two pieces share, ends included; none where they lie on the same line or circle."""
    if isinstance(one, Line) and isinstance(other, Line):
        found = _lines(one, other)
    elif isinstance(one, Arc) and isinstance(other, Arc):
        found = _circles(one, other)
    elif isinstance(one, Line) and isinstance(other, Arc):
        found = _line_and_circle(one, other)
    else:
        return crossings(other, one)
    return [point for point in found if is_on(one, point) and is_on(other, point)]


def _lines(one: Line, other: Line) -> list[Point]:
    (ax, ay), (bx, by) = one.start, other.start
    u = (one.end[0] - ax, one.end[1] - ay)
    v = (other.end[0] - bx, other.end[1] - by)
    across = cross(u, v)
    if abs(across) < PARALLEL * math.hypot(*u) * math.hypot(*v):
        return []
    return [stepped(one.start, u, cross((bx - ax, by - ay), v) / across)]


def _line_and_circle(line: Line, arc: Arc) -> list[Point]:
    way = unit(line.start, line.end)
    along = (arc.centre[0] - line.start[0]) * way[0] + (arc.centre[1] - line.start[1]) * way[1]
    square = arc.radius**2 - math.dist(arc.centre, stepped(line.start, way, along)) ** 2
    if square < 0:
        return []
    reach = math.sqrt(square)
    return [stepped(line.start, way, share) for share in (along - reach, along + reach)]


def _circles(one: Arc, other: Arc) -> list[Point]:
    apart = math.dist(one.centre, other.centre)
    r, s = one.radius, other.radius
    if apart < NEAR or apart > r + s or apart < abs(r - s):
        return []
    along = (r * r - s * s + apart * apart) / (2 * apart)
    rise = math.sqrt(max(0.0, r * r - along * along))
    way = unit(one.centre, other.centre)
    foot = stepped(one.centre, way, along)
    return [stepped(foot, left_of(way), rise), stepped(foot, left_of(way), -rise)]


def shares_at(piece: Piece, axis: int, level: float) -> list[float]:
    """Return the shares at which a piece, carried on beyond its ends, crosses the line where one coordinate has a value.

    axis: 0 for the first coordinate, 1 for the second. An arc that only touches the line does not cross it.
    """
    if isinstance(piece, Line):
        rise = piece.end[axis] - piece.start[axis]
        return [(level - piece.start[axis]) / rise] if rise else []
    off, other = level - piece.centre[axis], piece.centre[1 - axis]
    if abs(off) >= piece.radius:
        return []
    reach = math.sqrt(piece.radius**2 - off**2)
    places = [(level, other + sign * reach) if axis == 0 else (other + sign * reach, level) for sign in (1, -1)]
    return [share_of(piece, place) for place in places]


def is_on(piece: Piece, point: Point) -> bool:
    """Tell whether a point of a piece's line or circle lies on the piece, its ends included."""
    if min(math.dist(point, piece.start), math.dist(point, piece.end)) < NEAR:
        return True
    return 0.0 <= share_of(piece, point) <= 1.0


def cut_at(piece: Piece, points: Iterable[Point]) -> list[Piece]:
    """Return a piece cut at points that lie on it; those at its ends cut nothing."""
    inner = sorted(
        (share_of(piece, point), point)
        for point in points
        if min(math.dist(point, piece.start), math.dist(point, piece.end)) >= NEAR
    )
    stops = [piece.start]
    for _, point in inner:
        if math.dist(point, stops[-1]) >= NEAR:
            stops.append(point)
    return [between(piece, a, b) for a, b in pairwise([*stops, piece.end])]
