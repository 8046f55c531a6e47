"""Shortest distances between points, straight pieces, arcs and polygons."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from planestock.params.outlines.along import share_of
from planestock.params.outlines.pieces import Line, Outline, Piece, Point
from planestock.params.outlines.polygons import inside


def distance(piece: Piece, point: Point) -> float:
    """Return the shortest distance from a point to a piece."""
    if isinstance(piece, Line):
        return point_to_segment(point, piece.start, piece.end)
    if 0 <= share_of(piece, point) <= 1:
        return abs(math.dist(point, piece.centre) - piece.radius)
    return min(math.dist(point, piece.start), math.dist(point, piece.end))


def least_distance(outlines: Iterable[Outline], point: Point) -> float:
    """Return the shortest distance from a point to any piece of outlines."""
    return min(distance(piece, point) for outline in outlines for piece in outline)


def point_to_segment(point: Point, start: Point, end: Point) -> float:
    """Return the shortest distance from a point to a straight piece."""
    (px, py), (sx, sy), (ex, ey) = point, start, end
    square = (ex - sx) ** 2 + (ey - sy) ** 2
    share = 0.0 if square == 0 else max(0.0, min(1.0, ((px - sx) * (ex - sx) + (py - sy) * (ey - sy)) / square))
    return math.dist(point, (sx + share * (ex - sx), sy + share * (ey - sy)))


def segments_apart(a: Point, b: Point, c: Point, d: Point) -> float:
    """Return the shortest distance between the straight pieces a-b and c-d; 0 where they cross."""
    if _cross(a, b, c) * _cross(a, b, d) < 0 and _cross(c, d, a) * _cross(c, d, b) < 0:
        return 0.0
    return min(point_to_segment(a, c, d), point_to_segment(b, c, d), point_to_segment(c, a, b), point_to_segment(d, a, b))


def _cross(origin: Point, one: Point, other: Point) -> float:
    return (one[0] - origin[0]) * (other[1] - origin[1]) - (one[1] - origin[1]) * (other[0] - origin[0])


def segment_to_polygon(a: Point, b: Point, corners: Sequence[Point]) -> float:
    """Return the distance from the piece a-b to a polygon; negative (how deep its ends lie inside) where it enters it."""
    apart = min(segments_apart(a, b, c, d) for c, d in zip(corners, [*corners[1:], corners[0]], strict=True))
    if inside(a, corners) or inside(b, corners):
        depth = [min(point_to_segment(p, c, d) for c, d in zip(corners, [*corners[1:], corners[0]], strict=True))
                 for p in (a, b) if inside(p, corners)]  # fmt: skip
        return -max(depth)
    return apart
