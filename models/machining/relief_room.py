"""How much wood stays around a relieved corner, held to the same limits as cheeks, covers and holes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.models.checks.wood import HOLE_COVER, WALL_BY_CHEEK, cove_and_tail
from planestock.params.outlines.distances import point_to_segment
from planestock.params.outlines.pieces import Outline, Point, flattened

CHORD = 0.01
"""How far chords may stray from the relief's arcs, mm."""


@dataclass(frozen=True)
class Limits:
    """Least wood wanted, mm: beside throat and frog, and around holes and below cuts, as the set has them."""

    cheek: float
    cover: float


@dataclass(frozen=True)
class Room:
    """The scarcest wood around a relief: what lies beyond it, how much is left, and how much is wanted, mm."""

    beyond: str
    left: float
    wanted: float

    @property
    def short(self) -> bool:
        """Whether there is less than wanted."""
        return self.left < self.wanted


def side_room(at: Layout, outline: Outline, half_width: float, pocket: str, limits: Limits) -> Room:
    """Return the room around a relief in the side view (x from the toe, z above the sole) that is cut to `half_width`."""
    points = flattened(outline, CHORD)
    return _scarcest([*_surfaces(at, points, pocket, limits), *_holes_beside(at, points, half_width, limits)])


def _surfaces(at: Layout, points: Sequence[Point], pocket: str, limits: Limits) -> Iterator[Room]:
    yield Room("sole", min(z for _, z in points), limits.cover)
    yield Room("toe", min(x for x, _ in points), limits.cover)
    yield Room("heel", at.length - max(x for x, _ in points), limits.cover)
    if pocket != "frog's recess":
        return
    yield Room("seat", at.thickness - max(z for _, z in points), limits.cover)
    if at.tail is not None:
        yield Room("cove", min(_to_chain(point, cove_and_tail(at)) for point in points), limits.cover)


def _to_chain(point: Point, chain: Sequence[Point]) -> float:
    return min(point_to_segment(point, a, b) for a, b in pairwise(chain))


def _holes_beside(at: Layout, points: Sequence[Point], half_width: float, limits: Limits) -> Iterator[Room]:
    for hole in at.holes:
        if hole.kind != "dowel" and abs(hole.start[1]) - hole.radius >= half_width:
            continue
        axis = ((hole.start[0], hole.start[2]), (hole.end[0], hole.end[2]))
        yield Room(hole.name, min(point_to_segment(point, *axis) for point in points) - hole.radius, _around(limits))


def _around(limits: Limits) -> float:
    return min(limits.cover, HOLE_COVER)


def plan_room(at: Layout, outline: Outline, floor: float, limits: Limits) -> Room:
    """Return the room around a relief in the plan (x from the toe, y from the mid-plane) that is cut down to `floor`."""
    points = flattened(outline, CHORD)
    wall = WALL_BY_CHEEK * limits.cheek
    cheek = min(at.plan.half_width_at(x) - abs(y) for x, y in points)
    ends = (Room("toe", min(x for x, _ in points), wall), Room("heel", at.length - max(x for x, _ in points), wall))
    return _scarcest([Room("cheek", cheek, wall), *ends, *_holes_below(at, points, floor, limits)])


def _holes_below(at: Layout, points: Sequence[Point], floor: float, limits: Limits) -> Iterator[Room]:
    for hole in at.holes:
        if hole.kind == "dowel":
            yield Room(hole.name, _to_dowel(hole, points, floor) - hole.radius, _around(limits))
        elif hole.start[2] > floor + HOLE_COVER:
            axis = ((hole.start[0], hole.start[1]), (hole.end[0], hole.end[1]))
            yield Room(hole.name, min(point_to_segment(point, *axis) for point in points) - hole.radius, _around(limits))


def _to_dowel(hole: Hole, points: Sequence[Point], floor: float) -> float:
    """Return the distance from a relief, open upwards from its floor, to a dowel's axis."""
    x, z = hole.start[0], hole.start[2]
    reach = hole.depth / 2
    beside = min(math.hypot(max(0.0, abs(y) - reach), _off(x, points)) for _, y in points)
    return math.hypot(beside, max(0.0, floor - z))


def _off(x: float, points: Sequence[Point]) -> float:
    """Return how far a place along the body lies outside the stretch that points take."""
    low, high = min(one for one, _ in points), max(one for one, _ in points)
    return max(0.0, low - x, x - high)


def _scarcest(found: Sequence[Room]) -> Room:
    return min(found, key=lambda room: room.left - room.wanted)
