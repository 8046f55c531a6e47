"""Blocks that guide a chisel: one face lies on the body, another is the plane of the bed or of the wear, carried on.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math

from planestock.models.body.layout import Layout
from planestock.models.prints.jigs import Jig, Words, made
from planestock.models.prints.print_groups import Missing
from planestock.models.solids.kernel import naming, side_prism
from planestock.params.lengths import METRIC, Lengths
from planestock.params.outlines.pieces import Point
from planestock.params.outlines.polygons import polygon

BED_NAME = "paring block, bed"
WEAR_NAME = "paring block, wear"

LENGTH, LEAST_LENGTH = 90.0, 40.0
"""Length of the face that lies on the body, and the least that a clamp still holds, mm."""

GUIDE = 75.0
"""Longest guiding face, mm: the flat back of a chisel lies on it."""

FLAT_TOP = 14.0
"""Flat on top of the block, for a clamp, mm."""

WEAR_HIGH = 36.0
"""Height of the wear's block, mm."""

FOR_THE_TRIAL = 0.5
"""Wood left at the mouth for the trial with the iron, mm."""

BESIDE = 14.0
"""How much wider than the throat a block is on each side, mm, as far as the body goes, for clamps."""


def paring_blocks(at: Layout, words: tuple[str, str], lengths: Lengths = METRIC) -> list[Jig | Missing]:
    """Return the blocks for bed and wear, or why there is none. words: name and digest, engraved; lengths: how their
    instructions are written."""
    return [_bed_block(at, words, lengths), _wear_block(at, words, lengths)]


def half_width(at: Layout) -> float:
    """Return half a block's width."""
    return min(at.throat_half_width + BESIDE, at.plan.half_width)


def _bed_block(at: Layout, words: tuple[str, str], lengths: Lengths) -> Jig | Missing:
    cos, sin = at.up_the_bed
    x, z = at.on_the_bed(at.let_in / sin)
    long = min(LENGTH, at.length - x - 1.0)
    if long < LEAST_LENGTH:
        return Missing(
            BED_NAME, f"only {lengths.rough(long)} of body lie behind the bed's line on top, too short to clamp a block on"
        )
    guide = min(GUIDE, (long - FLAT_TOP) / cos)
    corners = [(x, z), (x + long, z), (x + long, z + guide * sin), (x + guide * cos, z + guide * sin)]
    start = (x + guide * cos + FLAT_TOP - 40.0 if long - guide * cos < 45 else x + long - 40.0, z + 3.0)
    use = (
        (
            f"Before the seat is sunk, with the top planed and the bed sawn a little full: lay the block on the top, its "
            f"sharp lower edge on the bed's line, {lengths(x)} from the toe, and clamp it on its flat top, square across."
        ),
        (
            f"Its sloping face then is the bed carried on, {at.bed_angle:.2f}° to the sole: keep the chisel's flat back "
            "down on it."
        ),
    )
    return _made(BED_NAME, at, (corners, start), words, use)


def _wear_block(at: Layout, words: tuple[str, str], lengths: Lengths) -> Jig | Missing:
    (x, _), (top_x, top_z) = at.mouth_front, at.wear_top
    lean = (x - top_x) / top_z
    end = x + WEAR_HIGH * lean
    long = min(LENGTH, x - 1.0)
    if min(long, long + end - x) < LEAST_LENGTH:
        return Missing(
            WEAR_NAME, f"only {lengths.rough(long)} of sole lie ahead of the mouth, too short to clamp a block on"
        )
    corners = [(x, 0.0), (x - long, 0.0), (x - long, -WEAR_HIGH), (end, -WEAR_HIGH)]
    use = (
        (
            f"Body upside down: lay the block on the sole, its edge on the line of the mouth's front, {lengths(x)} from the "
            "toe, and "
            "clamp it towards the toe, square across."
        ),
        (
            f"Its end face is the wear carried on, {math.degrees(math.atan(lean)):.2f}° from square to the sole: pare into "
            f"the mouth with the chisel's flat back against it. Leave the last {lengths.short(FOR_THE_TRIAL)} for the trial "
            "with the iron."
        ),
    )
    return _made(WEAR_NAME, at, (corners, (x - long + 4.0, -WEAR_HIGH + 4.0)), words, use, (0.0, 0.0, 1.0))


def _made(name: str, at: Layout, drawn: tuple[list[Point], Point], words: tuple[str, str], use: tuple[str, ...],
          down: tuple[float, float, float] = (0.0, 0.0, -1.0)) -> Jig:  # fmt: skip
    corners, place = drawn
    with naming(name, "check frog.bed_angle and throat.wear_lean"):
        blank = side_prism(polygon(corners), half_width(at))
    engraved = Words((name.rpartition(", ")[2] + " block", *words), place, 0.0, 36.0, 22.0, -half_width(at))
    return Jig(name, made(name, blank, (), engraved, (down, (0.0, 1.0, 0.0))), (), use)
