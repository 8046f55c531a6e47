"""Where straight pieces and arcs cross one another, and pieces cut at points that lie on them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from planestock.params.outlines.polygons import Arc, Line, Piece, Point

NEAR = 1e-7
"""A crossing this near to an end, mm, is at the end; two this near are one."""


def crossings_of(one: Piece, other: Piece) -> list[Point]:
    """Return the points that two pieces share, ends included; none where they lie on the same line or circle."""
    if isinstance(one, Line) and isinstance(other, Line):
        found = _lines(one, other)
    elif isinstance(one, Arc) and isinstance(other, Arc):
        found = _circles(one, other)
    elif isinstance(one, Line) and isinstance(other, Arc):
        found = _line_and_circle(one, other)
    else:
        return crossings_of(other, one)
    return [point for point in found if is_on(one, point) and is_on(other, point)]


def _lines(one: Line, other: Line) -> list[Point]:
    (ax, ay), (bx, by) = one.start, one.end
    (cx, cy), (dx, dy) = other.start, other.end
    across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(across) < 1e-12 * math.dist(*_ends(one)) * math.dist(*_ends(other)):
        return []
    share = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
    return [(ax + share * (bx - ax), ay + share * (by - ay))]


def _ends(piece: Piece) -> tuple[Point, Point]:
    return piece.start, piece.end


def _line_and_circle(line: Line, arc: Arc) -> list[Point]:
    (ax, ay), (bx, by) = line.start, line.end
    size = math.dist(line.start, line.end)
    ux, uy = (bx - ax) / size, (by - ay) / size
    along = (arc.centre[0] - ax) * ux + (arc.centre[1] - ay) * uy
    square = arc.radius**2 - math.dist(arc.centre, (ax + along * ux, ay + along * uy)) ** 2
    if square < 0:
        return []
    reach = math.sqrt(square)
    return [(ax + t * ux, ay + t * uy) for t in (along - reach, along + reach)]


def _circles(one: Arc, other: Arc) -> list[Point]:
    apart = math.dist(one.centre, other.centre)
    r, s = one.radius, other.radius
    if apart < NEAR or apart > r + s or apart < abs(r - s):
        return []
    (ax, ay), (bx, by) = one.centre, other.centre
    along = (r * r - s * s + apart * apart) / (2 * apart)
    rise = math.sqrt(max(0.0, r * r - along * along))
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    x, y = ax + along * ux, ay + along * uy
    return [(x - rise * uy, y + rise * ux), (x + rise * uy, y - rise * ux)]


def share_of(piece: Piece, point: Point) -> float:
    """Return where on a piece a point of its line or circle lies: 0 at the start, 1 at the end; outside, beyond these."""
    if isinstance(piece, Line):
        (ax, ay), (bx, by) = piece.start, piece.end
        return ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / math.dist(piece.start, piece.end) ** 2
    (cx, cy), (sx, sy) = piece.centre, piece.start
    turned = math.atan2(point[1] - cy, point[0] - cx) - math.atan2(sy - cy, sx - cx)
    turned = -turned % math.tau if piece.clockwise else turned % math.tau
    sweep = abs(piece.sweep)
    # A point a hair before the start has turned nearly all the way round.
    return (turned - math.tau if math.tau - turned < (math.tau - sweep) / 2 else turned) / sweep


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
    return [part_of(piece, a, b) for a, b in pairwise([*stops, piece.end])]


def part_of(piece: Piece, start: Point, end: Point) -> Piece:
    """Return the part of a piece between two of its points."""
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.clockwise)
