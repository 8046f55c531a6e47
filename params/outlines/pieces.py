"""Straight pieces and arcs of circles as plain numbers, and what can be asked of one: length, directions, extremes.

An outline is a tuple of `Line` and `Arc`, each beginning where the one before ends; where it is closed, the last ends where
the first begins. Lengths in mm, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A straight piece from `start` to `end`."""

    start: Point
    end: Point


@dataclass(frozen=True)
class Arc:
    """A piece of a circle less than a full turn, from `start` to `end` around `centre`."""

    start: Point
    end: Point
    centre: Point
    clockwise: bool

    @property
    def radius(self) -> float:
        """Radius of the arc."""
        return math.dist(self.start, self.centre)

    @property
    def sweep(self) -> float:
        """Angle turned from start to end, radians, positive anticlockwise."""
        (cx, cy), (sx, sy), (ex, ey) = self.centre, self.start, self.end
        turn = math.atan2(ey - cy, ex - cx) - math.atan2(sy - cy, sx - cx)
        return -(-turn % math.tau) if self.clockwise else turn % math.tau

    def at(self, share: float) -> Point:
        """Return the point at a share of the arc, 0 at its start and 1 at its end."""
        (cx, cy), (sx, sy) = self.centre, self.start
        angle = math.atan2(sy - cy, sx - cx) + share * self.sweep
        return (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))


Piece = Line | Arc
Outline = tuple[Piece, ...]


def flattened(outline: Iterable[Piece], sagitta: float) -> list[Point]:
    """Return the outline's points with every arc replaced by chords that stray at most `sagitta` mm from it."""
    points: list[Point] = []
    for piece in outline:
        points.append(piece.start)
        if isinstance(piece, Arc):
            step = 2 * math.acos(max(0.0, 1 - sagitta / piece.radius))
            count = max(2, math.ceil(abs(piece.sweep) / step))
            points.extend(piece.at(index / count) for index in range(1, count))
    return points


def area(outline: Iterable[Piece]) -> float:
    """Return the exact signed area, positive for an anticlockwise outline: shoelace plus circular segments."""
    total = 0.0
    for piece in outline:
        (x1, y1), (x2, y2) = piece.start, piece.end
        total += (x1 * y2 - x2 * y1) / 2
        if isinstance(piece, Arc):
            total += piece.radius**2 * (piece.sweep - math.sin(piece.sweep)) / 2
    return total


def length(piece: Piece) -> float:
    """Return the length along a piece."""
    return math.dist(piece.start, piece.end) if isinstance(piece, Line) else piece.radius * abs(piece.sweep)


def perimeter(outline: Iterable[Piece]) -> float:
    """Return the length along all pieces."""
    return sum(length(piece) for piece in outline)


def turned_round(piece: Piece) -> Piece:
    """Return the piece walked the other way."""
    if isinstance(piece, Line):
        return Line(piece.end, piece.start)
    return Arc(piece.end, piece.start, piece.centre, not piece.clockwise)


def walked_back(outline: Iterable[Piece]) -> Outline:
    """Return the pieces walked from the last end to the first start."""
    return tuple(turned_round(piece) for piece in reversed(tuple(outline)))


def directions(piece: Piece) -> tuple[Point, Point]:
    """Return the unit vectors along a piece at its start and at its end."""
    if isinstance(piece, Line):
        way = _unit(piece.start, piece.end)
        return way, way
    return _square_to(piece, piece.start), _square_to(piece, piece.end)


def _square_to(arc: Arc, point: Point) -> Point:
    out_x, out_y = _unit(arc.centre, point)
    return (out_y, -out_x) if arc.clockwise else (-out_y, out_x)


def _unit(start: Point, end: Point) -> Point:
    far = math.dist(start, end)
    return ((end[0] - start[0]) / far, (end[1] - start[1]) / far)


def turn_between(one: Point, other: Point) -> float:
    """Return the angle from one direction to another, radians, -pi to pi, positive anticlockwise."""
    return math.atan2(one[0] * other[1] - one[1] * other[0], one[0] * other[0] + one[1] * other[1])


def through(start: Point, end: Point, sweep: float) -> Piece:
    """Return the arc from start to end that turns by `sweep` radians; the straight piece where that is next to nothing.

    The sagitta is half the chord times tan(sweep / 4), so that `STRAIGHT` is judged as a length.
    """
    chord = math.dist(start, end)
    if abs(chord / 2 * math.tan(sweep / 4)) < STRAIGHT:
        return Line(start, end)
    rise = 1 / (2 * math.tan(sweep / 2))
    (sx, sy), (ex, ey) = start, end
    centre = ((sx + ex) / 2 - (ey - sy) * rise, (sy + ey) / 2 + (ex - sx) * rise)
    return Arc(start, end, centre, clockwise=sweep < 0)


STRAIGHT = 1e-7
"""An arc that rises less than this over its chord, mm, is a straight line to every tool."""


def extremes(piece: Piece) -> list[Point]:
    """Return the ends of a piece, and the points of an arc that lie farthest left, right, low and high."""
    points = [piece.start, piece.end]
    if isinstance(piece, Arc):
        (cx, cy), radius, sweep = piece.centre, piece.radius, piece.sweep
        begin = math.atan2(piece.start[1] - cy, piece.start[0] - cx)
        for quarter in range(4):
            angle = quarter * math.pi / 2
            turned = -((begin - angle) % math.tau) if piece.clockwise else (angle - begin) % math.tau
            if abs(turned) < abs(sweep):
                points.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
    return points


@dataclass(frozen=True)
class Bounds:
    """The least upright rectangle around something."""

    left: float
    low: float
    right: float
    high: float

    @property
    def long(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def tall(self) -> float:
        """From low to high."""
        return self.high - self.low


def bounds(outline: Iterable[Piece]) -> Bounds:
    """Return the least upright rectangle around the pieces, exact for arcs."""
    points = [point for piece in outline for point in extremes(piece)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Bounds(min(xs), min(ys), max(xs), max(ys))


def mirrored_across(outline: Outline) -> Outline:
    """Return the outline mirrored across the first axis, walked backwards so that it keeps its sense."""
    return tuple(_mirrored(piece) for piece in reversed(outline))


def _mirrored(piece: Piece) -> Piece:
    start, end = (piece.end[0], -piece.end[1]), (piece.start[0], -piece.start[1])
    if isinstance(piece, Line):
        return Line(start, end)
    return Arc(start, end, (piece.centre[0], -piece.centre[1]), piece.clockwise)


def shifted(outline: Iterable[Piece], by: Point) -> Outline:
    """Return the pieces moved without turning."""
    return tuple(_shifted(piece, by) for piece in outline)


def _shifted(piece: Piece, by: Point) -> Piece:
    def place(point: Point) -> Point:
        return (point[0] + by[0], point[1] + by[1])

    if isinstance(piece, Line):
        return Line(place(piece.start), place(piece.end))
    return Arc(place(piece.start), place(piece.end), place(piece.centre), piece.clockwise)


def crossings(points: Sequence[Point], x: float) -> list[float]:
    """Return the second coordinates, sorted, at which a closed polygon crosses the upright line at x."""
    found: list[float] = []
    for (sx, sy), (ex, ey) in zip(points, [*points[1:], points[0]], strict=True):
        if min(sx, ex) <= x < max(sx, ex):
            found.append(sy + (x - sx) * (ey - sy) / (ex - sx))
    return sorted(found)


def height_on(piece: Piece, x: float) -> float:
    """Return the height of a piece that runs on in x, at x within it."""
    (sx, sz), (ex, ez) = piece.start, piece.end
    if isinstance(piece, Line):
        return sz + (x - sx) / (ex - sx) * (ez - sz)
    rise = math.sqrt(max(0.0, piece.radius**2 - (x - piece.centre[0]) ** 2))
    return piece.centre[1] + (rise if piece.clockwise else -rise)
