"""Lines and arcs met by the cutter: places along them, nearest distance, crossings. Plain plane geometry.

A share runs along a piece from 0 at its start to 1 at its end. A ring is a closed chain of pieces that is walked with the
free space, where the cutter may be, on its left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from planestock.params.outlines.polygons import Arc, Line, Outline, Piece, Point

Ring = Outline

END = 1e-9
"""A crossing this near to the end of a piece, as a share of it, lies on it: rounding, not a gap."""


def at(piece: Piece, share: float) -> Point:
    """Return the point at a share of a piece."""
    if isinstance(piece, Arc):
        return piece.at(share)
    (sx, sy), (ex, ey) = piece.start, piece.end
    return (sx + share * (ex - sx), sy + share * (ey - sy))


def length(piece: Piece) -> float:
    """Return the length of a piece."""
    return abs(piece.sweep) * piece.radius if isinstance(piece, Arc) else math.dist(piece.start, piece.end)


def direction(piece: Piece, share: float) -> Point:
    """Return the unit vector along a piece at a share of it."""
    if isinstance(piece, Line):
        (sx, sy), (ex, ey) = piece.start, piece.end
        far = math.dist(piece.start, piece.end)
        return ((ex - sx) / far, (ey - sy) / far)
    x, y = piece.at(share)
    out = ((x - piece.centre[0]) / piece.radius, (y - piece.centre[1]) / piece.radius)
    return (out[1], -out[0]) if piece.clockwise else (-out[1], out[0])


def left_of(vector: Point) -> Point:
    """Return a vector turned a quarter to the left."""
    return (-vector[1], vector[0])


def moved(point: Point, way: Point, distance: float) -> Point:
    """Return the point at a distance in a direction."""
    return (point[0] + distance * way[0], point[1] + distance * way[1])


def cross(one: Point, other: Point) -> float:
    """Return the cross product: positive where `other` turns left of `one`."""
    return one[0] * other[1] - one[1] * other[0]


def part(piece: Piece, begin: float, finish: float) -> Piece:
    """Return the part of a piece between two shares; its own ends stay exact."""
    start = piece.start if begin == 0 else at(piece, begin)
    end = piece.end if finish == 1 else at(piece, finish)
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.clockwise)


def reversed_piece(piece: Piece) -> Piece:
    """Return a piece walked the other way."""
    if isinstance(piece, Line):
        return Line(piece.end, piece.start)
    return Arc(piece.end, piece.start, piece.centre, not piece.clockwise)


def reversed_ring(ring: Ring) -> Ring:
    """Return a ring walked the other way: what was wood is free, what was free is wood."""
    return tuple(reversed_piece(piece) for piece in reversed(ring))


def turned_piece(piece: Piece) -> Piece:
    """Return a piece with its second axis turned round, walked from the same end."""
    start, end = ((x, -y) for x, y in (piece.start, piece.end))
    if isinstance(piece, Line):
        return Line(start, end)
    return Arc(start, end, (piece.centre[0], -piece.centre[1]), not piece.clockwise)


def turned_ring(ring: Ring) -> Ring:
    """Return a ring with its second axis turned round, walked so that it keeps its sense."""
    return reversed_ring(tuple(turned_piece(piece) for piece in ring))


def share_of(piece: Piece, point: Point) -> float:
    """Return the share at which a piece comes nearest to a point; beyond its ends below 0 or above 1, for a line."""
    if isinstance(piece, Line):
        (sx, sy), (ex, ey) = piece.start, piece.end
        along = (ex - sx, ey - sy)
        return ((point[0] - sx) * along[0] + (point[1] - sy) * along[1]) / (along[0] ** 2 + along[1] ** 2)
    (cx, cy), (sx, sy) = piece.centre, piece.start
    turn = math.atan2(point[1] - cy, point[0] - cx) - math.atan2(sy - cy, sx - cx)
    sweep = piece.sweep
    turned = -(-turn % math.tau) if sweep < 0 else turn % math.tau
    share = turned / sweep
    beyond = math.tau / abs(sweep)
    # A point just before the start has gone nearly all the way round.
    return share - beyond if share > (1 + beyond) / 2 else share


def distance(piece: Piece, point: Point) -> float:
    """Return the shortest distance from a point to a piece."""
    share = share_of(piece, point)
    if isinstance(piece, Line):
        return math.dist(point, at(piece, min(1.0, max(0.0, share))))
    if 0 <= share <= 1:
        return abs(math.dist(point, piece.centre) - piece.radius)
    return min(math.dist(point, piece.start), math.dist(point, piece.end))


def crossings(one: Piece, other: Piece) -> list[Point]:
    """Return the points that two pieces share; none where they lie on one another."""
    return [point for point in _meetings(one, other) if _on(one, point) and _on(other, point)]


def _on(piece: Piece, point: Point) -> bool:
    return -END <= share_of(piece, point) <= 1 + END


def _meetings(one: Piece, other: Piece) -> list[Point]:
    if isinstance(one, Line) and isinstance(other, Line):
        return _two_lines(one, other)
    if isinstance(one, Line) and isinstance(other, Arc):
        return _line_and_circle(one, other)
    if isinstance(one, Arc) and isinstance(other, Line):
        return _line_and_circle(other, one)
    assert isinstance(one, Arc)
    assert isinstance(other, Arc)
    return _two_circles(one, other)


def _two_lines(one: Line, other: Line) -> list[Point]:
    (ax, ay), (bx, by) = one.start, other.start
    u = (one.end[0] - ax, one.end[1] - ay)
    v = (other.end[0] - bx, other.end[1] - by)
    spread = cross(u, v)
    if abs(spread) <= END * math.hypot(*u) * math.hypot(*v):
        return []
    share = cross((bx - ax, by - ay), v) / spread
    return [(ax + share * u[0], ay + share * u[1])]


def _line_and_circle(line: Line, arc: Arc) -> list[Point]:
    foot = at(line, share_of(line, arc.centre))
    short = arc.radius**2 - math.dist(foot, arc.centre) ** 2
    if short < 0:
        return []
    way, reach = direction(line, 0.0), math.sqrt(short)
    return [moved(foot, way, reach), moved(foot, way, -reach)]


def _two_circles(one: Arc, other: Arc) -> list[Point]:
    apart = math.dist(one.centre, other.centre)
    if apart <= END:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    short = one.radius**2 - along**2
    if short < 0:
        return []
    way = ((other.centre[0] - one.centre[0]) / apart, (other.centre[1] - one.centre[1]) / apart)
    foot, reach = moved(one.centre, way, along), math.sqrt(short)
    return [moved(foot, left_of(way), reach), moved(foot, left_of(way), -reach)]


def joined(pieces: Iterable[Piece], gap: float) -> list[Piece]:
    """Return pieces without those shorter than `gap`, each beginning where the one before ends."""
    kept = [piece for piece in pieces if length(piece) > gap]
    return [_begun(piece, before.end) for piece, before in zip(kept, [*kept[-1:], *kept[:-1]], strict=True)]


def _begun(piece: Piece, start: Point) -> Piece:
    return Line(start, piece.end) if isinstance(piece, Line) else Arc(start, piece.end, piece.centre, piece.clockwise)


def least_distance(rings: Sequence[Ring], point: Point) -> float:
    """Return the shortest distance from a point to any piece of rings."""
    return min(distance(piece, point) for ring in rings for piece in ring)
