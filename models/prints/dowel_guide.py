"""The guide for the dowels: one plate for both halves, turned over between them, so that their holes must meet.

It lies on a half's mating face; one fence stands on the sole, another on the toe, on both sides of the plate. Turned over it
is its own mirror image, and so are the holes. All metal is off and the halves are apart while it is used.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import cadquery as cq

from planestock.models.body.dowels import dowel_depth_in_half, nearest_to
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
from planestock.models.solids.kernel import Tool, drill, naming
from planestock.params.lengths import METRIC, Lengths
from planestock.params.wanted import Shop

NAME = "dowel guide"

FENCE, OVERHANG = 5.0, 7.0
"""Thickness of the fences, and how far they reach over sole and toe on both sides of the plate, mm."""

BEYOND = 8.0
"""Plate beyond the outermost bushings, mm."""

RELIEF = 1.0
"""Groove in the corners between plate and fences, mm: chips and the wood's sharp edges go there."""

NOTCH = 6.0
"""Depth of the notches that show the middle of the plane, mm."""


def dowel_guide(at: Layout, shop: Shop, words: tuple[str, str], lengths: Lengths = METRIC) -> Jig | Missing:
    """Return the plate, as it lies on the right half, or why there is none. words: name and digest, engraved;
    lengths: how its instructions are written.
    """
    holes = [hole for hole in at.holes if hole.kind == "dowel"]
    diameter, wall = shop.dowel_bushing_diameter.value, max(LEAST_WALL, 4 * shop.printer.nozzle.value)
    if not holes:
        return Missing(NAME, "the set has no dowels")
    if diameter < holes[0].diameter + 2 * BUSHING_WALL:
        bit = holes[0].diameter
        why = (
            f"a bushing of {size_words(diameter, METRIC)} has no wall round a bit of {size_words(bit, METRIC)}; raise "
            "shop.dowel_bushing_diameter"
        )
        return Missing(NAME, why)
    bushings = [_bushing(at, hole, shop) for hole in holes]
    bores = [one.bore(shop.bushing_clearance.value, 1.0, 1.0) for one in bushings]
    if any(nearest_to(one, other) < wall for one, other in combinations(bores, 2)):
        return Missing(
            NAME, f"bushings of {size_words(diameter, METRIC)} have no wall between them; lower shop.dowel_bushing_diameter"
        )
    return _made(at, shop, words, (bushings, bores, wall), lengths)


def _bushing(at: Layout, hole: Hole, shop: Shop) -> Bushing:
    start = (hole.start[0], at.strip / 2, hole.start[2])
    length = shop.bushing_length.value
    return Bushing(hole, start, (0.0, -1.0, 0.0), shop.dowel_bushing_diameter.value, length,
                   length + dowel_depth_in_half(hole, at.strip))  # fmt: skip


def _made(
    at: Layout, shop: Shop, words: tuple[str, str], found: tuple[list[Bushing], list[Hole], float], lengths: Lengths
) -> Jig:
    bushings, bores, wall = found
    thick, sole = shop.bushing_length.value, at.slip
    around = bores[0].radius + max(wall, BEYOND)
    end = max(one.start[0] for one in bushings) + around
    top = max(one.start[2] for one in bushings) + around
    with naming(NAME, "change shop.bushing_length or the dowels slightly"):
        blank = _blank(at.strip / 2, thick, (end, sole, top))
    tools = [Tool(f"bore {number}", drill(bore)) for number, bore in enumerate(bores, 1)]
    tools += list(_corners(at.strip / 2, thick, (end, sole, top)))
    tools += list(_notches(at.strip / 2, thick, top))
    engraved = Words(
        (NAME, *words),
        (_widest_gap(bores, around), sole + 4.0),
        0.0,
        44.0,
        min(22.0, top - sole - 6.0),
        at.strip / 2 - thick,
    )
    piece = made(NAME, blank, tools, engraved, ((0.0, 0.0, -1.0),))
    return Jig(NAME, piece, tuple(bushings), tuple(_use(bushings, at, lengths)), tuple(_notes(at, lengths)))


def _widest_gap(bores: Sequence[Hole], around: float) -> float:
    """Return the x where the widest stretch of plain plate begins, for the letters."""
    places = sorted(bore.start[0] for bore in bores)
    first, _ = max(pairwise([0.0, *places]), key=lambda ends: ends[1] - ends[0])
    return first + around


def _blank(face: float, thick: float, reach: tuple[float, float, float]) -> cq.Shape:
    """Return plate and fences as one solid. face: y of the half's mating face."""
    end, sole, top = reach
    wide = thick + 2 * OVERHANG
    y = face - thick - OVERHANG
    plate = _box((-FENCE, face - thick, sole - FENCE), (end + FENCE, thick, top - sole + FENCE))
    on_sole = _box((-FENCE, y, sole - FENCE), (end + FENCE, wide, FENCE))
    on_toe = _box((-FENCE, y, sole - FENCE), (FENCE, wide, top - sole + FENCE))
    fused = plate.fuse(on_sole, on_toe).clean()
    return fused.Solids()[0]


def _box(low: tuple[float, float, float], size: tuple[float, float, float]) -> cq.Shape:
    return cq.Solid.makeBox(*size, cq.Vector(*low))


def _corners(face: float, thick: float, reach: tuple[float, float, float]) -> Iterator[Tool]:
    """Yield the grooves beside the fences, in both faces of the plate."""
    end, sole, top = reach
    for side, y in (("right", face - RELIEF), ("left", face - thick)):
        yield Tool(f"{side} groove along the sole", _box((0.0, y, sole), (end + 1.0, RELIEF, RELIEF)))
        yield Tool(f"{side} groove along the toe", _box((0.0, y, sole), (RELIEF, RELIEF, top - sole + 1.0)))


def _notches(face: float, thick: float, top: float) -> Iterator[Tool]:
    """Yield the notches in the toe's fence whose points lie in the middle of the plane, for each way round."""
    for side, y in (("right", 0.0), ("left", 2 * face - thick)):
        corners = [cq.Vector(-FENCE - 1.0, y + dy, top + dz) for dy, dz in ((0, -NOTCH), (NOTCH / 2, 1), (-NOTCH / 2, 1))]
        prism = cq.Solid.extrudeLinear(cq.Wire.makePolygon(corners, close=True), [], cq.Vector(FENCE + 1.0, 0, 0))
        yield Tool(f"{side} notch", prism)


def _use(bushings: Sequence[Bushing], at: Layout, lengths: Lengths) -> Iterator[str]:
    one = bushings[0]
    yield (
        "Lay the plate on the right half's mating face, its long fence hard against the sole, its short one against "
        "the toe, "
        "and clamp it. For the left half turn it over: the same two fences stand on the same two edges, and the holes meet. "
        "Mark toe and sole on both halves first, and plane both to one height and length."
    )
    yield (
        f"Bushing {size_words(one.diameter, lengths)} outside, bore for the dowel bit, "
        f"{bit_words(one.hole.diameter, lengths)}; "
        f"stop collar {collar_words(one.stop, lengths)} above the bit's point, to the top of a bushing "
        f"{size_words(one.length, lengths)} long: "
        f"{size_words(dowel_depth_in_half(one.hole, at.strip), lengths)} deep in each half."
    )
    yield "The notches in the toe's fence point at the middle of the finished plane: prick it on the toe from there."


def _notes(at: Layout, lengths: Lengths) -> Iterator[str]:
    if at.strip:
        yield (
            f"With the strip of {size_words(at.strip, lengths)} the middle lies {size_words(at.strip / 2, lengths)} off the "
            "mating face; bore the strip through the same plate."
        )
    if at.slip or at.pad:
        yield "Made for the bare halves, before pad or slip are glued on."
