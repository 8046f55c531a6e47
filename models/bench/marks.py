"""What is knifed on each face of the wood: every mark with its distance from the toe and its height above the sole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.body.casting_outline import width_at
from planestock.models.body.layout import Layout
from planestock.models.body.side_section import at_height
from planestock.models.window import reach
from planestock.params.outlines.pieces import flattened
from planestock.params.parameter_set import ParameterSet

Face = Literal["sole", "inside face", "top"]


@dataclass(frozen=True)
class Mark:
    """One mark. from_toe: along the body; up: above the sole; mm."""

    face: Face
    name: str
    from_toe: float
    up: float


@dataclass(frozen=True)
class Width:
    """One distance from the mid-plane to either side, mm. place: where along the body it is wanted.

    from_toe: of that place, mm, where it has no name.
    """

    name: str
    place: str
    from_middle: float
    from_toe: float | None = None


@dataclass(frozen=True)
class MouthWear:
    """The mouth after so many truings, in the body's own axes, mm. sole: wood gone; front, edge, foot: x on the new sole."""

    truings: int
    sole: float
    front: float
    edge: float
    foot: float

    @property
    def opening(self) -> float:
        """From the front of the mouth to the edge of the iron."""
        return self.edge - self.front


def marks(at: Layout) -> tuple[Mark, ...]:
    """Return all marks, sole first, each face from toe to heel."""
    found = (*_on_the_sole(at), *_inside(at), *_on_top(at))
    order = {"sole": 0, "inside face": 1, "top": 2}
    return tuple(sorted(found, key=lambda mark: (order[mark.face], mark.from_toe)))


def _on_the_sole(at: Layout) -> Iterator[Mark]:
    yield Mark("sole", "mouth, front", *at.mouth_front)
    yield Mark("sole", "edge of the iron", *at.edge)
    yield Mark("sole", "bed, foot", *at.bed_foot)
    yield Mark("sole", "heel", at.length, 0.0)


def _inside(at: Layout) -> Iterator[Mark]:
    yield Mark("inside face", "wear, top", *at.wear_top)
    yield from _throat_inside(at)
    yield from _seat_inside(at)
    if at.recess is not None:
        names = ("recess, low end", "recess floor, low end", "recess floor, high end", "recess, high end")
        yield from (Mark("inside face", name, *place) for name, place in zip(names, at.recess, strict=True))
    for number, hole in enumerate((hole for hole in at.holes if hole.kind == "dowel"), 1):
        yield Mark("inside face", f"dowel {number}", hole.start[0], hole.start[2])


def _throat_inside(at: Layout) -> Iterator[Mark]:
    yield Mark("inside face", "corner D, bed meets seat", *at.corner)
    if at.let_in > 0:
        yield Mark("inside face", "breast at the seat", *at_height(at.wear_top, at.breast_top, at.thickness))


def _seat_inside(at: Layout) -> Iterator[Mark]:
    yield Mark("inside face", front_end(at), *at.seat_front)
    if at.tail is not None:
        yield Mark("inside face", "cove, upper end", *at.tail.cove_high)
        yield Mark("inside face", "cove, lower end", *at.tail.cove_low)
        if at.tail.level_from not in (at.tail.cove_low, at.tail.rear):
            yield Mark("inside face", "tail, level from here", *at.tail.level_from)
    yield Mark("inside face", rear_end(at), *at.seat_rear)


def front_end(at: Layout) -> str:
    """Return what lies at the casting's front end: the end of its seat where it is let in, else only the casting's."""
    return "seat, front end" if at.let_in > 0 else "casting, front end"


def rear_end(at: Layout) -> str:
    """Return what lies at the casting's rear end: the end of its seat where that is a wall, else only the casting's."""
    wall = at.let_in > 0 if at.tail is None else not at.tail_full_width
    return "seat, rear end" if wall else "casting, rear end"


def _on_top(at: Layout) -> Iterator[Mark]:
    yield Mark("top", front_end(at), at.seat_front[0], at.height)
    yield Mark("top", "breast", *at.breast_top)
    yield Mark("top", "bed", *at.throat[2])
    if at.plan.toe.half_width < at.plan.half_width:
        yield Mark("top", "full width begins", at.plan.toe.shoulder, at.height)
    if at.plan.heel.half_width < at.plan.half_width:
        yield Mark("top", "full width ends", at.plan.heel.shoulder, at.height)
    if at.tail is not None:
        yield Mark("top", "cove begins", at.tail.cove_high[0], at.height)
    if at.tail is None or not at.tail_full_width:
        yield Mark("top", rear_end(at), at.seat_rear[0], at.height)
    yield Mark("top", "heel", at.length, at.top_at(at.length))


def widths(given: ParameterSet, at: Layout) -> tuple[Width, ...]:
    """Return the distances from the mid-plane that a gauge is set to."""
    return tuple(width for width in _widths(given, at) if width.from_middle > 0)


def _widths(given: ParameterSet, at: Layout) -> Iterator[Width]:
    yield Width("body", "beside the throat", at.plan.half_width)
    yield Width("body", "at the toe", at.plan.toe.half_width)
    yield Width("body", "at the heel", at.plan.heel.half_width)
    yield Width("throat", "top to sole", at.throat_half_width)
    yield Width("centre strip, glue line", "end to end", at.strip / 2)
    if at.recess is not None:
        yield Width("frog's recess", "on the bed", at.recess_half_width)
    if at.let_in > 0 and at.is_traced:
        yield from _traced_widths(at)
    elif at.let_in > 0:
        gap = given.body.seat_gap.value
        yield Width("casting's seat", "at its front end", given.casting.front_width.value / 2 + gap)
        yield Width("casting's seat", "at its rear end", given.casting.rear_width.value / 2 + gap)


WIDTH_STEP = 1.0
"""Places along a traced seat between which its widest and its narrowest are looked for, mm."""

END_OF_SEAT = 0.15
"""Share of the seat's length at each end that is left out when its waist is looked for: there it rounds off."""


def _traced_widths(at: Layout) -> Iterator[Width]:
    """Yield the widest place of a traced seat, and its waist where it has one; the rest of it is on the top template."""
    points = flattened(at.seat, 0.02)
    front, rear = at.seat_front[0], at.seat_rear[0]
    count = max(2, round((rear - front) / WIDTH_STEP))
    rows = [(x, width_at(points, x) / 2) for x in (front + (rear - front) * k / count for k in range(1, count))]
    end = END_OF_SEAT * (rear - front)
    widest = max(rows, key=lambda row: (row[1], -row[0]))
    waist = min((row for row in rows if front + end < row[0] < rear - end), key=lambda row: (row[1], row[0]))
    yield Width("casting's seat, traced", "widest", widest[1], widest[0])
    yield Width("casting's seat, traced", "narrowest", waist[1], waist[0])


def mouth_wear(given: ParameterSet, at: Layout) -> tuple[MouthWear, ...]:
    """Return the mouth now and after each truing that is asked for; truing 0 is now.

    On a sole `z` higher the front is where wear or breast is at that height, bed and edge z cot(bed angle) nearer the heel.
    """
    back = float(reach.mouth_closing(given.frog.bed_angle.value))
    depth = given.work.truing_depth.value
    return tuple(
        MouthWear(n, n * depth, at.front_at(n * depth), at.edge[0] + n * depth * back, at.bed_foot[0] + n * depth * back)
        for n in range(given.work.truings + 1)
    )
