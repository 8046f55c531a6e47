"""Pockets as the cutter sees them: what is cut, the walls beside it, how deep it is, and what a round cutter leaves.

A pocket lies in the plane across the cutter. From the mating face that is the side view (x from the toe, y from the part's
underside up), from the top it is the plan (x from the toe, y from the mating face out; for pad and slip from the mid-plane).
The left half is the mirror image of the right one and has y turned round.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

from planestock.models.body.layout import OVERRUN, Layout
from planestock.models.body.side_section import at_height
from planestock.models.machining.leftovers import Leftover, leftovers
from planestock.models.machining.part_blocks import Stretch
from planestock.params.outlines.clipping import Region, frame, kept, region_area, shifted_region
from planestock.params.outlines.distances import segments_apart
from planestock.params.outlines.pieces import Line, Outline, Point, area, flattened, shifted, walked_back
from planestock.params.outlines.polygons import polygon

FAR = 1000.0
"""How far wood is taken to reach beyond what is looked at, mm: farther than any cutter is wide."""

LEAST_REACHED = 1e-3
"""Share of a pocket below which the cutter cannot be said to cut it."""

CHORD = 0.01
"""How far chords may stray from an arc where distances between walls are looked for, mm."""


@dataclass(frozen=True)
class Pocket:
    """One pocket, mm.

    cut: what is cut, as seen along the cutter; walls: all wood beside it, free space on the left; depth: from the face down
    to its floor; passage: its narrowest place, None where it is open to a side; through: whether it has no floor. bearing:
    walls that metal lies on; sloped: whether its walls lean, the outline being that of its floor; fits_from: the level above
    its floor from which the cutter fits between them. radius: of the cutter.
    """

    title: str
    cut: Region
    walls: Region
    depth: float
    passage: float | None
    through: bool
    radius: float
    bearing: tuple[Line, ...] = ()
    sloped: bool = False
    fits_from: float = 0.0

    @cached_property
    def leftovers(self) -> tuple[Leftover, ...]:
        """What the cutter leaves beside its walls."""
        return leftovers(self.walls, self.radius)

    @property
    def reached(self) -> float:
        """The share of its outline that the cutter covers, 0 to 1."""
        whole = region_area(self.cut)
        return max(0.0, 1.0 - sum(left.area for left in self.leftovers) / whole) if whole > 0 else 0.0

    def beyond(self, reach: float) -> float:
        """Return how much of its depth a cutter that reaches so far leaves, mm."""
        return max(0.0, self.depth - reach)


def wood_around(hole: Outline, left: float, right: float) -> Region:
    """Return much wood around a hole in it, from x = left to x = right."""
    return (frame(left, -FAR, right, FAR), walked_back(anticlockwise(hole)))


def anticlockwise(ring: Outline) -> Outline:
    """Return a ring walked anticlockwise."""
    return ring if area(ring) > 0 else walked_back(ring)


def walls_of(wood: Region) -> Region:
    """Return wood's borders with the free space on their left."""
    return tuple(walked_back(ring) for ring in wood)


# From the mating face: the side view


def throat_ring(at: Layout, *, recess: bool) -> Outline:
    """Return the throat in the side view, with overrun at sole and top; recess: with the frog's recess behind the bed."""
    top = at.height + OVERRUN
    (bx, bz), (wx, wz) = at.breast_top, at.wear_top
    breast = (bx + (top - bz) * (bx - wx) / (bz - wz), top)
    low = [at.wear_top, at.mouth_front, (at.mouth_front[0], -OVERRUN), (at.bed_foot[0], -OVERRUN), at.bed_foot]
    bed = at.on_the_bed((top - at.thickness) / at.up_the_bed[1])
    corners = [*_recess_corners(at, top)] if recess and at.recess else []
    end = [] if corners and corners[-1][1] == top else [bed]
    return polygon([*low, *corners, *end, breast])


def _recess_corners(at: Layout, top: float) -> Sequence[Point]:
    """Return the recess's corners up the bed, cut off at a level."""
    assert at.recess is not None
    low, low_floor, high_floor, high = at.recess
    if high_floor[1] >= top:
        return (low, low_floor, at_height(low_floor, high_floor, top))
    return (low, low_floor, high_floor, high if high[1] < top else at_height(high_floor, high, top))


def _between(region: Sequence[Outline], low: float, high: float) -> Region:
    return kept(kept(region, "above", low), "below", high)


def _side_pocket(
    title: str, hole: Outline, own: Stretch, size: tuple[float, float], bearing: Sequence[Line] = (), *, open_ends: str = ""
) -> Pocket:
    """Return a pocket in the side view. size: depth, and the cutter's radius; open_ends: "toe", "heel" or both, where it
    runs out of the body. Its outline is all of the hole."""
    depth, radius = size
    wood = _between(wood_around(hole, -3 * FAR, 3 * FAR), own.low, own.high)
    wood = kept(wood, "left", own.length) if "heel" in open_ends else wood
    wood = kept(wood, "right", 0.0) if "toe" in open_ends else wood
    cut = kept(kept(_between([hole], own.low, own.high), "right", 0.0), "left", own.length)
    lines = shifted(bearing, (0.0, -own.low))
    return Pocket(
        title, shifted_region(cut, (0.0, -own.low)), shifted_region(walls_of(wood), (0.0, -own.low)), depth, None,
        depth >= own.across - 1e-9, radius, tuple(line for line in lines if isinstance(line, Line)),
    )  # fmt: skip


def _apart(walls: Region) -> float | None:
    """Return the narrowest gap between two blocks of wood; None where there is only one."""
    rings = [flattened(ring, CHORD) for ring in walls]
    gaps = [
        segments_apart(a, b, c, d)
        for one, other in combinations(rings, 2)
        for a, b in zip(one, [*one[1:], one[0]], strict=True)
        for c, d in zip(other, [*other[1:], other[0]], strict=True)
    ]
    return min(gaps, default=None)


def throat_from_the_side(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return the throat of a half or the strip."""
    depth = min(at.throat_half_width, own.outer) - own.inner
    found = _side_pocket("throat", throat_ring(at, recess=False), own, (depth, radius), [_bed(at)])
    return replace(found, passage=_apart(found.walls))


def _bed(at: Layout) -> Line:
    return Line(at.bed_foot, at.on_the_bed((at.let_in + OVERRUN) / at.up_the_bed[1]))


def recess_from_the_side(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return the frog's recess of a half or the strip, open to the throat."""
    assert at.recess is not None
    low, low_floor, high_floor, high = at.recess
    depth = min(at.recess_half_width, own.outer) - own.inner
    bearing = [Line(low_floor, high_floor), _bed(at)]
    found = _side_pocket("frog's recess", throat_ring(at, recess=True), own, (depth, radius), bearing)
    cut = _between([anticlockwise(polygon(at.recess))], own.low, min(own.high, at.height))
    return replace(found, cut=shifted_region(cut, (0.0, -own.low)), passage=math.dist(low, high))


def seat_from_the_side(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return the casting's seat in the strip: a notch in its upper edge."""
    open_rear = at.tail is not None and at.tail_full_width
    front = at.seat_front[0] if at.seat_front[0] > 0 else -2 * FAR
    rear = 2 * FAR if open_rear else at.seat_rear[0]
    notch = frame(front, at.thickness, rear, at.height + OVERRUN)
    ends = ("toe" if front < 0 else "") + ("heel" if open_rear else "")
    floor = Line((front, at.thickness), (rear, at.thickness))
    found = _side_pocket("casting's seat", notch, own, (own.across, radius), [floor], open_ends=ends)
    cut = kept(found.cut, "left", at.tail.cove_high[0]) if at.tail is not None else found.cut
    return replace(found, cut=cut, passage=rear - front if front > 0 and rear < own.length else None)


def tail_from_the_side(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return cove and tail in the strip: a step in its upper edge."""
    assert at.tail is not None
    begin = at.tail.level_from
    floor = [Line(begin, (hole_end(at), begin[1]))] if hole_end(at) > begin[0] else []
    return _side_pocket(
        "cove and tail", tail_ring(at), own, (own.across, radius), floor, open_ends="heel" if at.tail_full_width else ""
    )


def tail_ring(at: Layout) -> Outline:
    """Return what cove and tail take away in the side view, up to the casting's rear where the top rises again there."""
    outline = at.tail_tool()
    assert outline is not None
    if at.tail_full_width:
        return anticlockwise(outline)
    return kept([anticlockwise(outline)], "left", at.seat_rear[0])[0]


def hole_end(at: Layout) -> float:
    """Return how far the lowered tail reaches to the heel."""
    return at.length if at.tail_full_width else min(at.length, at.seat_rear[0])


# From the top: the plan


def _inside_of(region: Sequence[Outline], own: Stretch) -> Region:
    """Return what of a region in the plan belongs to a half; all of it for pad and slip."""
    return tuple(region) if own.whole_width else kept(region, "above", own.inner)


def seat_from_the_top(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return the casting's seat in the plan; open to the rear where cove and tail lower the whole width behind it."""
    seat = anticlockwise(at.seat)
    wood, cut = _inside_of(wood_around(seat, -FAR, at.length + FAR), own), _inside_of([seat], own)
    open_rear = at.tail is not None and at.tail_full_width
    if open_rear:
        assert at.tail is not None
        wood, cut = kept(wood, "left", at.tail.cove_high[0]), kept(cut, "left", at.tail.cove_high[0])
    return _plan_pocket("casting's seat", wood, cut, own, (at.let_in, radius), None if open_rear else _narrowest(cut, own))


def tail_from_the_top(at: Layout, own: Stretch, radius: float) -> Pocket:
    """Return cove and lowered tail in the plan; its walls are those beside the level part.

    A ball-nosed cutter makes the cove.
    """
    assert at.tail is not None
    begin, foot = at.tail.cove_high[0], at.tail.level_from[0]
    depth = own.high - max(own.low, at.tail.lowest)
    if at.tail_full_width:
        cut = _inside_of([frame(begin, -own.outer, own.length, own.outer)], own)
        return _plan_pocket("cove and tail", (), cut, own, (depth, radius), None)
    seat = anticlockwise(at.seat)
    wood = kept(_inside_of(wood_around(seat, -FAR, at.length + FAR), own), "right", foot)
    cut = kept(_inside_of([seat], own), "right", begin)
    return _plan_pocket("cove and tail", wood, cut, own, (depth, radius), None)


def cove_from_the_side(at: Layout, radius: float) -> Pocket:
    """Return the cove in the side view, as a ball-nosed cutter that runs across the body meets it."""
    assert at.tail is not None
    ring = tail_ring(at)
    (left, top), right = at.tail.cove_high, at.tail.level_from[0]
    wood = kept(kept(wood_around(ring, -FAR, FAR + at.length), "left", right + 3 * FAR), "below", top)
    open_rear = kept(wood, "left", (right + hole_end(at)) / 2)
    cut = kept(kept([ring], "left", right), "below", top)
    assert left < right
    return Pocket("cove", cut, walls_of(open_rear), top - at.tail.lowest, None, False, radius)


def _plan_pocket(
    title: str, wood: Region, cut: Region, own: Stretch, size: tuple[float, float], passage: float | None
) -> Pocket:
    depth, radius = size
    away = 0.0 if own.whole_width else -own.inner
    through = depth >= own.upright - 1e-9
    cut, walls = (shifted_region(region, (0.0, away)) for region in (cut, walls_of(wood)))
    return Pocket(title, cut, walls, depth, passage, through, radius)


def _narrowest(cut: Region, own: Stretch) -> float | None:
    """Return the width of a pocket that is closed all round, or its length where it is open to the mating face."""
    points = [point for ring in cut for point in flattened(ring, CHORD)]
    along = max(x for x, _ in points) - min(x for x, _ in points)
    across = max(y for _, y in points) - min(y for _, y in points)
    return min(along, across) if own.whole_width else along


@dataclass(frozen=True)
class Slot:
    """The throat through pad or slip, between levels, mm. front, rear: at the floor; fits_from: the level above the part's
    underside from which the cutter fits between the leaning walls, None where it fits nowhere."""

    front: float
    rear: float
    fits_from: float | None


def slot_levels(at: Layout, own: Stretch, radius: float) -> Slot:
    """Return how the throat narrows downwards in pad or slip. A wall that leans over the slot shades what is below it."""
    levels = [own.low, *(z for z in (at.wear_top[1], own.high) if z > own.low)]
    front = max(at.front_at(z) for z in levels if z <= own.high)
    rear = at.bed_at(own.low)
    widest = at.bed_at(own.high) - at.front_at(own.high)
    if rear - front >= 2 * radius:
        return Slot(front, rear, 0.0)
    if widest < 2 * radius or at.throat_half_width < radius:
        return Slot(front, rear, None)
    low, high = own.low, own.high
    for _ in range(60):
        middle = (low + high) / 2
        fits = at.bed_at(middle) - max(at.front_at(z) for z in (middle, *levels) if z >= middle) >= 2 * radius
        low, high = (low, middle) if fits else (middle, high)
    return Slot(front, rear, high - own.low)


def slot_from_the_top(at: Layout, own: Stretch, radius: float) -> Pocket | None:
    """Return the throat through pad or slip as it is at its floor; None where walls that lean over it leave nothing."""
    slot = slot_levels(at, own, radius)
    if slot.rear - slot.front <= 1e-6:
        return None
    hole = frame(slot.front, -at.throat_half_width, slot.rear, at.throat_half_width)
    wood = wood_around(hole, -FAR, at.length + FAR)
    narrowest = min(slot.rear - slot.front, 2 * at.throat_half_width)
    bearing = (Line((slot.rear, -at.throat_half_width), (slot.rear, at.throat_half_width)),)
    return Pocket(
        "throat", (hole,), walls_of(wood), own.upright, narrowest, True, radius, bearing, True, slot.fits_from or 0.0
    )
