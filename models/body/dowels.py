"""Places for the dowels: in the side view, clear of every cut and of one another, as far apart as the wood allows."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.models.body.holes import Hole
from planestock.params.outlines.pieces import Point, flattened
from planestock.params.wanted import Dowels

if TYPE_CHECKING:
    from planestock.models.body.layout import Layout, Tail

Floats = npt.NDArray[np.float64]

TOP_SAGITTA = 0.1
"""Chords of a traced cove stray at most this far from it, mm; small against the cover that dowels keep."""

STEP = 2.5
"""Grid of places that are tried, mm: finer than any gain from moving a dowel."""


def dowel_places(dowels: Dowels, layout: Layout, cover: float) -> tuple[Hole, ...]:
    """Return the dowel holes, each one hole across both halves and the strip; fewer than wanted where there is no room.

    cover: wood wanted between a dowel and any cut or surface, mm. Half of them go ahead of the throat, the rest behind it.
    """
    ahead = dowels.count // 2
    places = _candidates(layout)
    room = places[_clearance(places, dowels, layout) >= dowels.diameter.value / 2 + cover]
    in_front = room[:, 0] < layout.edge[0]
    apart = dowels.diameter.value + cover
    chosen = [*_spread(room[in_front], ahead, apart), *_spread(room[~in_front], dowels.count - ahead, apart)]
    return tuple(_hole(place, dowels, layout.strip) for place in chosen)


def _candidates(layout: Layout) -> Floats:
    x = np.arange(STEP, layout.length, STEP)
    z = np.linspace(layout.slip, layout.height - layout.pad, 11)
    return np.stack(np.meshgrid(x, z, indexing="ij"), axis=-1).reshape(-1, 2)


def _clearance(places: Floats, dowels: Dowels, layout: Layout) -> Floats:
    """Return the distance from each place to the nearest cut or surface; negative inside one. Shape (n,)."""
    depth = dowels.depth.value + layout.strip / 2
    near = [hole for hole in layout.holes if abs(hole.start[1]) - hole.radius < depth]
    axes = [_to_piece(places, (h.start[0], h.start[2]), (h.end[0], h.end[2])) - h.radius for h in near]
    cuts = [_to_polygon(places, layout.throat)]
    if layout.recess is not None:
        cuts.append(_to_polygon(places, layout.recess))
    top = _top(layout)
    surfaces = [_to_piece(places, start, end) for start, end in pairwise(top)]
    below = places[:, 1] - np.interp(places[:, 0], [p[0] for p in top], [p[1] for p in top])
    buried = np.where(below < 0, np.inf, -1.0)
    low, high = layout.slip, layout.height - layout.pad
    ends = [places[:, 0], layout.length - places[:, 0], places[:, 1] - low, high - places[:, 1], buried]
    least: Floats = np.min([*axes, *cuts, *surfaces, *ends], axis=0)
    return least


def _top(layout: Layout) -> list[Point]:
    """Return points of the wood's top on the mid-plane from toe to heel, the cove as three chords below its arc.

    A traced cove is followed by chords of its own pieces.
    """
    ends = [0.0, layout.length]
    marks = [layout.seat_front[0], layout.seat_rear[0]]
    if layout.tail is not None:
        marks += _cove_marks(layout.tail)
    xs = sorted({*ends, *(min(max(x + side, 0.0), layout.length) for x in marks for side in (-0.01, 0.01))})
    return [(x, layout.top_at(x)) for x in xs]


def _cove_marks(tail: Tail) -> list[float]:
    high, low = tail.cove_high[0], tail.cove_low[0]
    if tail.centre is not None:
        return [high + share * (low - high) for share in (0.0, 0.3, 0.6, 1.0)]
    return [x for x, _ in [*flattened(tail.fall, TOP_SAGITTA), tail.level_from]]


def _to_piece(places: Floats, start: Point, end: Point) -> Floats:
    line = np.subtract(end, start)
    square = float(line @ line)
    offset = places - np.asarray(start)
    share = np.clip(offset @ line / square, 0, 1) if square else np.zeros(len(places))
    apart: Floats = np.hypot(*(offset - share[:, None] * line).T)
    return apart


def _to_polygon(places: Floats, corners: tuple[Point, ...]) -> Floats:
    """Return the distance to a polygon, negative inside it."""
    pairs = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    apart: Floats = np.min([_to_piece(places, start, end) for start, end in pairs], axis=0)
    inside = np.zeros(len(places), dtype=bool)
    x, y = places.T
    for (x1, y1), (x2, y2) in pairs:
        if y1 != y2:
            inside ^= ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
    return np.where(inside, -apart, apart)


def _spread(room: Floats, count: int, apart: float) -> list[Point]:
    """Choose places one after the other, each the farthest from those before; stop when the next would be too near."""
    if count <= 0 or not len(room):
        return []
    middle = room.mean(axis=0)
    chosen = [int(np.argmax(np.hypot(*(room - middle).T)))]
    while len(chosen) < count:
        nearest = np.min([np.hypot(*(room - room[index]).T) for index in chosen], axis=0)
        best = int(np.argmax(nearest))
        if nearest[best] < apart:
            break
        chosen.append(best)
    return sorted((float(room[index][0]), float(room[index][1])) for index in chosen)


def _hole(place: Point, dowels: Dowels, strip: float) -> Hole:
    reach = dowels.depth.value + strip / 2
    x, z = place
    return Hole("dowel", "body.dowels", (x, -reach, z), (0.0, 1.0, 0.0), dowels.diameter.value, 2 * reach, 0.0)


def dowel_depth_in_half(hole: Hole, strip: float) -> float:
    """Return how deep a dowel's hole goes into each half, from its mating face."""
    return hole.depth / 2 - strip / 2


def nearest_to(hole: Hole, other: Hole) -> float:
    """Return the wood left between two holes, mm, negative where they meet: distance of their axes less both radii.

    Closest points of two segments by projection and clamping; exact for segments that are not degenerate.
    """
    p, q = np.asarray(hole.start), np.asarray(other.start)
    u, v = np.asarray(hole.end) - p, np.asarray(other.end) - q
    between = p - q
    a, b, c, d, e = float(u @ u), float(u @ v), float(v @ v), float(u @ between), float(v @ between)
    span = a * c - b * b
    s = min(max((b * e - c * d) / span, 0.0), 1.0) if span > 1e-12 * a * c else 0.0
    t = min(max((b * s + e) / c, 0.0), 1.0)
    s = min(max((b * t - d) / a, 0.0), 1.0)
    return math.dist(p + s * u, q + t * v) - hole.radius - other.radius
