"""Labels find their own place: beside what they name, clear of lines and of one another, with a leader where they must."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.exports.drawing.model import ASCENT, DESCENT, Anchor, Area, Item, Round, Stroke, Words, around
from planestock.exports.drawing.pen import Pen
from planestock.exports.drawing.text import text_width
from planestock.params.outlines.pieces import Bounds, Point, bounds_of, flattened
from planestock.params.outlines.polygons import chain

Floats = npt.NDArray[np.float64]

DIRECTIONS = 24
"""Ways a label may stand from what it names."""

DISTANCES = (1.2, 3.0, 6.0, 9.0, 13.0, 18.0, 24.0, 32.0, 42.0)
"""How far it may stand away, mm on paper, nearest first."""

LEADER_FROM = 2.5
"""A label farther away than this gets a leader, mm on paper."""

CHORD = 0.2
"""How far chords may stray from an arc here, mm: only room for words is judged by them."""

AIR = 0.5
"""Room kept between words and anything else, mm on paper."""

ON_WORDS, OUT_OF_ROOM, ON_LINE, LEADER_ON_LINE, PER_MM = 1000.0, 400.0, 40.0, 2.0, 0.35
"""What a place costs: for each text it covers, for leaving the room, for each line it or its leader crosses, per mm."""


@dataclass(frozen=True)
class Label:
    """Words that name something. target: what they point at; clearance: room around it that they must leave, mm.

    plain: without a leader however far away, for names of whole areas.
    """

    text: str
    target: Point
    clearance: float = 0.0
    slanted: bool = False
    plain: bool = False


@dataclass(frozen=True)
class _Place:
    words: Words
    box: Bounds
    leader: tuple[Point, Point] | None
    far: float


def labelled(pen: Pen, items: Sequence[Item], labels: Sequence[Label], room: Bounds | None = None) -> list[Item]:
    """Return the items with labels, each placed in turn where it costs least. room: where they belong, mm."""
    result = list(items)
    within = room or around(items).grown(pen.paper(12.0))
    lines = _segments(items)
    taken = np.array([_sides(bounds_of(item.corners)) for item in items if isinstance(item, Words)]).reshape(-1, 4)
    for label in labels:
        best = _best(_places(pen, label), lines, taken, within)
        result.append(best.words)
        taken = np.vstack([taken, _sides(best.box)])
        if best.leader is not None:
            result.append(Stroke("text", chain(*best.leader), "narrow"))
            lines = np.vstack([lines, [[*best.leader[0], *best.leader[1]]]])
    return result


def _best(places: Iterable[_Place], lines: Floats, taken: Floats, room: Bounds) -> _Place:
    """Return the cheapest place; places come nearest first, so the search ends where distance alone costs more."""
    best: _Place | None = None
    least = math.inf
    for place in places:
        if best is not None and PER_MM * place.far >= least:
            return best
        cost = _cost(place, lines, taken, room)
        if best is None or cost < least:
            best, least = place, cost
    assert best is not None
    return best


def _places(pen: Pen, label: Label) -> Iterator[_Place]:
    if label.plain:
        yield _place(pen, label, math.pi / 2, 0.0)
    for distance in DISTANCES:
        for step in range(DIRECTIONS):
            yield _place(pen, label, math.tau * step / DIRECTIONS, distance)


def _place(pen: Pen, label: Label, angle: float, distance: float) -> _Place:
    cos, sin = math.cos(angle), math.sin(angle)
    (x, y), out = label.target, label.clearance + pen.paper(distance)
    anchor: Anchor = "start" if cos > 0.3 else "end" if cos < -0.3 else "middle"
    rise = (ASCENT - DESCENT) / 2 * pen.size
    lift = (ASCENT + DESCENT) / 2 * pen.size * sin if anchor == "middle" else 0.0
    near = (x + out * cos, y + out * sin)
    at = (near[0], near[1] - rise + lift)
    words = Words("text", label.text, at, pen.size, 0.0, anchor, label.slanted)
    width = text_width(label.text, pen.size)
    left = {"start": at[0], "middle": at[0] - width / 2, "end": at[0] - width}[anchor]
    box = Bounds(left, at[1] - DESCENT * pen.size, left + width, at[1] + ASCENT * pen.size).grown(pen.paper(AIR))
    leader = None
    if distance > LEADER_FROM and not label.plain:
        reach = pen.paper(0.6)
        leader = ((x + label.clearance * cos, y + label.clearance * sin), (near[0] - reach * cos, near[1] - reach * sin))
    return _Place(words, box, leader, distance)


def _cost(place: _Place, lines: Floats, taken: Floats, room: Bounds) -> float:
    cost = PER_MM * place.far + (0.0 if room.holds(place.box) else OUT_OF_ROOM)
    cost += ON_WORDS * _overlaps(place.box, taken)
    cost += ON_LINE * float(np.count_nonzero(_crossed(lines, _sides(place.box))))
    if place.leader is not None:
        begin, end = place.leader
        cost += LEADER_ON_LINE * float(np.count_nonzero(_cut(lines, begin, end)))
        cost += ON_WORDS / 4 * np.count_nonzero(_crossed(np.array([[*begin, *end]]), taken))
    return float(cost)


def _overlaps(one: Bounds, others: Floats) -> int:
    left, low, right, high = others.T
    return int(np.count_nonzero((one.left < right) & (left < one.right) & (one.low < high) & (low < one.high)))


def _sides(box: Bounds) -> Floats:
    return np.array([box.left, box.low, box.right, box.high])


def _segments(items: Sequence[Item]) -> Floats:
    rows: list[tuple[float, float, float, float]] = []
    for item in items:
        if isinstance(item, Stroke):
            points = [*flattened(item.pieces, CHORD), item.pieces[-1].end]
            rows += [(*a, *b) for a, b in itertools.pairwise(points)]
        elif isinstance(item, Round):
            (x, y), r = item.centre, item.radius
            ring = [(x + r * math.cos(t * math.pi / 4), y + r * math.sin(t * math.pi / 4)) for t in range(9)]
            rows += [(*a, *b) for a, b in itertools.pairwise(ring)]
        elif isinstance(item, Area) and item.shade == 1:
            rows += [(*a, *b) for a, b in zip(item.corners, [*item.corners[1:], item.corners[0]], strict=True)]
    return np.array(rows, dtype=float).reshape(-1, 4)


def _crossed(lines: Floats, boxes: Floats) -> npt.NDArray[np.bool_]:
    """Tell whether segments (n, 4) meet rectangles (m, 4), one against many either way, by slabs. Shape (n or m,)."""
    start, step = lines[:, :2], lines[:, 2:] - lines[:, :2]
    low, high = boxes[..., :2], boxes[..., 2:]
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = (low - start) / step, (high - start) / step
    flat = step == 0
    outside = flat & ((start < low) | (start > high))
    enter = np.where(flat, 0.0, np.minimum(one, two))
    leave = np.where(flat, 1.0, np.maximum(one, two))
    first, last = np.maximum(enter[..., 0], enter[..., 1]), np.minimum(leave[..., 0], leave[..., 1])
    met: npt.NDArray[np.bool_] = (np.maximum(first, 0.0) <= np.minimum(last, 1.0)) & ~(outside[..., 0] | outside[..., 1])
    return met


def _cut(lines: Floats, begin: Point, end: Point) -> npt.NDArray[np.bool_]:
    """Tell for each segment (n, 4) whether the piece from begin to end crosses it."""
    (bx, by), (ex, ey) = begin, end

    def side(x: Floats, y: Floats) -> Floats:
        return np.asarray((ex - bx) * (y - by) - (ey - by) * (x - bx))

    across = side(lines[:, 0], lines[:, 1]) * side(lines[:, 2], lines[:, 3]) < 0
    dx, dy = lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]
    one = dx * (by - lines[:, 1]) - dy * (bx - lines[:, 0])
    two = dx * (ey - lines[:, 1]) - dy * (ex - lines[:, 0])
    result: npt.NDArray[np.bool_] = across & (one * two < 0)
    return result
