"""One small picture of each setup, seen along the spindle: block, part, what is cut, what stays, where clamps may sit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import ASCENT, DESCENT, Area, Item, Round, Stroke, Words
from planestock.exports.drawing.pen import Pen, arrow
from planestock.exports.wording.machining import lettered
from planestock.models.machining.all_setups import PlanOfWork
from planestock.models.machining.corners import Corner
from planestock.models.machining.holding import Area as Held
from planestock.models.machining.part_blocks import Block
from planestock.models.machining.pockets import Pocket
from planestock.models.machining.setups import OUTLINE, Cut, PartPlan, Setup
from planestock.params.outlines.clipping import frame, kept
from planestock.params.outlines.distances import point_to_segment
from planestock.params.outlines.pieces import Bounds, Outline, Point, flattened, mirrored_across, shifted
from planestock.params.outlines.polygons import chain, inside

if TYPE_CHECKING:
    from planestock.models.body.layout import Layout

HATCH = 1.5
"""Distance of hatch lines, mm on paper."""

CHORD = 0.05
"""How far chords may stray from an arc in hatch and leftovers, mm."""

TINT = 0.13
"""Shade of areas for clamps."""

LEAST_SEEN = 0.9
"""A leftover smaller than this on paper, mm across, is drawn as a spot of this size: it would not be seen."""

AXIS = 5.0
"""Length of the arrows at zero, mm on paper."""

LOW_SHARE = 0.4
"""Share of a part's size across that the arrow along y may take."""

LETTER_ROOM = 1.6
"""Room around a place in a pocket, mm on paper, from which its letter may stand in it."""

LABELLED_AT = 0.05
"""Share of the body's length at which the outline's letter points to it: near the toe no pocket is."""

EDGE = 1.0
"""Free edge of a picture, mm on paper."""


def picture_of(at: Layout, plan: PartPlan, setup: Setup, work: PlanOfWork, scale: float) -> tuple[list[Item], Bounds]:
    """Return a setup's picture and the rectangle that holds it, mm in machine coordinates. scale: paper to real thing."""
    pen = Pen(scale)
    held = work.holdings[plan.name, setup.number]
    corners = [one for one in work.corners if one.part == plan.name and one.setup == setup.number]
    items: list[Item] = [_tinted(area) for area in held.clamps]
    items += [Stroke("outline", _rectangle(setup.stock), "dashed"), Stroke("outline", _outline(at, plan, setup))]
    for cut in setup.cuts:
        items += _cut(pen, cut)
    for corner in corners:
        items += _corner(pen, corner)
    items += _zero(pen, setup)
    narrow: list[Label] = []
    for letter, place, room in _pocket_letters(setup):
        if room > pen.paper(LETTER_ROOM):
            items += _on_white(pen, letter, place, pen.size)
        else:
            narrow.append(Label(letter, place, pen.paper(1.0)))
    box = _room(setup, pen)
    labels = [*narrow, *_hole_letters(at, pen, plan, setup)]
    return labelled(pen, items, labels, box.grown(-pen.paper(EDGE))), box


def _room(setup: Setup, pen: Pen) -> Bounds:
    (x1, y1, _), (x2, y2, _) = setup.stock.low, setup.stock.high
    return Bounds(x1, y1, x2, y2).grown(pen.paper(EDGE))


def _rectangle(block: Block) -> Outline:
    return frame(block.low[0], block.low[1], block.high[0], block.high[1])


def _outline(at: Layout, plan: PartPlan, setup: Setup) -> Outline:
    """Return the finished part's outline: its plan from the top, its box from the mating face."""
    own = plan.stretch
    if own.name == "centre strip" or (setup.position == "mating face up" and not own.whole_width):
        return _rectangle(setup.shape)
    if own.whole_width:
        return kept([at.plan.whole_outline()], "left", own.length)[0]
    half = shifted(at.plan.half_outline(), (0.0, -own.inner))
    return mirrored_across(half) if plan.mirror_of else half


def _tinted(area: Held) -> Area:
    corners = ((area.left, area.low), (area.right, area.low), (area.right, area.high), (area.left, area.high))
    return Area("sections", corners, TINT)


def _cut(pen: Pen, cut: Cut) -> Iterator[Item]:
    for x, y in cut.places:
        assert cut.diameter is not None
        yield Round("holes", (x, y), cut.diameter / 2)
    for pocket in cut.pockets:
        if pocket.title != "cove":
            yield from _pocket(pen, pocket)


def _pocket(pen: Pen, pocket: Pocket) -> Iterator[Item]:
    for ring in pocket.cut:
        yield Stroke("throat", ring)
        rising = pocket.title != "frog's recess" and not pocket.sloped
        yield from (Stroke("sections", chain(a, b), "narrow") for a, b in hatch(ring, pen.paper(HATCH), rising=rising))


def hatch(ring: Outline, apart: float, *, rising: bool) -> Iterator[tuple[Point, Point]]:
    """Yield hatch lines at 45 degrees across a closed outline, `apart` mm from one another."""
    points = flattened(ring, CHORD)
    sign = 1.0 if rising else -1.0
    levels = [y - sign * x for x, y in points]
    step = apart * math.sqrt(2)
    for number in range(math.ceil(min(levels) / step), math.floor(max(levels) / step) + 1):
        level = number * step
        met = sorted(_met(points, level, sign))
        yield from ((a, b) for a, b in zip(met[::2], met[1::2], strict=False) if math.dist(a, b) > 1e-6)


def _met(points: Sequence[Point], level: float, sign: float) -> Iterator[Point]:
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        one, other = y1 - sign * x1 - level, y2 - sign * x2 - level
        if (one > 0) != (other > 0):
            share = one / (one - other)
            yield (x1 + share * (x2 - x1), y1 + share * (y2 - y1))


def _corner(pen: Pen, corner: Corner) -> Iterator[Item]:
    if corner.relief is not None:
        yield Stroke("throat", corner.relief)
        return
    if corner.pocket == "cove":
        return
    points = tuple(flattened(corner.left.outline, CHORD))
    least = pen.paper(LEAST_SEEN)
    if math.sqrt(corner.left.area) < least:
        (x, y), half = corner.left.place, least / 2
        points = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
    yield Area("outline", points)


def _zero(pen: Pen, setup: Setup) -> Iterator[Item]:
    """Yield the zero: a ring, and arrows along x and y; the one along y stays low, dowels are often near the toe's top."""
    size = pen.size * 0.85
    low = min(pen.paper(AXIS), LOW_SHARE * max(abs(setup.shape.low[1]), abs(setup.shape.high[1])))
    yield Round("dimensions", (0.0, 0.0), pen.paper(0.8), "wide")
    for (x, y), length, letter in (((1.0, 0.0), pen.paper(AXIS), "X"), ((0.0, 1.0), low, "Y")):
        tip = (x * length, y * length)
        yield Stroke("dimensions", chain((0.0, 0.0), tip), "wide")
        yield arrow(pen, tip, (x, y))
        beside, middle = pen.paper(1.5), (ASCENT - DESCENT) / 2 * size
        yield Words("dimensions", letter, (tip[0] + beside, tip[1] + x * beside - middle), size, anchor="middle")


def _on_white(pen: Pen, letter: str, middle: Point, size: float) -> Iterator[Item]:
    """Yield a letter in the middle of a white square."""
    (x, y), half = middle, pen.paper(1.3)
    yield Area("text", ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)), 0.0)
    yield Words("text", letter, (x, y - (ASCENT - DESCENT) / 2 * size), size, anchor="middle")


def _pocket_letters(setup: Setup) -> Iterator[tuple[str, Point, float]]:
    """Yield each pocket's letter, the place for it, and the room around that place, mm."""
    routed = [(letter, pocket) for letter, cuts in lettered(setup) for cut in cuts for pocket in cut.pockets]
    shown = [(letter, pocket) for letter, pocket in routed if pocket.title != "cove" and pocket.cut]
    holes = [(place, cut.diameter / 2) for cut in setup.cuts if cut.diameter is not None for place in cut.places]
    rings = [flattened(pocket.cut[0], CHORD) for _, pocket in shown]
    for index, (letter, _) in enumerate(shown):
        others = [ring for other, ring in enumerate(rings) if other != index]
        yield letter, *_roomiest(rings[index], others, holes)


def _roomiest(ring: list[Point], others: list[list[Point]], holes: list[tuple[Point, float]]) -> tuple[Point, float]:
    """Return the place inside an outline that is farthest from borders, other outlines and holes, of a grid of places."""
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    places = [
        (min(xs) + (max(xs) - min(xs)) * column / 24, min(ys) + (max(ys) - min(ys)) * row / 12)
        for column in range(1, 24)
        for row in range(1, 12)
    ]

    def room(place: Point) -> float:
        if not inside(place, ring):
            return -math.inf
        away = [math.dist(place, middle) - radius for middle, radius in holes]
        buried = any(inside(place, other) for other in others)
        return min([_to_border(place, ring), *(_to_border(place, other) for other in others), *away]) - (
            1e3 if buried else 0.0
        )

    best = max(places, key=room)
    return best, room(best)


def _to_border(place: Point, ring: list[Point]) -> float:
    return min(point_to_segment(place, a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))


def _hole_letters(at: Layout, pen: Pen, plan: PartPlan, setup: Setup) -> Iterator[Label]:
    for letter, cuts in lettered(setup):
        for cut in cuts:
            if cut.feature == OUTLINE:
                x = LABELLED_AT * at.length
                y = at.plan.half_width_at(x) - (0.0 if plan.stretch.whole_width else plan.stretch.inner)
                yield Label(letter, (x, -y if plan.mirror_of else y), pen.paper(0.2))
            for place in cut.places:
                assert cut.diameter is not None
                yield Label(letter, place, cut.diameter / 2)
