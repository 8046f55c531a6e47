"""The casting's outline in its own coordinates (x from the corner D, y across) where it was traced.

The halves are mirror images, so the seat is the mirror-image union of the traced outline, grown by the gap: the casting goes
in, whichever side it is fuller on. It consists of lines and arcs, as the solids need it.
"""

from __future__ import annotations

import math
from functools import lru_cache

from planestock.params.metal import Casting
from planestock.params.outlines.along import between, directions
from planestock.params.outlines.crossings import crossings
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, flattened, turn_between
from planestock.params.outlines.polygons import crossed_at
from planestock.params.traced.evening import (
    FINE,
    TracedPlan,
    even_from,
    plan_of,
    with_ends,
)

LEAST_HOLLOW = 0.2
"""Smallest radius, mm, that may be left of a hollow corner of the casting when the seat's outline is drawn around it."""


GROWN_TRUE = 0.02
"""How far a grown outline may be from the true distance, mm, before it is made the slow way."""


TURNS_ON = 2e-3
"""Neighbours that meet at less than this, radians (a tenth of a degree), are grown as if they were tangent."""

LEAST_HOLLOW = 0.2
"""Smallest radius, mm, that may be left of a hollow corner of the casting when the seat's outline is drawn around it."""

GROWN_TRUE = 0.02
"""How far a grown outline may be from the true distance, mm, before it is made the slow way."""


def traced_plan(casting: Casting) -> TracedPlan | None:
    """Return the traced outline of a casting, None where it has none."""
    return None if casting.outline is None else plan_of(casting.outline)


# ---- one half, and the whole of it --------------------------------------------------------------------------------


# ---- grown --------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=64)
def grown(outline: Outline, by: float) -> Outline:
    """Return a symmetric closed anticlockwise outline grown by a distance, mm, corners rounded by it.

    Piece by piece, which is exact; where a hollow is so tight that pieces vanish in it, from points.
    """
    import shapely

    if by == 0:
        return outline
    made = _grown_by_pieces(outline, by)
    polygon = shapely.Polygon(flattened(outline, FINE))
    if made is not None:
        shape = shapely.Polygon(flattened(made, FINE))
        inner, outer = polygon.buffer(by - GROWN_TRUE, quad_segs=64), polygon.buffer(by + GROWN_TRUE, quad_segs=64)
        if shape.is_valid and shape.contains(inner) and outer.contains(shape):
            return made
    return even_from(polygon.buffer(by, quad_segs=32).simplify(FINE / 2))


def _grown_by_pieces(outline: Outline, by: float) -> Outline | None:
    """Return each piece moved outward, with arcs around corners and cut back in hollow ones; None where one would vanish."""
    moved: list[Piece] = []
    for piece in outline:
        out = _moved_out(piece, by)
        if out is None:
            return None
        moved.append(out)
    count = len(outline)
    around: dict[int, Arc] = {}
    for index, piece in enumerate(outline):
        after = (index + 1) % count
        turn = turn_between(directions(piece)[1], directions(outline[after])[0])
        if turn > TURNS_ON:
            around[index] = Arc(moved[index].end, moved[after].start, piece.end, clockwise=False)
        elif turn < -TURNS_ON:
            met = crossings(moved[index], moved[after])
            if not met:
                return None
            at = min(met, key=lambda point: math.dist(point, piece.end))
            moved[index] = between(moved[index], moved[index].start, at)
            moved[after] = between(moved[after], at, moved[after].end)
    return _meeting([one for index, out in enumerate(moved) for one in (out, *([around[index]] if index in around else []))])


def _moved_out(piece: Piece, by: float) -> Piece | None:
    first, last = directions(piece)
    start = (piece.start[0] + by * first[1], piece.start[1] - by * first[0])
    end = (piece.end[0] + by * last[1], piece.end[1] - by * last[0])
    if isinstance(piece, Line):
        return Line(start, end)
    if piece.clockwise and piece.radius < by + LEAST_HOLLOW:
        return None
    return Arc(start, end, piece.centre, piece.clockwise)


def _meeting(pieces: list[Piece]) -> Outline:
    """Return the pieces of a loop with ends that meet exactly: those a hair apart go to the middle between them."""
    ends = [
        a.end if a.end == b.start else ((a.end[0] + b.start[0]) / 2, (a.end[1] + b.start[1]) / 2)
        for a, b in zip(pieces, [*pieces[1:], pieces[0]], strict=True)
    ]
    starts = [ends[-1], *ends[:-1]]
    return tuple(
        piece if (piece.start, piece.end) == (start, end) else with_ends(piece, start, end)
        for piece, start, end in zip(pieces, starts, ends, strict=True)
    )


def width_at(points: list[Point], x: float) -> float:
    """Return how wide a closed polygon is across at x; 0 beyond its ends."""
    found = crossed_at(points, x)
    return found[-1] - found[0] if found else 0.0
