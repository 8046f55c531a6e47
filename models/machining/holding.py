"""Where a part can be held while it is cut: clamps on its face, jaws on its sides, screws or tabs in the waste."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from planestock.models.body.layout import Layout
from planestock.models.machining.part_blocks import END_WASTE, Stretch
from planestock.models.machining.setups import OUTLINE, Cut, Setup
from planestock.params.outlines.pieces import flattened

CLAMP_MARGIN = 12.0
"""Kept free between any cut and a clamp, mm: the cutter's nut overhangs it by about that; common practice, no source."""

LEAST_CLAMP = 20.0
"""Sides of the smallest area that a clamp's foot sits on, mm; common practice, no published source."""

MOST_CLAMPS = 4
"""Areas told for one face; more are not looked at."""

JAW_MARGIN = 3.0
"""Kept free between the deepest cut and a jaw's upper edge, mm; common practice, no published source."""

LEAST_JAW = 10.0
"""Height of the lowest band that a jaw still holds a body by, mm; common practice, no published source."""

SCREW_MARGIN = 5.0
"""Kept free between the finished end and a screw in the waste, mm; common practice, no published source."""

CHORD = 0.05
"""How far chords may stray from a pocket's arcs here, mm."""


@dataclass(frozen=True)
class Area:
    """A rectangle in machine coordinates, mm."""

    left: float
    low: float
    right: float
    high: float

    @property
    def size(self) -> float:
        """Its area, mm²."""
        return max(0.0, self.right - self.left) * max(0.0, self.high - self.low)

    def meets(self, other: Area) -> bool:
        """Tell whether two rectangles share any inside."""
        return self.left < other.right and other.left < self.right and self.low < other.high and other.low < self.high

    def grown(self, by: float) -> Area:
        """Return the rectangle with a margin."""
        return Area(self.left - by, self.low - by, self.right + by, self.high + by)


@dataclass(frozen=True)
class Holding:
    """What a setup leaves to hold the part by.

    clamps: areas of the upper face that no cut comes near; jaws: the band above the bed that jaws may take on the long
    sides, its height in mm, None where it is too low; runs: the stretches along x where they may (a throat runs out through
    sole and top); screws: areas of the waste; tabs: whether the outline is cut, so that only tabs at toe and heel hold the
    ends.
    """

    clamps: tuple[Area, ...]
    jaws: float | None
    runs: tuple[tuple[float, float], ...]
    screws: tuple[Area, ...]
    tabs: bool


def holding(at: Layout, own: Stretch, setup: Setup, reach: float) -> Holding:
    """Return where a part can be held in a setup. reach: of the cutter, mm."""
    cut = [_around(one) for one in setup.cuts if one.feature != OUTLINE]
    taken = [area for areas in cut for area in areas]
    outlined = any(one.feature == OUTLINE for one in setup.cuts)
    face = _face(at, own, setup, outlined=outlined)
    grown = [area.grown(CLAMP_MARGIN) for area in taken]
    return Holding(
        clamps=tuple(_free(face, grown)),
        jaws=_jaws(own, setup, reach),
        runs=tuple(_runs(own, setup, taken)),
        screws=() if outlined else tuple(_screws(setup)),
        tabs=outlined,
    )


def _around(cut: Cut) -> list[Area]:
    """Return rectangles around what a cut takes from the upper face."""
    if cut.diameter is not None:
        r = cut.diameter / 2
        return [Area(x - r, y - r, x + r, y + r) for x, y in cut.places]
    found: list[Area] = []
    for pocket in cut.pockets:
        for ring in pocket.cut if pocket.title != "cove" else ():
            points = flattened(ring, CHORD)
            xs, ys = [x for x, _ in points], [y for _, y in points]
            slope = pocket.depth if pocket.sloped else 0.0
            found.append(Area(min(xs) - slope, min(ys), max(xs) + slope, max(ys)))
    return found


def _face(at: Layout, own: Stretch, setup: Setup, *, outlined: bool) -> Area:
    """Return the part of the upper face that a clamp may take: all of it, or what the outline's cut leaves free."""
    (x1, y1, _), (x2, y2, _) = setup.shape.low, setup.shape.high
    if not outlined:
        return Area(x1, y1, x2, y2)
    ends = min(at.plan.half_width, at.plan.toe.half_width, at.plan.heel.half_width)
    drawn_in = at.plan.half_width - ends + CLAMP_MARGIN
    low = y1 if own.name == "right half" else y1 + drawn_in
    high = y2 if own.name == "left half" else y2 - drawn_in
    return Area(x1 + CLAMP_MARGIN, low, x2 - CLAMP_MARGIN, high)


def _free(face: Area, taken: Sequence[Area]) -> Iterator[Area]:
    """Yield the largest rectangles of a face that meet none of the others, each apart from those before."""
    found = sorted(_empty(face, taken), key=lambda area: (-area.size, area.left, area.low))
    chosen: list[Area] = []
    for area in found:
        if len(chosen) < MOST_CLAMPS and not any(area.meets(other) for other in chosen):
            chosen.append(area)
    yield from sorted(chosen, key=lambda area: (area.left, area.low))


def _empty(face: Area, taken: Sequence[Area]) -> Iterator[Area]:
    xs = sorted(
        {face.left, face.right, *(x for area in taken for x in (area.left, area.right) if face.left < x < face.right)}
    )
    for left, right in combinations(xs, 2):
        if right - left < LEAST_CLAMP:
            continue
        between = [area for area in taken if area.left < right and left < area.right]
        yield from (Area(left, low, right, high) for low, high in _gaps(face, between))


def _gaps(face: Area, between: Sequence[Area]) -> Iterator[tuple[float, float]]:
    low = face.low
    for area in sorted(between, key=lambda one: one.low):
        if area.low - low >= LEAST_CLAMP:
            yield low, area.low
        low = max(low, area.high)
    if face.high - low >= LEAST_CLAMP:
        yield low, face.high


def _jaws(own: Stretch, setup: Setup, reach: float) -> float | None:
    """Return how high jaws may stand above the bed beside the part; None where less than `LEAST_JAW` is left."""
    thick = setup.shape.size[2]
    deepest = max((_side_depth(cut, reach) for cut in setup.cuts), default=0.0)
    if setup.position == "mating face up" and not own.whole_width:
        deepest = 0.0
    band = thick - deepest - JAW_MARGIN
    return band if band >= LEAST_JAW else None


def _side_depth(cut: Cut, reach: float) -> float:
    """Return how deep a cut comes to the part's sides: an outline as deep as the cutter reaches."""
    if cut.feature == OUTLINE:
        return min(cut.depth, reach)
    return 0.0 if cut.diameter is not None else max(pocket.depth for pocket in cut.pockets)


def _runs(own: Stretch, setup: Setup, taken: Sequence[Area]) -> Iterator[tuple[float, float]]:
    """Yield the stretches of the long sides that no pocket runs out through, with the margin of a clamp."""
    if setup.position == "top up" or own.whole_width:
        yield (0.0, own.length)
        return
    (_, low, _), (_, high, _) = setup.shape.low, setup.shape.high
    out = sorted((area.left, area.right) for area in taken if area.low <= low + 1e-6 or area.high >= high - 1e-6)
    start = 0.0
    for left, right in out:
        if left - CLAMP_MARGIN - start >= LEAST_CLAMP:
            yield (start, left - CLAMP_MARGIN)
        start = max(start, right + CLAMP_MARGIN)
    if own.length - start >= LEAST_CLAMP:
        yield (start, own.length)


def _screws(setup: Setup) -> Iterator[Area]:
    """Yield the waste at toe and heel, less what keeps screws off the finished ends."""
    (x1, y1, _), (x2, y2, _) = setup.stock.low, setup.stock.high
    wide = END_WASTE - SCREW_MARGIN
    yield Area(x1, y1, x1 + wide, y2)
    yield Area(x2 - wide, y1, x2, y2)
