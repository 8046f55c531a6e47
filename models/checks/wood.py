"""Checks of the wood that need no solids: cheeks, cover around holes, wood under and behind the cuts, the shavings' way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from planestock.models.body.casting_outline import traced_plan
from planestock.models.body.dowels import dowel_depth_in_half, nearest_to
from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.models.body.screws import shank_diameter
from planestock.models.body.shavings import passage
from planestock.models.checks.rows import Row, at_least, at_most
from planestock.params.metal import Casting, Frog
from planestock.params.outlines.distances import point_to_segment, segment_to_polygon, segments_apart
from planestock.params.outlines.pieces import Outline, Point, flattened
from planestock.params.outlines.polygons import inside
from planestock.params.parameter_set import ParameterSet

SAMPLES = 60
"""Places along a curve or axis where wood is measured; a body is smooth, so that a few millimetres apart are enough."""

TRACED_SAGITTA = 0.02
"""Chords of a traced cove or outline stray at most this far from it where wood is measured, mm."""

BED_STEP = 0.1
"""Largest step between frog and wooden bed that the iron bridges, mm; common practice, no published source."""

LEAST_SIDE_CLEARANCE = 0.2
"""Room beside the iron, each side, mm, below which it cannot be set square; our own choice, under the 0.5 to 1.25 that two
old wooden planes had when their owners measured them (no published source)."""

UNDER_TAIL = 2.0
"""Wood wanted under the lowered tail, in covers: the tote's bolt ends there, and the sole below it is planed away;
our own choice."""

AHEAD_OF_MOUTH = 4.0
"""Wood wanted between toe and throat, in covers: that block carries knob and dowels, and takes the blow of every stop;
our own choice."""

WALL_BY_CHEEK = 0.5
"""A wall beside the casting stands only as high as the casting is let in, so half a cheek is enough; our own choice."""

HOLE_COVER = 3.0
"""Wood around a hole below which drills break out, mm; common practice, no published source. Less than the cover wanted
warns, less than this fails."""

LEAST_STRIP = 1.0
"""Strip to either side of a hole on the middle below which it breaks out, and the strip is parted, mm; our own choice."""

LEAST_SEAT_GAP = 0.05
"""Room around casting and frog's foot below which they have to be driven in, mm; common practice, no published source."""

LEAST_NARROWING = 0.05
"""Narrowing of the shavings' way that no shaving feels, mm; our own choice."""


def wood_checks(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    """Return the checks that need layout and readings only."""
    return (*_throat(given, at), *_walls(given, at), *_floors(given, at), *_fit(given, at), *_holes(given, at))


def _throat(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    way = passage(given, at)
    beside, where = given.throat.side_clearance.value, given.lengths.rough(way.where)
    return (
        at_most("shavings-pass", f"The shavings' way never narrows upward (worst {where} above the sole)",
                way.narrowing, LEAST_NARROWING,
                "raise throat.wear_lean or breast_lean, lower wear_height, or set the cap iron further back"),
        at_least("side-clearance", "The iron has room beside it to be set square", beside, LEAST_SIDE_CLEARANCE,
                 "raise throat.side_clearance", warn_below=2 * LEAST_SIDE_CLEARANCE),
    )  # fmt: skip


def _walls(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    least = given.work.least_cheek.value
    return (
        at_least("cheek", "The thinnest cheek beside throat and frog", thinnest_cheek(at), least,
                 "make body.width larger or throat.side_clearance smaller"),
        at_least("seat-wall", "The thinnest wall beside the casting where it is let in", thinnest_seat_wall(at),
                 WALL_BY_CHEEK * least,
                 "make body.width larger, or casting.let_in 0 so that the casting rests on top"),
        at_least("casting-on-wood", "The casting stays within the body's plan", least_overhang(at), 0.0,
                 "make the body wider or longer, or move the mouth: the casting follows it"),
    )  # fmt: skip


def thinnest_cheek(at: Layout) -> float:
    """Return the least wood beside the throat and the frog's recess, mm."""
    cuts = [(at.throat, at.throat_half_width), *([(at.recess, at.recess_half_width)] if at.recess else [])]
    return min(at.plan.half_width_at(x) - half_width for corners, half_width in cuts for x, _ in corners if x <= at.length)


def thinnest_seat_wall(at: Layout) -> float | None:
    """Return the least wood around the pocket that the casting lies in, None where it lies in none.

    There is a pocket where the casting is let in, and around a tail behind which the top rises again; behind a tail that is
    lowered to the heel the pocket is open.
    """
    pocket = [point for point in _border(at.seat) if _in_pocket(point[0], at)]
    return min((_to_plan(point, at) for point in pocket), default=None)


def _in_pocket(x: float, at: Layout) -> bool:
    if at.tail is None or x < at.tail.cove_high[0]:
        return at.let_in > 0
    return not at.tail_full_width


def least_overhang(at: Layout) -> float:
    """Return the least distance from the casting's outline inwards to the body's plan edge; negative where it sticks out."""
    return min(_to_plan(point, at) for point in _border(at.casting))


def _border(outline: Outline) -> list[Point]:
    """Return points along an outline, dense enough to measure a smooth body at."""
    points = flattened(outline, 0.05)
    return [_between(a, b, share / 10) for a, b in zip(points, [*points[1:], points[0]], strict=True) for share in range(10)]


def _to_plan(point: Point, at: Layout) -> float:
    x, y = point
    ends = min(x, at.length - x)
    return ends if ends < 0 else min(ends, at.plan.half_width_at(x) - abs(y))


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def _floors(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    cover = given.work.least_cover.value
    rear = at.length - at.seat_rear[0] if not at.tail_full_width or at.tail is None else None
    return (
        at_least("wood-under-tail", "Wood between the lowered tail and the sole",
                 at.tail.lowest if at.tail else None, UNDER_TAIL * cover,
                 "make body.thickness larger; measure casting.tail_drop again"),
        at_least("wood-behind-bed", "Wood between the bed (or the frog's recess) and the cove", wood_behind_bed(at), cover,
                 "measure casting.rear, tail_length and frog.recess_depth again"),
        at_least("wood-ahead-of-mouth", "Wood between the toe and the throat", front_wall(at), AHEAD_OF_MOUTH * cover,
                 "raise body.toe_to_mouth or lower throat.breast_lean"),
        at_least("wood-behind-casting", "Wood between the casting's pocket and the heel", rear, cover,
                 "make body.length larger"),
        at_least("wood-under-recess", "Wood between the frog's recess and the sole",
                 min(z for _, z in at.recess) if at.recess else None, cover, "measure frog.foot_low and recess_depth again"),
    )  # fmt: skip


def front_wall(at: Layout) -> float:
    """Return the least wood ahead of the front wall, mm: at the top, unless wear or breast lean to the heel."""
    return min(x for x, _ in (at.mouth_front, at.wear_top, at.breast_top))


def wood_behind_bed(at: Layout) -> float | None:
    """Return the least wood between the bed, with the frog's recess, and cove and tail; None where there is no tail."""
    if at.tail is None:
        return None
    cuts = [(at.bed_foot, at.corner)]
    if at.recess is not None:
        top = min(1.0, (at.thickness - at.recess[1][1]) / (at.recess[2][1] - at.recess[1][1]))
        cuts.append((at.recess[1], _between(at.recess[1], at.recess[2], top)))
    return min(segments_apart(a, b, c, d) for a, b in cuts for c, d in pairwise(cove_and_tail(at)))


def cove_and_tail(at: Layout) -> list[Point]:
    """Return points of the wood's top in the side view from the upper end of the cove to the end of the tail."""
    assert at.tail is not None
    end = at.length if at.tail_full_width else min(at.length, at.seat_rear[0])
    if at.tail.centre is None:
        return [*flattened(at.tail.fall, TRACED_SAGITTA), at.tail.level_from, (end, at.tail.level)]
    return [*(_on_cove(at, share / SAMPLES) for share in range(SAMPLES + 1)), (end, at.tail.level)]


def _on_cove(at: Layout, share: float) -> Point:
    assert at.tail is not None
    x = at.tail.cove_high[0] + share * (at.tail.cove_low[0] - at.tail.cove_high[0])
    return (x, at.top_at(x))


def _fit(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    step = abs(given.frog.recess_depth.value - given.frog.foot_thickness.value)
    gap = given.body.seat_gap.value if at.let_in > 0 or at.recess else None
    return (
        at_most("bed-and-frog-flush", "The frog's face and the wooden bed are one plane", step, BED_STEP,
                "make frog.recess_depth equal to frog.foot_thickness"),
        at_least("screws-in-metal", "Every screw stands inside the metal it holds", screws_inside_metal(given), 0.0,
                 "check the sign and the datum: casting.screws and frog.screws are measured from the corner D"),
        at_least("seat-gap", "The casting and the frog's foot go into their places", gap,
                 LEAST_SEAT_GAP, "raise body.seat_gap", warn_below=2 * LEAST_SEAT_GAP),
    )  # fmt: skip


def screws_inside_metal(given: ParameterSet) -> float | None:
    """Return the least metal around a screw, from its shank to the casting's or the foot's edge; None without screws."""
    return min((*_inside_casting(given.casting), *_inside_foot(given.frog)), default=None)


def _inside_casting(casting: Casting) -> Iterator[float]:
    traced = traced_plan(casting)
    if traced is not None:
        corners = flattened(traced.metal, TRACED_SAGITTA)
        for screw in casting.screws:
            inside_by = min(_depth_in((screw.x.value, y), corners) for y in (screw.y.value, -screw.y.value))
            yield inside_by - shank_diameter(screw.gauge) / 2
        return
    front, rear = casting.front.value, casting.rear.value
    for screw in casting.screws:
        share = (screw.x.value - front) / (rear - front)
        half = (casting.front_width.value + share * (casting.rear_width.value - casting.front_width.value)) / 2
        yield min(screw.x.value - front, rear - screw.x.value, half - screw.y.value) - shank_diameter(screw.gauge) / 2


def _depth_in(point: Point, corners: list[Point]) -> float:
    """Return how far inside a polygon a point lies, negative outside it."""
    apart = min(point_to_segment(point, a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    return apart if inside(point, corners) else -apart


def _inside_foot(frog: Frog) -> Iterator[float]:
    low, high, half = frog.foot_low.value, frog.foot_high.value, frog.width.value / 2
    for screw in frog.screws:
        along, across = screw.along.value, screw.across.value
        yield min(along - low, high - along, half - across) - screw.diameter.value / 2


def _holes(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    cover = given.work.least_cover.value
    kinds = ("frog screw", "casting screw", "tote bolt", "tote toe screw", "knob bolt")
    dowels = [hole for hole in at.holes if hole.kind == "dowel"]
    placed = at_least("dowels-placed", "All dowels have a place clear of every cut", float(len(dowels)),
                      float(given.body.dowels.count),
                      "use fewer or thinner body.dowels, or lower work.least_cover", unit="")  # fmt: skip
    return (
        *(_cover_row(kind, at, cover) for kind in kinds),
        _dowel_row(given, at, dowels),
        placed,
        _strip_row(given, at),
        _apart_row(at),
    )


def _cover_row(kind: str, at: Layout, cover: float) -> Row:
    found = [(cover_of(hole, at), hole) for hole in at.holes if hole.kind == kind]
    least, worst = min(found, key=lambda pair: pair[0]) if found else (None, None)
    where = f" ({worst.said})" if worst and worst.said != kind else ""
    return at_least(f"{kind.replace(' ', '-')}-covered", f"Wood around each {kind} hole{where}", least,
                    min(cover, HOLE_COVER),
                    "make the hole shallower or thinner, or measure its place again", warn_below=cover)  # fmt: skip


def _dowel_row(given: ParameterSet, at: Layout, dowels: list[Hole]) -> Row:
    found = [min(cover_of(hole, at), _cheek_behind(hole, at)) for hole in dowels]
    return at_least("dowels-covered", "Wood around each dowel, and between its end and the cheek", min(found, default=None),
                    given.work.least_cover.value, "use thinner or shorter body.dowels")  # fmt: skip


def _strip_row(given: ParameterSet, at: Layout) -> Row:
    """Return the row of the strip's wood beside the holes on the mid-plane; negative where a hole takes all of it."""
    found = [(at.strip / 2 - hole.radius, hole) for hole in at.holes if hole.kind != "dowel" and hole.start[1] == 0]
    least, worst = min(found, key=lambda pair: pair[0]) if found and at.strip else (None, None)
    where = f" ({worst.kind})" if worst else ""
    return at_least("strip-beside-holes", f"Strip left to either side of a hole on the middle{where}", least, LEAST_STRIP,
                    "the hole parts the strip as far as it is deep: drill it after the glue-up, or make body.centre_strip "
                    f"wider than the hole by {given.lengths.short(2 * LEAST_STRIP)}", advisory=True)  # fmt: skip


def _cheek_behind(hole: Hole, at: Layout) -> float:
    return at.plan.half_width_at(hole.start[0]) - at.strip / 2 - dowel_depth_in_half(hole, at.strip)


def _apart_row(at: Layout) -> Row:
    pairs = [(nearest_to(one, other), one, other) for index, one in enumerate(at.holes) for other in at.holes[index + 1 :]]
    least, one, other = min(pairs, key=lambda pair: pair[0]) if pairs else (None, None, None)
    where = f" ({_pair(one, other)})" if one and other else ""
    return at_least("holes-apart", f"Wood between any two holes{where}", least, 1.0,
                    "make one of them shallower, or measure their places again", warn_below=2.0)  # fmt: skip


def _pair(one: Hole, other: Hole) -> str:
    """Return two holes in words; those left and right of the mid-plane have one name, and dowels have no number."""
    if one.said != other.said:
        return f"{one.said} and {other.said}"
    return "two dowels" if one.kind == "dowel" else f"the pair of {one.said}"


def cover_of(hole: Hole, at: Layout) -> float:
    """Return the least wood around a hole, mm, on every side but the one it opens on; negative where it breaks out.

    The cove is left out: the casting lies on it and holds the wood at its upper edge.
    """
    return min(left for name, left in walls(hole, at) if name != "cove")


def walls(hole: Hole, at: Layout) -> Iterator[tuple[str, float]]:
    """Yield the wood between a hole and each surface that it does not open on, mm; negative where it breaks out.

    A dowel opens on the mating faces, a frog screw on the bed, every other hole on the top. The radius is taken off on all
    sides, at the bottom too, where a drill has its point.
    """
    points = [_axis(hole, share / SAMPLES) for share in range(SAMPLES + 1)]
    flat = [(x, z) for x, _, z in points]
    yield "sole", min(z for _, z in flat) - hole.radius
    yield "toe", min(x for x, _ in flat) - hole.radius
    yield "heel", at.length - max(x for x, _ in flat) - hole.radius
    if hole.kind != "dowel":
        yield "cheek", min(at.plan.half_width_at(x) - abs(y) for x, y, _ in points) - hole.radius
    if hole.kind in ("dowel", "frog screw"):
        yield "top", min(at.top_at(min(max(x, 0.0), at.length)) - z for x, z in flat) - hole.radius
    else:
        yield from ((name, left - hole.radius) for name, left in _steps_of_the_top(hole, flat, at))
    if hole.kind != "frog screw":
        yield from ((name, left - hole.radius) for name, left in _cuts(hole, flat, at))


def _axis(hole: Hole, share: float) -> tuple[float, float, float]:
    (x, y, z), (dx, dy, dz) = hole.start, hole.direction
    return (x + share * hole.depth * dx, y + share * hole.depth * dy, z + share * hole.depth * dz)


def _cuts(hole: Hole, flat: list[Point], at: Layout) -> Iterator[tuple[str, float]]:
    """Yield the distance from a hole's axis to throat and frog's recess, square to both where it runs beside them."""
    cuts = [("throat", at.throat, at.throat_half_width)]
    if at.recess is not None:
        cuts.append(("frog's recess", at.recess, at.recess_half_width))
    for name, corners, half_width in cuts:
        ahead = segment_to_polygon(flat[0], flat[-1], corners)
        beside = abs(hole.start[1]) - half_width if hole.kind != "dowel" else 0.0
        yield name, ahead if beside <= 0 else math.hypot(max(0.0, ahead), beside)


def _steps_of_the_top(hole: Hole, flat: list[Point], at: Layout) -> Iterator[tuple[str, float]]:
    """Yield the distance from a hole that opens on the top to where the top steps down beside it: pocket and cove."""
    x, y, z = hole.start
    border = [point for point in _border(at.seat) if _in_pocket(point[0], at)]
    if border and not inside((x, y), flattened(at.seat, TRACED_SAGITTA)):
        yield "casting's pocket", min(math.dist((x, y), point) for point in border)
    if at.tail is not None and x < at.tail.cove_high[0] and z > at.tail.lowest:
        yield "cove", min(segments_apart(flat[0], flat[-1], a, b) for a, b in pairwise(cove_and_tail(at)))
