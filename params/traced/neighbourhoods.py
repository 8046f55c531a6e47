"""Directions along bare points: those of the least-squares parabola through each one's neighbourhood."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from planestock.params.traced.strokes import Curve, Floats

Indices = npt.NDArray[np.int64]

CURVE_RADIUS = 5.0
"""Directions of bare points are taken over as long a stretch as an arc of this radius, mm, stays within tolerance."""

AT_ONCE = 512
"""Neighbourhoods that are worked out at once, so that many points in a small place take no more memory than this many."""

MOST_NEIGHBOURS = 200
"""Points of a neighbourhood that count; where more lie within reach, the nearest do."""


def estimated(points: Floats, tolerance: float, *, loop: bool) -> tuple[Floats, Floats]:
    """Return direction and place at each point of the parabola through its neighbourhood, by least squares."""
    reach = math.sqrt(2 * CURVE_RADIUS * tolerance)
    count, offset = len(points), 0
    if loop:
        ring = points[:-1]
        offset = min(len(ring), 400)
        points = np.concatenate([ring[-offset:], ring, ring[: offset + 1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ways, places = np.empty((count, 2)), np.empty((count, 2))
    for begin in range(0, count, AT_ONCE):
        rows = slice(begin, min(begin + AT_ONCE, count))
        ways[rows], places[rows] = _parabolas(points, along, np.arange(rows.start, rows.stop) + offset, reach)
    return ways / np.hypot(ways[:, 0], ways[:, 1])[:, None], places


def _parabolas(points: Floats, along: Floats, here: Indices, reach: float) -> tuple[Floats, Floats]:
    """Return slope and place at some points of the least-squares parabola over those within reach, three at least."""
    last = len(points) - 1
    low = np.minimum(np.searchsorted(along, along[here] - reach), np.maximum(here - 1, 0))
    high = np.maximum(np.searchsorted(along, along[here] + reach, "right") - 1, np.minimum(here + 1, last))
    low = np.maximum(low, here - MOST_NEIGHBOURS // 2)
    high = np.minimum(high, here + MOST_NEIGHBOURS // 2)
    short = high - low < 2
    low = np.where(short, np.maximum(0, np.minimum(low, high - 2)), low)
    high = np.where(short, np.minimum(last, np.maximum(high, low + 2)), high)
    if last < 2:
        return np.broadcast_to(points[-1] - points[0], (len(here), 2)).copy(), points[here]
    spread = low[:, None] + np.arange(int((high - low).max()) + 1)
    weight = (spread <= high[:, None]).astype(np.float64)
    spread = np.minimum(spread, last)
    size = np.maximum(along[high] - along[here], along[here] - along[low])
    t = (along[spread] - along[here][:, None]) / size[:, None] * weight
    powers = np.stack([weight, t, t * t], axis=-1)
    normal = np.einsum("nki,nkj->nij", powers, powers)
    right = np.einsum("nki,nkj->nij", powers, points[spread] - points[here][:, None, :])
    found = np.linalg.solve(normal, right)
    return found[:, 1] / size[:, None], points[here] + found[:, 0]


def turns_between(before: Floats, after: Floats) -> Floats:
    """Return the angles from some vectors to others, shape (n, 2) each, radians."""
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns: Floats = np.arctan2(cross, (before * after).sum(axis=1))
    return turns


def smoothed_loop(points: Floats, tolerance: float) -> Curve:
    """Return a closed run of noisy points, first and last the same, with each on the parabola through its neighbourhood."""
    ways, places = estimated(points, tolerance, loop=True)
    places[-1], ways[-1] = places[0], ways[0]
    return Curve(places, ways)
