"""Regions bounded by lines and arcs, cut off at a straight line along an axis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from planestock.params.outlines.along import Ring, at, part, share_of
from planestock.params.outlines.polygons import Arc, Line, Piece, Point, area

Side = Literal["left", "right", "below", "above"]
"""What is kept: x up to the limit, x from the limit on, y up to it, or y from it on."""

ON_LINE = 1e-7
"""Nearer to the line than this, mm, is on it."""

Region = tuple[Ring, ...]
"""Rings with the region on their left: anticlockwise around it, clockwise around its holes."""


def kept(region: Sequence[Ring], side: Side, limit: float) -> Region:
    """Return what of a region lies on one side of a line; it may fall into several rings, or be empty.

    Borders are cut at the line and led along it to where the region's border comes back from it.
    """
    whole: list[Ring] = []
    open_chains: list[list[Piece]] = []
    for ring in region:
        chains = _chains(ring, side, limit)
        if len(chains) == 1 and chains[0][0].start == chains[0][-1].end:
            whole.append(tuple(chains[0]))
        else:
            open_chains.extend(chains)
    return (*whole, *_closed(open_chains, side))


def _chains(ring: Ring, side: Side, limit: float) -> list[list[Piece]]:
    """Return the runs of a ring on the kept side; a ring that is kept whole comes back as one closed run."""
    parts = [one for piece in ring for one in _parts(piece, side, limit)]
    inside = [_depth(at(one, 0.5), side, limit) > ON_LINE for one in parts]
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
    shares = [share for share in _crossing(piece, 0 if side in ("left", "right") else 1, limit) if 0 < share < 1]
    ends = [0.0, *sorted(shares), 1.0]
    return [part(piece, a, b) for a, b in pairwise(ends) if b > a]


def _crossing(piece: Piece, axis: int, limit: float) -> list[float]:
    if isinstance(piece, Line):
        rise = piece.end[axis] - piece.start[axis]
        return [(limit - piece.start[axis]) / rise] if rise else []
    return [share_of(piece, point) for point in _on_circle(piece, axis, limit)]


def _on_circle(arc: Arc, axis: int, limit: float) -> list[Point]:
    off = limit - arc.centre[axis]
    if abs(off) >= arc.radius:
        return []
    reach = math.sqrt(arc.radius**2 - off**2)
    other = arc.centre[1 - axis]
    return [(limit, other + s * reach) if axis == 0 else (other + s * reach, limit) for s in (1, -1)]


def _closed(chains: list[list[Piece]], side: Side) -> list[Ring]:
    """Close open runs along the line, each to the nearest beginning in the sense in which the line bounds the region."""
    axis = 1 if side in ("left", "right") else 0
    sense = 1.0 if side in ("left", "above") else -1.0
    left = list(range(len(chains)))
    rings: list[Ring] = []
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


def frame(left: float, low: float, right: float, high: float) -> Ring:
    """Return a rectangle, anticlockwise."""
    corners = [(left, low), (right, low), (right, high), (left, high)]
    return tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))


def region_area(region: Sequence[Ring]) -> float:
    """Return the area of a region, holes taken off."""
    return sum(area(ring) for ring in region)
