"""The guide for the frog's screws: it rests on bed (or recess floor) and seat at once, hooked over the corner D.

Bed and seat are two planes that meet at D; a block that touches both can stand in one place only along the plane, and the
throat (or the recess) holds it across. The arm on the seat keeps it from being put in the wrong way round. All metal is off
while it is used: iron, cap iron, frog, casting, knob and tote.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any

from planestock.models.body.dowels import nearest_to
from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.models.prints.jigs import (
    BUSHING_WALL,
    LEAST_WALL,
    Bushing,
    Jig,
    Words,
    bit_words,
    collar_words,
    made,
    size_words,
)
from planestock.models.prints.print_groups import Missing
from planestock.models.solids.kernel import Tool, drill, naming, side_prism
from planestock.params.lengths import METRIC, Lengths
from planestock.params.outlines.pieces import Point
from planestock.params.outlines.polygons import polygon
from planestock.params.wanted import Shop

if TYPE_CHECKING:
    from shapely import Polygon

NAME = "drill guide"

LEAST_RECESS = 1.0
"""A recess at least this deep, mm, holds the guide across and carries it on its floor."""

RELIEF = 0.5
"""Room between guide and wood wherever it does not rest, mm: at the corner D, where no printed corner is sharp, and on the
bed where it rests in the recess."""

ARM, LEAST_ARM, ARM_THICK = 32.0, 8.0, 8.0
"""Length of the arm on the seat, the least that holds, and its thickness, mm."""

LEAST_GUIDED = 6.0
"""Least length of the bushing that the guide must hold above the bed, mm."""

FROM_BREAST = 1.0
"""Room between guide and front wall, mm."""

BIT_ROOM, BIT_LENGTH = 1.0, 120.0
"""Room around the bit on its way in, and how much of it is looked at, mm."""

HAIR = 1e-4
"""Corners nearer than this to a straight edge are dropped, mm: the joints of shapes that were put together."""

FLAT = 1e-6
"""Wood within this of the seat's height is the seat, mm."""


@dataclass(frozen=True)
class _Seat:
    """Where the guide rests, mm. floor: out of the bed, negative in a recess; low, high: along the bed; half: of its width;
    arm: its length on the seat."""

    floor: float
    low: float
    high: float
    half: float
    arm: float


def drill_guide(at: Layout, shop: Shop, words: tuple[str, str], lengths: Lengths = METRIC) -> Jig | Missing:
    """Return the guide for all frog screws that it can guide, or why there is none. words: name and digest, engraved;
    lengths: how its instructions are written.
    """
    holes = [hole for hole in at.holes if hole.kind == "frog screw"]
    if not holes:
        return Missing(NAME, "the set has no frog screws")
    arm = _arm_length(at)
    if arm < LEAST_ARM:
        return Missing(
            NAME,
            f"the seat is flat for only {lengths(max(arm, 0.0))} behind the corner D, too short for the guide's arm",
        )
    wall = max(LEAST_WALL, 4 * shop.printer.nozzle.value)
    found, notes = [], []
    for group in _by_path(holes):
        bushings = [_bushing(at, hole, shop) for hole in group]
        why = _why_not(at, bushings, shop, (wall, arm), lengths)
        if why:
            notes.append(f"{group[0].said} is not guided: {why}")
        else:
            found += bushings
    if not found:
        return Missing(NAME, "; ".join(notes))
    close = _too_close(found, shop, wall, lengths)
    if close:
        return Missing(NAME, close)
    return _made(at, shop, words, (found, arm, tuple(notes)), lengths)


def _by_path(holes: Sequence[Hole]) -> Iterator[list[Hole]]:
    for path in dict.fromkeys(hole.path for hole in holes):
        yield [hole for hole in holes if hole.path == path]


def _arm_length(at: Layout) -> float:
    """Return how far the seat is flat behind the corner, up to `ARM`."""
    steps = [0.5 * number for number in range(1, int(2 * ARM) + 5)]
    level = next((step for step in steps if abs(at.top_at(at.corner[0] + step) - at.thickness) > FLAT), steps[-1])
    return min(ARM, level - 1.5, at.length - at.corner[0])


def _seat(at: Layout, clearance: float, arm: float, lowest: float) -> _Seat:
    depth = math.dist(at.recess[0], at.recess[1]) if at.recess else 0.0
    if at.recess is None or depth < LEAST_RECESS:
        half = (min(at.throat_half_width, at.recess_half_width) if at.recess else at.throat_half_width) - clearance
        return _Seat(0.0, lowest, -2 * RELIEF, half, arm)
    low, high = (_along(at, at.recess[index]) for index in (0, 3))
    return _Seat(-depth, low + clearance, high - clearance, min(at.recess_half_width, at.throat_half_width) - clearance, arm)


def _along(at: Layout, point: Point) -> float:
    return (point[0] - at.corner[0]) * at.up_the_bed[0] + (point[1] - at.corner[1]) * at.up_the_bed[1]


def _bushing(at: Layout, hole: Hole, shop: Shop) -> Bushing:
    """Return the bushing for a hole, pushed in until it touches the wood; a tilted one touches with its edge first."""
    diameter = shop.bushing_diameter.value
    out = (-hole.direction[0], 0.0, -hole.direction[2])
    lean = math.acos(min(1.0, out[0] * at.out_of_the_bed[0] + out[2] * at.out_of_the_bed[1]))
    lifted = diameter / 2 * math.tan(lean)
    start = (hole.start[0] + lifted * out[0], hole.start[1], hole.start[2] + lifted * out[2])
    length = shop.bushing_length.value
    return Bushing(hole, start, out, diameter, length, lifted + length + hole.depth)


def _why_not(at: Layout, bushings: Sequence[Bushing], shop: Shop, room: tuple[float, float], lengths: Lengths) -> str | None:
    """Return why a screw, or a pair, cannot be guided; None where it can. room: least wall, and the arm's length."""
    wall, arm = room
    one = bushings[0]
    if one.diameter < one.hole.diameter + 2 * BUSHING_WALL:
        bit = one.hole.diameter
        return (
            f"a bushing of {size_words(one.diameter, lengths)} has no wall round a "
            f"bit of {size_words(bit, lengths)}; raise shop.bushing_diameter"
        )
    need = one.diameter / 2 + shop.bushing_clearance.value + wall
    seat = _seat(at, shop.printer.clearance.value, arm, 0.0)
    if abs(one.hole.start[1]) + need > seat.half:
        return f"a bushing of {size_words(one.diameter, lengths)} has no wall beside it; lower shop.bushing_diameter"
    if at.recess is not None and not _stands_in_recess(at, one):
        return (
            "its bushing would stand on the recess's edge; measure foot_low, foot_high and along again, or use a thinner one"
        )
    if _bit_meets_breast(at, one):
        return "the bit would meet the breast on its way in"
    guided = _guided(at, shop, bushings, arm, need)
    if guided < LEAST_GUIDED:
        return f"the front wall leaves room for only {lengths(guided)} of guide; use a longer or thinner bushing"
    return None


def _stands_in_recess(at: Layout, one: Bushing) -> bool:
    """Tell whether a bushing goes down into the recess without meeting its ends, however it leans."""
    assert at.recess is not None
    low, high = (_along(at, at.recess[index]) for index in (0, 3))
    out = one.direction[0] * at.out_of_the_bed[0] + one.direction[2] * at.out_of_the_bed[1]
    leaves = max(0.0, -_out(at, (one.start[0], one.start[2])) / out)
    middles = [_along(at, _point(one, share)) for share in (0.0, leaves)]
    reach = one.diameter / 2 / out + HAIR
    return low <= min(middles) - reach and max(middles) + reach <= high


def _bit_meets_breast(at: Layout, one: Bushing) -> bool:
    from shapely import LineString

    way = LineString([(one.start[0], one.start[2]), _point(one, BIT_LENGTH)])
    return bool(way.buffer(one.hole.radius + BIT_ROOM).intersects(_front_block(at)))


def _point(one: Bushing, along: float) -> Point:
    return (one.start[0] + along * one.direction[0], one.start[2] + along * one.direction[2])


def _front_block(at: Layout) -> Polygon:
    from shapely import Polygon

    corners = [
        at.mouth_front,
        at.wear_top,
        at.breast_top,
        (-999.0, at.height),
        (-999.0, -999.0),
        (at.mouth_front[0], -999.0),
    ]
    return Polygon(corners)


def _guided(at: Layout, shop: Shop, bushings: Sequence[Bushing], arm: float, need: float) -> float:
    """Return over what length above the bed the guide surrounds a bushing, with its wall, mm."""
    from shapely import LineString

    profile = _profile(at, shop, bushings, arm)
    if profile is None:
        return 0.0
    one = bushings[0]
    out = one.direction[0] * at.out_of_the_bed[0] + one.direction[2] * at.out_of_the_bed[1]
    begins = max(0.0, (RELIEF - _out(at, (one.start[0], one.start[2]))) / out) + need * math.sqrt(max(0.0, 1 - out**2)) / out
    best = 0.0
    for step in range(1, int(one.length) + 1):
        band = LineString([_point(one, begins), _point(one, begins + step)]).buffer(need, cap_style="flat")
        if begins + step > one.length or not profile.buffer(FLAT).contains(band):
            break
        best = float(step)
    return best


def _out(at: Layout, point: Point) -> float:
    """Return how far a point is out of the bed."""
    return (point[0] - at.corner[0]) * at.out_of_the_bed[0] + (point[1] - at.corner[1]) * at.out_of_the_bed[1]


def _profile(at: Layout, shop: Shop, bushings: Sequence[Bushing], arm: float) -> Polygon | None:
    """Return the guide's outline in the side view; None where the front wall leaves nothing of it."""
    from shapely import Polygon, union_all

    need = bushings[0].diameter / 2 + shop.bushing_clearance.value + max(LEAST_WALL, 4 * shop.printer.nozzle.value) + 1.0
    lowest = max(min(_along(at, _point(one, share)) for one in bushings for share in (0.0, one.length)) - need,
                 -at.thickness / at.up_the_bed[1] + 2.0)  # fmt: skip
    seat = _seat(at, shop.printer.clearance.value, arm, lowest)
    top = seat.floor + shop.bushing_length.value
    above = ARM_THICK / at.up_the_bed[1]

    def on_bed(corners: Sequence[Point]) -> Any:
        return Polygon([at.on_the_bed(along, out) for along, out in corners])

    (x, z), over = at.corner, at.thickness + ARM_THICK
    rests = on_bed([(seat.low, seat.floor), (seat.high, seat.floor), (seat.high, top), (seat.low, top)])
    slab = on_bed([(lowest, RELIEF), (above, RELIEF), (above, top), (lowest, top)])
    arm_shape = Polygon([(x + 2 * RELIEF, z), (x + arm, z), (x + arm, over), at.on_the_bed(above, RELIEF + 1.0),
                         at.on_the_bed(0.0, RELIEF + 1.0), at.on_the_bed(0.0, RELIEF)])  # fmt: skip
    whole = union_all([rests, slab, arm_shape]).difference(_front_block(at).buffer(FROM_BREAST, join_style="mitre"))
    parts = [one for one in getattr(whole, "geoms", [whole]) if not one.is_empty]
    largest = max(parts, key=lambda one: one.area, default=None)
    return largest.simplify(HAIR) if largest is not None else None


def _too_close(bushings: Sequence[Bushing], shop: Shop, wall: float, lengths: Lengths) -> str | None:
    for one, other in combinations(bushings, 2):
        bores = [each.bore(shop.bushing_clearance.value, 0.0, 0.0) for each in (one, other)]
        if nearest_to(*bores) < wall:
            places = " and ".join(sorted({one.hole.said, other.hole.said}))
            return (
                f"bushings of {size_words(one.diameter, lengths)} have no wall between "
                f"them at {places}; lower shop.bushing_diameter"
            )
    return None


def _made(
    at: Layout, shop: Shop, words: tuple[str, str], chosen: tuple[list[Bushing], float, tuple[str, ...]], lengths: Lengths
) -> Jig | Missing:
    bushings, arm, notes = chosen
    profile = _profile(at, shop, bushings, arm)
    if profile is None:
        return Missing(NAME, "the front wall leaves no room for it")
    seat = _seat(at, shop.printer.clearance.value, arm, 0.0)
    with naming(NAME, "change shop.bushing_length or bushing_diameter slightly"):
        blank = side_prism(polygon([(float(x), float(z)) for x, z in profile.exterior.coords[:-1]]), seat.half)
    clearance = shop.bushing_clearance.value
    bores = [one.bore(clearance, one.diameter, one.length) for one in bushings]
    tools = [Tool(f"bore for {bore.path} at y {bore.start[1]:g}", drill(bore)) for bore in bores]
    (nx, nz), top = at.out_of_the_bed, seat.floor + shop.bushing_length.value
    low = at.on_the_bed(
        _along(at, (float(profile.centroid.x), float(profile.centroid.y))) - 20.0, max(RELIEF, top - 13.0) + 1.0
    )
    engraved = Words(words, low, at.bed_angle, 34.0, min(11.0, top - RELIEF - 2.0), -seat.half)
    piece = made(NAME, blank, tools, engraved, ((nx, 0.0, nz), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0)))
    return Jig(NAME, piece, tuple(bushings), tuple(_use(bushings, seat, lengths)), notes)


def _use(bushings: Sequence[Bushing], seat: _Seat, lengths: Lengths) -> Iterator[str]:
    rests = "the floor of the frog's recess" if seat.floor < 0 else "the bed"
    yield (
        f"All metal off, halves closed and clamped or glued. Blow the chips away, set the guide down with its arm on "
        "the seat "
        f"and slide it to the corner D until it rests on {rests} and on the seat at once; it fits one way round only. "
        "Hold or "
        "clamp its arm."
    )
    one = bushings[0]
    yield (
        f"Push a bushing in until it touches the wood: {size_words(one.diameter, lengths)} outside, "
        f"{size_words(one.length, lengths)} long, its bore the size of the bit. The bushing guides the bit, the printed "
        "hole does not."
    )
    for group in _by_path([each.hole for each in bushings]):
        one = next(each for each in bushings if each.hole.path == group[0].path)
        where = f"a pair {size_words(abs(group[0].start[1]), lengths)} to either side" if len(group) > 1 else "on the middle"
        yield (
            f"{group[0].said.capitalize()}, {where}: bit {bit_words(one.hole.diameter, lengths)}, stop "
            f"collar {collar_words(one.stop, lengths)} above the bit's point, so that it meets the bushing's top when the "
            f"hole is {size_words(one.hole.depth, lengths)} deep."
        )
