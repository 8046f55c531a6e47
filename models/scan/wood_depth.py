"""How deep points lie in the design's wood, or how far from it: signed distances to the body and to all that is cut from it.

The wood is a prism less other prisms (throat, recess, seat, tail) and holes. A point in the wood is as deep as its nearest
way out; that is exact. A point outside lies at least as far from wood as its deepest place in one of the openings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planestock.models.body.layout import OVERRUN, Layout
from planestock.models.scan.motion import Array
from planestock.params.outlines.pieces import Outline, flattened
from planestock.params.outlines.polygons import polygon

SAGITTA = 0.005
"""Farthest that the chords stray from an outline's arcs, mm."""


@dataclass(frozen=True, eq=False)
class Opening:
    """Something cut from the wood, or the air around it. words: where one is who stands in it; corners: (n, 2), its outline
    in side view (x, z) or plan (x, y); low, high: its reach across or upwards."""

    words: str
    corners: Array
    side: bool
    low: float
    high: float

    def distances(self, points: Array) -> Array:
        """Return signed distances (n,), negative inside; exact."""
        x, y, z = points.T
        flat = to_polygon(np.column_stack((x, z) if self.side else (x, y)), self.corners)
        third = y if self.side else z
        reach = np.maximum(self.low - third, third - self.high)
        outside = np.hypot(np.maximum(flat, 0.0), np.maximum(reach, 0.0))
        found: Array = np.where((flat > 0) | (reach > 0), outside, np.maximum(flat, reach))
        return found


def openings(at: Layout) -> tuple[Opening, ...]:
    """Return what is cut from the body of a layout, as in models.solids; holes left out, as they only make room for
    screws."""
    return tuple(_openings(at))


def _openings(at: Layout) -> Iterator[Opening]:
    half = at.throat_half_width
    yield Opening("throat", _corners(at.throat_tool()), True, -half, half)
    if at.recess is not None:
        low, low_floor, high_floor, high = at.recess
        nx, nz = at.out_of_the_bed
        cut = polygon([(low[0] + nx / 2, low[1] + nz / 2), low_floor, high_floor, (high[0] + nx / 2, high[1] + nz / 2)])
        yield Opening("frog's recess", _corners(cut), True, -at.recess_half_width, at.recess_half_width)
    if at.let_in > 0:
        yield Opening("casting's seat", _corners(at.seat), False, at.thickness, at.height + OVERRUN)
    tail = at.tail_tool()
    if tail is not None:
        wide = at.plan.half_width + OVERRUN if at.tail_full_width else max(abs(piece.start[1]) for piece in at.seat)
        yield Opening("cove and tail", _corners(tail), True, -wide, wide)


def _corners(outline: Outline) -> Array:
    return np.array(flattened(outline, SAGITTA))


def depth(points: Array, at: Layout) -> tuple[Array, Array]:
    """Return how deep points (n, 3) lie in the wood (n,), mm, negative outside it, and which way out is nearest (n,): the
    number of an opening, or their count for the air around the body."""
    found = [opening.distances(points) for opening in openings(at)]
    plan = to_polygon(points[:, :2], _corners(at.plan.whole_outline()))
    z = points[:, 2]
    air = -np.maximum(plan, np.maximum(-z, z - at.height))
    ways = np.column_stack([*found, air])
    nearest = ways.argmin(axis=1)
    return ways[np.arange(len(points)), nearest], nearest


def to_polygon(points: Array, corners: Array) -> Array:
    """Return signed distances (n,) of points (n, 2) from a polygon (m, 2), negative inside."""
    best = np.full(len(points), math.inf)
    crossings = np.zeros(len(points), dtype=bool)
    px, py = points.T
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        dx, dy = x2 - x1, y2 - y1
        square = dx * dx + dy * dy
        if square == 0:
            continue
        share = np.clip(((px - x1) * dx + (py - y1) * dy) / square, 0.0, 1.0)
        best = np.minimum(best, (px - x1 - share * dx) ** 2 + (py - y1 - share * dy) ** 2)
        if dy != 0:
            with np.errstate(over="ignore"):  # of a side that hardly rises; points that are not beside it do not count
                level = dx * (py - y1) / dy + x1
            crossings ^= ((y1 > py) != (y2 > py)) & (px < level)
    size = np.sqrt(best)
    found: Array = np.where(crossings, -size, size)
    return found
