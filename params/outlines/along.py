"""Places along a line or an arc: points, directions, and parts between two places.

A share runs along a piece from 0 at its start to 1 at its end.
"""

from __future__ import annotations

import math

from planestock.params.outlines.pieces import Arc, Line, Piece, Point, left_of, unit


def point_at(piece: Piece, share: float) -> Point:
    """Return the point at a share of a piece."""
    if isinstance(piece, Arc):
        return piece.at(share)
    (sx, sy), (ex, ey) = piece.start, piece.end
    return (sx + share * (ex - sx), sy + share * (ey - sy))


def direction(piece: Piece, share: float) -> Point:
    """Return the unit vector along a piece at a share of it."""
    if isinstance(piece, Line):
        return unit(piece.start, piece.end)
    return _square_to(piece, piece.start if share == 0 else piece.end if share == 1 else piece.at(share))


def directions(piece: Piece) -> tuple[Point, Point]:
    """Return the unit vectors along a piece at its start and at its end."""
    return direction(piece, 0.0), direction(piece, 1.0)


def _square_to(arc: Arc, point: Point) -> Point:
    x, y = left_of(unit(arc.centre, point))
    return (-x, -y) if arc.clockwise else (x, y)


def between(piece: Piece, start: Point, end: Point) -> Piece:
    """Return the part of a piece between two of its points."""
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.clockwise)


def part(piece: Piece, begin: float, finish: float) -> Piece:
    """Return the part of a piece between two shares; its own ends stay exact."""
    start = piece.start if begin == 0 else point_at(piece, begin)
    end = piece.end if finish == 1 else point_at(piece, finish)
    return between(piece, start, end)


def share_of(piece: Piece, point: Point) -> float:
    """Return the share at which a piece, carried on beyond its ends, comes nearest to a point: below 0 or above 1 there."""
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


def height_on(piece: Piece, x: float) -> float:
    """Return the height of a piece that runs on in x, at x within it."""
    (sx, sz), (ex, ez) = piece.start, piece.end
    if isinstance(piece, Line):
        return sz + (x - sx) / (ex - sx) * (ez - sz)
    rise = math.sqrt(max(0.0, piece.radius**2 - (x - piece.centre[0]) ** 2))
    return piece.centre[1] + (rise if piece.clockwise else -rise)
