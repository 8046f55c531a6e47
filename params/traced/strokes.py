"""What a drawing is made of before it is cleaned: exact lines and arcs, and curves as dense points; moved and chained.

A `Curve` is a run of points: with a direction at each where it comes from a spline or an ellipse, without where it is a
polyline, whose corners and straight parts are then told from the points alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from planestock.params.outlines.along import directions
from planestock.params.outlines.pieces import Arc, Line, Point, length, through, turned_round
from planestock.params.problems import refuse

Floats = npt.NDArray[np.float64]

MOST_POINTS = 100_000
"""Points of a whole drawing, after its curves were turned into points; a careful tracing has some thousand."""

MOST_CHAINS = 20_000
"""Loose pieces of a drawing."""

TINY = 1e-6
"""Pieces shorter than this, mm, are no pieces."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A run of points, shape (n, 2), and the unit directions there where they are known."""

    points: Floats
    directions: Floats | None = None

    @property
    def start(self) -> Point:
        """First point."""
        return (float(self.points[0, 0]), float(self.points[0, 1]))

    @property
    def end(self) -> Point:
        """Last point."""
        return (float(self.points[-1, 0]), float(self.points[-1, 1]))


Stroke = Line | Arc | Curve
Chain = list[Stroke]


@dataclass(frozen=True)
class Move:
    """A turn, a scale and a shift of the plane, with a mirror image first where `mirror`: (x, y) becomes (x, -y)."""

    cos: float = 1.0
    sin: float = 0.0
    x: float = 0.0
    y: float = 0.0
    mirror: bool = False

    def place(self, point: Point) -> Point:
        """Return where a point goes."""
        px, py = point[0], -point[1] if self.mirror else point[1]
        return (self.cos * px - self.sin * py + self.x, self.sin * px + self.cos * py + self.y)

    def stroke(self, stroke: Stroke) -> Stroke:
        """Return where a stroke goes."""
        if isinstance(stroke, Line):
            return Line(self.place(stroke.start), self.place(stroke.end))
        if isinstance(stroke, Arc):
            centre, turns = self.place(stroke.centre), stroke.clockwise != self.mirror
            return Arc(self.place(stroke.start), self.place(stroke.end), centre, turns)
        return Curve(self._points(stroke.points), self._ways(stroke.directions))

    def _points(self, points: Floats) -> Floats:
        placed: Floats = self._turned(points) + np.array([self.x, self.y])
        return placed

    def _ways(self, ways: Floats | None) -> Floats | None:
        return None if ways is None else self._turned(ways) / math.hypot(self.cos, self.sin)

    def _turned(self, points: Floats) -> Floats:
        x, y = points[:, 0], -points[:, 1] if self.mirror else points[:, 1]
        return np.column_stack([self.cos * x - self.sin * y, self.sin * x + self.cos * y])


def count_points(chains: Sequence[Chain]) -> int:
    """Return how many points and pieces a drawing has."""
    return sum(len(stroke.points) if isinstance(stroke, Curve) else 1 for chain in chains for stroke in chain)


def is_near(stroke: Stroke, farthest: float) -> bool:
    """Tell whether a stroke stays within `farthest` of the origin; what is no number is nowhere. An arc's centre may lie
    farther, as it does where the arc is all but straight."""
    if isinstance(stroke, Curve):
        return bool((np.abs(stroke.points) <= farthest).all())
    centre = stroke.centre if isinstance(stroke, Arc) else (0.0, 0.0)
    return all(abs(number) <= farthest for number in (*stroke.start, *stroke.end)) and all(
        abs(number) <= farthest**2 for number in centre
    )


def is_something(stroke: Stroke) -> bool:
    """Tell whether a stroke has any length."""
    if isinstance(stroke, Curve):
        return len(stroke.points) > 1 and bool(np.ptp(stroke.points, axis=0).max() > TINY)
    if isinstance(stroke, Line):
        return math.dist(stroke.start, stroke.end) > TINY
    return stroke.radius > TINY and length(stroke) > TINY


def turned_stroke(stroke: Stroke) -> Stroke:
    """Return a stroke walked the other way."""
    if isinstance(stroke, Curve):
        return Curve(stroke.points[::-1], None if stroke.directions is None else -stroke.directions[::-1])
    return turned_round(stroke)


@dataclass(frozen=True)
class Chained:
    """A chain of strokes end to end. closed: it comes back to its start; gap: the widest gap that was closed, mm."""

    strokes: tuple[Stroke, ...]
    closed: bool
    gap: float


def chained(chains: Sequence[Chain], largest_gap: float, path: str) -> list[Chained]:
    """Join loose chains at ends that are at most `largest_gap` mm apart, nearest ends first, and close those that can be.

    Where more than two ends meet, the nearest pair is joined and what is left over stays loose.
    """
    if len(chains) > MOST_CHAINS:
        raise refuse(path, f"{len(chains)} loose pieces", f"a drawing has at most {MOST_CHAINS}",
                     "leave out hatching and text, or join the outline into one line")  # fmt: skip
    partner = _partners(chains, largest_gap)
    seen: set[int] = set()
    starts = [*(end for end in range(2 * len(chains)) if end not in partner), *range(0, 2 * len(chains), 2)]
    return [_walk(chains, partner, end, seen) for end in starts if end // 2 not in seen]


def _partners(chains: Sequence[Chain], largest_gap: float) -> dict[int, int]:
    """Return which end is joined to which: ends are numbered 2 i (start) and 2 i + 1 (end of chain i)."""
    ends = [point for chain in chains for point in (chain[0].start, chain[-1].end)]
    partner: dict[int, int] = {}
    for _, one, other in sorted(_near(ends, largest_gap)):
        own = one // 2 == other // 2
        if one not in partner and other not in partner and not (own and _is_short(chains[one // 2], largest_gap)):
            partner[one], partner[other] = other, one
    return partner


def _is_short(chain: Chain, largest_gap: float) -> bool:
    """Tell whether a chain is so short that its ends lie near each other without its being closed."""
    total = sum(_length(stroke) for stroke in chain)
    return total < 4 * largest_gap


def _length(stroke: Stroke) -> float:
    if isinstance(stroke, Curve):
        return float(np.hypot(*np.diff(stroke.points, axis=0).T).sum())
    return length(stroke)


def _near(ends: Sequence[Point], largest_gap: float) -> Iterator[tuple[float, int, int]]:
    """Yield pairs of ends at most `largest_gap` apart, found by a grid of cells of that size."""
    size = max(largest_gap, TINY)
    cells: dict[tuple[int, int], list[int]] = {}
    for index, (x, y) in enumerate(ends):
        cell = (math.floor(x / size), math.floor(y / size))
        for column in (-1, 0, 1):
            for row in (-1, 0, 1):
                for other in cells.get((cell[0] + column, cell[1] + row), ())[:MOST_NEAR]:
                    apart = math.dist(ends[other], (x, y))
                    if apart <= size:
                        yield apart, other, index
        cells.setdefault(cell, []).append(index)


MOST_NEAR = 64
"""Ends in one cell that are looked at; more lie in one spot only where thousands of pieces were heaped up."""


def _walk(chains: Sequence[Chain], partner: dict[int, int], begin: int, seen: set[int]) -> Chained:
    """Follow joined chains from an end until it is loose or the loop is closed."""
    strokes: list[Stroke] = []
    gap, here = 0.0, begin
    while True:
        chain = chains[here // 2]
        seen.add(here // 2)
        strokes += chain if here % 2 == 0 else [turned_stroke(stroke) for stroke in reversed(chain)]
        following = partner.get(here ^ 1)
        if following is None:
            return Chained(_snapped(strokes, closed=False), False, gap)
        ahead = chains[following // 2]
        gap = max(gap, math.dist(strokes[-1].end, ahead[0].start if following % 2 == 0 else ahead[-1].end))
        if following // 2 in seen:
            return Chained(_snapped(strokes, closed=True), True, gap)
        here = following


def _snapped(strokes: list[Stroke], *, closed: bool) -> tuple[Stroke, ...]:
    """Return strokes that meet exactly: the ends on both sides of a gap go to its middle."""
    starts = [stroke.start for stroke in strokes]
    ends = [stroke.end for stroke in strokes]
    last = len(strokes) - 1
    for index in range(len(strokes) if closed else last):
        following = 0 if index == last else index + 1
        (ax, ay), (bx, by) = ends[index], starts[following]
        ends[index] = starts[following] = ((ax + bx) / 2, (ay + by) / 2)
    return tuple(_ended(*one) for one in zip(strokes, starts, ends, strict=True) if len(strokes) == 1 or one[1] != one[2])


def _ended(stroke: Stroke, start: Point, end: Point) -> Stroke:
    """Return a stroke between slightly other ends; an arc keeps the angle it turns."""
    if (start, end) == (stroke.start, stroke.end):
        return stroke
    if isinstance(stroke, Line):
        return Line(start, end)
    if isinstance(stroke, Arc):
        return through(start, end, stroke.sweep)
    points = stroke.points.copy()
    points[0], points[-1] = start, end
    return replace(stroke, points=points)


def sampled(at: Callable[[Floats], Floats], way: Callable[[Floats], Floats], sagitta: float, most: int) -> Curve:
    """Return a smooth curve, given by functions of a parameter from 0 to 1, as points whose chords stray at most `sagitta`.

    at, way: point and derivative at parameters, shape (n, 2). The number of points is doubled until halfway points lie on
    the chords, at most `most`.
    """
    count = 16
    while True:
        steps = np.linspace(0.0, 1.0, count + 1)
        points = at(steps)
        middles = at((steps[:-1] + steps[1:]) / 2)
        stray = np.hypot(*(middles - (points[:-1] + points[1:]) / 2).T).max()
        if not np.isfinite(points).all() or stray <= sagitta or count >= most:
            break
        count *= 2
    ways = way(steps)
    sizes = np.hypot(ways[:, 0], ways[:, 1])
    if not np.isfinite(ways).all() or (sizes < 1e-9 * max(float(sizes.max()), 1e-30)).any():
        return Curve(points)
    return Curve(points, ways / sizes[:, None])


def start_way(stroke: Stroke) -> Point:
    """Return the direction at the start of a stroke."""
    if not isinstance(stroke, Curve):
        return directions(stroke)[0]
    way = stroke.points[1] - stroke.points[0] if stroke.directions is None else stroke.directions[0]
    return _way(way)


def end_way(stroke: Stroke) -> Point:
    """Return the direction at the end of a stroke."""
    if not isinstance(stroke, Curve):
        return directions(stroke)[1]
    way = stroke.points[-1] - stroke.points[-2] if stroke.directions is None else stroke.directions[-1]
    return _way(way)


def _way(vector: Floats) -> Point:
    size = float(np.hypot(vector[0], vector[1])) or 1.0
    return (float(vector[0]) / size, float(vector[1]) / size)


def polyline(points: Sequence[Point]) -> Chain:
    """Return straight pieces through points, without those of no length."""
    return [Line(a, b) for a, b in pairwise(points) if math.dist(a, b) > TINY]
