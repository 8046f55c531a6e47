"""What the strokes of a drawing are: true lines and arcs, and smooth curves, told from the points where they are bare."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from planestock.params.outlines.pieces import Line, Point, turn_between
from planestock.params.traced.neighbourhoods import estimated, turns_between
from planestock.params.traced.strokes import Chained, Curve, Stroke, end_way, start_way

CORNER = math.radians(30)
"""A turn at one point beyond this is a corner, however short the pieces beside it are."""

RUNS_ON = math.radians(0.5)
"""Pieces that meet at less than this run on into each other: drawings are tangent to a tenth of a degree or not at all."""

CHORD = 3.0
"""A straight piece that would rise more than this many tolerances, were it the chord of an arc, is a true straight piece."""

LONG_BESIDE = 8.0
"""A straight piece so many times as long as its longer neighbour, and longer than `LEAST_STRAIGHT`, is a true one."""

ZIGZAG = 4.0
"""A run of points that turns to and fro so many times as much as it turns on the whole is noisy, and is smoothed."""

LEAST_STRAIGHT = 2.0
"""Shortest straight piece, mm, that stands out among shorter ones."""


def told_apart(chain: Chained, tolerance: float) -> list[Stroke]:
    """Return the strokes with runs of straight pieces told apart into true lines and curves."""
    strokes = list(chain.strokes)
    if chain.closed and len(strokes) > 1:
        strokes = _begun_at_a_break(strokes, tolerance)
    result: list[Stroke] = []
    run: list[Line] = []
    for stroke in strokes:
        if isinstance(stroke, Line):
            run.append(stroke)
            continue
        result += _run(run, tolerance, result[-1] if result else None, stroke)
        run = []
        result.append(stroke)
    closing = chain.closed and bool(result)
    result += _run(run, tolerance, result[-1] if result else None, result[0] if closing else None, whole=chain.closed)
    return result


def _begun_at_a_break(strokes: list[Stroke], tolerance: float) -> list[Stroke]:
    """Return the strokes of a loop so turned that it begins at a corner or with a stroke that is no line, if any."""
    for index, (before, stroke) in enumerate(zip([strokes[-1], *strokes[:-1]], strokes, strict=True)):
        if not isinstance(stroke, Line) or not isinstance(before, Line) or _is_corner(before, stroke, tolerance):
            return [*strokes[index:], *strokes[:index]]
    return strokes


def _is_corner(one: Line, other: Line, tolerance: float) -> bool:
    turn = abs(turn_between(start_way(one), start_way(other)))
    return turn > CORNER or min(_size(one), _size(other)) * turn / 8 > CHORD * tolerance


def _size(line: Line) -> float:
    return math.dist(line.start, line.end)


def _run(
    run: list[Line], tolerance: float, before: Stroke | None, after: Stroke | None, *, whole: bool = False
) -> list[Stroke]:
    """Return a run of straight pieces as true lines and smooth curves."""
    if not run:
        return []
    smooth = _smoothed(run, tolerance, loop=whole and before is None)
    if smooth is not None:
        return [smooth]
    turns = [abs(turn_between(start_way(a), start_way(b))) for a, b in pairwise(run)]
    seam = abs(turn_between(start_way(run[-1]), start_way(run[0]))) if whole and before is None else 0.0
    first = abs(turn_between(end_way(before), start_way(run[0]))) if before is not None else seam
    last = abs(turn_between(start_way(run[-1]), start_way(after))) if after is not None else seam
    around = [first, *turns, last]
    sizes = [_size(line) for line in run]
    true = [
        size * max(_bend(around[i]), _bend(around[i + 1])) / 8 > CHORD * tolerance or _stands_out(sizes, i)
        for i, size in enumerate(sizes)
    ]
    result: list[Stroke] = []
    points: list[Point] = []
    for index, line in enumerate(run):
        if index and points and _is_corner(run[index - 1], line, tolerance):
            result.append(_curve(points))
            points = []
        if true[index]:
            result += [_curve(points)] if points else []
            points = []
            result.append(line)
            continue
        points = points or [line.start]
        points.append(line.end)
    return [*result, *([_curve(points)] if points else [])]


def _stands_out(sizes: Sequence[float], index: int) -> bool:
    """Tell whether a straight piece is far longer than the ones beside it."""
    beside = max((*sizes[max(0, index - 1) : index], *sizes[index + 1 : index + 2]), default=0.0)
    return sizes[index] > max(LEAST_STRAIGHT, LONG_BESIDE * beside)


def _smoothed(run: Sequence[Line], tolerance: float, *, loop: bool) -> Curve | None:
    """Return a run of points that zigzags as a smooth curve: each point on the parabola through its neighbourhood.

    None where it does not zigzag, or where smoothing would move a point by more than the tolerance.
    """
    points = np.array([run[0].start, *(line.end for line in run)])
    sides = np.diff(points, axis=0)
    turns = turns_between(sides[:-1], sides[1:])
    if len(run) < 20 or np.abs(turns).sum() < ZIGZAG * max(abs(float(turns.sum())), math.pi):
        return None
    ways, places = estimated(points, tolerance, loop=loop)
    if np.hypot(*(places - points).T).max() > tolerance:
        return None
    if loop:
        places[-1], ways[-1] = places[0], ways[0]
    else:
        places[0], places[-1] = points[0], points[-1]
    return Curve(places, ways)


def _bend(turn: float) -> float:
    """Return a turn as it counts for the pieces beside it; a corner says nothing about them."""
    return 0.0 if turn > CORNER else turn


def _curve(points: Sequence[Point]) -> Stroke:
    return Line(points[0], points[1]) if len(points) == 2 else Curve(np.asarray(points, dtype=np.float64))


def run_on(strokes: list[Stroke], *, closed: bool) -> list[Stroke]:
    """Return the strokes with smooth curves that run on into each other joined, such as the spans of one spline."""
    result: list[Stroke] = []
    for stroke in strokes:
        joined = _as_one(result[-1], stroke) if result else None
        if joined is None:
            result.append(stroke)
        else:
            result[-1] = joined
    if closed and len(result) > 1:
        joined = _as_one(result[-1], result[0])
        if joined is not None:
            return [*result[1:-1], joined]
    return result


def _as_one(one: Stroke, other: Stroke) -> Curve | None:
    if not isinstance(one, Curve) or not isinstance(other, Curve) or one.directions is None or other.directions is None:
        return None
    if abs(turn_between(end_way(one), start_way(other))) > RUNS_ON:
        return None
    return Curve(np.concatenate([one.points, other.points[1:]]), np.concatenate([one.directions, other.directions[1:]]))


def turned_to_begin(strokes: list[Stroke], *, closed: bool) -> list[Stroke]:
    """Return a loop of one smooth curve so turned that it begins where it is straightest."""
    if not closed or len(strokes) != 1 or not isinstance(strokes[0], Curve):
        return strokes
    curve = strokes[0]
    points = curve.points[:-1]
    sides = np.roll(points, -1, axis=0) - points
    turns = np.abs(turns_between(np.roll(sides, 1, axis=0), sides))
    wide = max(1, len(points) // 50)
    over = np.convolve(np.concatenate([turns[-wide:], turns, turns[:wide]]), np.ones(2 * wide + 1), "valid")
    at = int(np.argmin(np.round(over, 6)))
    order = np.concatenate([np.arange(at, len(points)), np.arange(0, at + 1)])
    ways = None if curve.directions is None else curve.directions[:-1][order]
    return [Curve(points[order], ways)]
