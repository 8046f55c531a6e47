"""Exact clipping of lines, arcs, circles and polygons to a rectangle."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from planestock.exports.drawing.model import Box, Item, Round, Stroke, box_of, extremes
from planestock.params.outlines.polygons import Arc, Line, Outline, Piece, Point

EDGE = 1e-9
"""A point nearer to the rectangle's edge than this, mm, is inside it; arithmetic on some hundred mm loses less."""


def clipped(items: Sequence[Item], window: Box) -> list[Item]:
    """Return what of the items lies in a window: lines and arcs cut at its edge, areas and words only where whole."""
    result: list[Item] = []
    for item in items:
        box = box_of(item)
        if window.grown(EDGE).holds(box):
            result.append(item)
        elif _meets(window, box) and isinstance(item, Stroke | Round):
            result.extend(Stroke(item.layer, run, item.kind) for run in _runs(item, window))
    return result


def _meets(one: Box, other: Box) -> bool:
    return one.left < other.right and other.left < one.right and one.low < other.high and other.low < one.high


def _runs(item: Stroke | Round, window: Box) -> list[Outline]:
    """Return the parts of a chain inside a window, as chains."""
    pieces = item.pieces if isinstance(item, Stroke) else circle_pieces(item)
    runs: list[list[Piece]] = []
    for piece in pieces:
        for part in clip_piece(piece, window):
            if runs and runs[-1][-1].end == part.start:
                runs[-1].append(part)
            else:
                runs.append([part])
    return [tuple(run) for run in runs]


def circle_pieces(circle: Round) -> Outline:
    """Return a circle as two arcs, from its rightmost point anticlockwise."""
    (x, y), r = circle.centre, circle.radius
    right, left = (x + r, y), (x - r, y)
    return (Arc(right, left, circle.centre, clockwise=False), Arc(left, right, circle.centre, clockwise=False))


def clip_piece(piece: Piece, window: Box) -> list[Piece]:
    """Return the parts of one piece inside a window; a piece wholly inside comes back itself."""
    if all(_inside(point, window) for point in extremes(piece)):
        return [piece]
    cuts = sorted({0.0, 1.0, *(share for share in _crossings(piece, window) if 0 < share < 1)})
    kept = [(a, b) for a, b in itertools.pairwise(cuts) if _inside(_at(piece, (a + b) / 2), window)]
    return [_part(piece, a, b) for a, b in kept]


def _inside(point: Point, window: Box) -> bool:
    x, y = point
    return window.left - EDGE <= x <= window.right + EDGE and window.low - EDGE <= y <= window.high + EDGE


def _at(piece: Piece, share: float) -> Point:
    if isinstance(piece, Arc):
        return piece.at(share)
    (sx, sy), (ex, ey) = piece.start, piece.end
    return (sx + share * (ex - sx), sy + share * (ey - sy))


def _part(piece: Piece, begin: float, finish: float) -> Piece:
    start = piece.start if begin == 0 else _at(piece, begin)
    end = piece.end if finish == 1 else _at(piece, finish)
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.clockwise)


def _crossings(piece: Piece, window: Box) -> list[float]:
    """Return the shares of a piece at which it crosses the lines of the window's sides."""
    if isinstance(piece, Line):
        return [
            (level - piece.start[axis]) / (piece.end[axis] - piece.start[axis])
            for axis, levels in ((0, (window.left, window.right)), (1, (window.low, window.high)))
            for level in levels
            if piece.end[axis] != piece.start[axis]
        ]
    (cx, cy), r = piece.centre, piece.radius
    begin = math.atan2(piece.start[1] - cy, piece.start[0] - cx)
    angles = [sign * math.acos((x - cx) / r) for x in (window.left, window.right) if abs(x - cx) <= r for sign in (1, -1)]
    for y in (window.low, window.high):
        if abs(y - cy) <= r:
            rising = math.asin((y - cy) / r)
            angles += [rising, math.pi - rising]
    sense = -1 if piece.clockwise else 1
    return [(sense * (angle - begin)) % math.tau / abs(piece.sweep) for angle in angles]


def closed_left_of(outline: Outline, limit: float) -> Outline:
    """Return a convex closed outline cut off at first axis = limit and closed again by straight lines."""
    far = 1e6
    parts = [part for piece in outline for part in clip_piece(piece, Box(-far, -far, limit, far))]
    joined: list[Piece] = []
    for part, following in zip(parts, [*parts[1:], parts[0]], strict=True):
        joined.append(part)
        if math.dist(part.end, following.start) > EDGE:
            joined.append(Line(part.end, following.start))
    return tuple(joined)


def polygon_within(corners: Sequence[Point], window: Box) -> list[Point]:
    """Return a polygon cut to a window, by one side of it after the other; border pieces of the window close it."""
    result = list(corners)
    for axis, limit, sign in ((0, window.left, 1), (0, window.right, -1), (1, window.low, 1), (1, window.high, -1)):
        result = _cut(result, axis, limit, sign)
    return result


def _cut(corners: list[Point], axis: int, limit: float, sign: int) -> list[Point]:
    kept: list[Point] = []
    for start, end in zip(corners, [*corners[1:], *corners[:1]], strict=True):
        a, b = sign * (start[axis] - limit), sign * (end[axis] - limit)
        if a >= 0:
            kept.append(start)
        if (a > 0 > b) or (a < 0 < b):
            share = a / (a - b)
            kept.append((start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
    return kept
