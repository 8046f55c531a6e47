"""Straight pieces and arcs of circles as plain numbers: lengths, areas, bounds, mirror images.

An outline is a tuple of `Line` and `Arc`, each beginning where the one before ends; where it is closed, the last ends where
the first begins. Lengths in mm, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
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


def unit(start: Point, end: Point) -> Point:
    """Return the unit vector from one point to another."""
    far = math.dist(start, end)
    return ((end[0] - start[0]) / far, (end[1] - start[1]) / far)


def stepped(start: Point, way: Point, distance: float) -> Point:
    """Return the point at a distance from `start` along a unit vector."""
    return (start[0] + distance * way[0], start[1] + distance * way[1])


def left_of(vector: Point) -> Point:
    """Return a vector turned a quarter to the left."""
    return (-vector[1], vector[0])


def cross(one: Point, other: Point) -> float:
    """Return the cross product: positive where `other` turns left of `one`."""
    return one[0] * other[1] - one[1] * other[0]


def turn_between(one: Point, other: Point) -> float:
    """Return the angle from one direction to another, radians, -pi to pi, positive anticlockwise."""
    return math.atan2(cross(one, other), one[0] * other[0] + one[1] * other[1])


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
                points.append((cx + radius * (1, 0, -1, 0)[quarter], cy + radius * (0, 1, 0, -1)[quarter]))
    return points


@dataclass(frozen=True)
class Bounds:
    """The least upright rectangle around something."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From low to high."""
        return self.high - self.low

    def grown(self, by: float) -> Bounds:
        """Return the rectangle with a margin on every side."""
        return Bounds(self.left - by, self.low - by, self.right + by, self.high + by)

    def holds(self, other: Bounds) -> bool:
        """Tell whether another rectangle lies wholly within."""
        return (self.left <= other.left and self.low <= other.low
                and other.right <= self.right and other.high <= self.high)  # fmt: skip

    def meets(self, other: Bounds) -> bool:
        """Tell whether another rectangle shares more than a border with this one."""
        return (self.left < other.right and other.left < self.right
                and self.low < other.high and other.low < self.high)  # fmt: skip

    def has(self, point: Point) -> bool:
        """Tell whether a point lies within, its border included."""
        return self.left <= point[0] <= self.right and self.low <= point[1] <= self.high


def bounds(outline: Iterable[Piece]) -> Bounds:
    """Return the least upright rectangle around the pieces, exact for arcs."""
    return bounds_of([point for piece in outline for point in extremes(piece)])


def bounds_of(points: Sequence[Point]) -> Bounds:
    """Return the least upright rectangle around points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Bounds(min(xs), min(ys), max(xs), max(ys))


def circle(centre: Point, radius: float) -> Outline:
    """Return a full circle as two arcs, from its rightmost point anticlockwise."""
    right, left = (centre[0] + radius, centre[1]), (centre[0] - radius, centre[1])
    return (Arc(right, left, centre, clockwise=False), Arc(left, right, centre, clockwise=False))


def begun_at(outline: Outline, point: Point) -> Outline:
    """Return a closed outline that begins with its piece from a point; as it is where none begins there."""
    first = next((index for index, piece in enumerate(outline) if piece.start == point), 0)
    return (*outline[first:], *outline[:first])


def mirrored_across(outline: Outline) -> Outline:
    """Return the outline with its second axis turned round, walked backwards so that it keeps its sense."""
    return _mirrored(outline, lambda point: (point[0], -point[1]))


def mirrored_along(outline: Outline) -> Outline:
    """Return the outline with its first axis turned round, as seen from the other side; it keeps its sense."""
    return _mirrored(outline, lambda point: (-point[0] + 0.0, point[1]))


def _mirrored(outline: Outline, place: Callable[[Point], Point]) -> Outline:
    # An arc turns the other way in a mirror, and once more when it is walked backwards.
    return tuple(_placed(turned_round(piece), place, turns_over=True) for piece in reversed(outline))


def shifted(outline: Iterable[Piece], by: Point) -> Outline:
    """Return the pieces moved without turning."""
    return tuple(_placed(piece, lambda point: (point[0] + by[0], point[1] + by[1])) for piece in outline)


def _placed(piece: Piece, place: Callable[[Point], Point], *, turns_over: bool = False) -> Piece:
    """Return a piece with its points taken elsewhere by a motion; turns_over: which is a mirror."""
    if isinstance(piece, Line):
        return Line(place(piece.start), place(piece.end))
    return Arc(place(piece.start), place(piece.end), place(piece.centre), piece.clockwise != turns_over)
