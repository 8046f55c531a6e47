"""Small plane geometry: points, segments, arcs and closed outlines as plain numbers.

An outline is a tuple of `Line` and `Arc`, each beginning where the one before ends, the last ending where the first begins.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, area, flattened
from planestock.params.outlines.pieces import mirrored_across as mirrored

__all__ = [
    "TOUCHING", "Arc", "Line", "Outline", "Piece", "Point", "along", "area", "flattened", "inside", "mirrored",
    "point_to_segment", "polygon", "rounded", "segment_to_polygon", "segments_apart", "unit",
]  # fmt: skip


def polygon(points: Sequence[Point]) -> Outline:
    """Return the closed outline through the points, skipping repeated ones."""
    distinct = [point for point, following in zip(points, [*points[1:], points[0]], strict=True) if point != following]
    return tuple(Line(start, end) for start, end in zip(distinct, [*distinct[1:], distinct[0]], strict=True))


def rounded(points: Sequence[Point], radius: float) -> Outline:
    """Return the convex polygon through anticlockwise points with every corner rounded by a tangent arc.

    radius: 0 leaves the corners sharp. The caller sees to it that the arcs have room on the sides.
    """
    if radius <= 0:
        return polygon(points)
    arcs = [
        _corner(before, corner, after, radius)
        for before, corner, after in zip([points[-1], *points[:-1]], points, [*points[1:], points[0]], strict=True)
    ]
    pieces: list[Piece] = []
    for arc, following in zip(arcs, [*arcs[1:], arcs[0]], strict=True):
        pieces.append(arc)
        if math.dist(arc.end, following.start) > TOUCHING:
            pieces.append(Line(arc.end, following.start))
    return _joined(pieces)


TOUCHING = 1e-9
"""Points nearer than this are one point: far below any tool's reach, well above rounding of numbers of some hundred mm."""


def _joined(pieces: list[Piece]) -> Outline:
    """Make each piece begin exactly where the one before ends, where arcs meet without a line between them."""
    result: list[Piece] = []
    for piece, before in zip(pieces, [pieces[-1], *pieces[:-1]], strict=True):
        if isinstance(piece, Arc):
            result.append(Arc(before.end, piece.end, piece.centre, piece.clockwise))
        else:
            result.append(Line(before.end, piece.end))
    return tuple(result)


def _corner(before: Point, corner: Point, after: Point, radius: float) -> Arc:
    inward, outward = unit(corner, before), unit(corner, after)
    half = math.acos(max(-1.0, min(1.0, inward[0] * outward[0] + inward[1] * outward[1]))) / 2
    reach, depth = radius / math.tan(half), radius / math.sin(half)
    middle = unit((0.0, 0.0), (inward[0] + outward[0], inward[1] + outward[1]))
    return Arc(along(corner, inward, reach), along(corner, outward, reach), along(corner, middle, depth), clockwise=False)


def unit(start: Point, end: Point) -> Point:
    """Return the unit vector from one point to another."""
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def along(start: Point, direction: Point, distance: float) -> Point:
    """Return the point at a distance from `start` in a direction."""
    return (start[0] + distance * direction[0], start[1] + distance * direction[1])


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


def inside(point: Point, corners: Sequence[Point]) -> bool:
    """Tell whether a point lies inside a polygon (crossing rule); points on the border may go either way."""
    x, y = point
    result = False
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            result = not result
    return result


def segment_to_polygon(a: Point, b: Point, corners: Sequence[Point]) -> float:
    """Return the distance from the piece a-b to a polygon; negative (how deep its ends lie inside) where it enters it."""
    apart = min(segments_apart(a, b, c, d) for c, d in zip(corners, [*corners[1:], corners[0]], strict=True))
    if inside(a, corners) or inside(b, corners):
        depth = [min(point_to_segment(p, c, d) for c, d in zip(corners, [*corners[1:], corners[0]], strict=True))
                 for p in (a, b) if inside(p, corners)]  # fmt: skip
        return -max(depth)
    return apart
