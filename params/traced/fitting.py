"""A chain of strokes turned into few lines and tangent arcs within a tolerance. Deterministic; no random numbers.

True lines and arcs stay as they are. Runs of short straight pieces are told apart into corners, true straight parts and
chords of a smooth curve. Smooth parts are covered greedily from their start, each time by the longest fillet or biarc that
stays within the tolerance, with the directions of the curve at its ends, so that neighbours are tangent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planestock.params.outlines.path_text import MOST_PIECES
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, turn_between
from planestock.params.problems import refuse
from planestock.params.traced.arcs_between import candidates, fillet, is_sane, strays
from planestock.params.traced.neighbourhoods import estimated
from planestock.params.traced.straight_runs import point_of, straight_runs
from planestock.params.traced.strokes import Chained, Curve, Floats, Stroke, end_way, start_way
from planestock.params.traced.telling_apart import CORNER, run_on, told_apart, turned_to_begin

MOST_FITTED = 6000
"""Points of one smooth part that are fitted; of denser ones, every second, third … is passed over."""

LEAST_LOOP = 8
"""Fewer points than this between a point and itself are no loop but nothing."""


@dataclass(frozen=True)
class Fitted:
    """Lines and arcs fitted to a chain. strays: the farthest that a point of the drawing lies from them, mm."""

    pieces: Outline
    strays: float


@dataclass(frozen=True, eq=False)
class _Part:
    """A smooth part: points with directions, and whether the direction at either end is that of an exact neighbour."""

    points: Floats
    ways: Floats


def fitted(chain: Chained, tolerance: float, path: str) -> Fitted:
    """Return the chain as lines and tangent arcs, each point of it within `tolerance` mm of them.

    path: what to call the drawing in a message. Raises InputProblem where it takes more than `MOST_PIECES`.
    """
    strokes = turned_to_begin(run_on(told_apart(chain, tolerance), closed=chain.closed), closed=chain.closed)
    pieces: list[Piece] = []
    worst = 0.0
    for index, stroke in enumerate(strokes):
        if not isinstance(stroke, Curve):
            pieces.append(stroke)
            continue
        before, after = _neighbours(strokes, index, closed=chain.closed)
        made = _covered(_ready(stroke, before, after, tolerance), tolerance)
        worst = max(worst, strays(stroke.points, tuple(made)))
        pieces += made
        if len(pieces) > 20 * MOST_PIECES:
            break
    whole = joined(pieces, closed=chain.closed)
    if len(whole) > MOST_PIECES:
        raise refuse(path, f"more than {MOST_PIECES} lines and arcs", "is too ragged for this tolerance",
                     "raise the tolerance, or smooth the drawing")  # fmt: skip
    return Fitted(whole, worst)


def _neighbours(strokes: Sequence[Stroke], index: int, *, closed: bool) -> tuple[Point | None, Point | None]:
    """Return the directions of the strokes before and after one, where it runs on into them."""
    stroke = strokes[index]
    before = strokes[index - 1] if index or closed else None
    after = strokes[(index + 1) % len(strokes)] if index + 1 < len(strokes) or closed else None
    loop = closed and len(strokes) == 1
    first = None if before is None or loop else end_way(before)
    last = None if after is None or loop else start_way(after)
    return (first if first and abs(turn_between(first, start_way(stroke))) < CORNER / 2 else None,
            last if last and abs(turn_between(end_way(stroke), last)) < CORNER / 2 else None)  # fmt: skip


def _ready(curve: Curve, before: Point | None, after: Point | None, tolerance: float) -> _Part:
    """Return a curve's points, thinned where there are too many, with directions at all of them."""
    loop = bool(np.array_equal(curve.points[0], curve.points[-1]))
    thin = _thinned(curve)
    ways = estimated(thin.points, tolerance, loop=loop)[0] if thin.directions is None else thin.directions.copy()
    if before is not None:
        ways[0] = before
    if after is not None:
        ways[-1] = after
    return _Part(thin.points, ways)


def _thinned(curve: Curve) -> Curve:
    if len(curve.points) <= MOST_FITTED:
        return curve
    step = math.ceil(len(curve.points) / MOST_FITTED)
    keep = np.unique(np.append(np.arange(0, len(curve.points), step), len(curve.points) - 1))
    return replace(curve, points=curve.points[keep],
                   directions=None if curve.directions is None else curve.directions[keep])  # fmt: skip


def _covered(part: _Part, tolerance: float) -> list[Piece]:
    """Return pieces that cover a smooth part: its straight runs, and fillets and biarcs between them."""
    runs = straight_runs(part.points, tolerance)
    pieces: list[Piece] = []
    here, start, way = 0, point_of(part.points[0]), point_of(part.ways[0])
    for low, high, line in runs:
        pieces += _between(part, here, low, (start, way, line.start, start_way(line)), tolerance)
        pieces.append(line)
        here, start, way = high, line.end, start_way(line)
    last = len(part.points) - 1
    return pieces + _between(
        part, here, last, (start, way, point_of(part.points[last]), point_of(part.ways[last])), tolerance
    )


Ends = tuple[Point, Point, Point, Point]


def _between(part: _Part, low: int, high: int, ends: Ends, tolerance: float) -> list[Piece]:
    """Return pieces over the points low to high, from a start with its direction to an end with its own."""
    start, first, end, second = ends
    if low > high or (start == end and high - low < LEAST_LOOP):
        return []
    pieces: list[Piece] = []
    here = low
    while True:
        whole = _best_over(part, here, high, (start, first, end, second), tolerance)
        if whole is not None:
            return [*pieces, *whole]
        reached, made = _farthest(part, here, high, start, first, tolerance)
        pieces += made
        if reached >= high:
            last = pieces[-1].end
            return pieces if last == end else [*pieces, Line(last, end)]
        here, start, first = reached, pieces[-1].end, _last_way(pieces[-1], part.ways[reached])


def _last_way(piece: Piece, way: Floats) -> Point:
    """Return the direction to go on with: the curve's own, unless a straight stop-gap was put in."""
    return point_of(way) if isinstance(piece, Arc) else end_way(piece)


def _farthest(
    part: _Part, here: int, high: int, start: Point, first: Point, tolerance: float
) -> tuple[int, tuple[Piece, ...]]:
    """Return how far one candidate reaches from a point, and its pieces; the next point, straight, where none reaches."""

    def over(to: int) -> Outline | None:
        ends = (start, first, point_of(part.points[to]), point_of(part.ways[to]))
        return _over(part, here, to, ends, tolerance)

    good, found = here, None
    step = 1
    while good + step <= high:
        made = over(good + step)
        if made is None:
            break
        good, found, step = good + step, made, step * 2
    while step > 1:
        step //= 2
        made = over(good + step) if good + step <= high else None
        if made is not None:
            good, found = good + step, made
    if found is None:
        following = min(here + 1, high)
        return following, (Line(start, point_of(part.points[following])),)
    return good, found


def _over(part: _Part, low: int, high: int, ends: Ends, tolerance: float) -> Outline | None:
    """Return the first candidate between two points that keeps every point between them within tolerance, if any."""
    points = part.points[low : high + 1]
    along = float(np.hypot(*np.diff(points, axis=0).T).sum()) + 2 * tolerance
    for made in candidates(*ends):
        if is_sane(made, along, tolerance) and strays(points[1:-1], made) <= tolerance:
            return made
    return None


def _best_over(part: _Part, low: int, high: int, ends: Ends, tolerance: float) -> Outline | None:
    """Return one candidate over all that is left, a fillet of any radius among them; None where none will do."""
    if math.dist(ends[0], ends[2]) < 1e-9:
        return None
    made = _over(part, low, high, ends, tolerance)
    if made is not None:
        return made
    points = part.points[low : high + 1]
    share = _best_share(points, ends)
    found = None if share is None else fillet(*ends, share)
    return found if found is not None and strays(points, found) <= tolerance else None


def _best_share(points: Floats, ends: Ends) -> float | None:
    """Return the share of a fillet that strays least from the points: golden section, the radius being the only unknown."""
    if fillet(*ends, 0.5) is None:
        return None

    def worst(share: float) -> float:
        made = fillet(*ends, share)
        return math.inf if made is None else strays(points, made)

    low, high = 0.002, 1.0
    golden = (math.sqrt(5) - 1) / 2
    for _ in range(40):
        one, other = high - golden * (high - low), low + golden * (high - low)
        if worst(one) < worst(other):
            high = other
        else:
            low = one
    return (low + high) / 2


def joined(pieces: Sequence[Piece], *, closed: bool) -> Outline:
    """Return pieces with neighbours that are one line or one circle joined, and ends that meet exactly."""
    result: list[Piece] = []
    for piece in pieces:
        one = _one(result[-1], piece) if result else None
        if one is None:
            result.append(piece)
        else:
            result[-1] = one
    if closed and len(result) > 2:
        one = _one(result[-1], result[0])
        if one is not None:
            result = [*result[1:-1], one]
    return tuple(result)


SAME = 1e-6
"""Lines that turn less than this, radians, and arcs whose centres lie less than this share of the radius apart, are one."""


def _one(piece: Piece, following: Piece) -> Piece | None:
    """Return two pieces as one, where they are parts of one line or of one arc."""
    if isinstance(piece, Line) and isinstance(following, Line):
        same = abs(turn_between(end_way(piece), start_way(following))) < SAME
        return Line(piece.start, following.end) if same else None
    if isinstance(piece, Arc) and isinstance(following, Arc) and piece.clockwise == following.clockwise:
        near = math.dist(piece.centre, following.centre) < SAME * piece.radius
        return replace(piece, end=following.end) if near and abs(piece.sweep + following.sweep) < 1.5 * math.pi else None
    return None
