"""Regions cut off at a line along an axis; lines, arcs and polygons cut to a window. Exact for arcs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Literal

from planestock.params.outlines.along import part, point_at
from planestock.params.outlines.crossings import shares_at
from planestock.params.outlines.pieces import Bounds, Line, Outline, Piece, Point, area, extremes, shifted
from planestock.params.outlines.polygons import polygon

Side = Literal["left", "right", "below", "above"]
"""What is kept: x up to the limit, x from the limit on, y up to it, or y from it on."""

ON_LINE = 1e-7
"""Nearer to the line than this, mm, is on it."""

Region = tuple[Outline, ...]
"""Outlines with the region on their left: anticlockwise around it, clockwise around its holes."""


def kept(region: Sequence[Outline], side: Side, limit: float) -> Region:
    """Return what of a region lies on one side of a line; it may fall into several rings, or be empty.

    Borders are cut at the line and led along it to where the region's border comes back from it.
    """
    whole: list[Outline] = []
    open_chains: list[list[Piece]] = []
    for ring in region:
        chains = _chains(ring, side, limit)
        if len(chains) == 1 and chains[0][0].start == chains[0][-1].end:
            whole.append(tuple(chains[0]))
        else:
            open_chains.extend(chains)
    return (*whole, *_closed(open_chains, side))


def _chains(ring: Outline, side: Side, limit: float) -> list[list[Piece]]:
    """Return the runs of a ring on the kept side; a ring that is kept whole comes back as one closed run."""
    parts = [one for piece in ring for one in _parts(piece, side, limit)]
    inside = [_depth(point_at(one, 0.5), side, limit) > ON_LINE for one in parts]
    if all(inside):
        return [parts]
    first = inside.index(False)
    runs: list[list[Piece]] = [[]]
    for one, keep in zip([*parts[first:], *parts[:first]], [*inside[first:], *inside[:first]], strict=True):
        if keep:
            runs[-1].append(one)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if run]


def _depth(point: Point, side: Side, limit: float) -> float:
    value = point[0] if side in ("left", "right") else point[1]
    return value - limit if side in ("right", "above") else limit - value


def _parts(piece: Piece, side: Side, limit: float) -> list[Piece]:
    shares = [share for share in shares_at(piece, 0 if side in ("left", "right") else 1, limit) if 0 < share < 1]
    ends = [0.0, *sorted(shares), 1.0]
    return [part(piece, a, b) for a, b in pairwise(ends) if b > a]


def _closed(chains: list[list[Piece]], side: Side) -> list[Outline]:
    """Close open runs along the line, each to the nearest beginning in the sense in which the line bounds the region."""
    axis = 1 if side in ("left", "right") else 0
    sense = 1.0 if side in ("left", "above") else -1.0
    left = list(range(len(chains)))
    rings: list[Outline] = []
    while left:
        first = left.pop(0)
        ring = list(chains[first])
        while True:
            end = ring[-1].end
            ahead = min([first, *left], key=lambda index: _ahead(end, chains[index][0].start, axis, sense))
            start = chains[ahead][0].start
            if math.dist(end, start) > ON_LINE:
                ring.append(Line(end, start))
            if ahead == first:
                break
            left.remove(ahead)
            ring.extend(chains[ahead])
        rings.append(tuple(ring))
    return rings


def _ahead(end: Point, start: Point, axis: int, sense: float) -> float:
    """Return how far ahead a beginning lies; one that lies behind comes last."""
    way = sense * (start[axis] - end[axis])
    return way if way >= -ON_LINE else math.inf


def frame(left: float, low: float, right: float, high: float) -> Outline:
    """Return a rectangle, anticlockwise."""
    return polygon([(left, low), (right, low), (right, high), (left, high)])


def region_area(region: Sequence[Outline]) -> float:
    """Return the area of a region, holes taken off."""
    return sum(area(ring) for ring in region)


def shifted_region(region: Sequence[Outline], by: Point) -> Region:
    """Return a region moved without turning."""
    return tuple(shifted(outline, by) for outline in region)


EDGE = 1e-9
"""A point nearer to a window's edge than this, mm, is inside it; arithmetic on some hundred mm loses less. Less than
`ON_LINE`, which tells what lies along a cut: a window only tells what is seen."""


def clip_piece(piece: Piece, window: Bounds) -> list[Piece]:
    """Return the parts of one piece inside a window; a piece wholly inside comes back itself."""
    wide = window.grown(EDGE)
    if all(wide.has(point) for point in extremes(piece)):
        return [piece]
    sides = ((0, window.left), (0, window.right), (1, window.low), (1, window.high))
    shares = (share for axis, level in sides for share in shares_at(piece, axis, level))
    cuts = sorted({0.0, 1.0, *(share for share in shares if 0 < share < 1)})
    return [part(piece, a, b) for a, b in pairwise(cuts) if wide.has(point_at(piece, (a + b) / 2))]


def runs_within(pieces: Iterable[Piece], window: Bounds) -> list[Outline]:
    """Return the parts of a chain inside a window, as chains."""
    runs: list[list[Piece]] = []
    for piece in pieces:
        for inner in clip_piece(piece, window):
            if runs and runs[-1][-1].end == inner.start:
                runs[-1].append(inner)
            else:
                runs.append([inner])
    return [tuple(run) for run in runs]


def polygon_within(corners: Sequence[Point], window: Bounds) -> list[Point]:
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
