"""Outlines through corners: polygons, sharp or rounded, open chains, and what lies inside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, stepped, unit


def chain(*points: Point) -> Outline:
    """Return the open chain of straight lines through the points, skipping repeated ones."""
    return tuple(Line(start, end) for start, end in pairwise(points) if start != end)


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
    start, end = stepped(corner, inward, reach), stepped(corner, outward, reach)
    return Arc(start, end, stepped(corner, middle, depth), clockwise=False)


def inside(point: Point, corners: Sequence[Point]) -> bool:
    """Tell whether a point lies inside a polygon (crossing rule); points on the border may go either way."""
    x, y = point
    result = False
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            result = not result
    return result


def crossed_at(corners: Sequence[Point], x: float) -> list[float]:
    """Return the second coordinates, sorted, at which a closed polygon crosses the upright line at x."""
    found: list[float] = []
    for (sx, sy), (ex, ey) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if min(sx, ex) <= x < max(sx, ex):
            found.append(sy + (x - sx) * (ey - sy) / (ex - sx))
    return sorted(found)
