"""The metal as outlines in the side view, as plain numbers: iron, cap iron, frog, casting; and the iron's way out.

The iron and cap iron are given on the bed: `along` up the bed from the corner D, `out` from the bed; `Layout.on_the_bed`
turns a pair of these into (x, z).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, shifted, walked_back
from planestock.params.outlines.polygons import polygon
from planestock.params.parameter_set import ParameterSet

SHARP = 0.3
"""Thickness of the cap iron's front edge, mm: drawn blunt so that its outline encloses area there."""

LEAST_FOOT = 0.05
"""Smallest thickness and length of the frog's foot that is drawn, mm; less is no foot."""

BEYOND_SLOT = 20.0
"""How far the cap iron is drawn beyond the adjuster's slot, mm; its other end touches no wood."""


@dataclass(frozen=True)
class IronPlace:
    """Where the iron stands. proud: how far its edge is below the sole, mm, negative above it."""

    proud: float
    along: float


def iron_place(given: ParameterSet, at: Layout, proud: float) -> IronPlace:
    """Return the iron's place on the bed for an edge `proud` mm below the sole."""
    cos, sin = at.up_the_bed
    return IronPlace(proud, -(proud + at.thickness + given.iron.thickness.value * cos) / sin)


def iron_outline(given: ParameterSet, at: Layout, place: IronPlace) -> Outline:
    """Return the iron's outline in the side view, bevel down on the bed, anticlockwise."""
    t, start = given.iron.thickness.value, place.along
    bevel = t / math.tan(math.radians(given.iron.bevel_angle.value))
    end = start + given.iron.length.value
    corners = ((start, t), (start + bevel, 0.0), (end, 0.0), (end, t))
    return polygon([at.on_the_bed(along, out) for along, out in corners])


def cap_iron_outline(given: ParameterSet, at: Layout, place: IronPlace) -> Outline:
    """Return the cap iron's outline: a hump tangent to the bed's direction at its crest, then a flat plate on the iron."""
    cap, t = given.cap_iron, given.iron.thickness.value
    start = place.along + cap.setback.value
    end = max(start + 3 * cap.hump_distance.value, start + _cap_length(given))
    crest, flat = cap.hump_distance.value, t + cap.thickness.value
    front = hump_arc(given, at, place)
    lands = at.on_the_bed(start + 2 * crest, flat)
    rest = [lands, at.on_the_bed(end, flat), at.on_the_bed(end, t), at.on_the_bed(start, t)]
    pieces: list[Piece] = [front, Line(front.end, rest[0])]
    pieces += [Line(a, b) for a, b in zip(rest, [*rest[1:], front.start], strict=True) if a != b]
    return tuple(pieces)


def _cap_length(given: ParameterSet) -> float:
    slot = given.cap_iron.slot_to_edge
    return (slot.value if slot else given.iron.length.value / 2) + BEYOND_SLOT


def hump_arc(given: ParameterSet, at: Layout, place: IronPlace) -> Arc:
    """Return the cap iron's front as an arc from its blunt edge to the crest of its hump.

    From the sagitta: R = (d² + h²) / 2h with d along the iron and h above the blunt edge; tangent to the iron at the crest.
    """
    cap, t = given.cap_iron, given.iron.thickness.value
    start, d = place.along + cap.setback.value, cap.hump_distance.value
    h = cap.hump_height.value - SHARP
    radius = (d**2 + h**2) / (2 * h)
    crest = t + cap.hump_height.value
    return Arc(
        at.on_the_bed(start, t + SHARP),
        at.on_the_bed(start + d, crest),
        at.on_the_bed(start + d, crest - radius),
        clockwise=True,
    )


def way_out(given: ParameterSet, at: Layout, place: IronPlace) -> tuple[Outline, Outline]:
    """Return what iron and cap iron sweep through when lifted out along the bed, each at its own width."""
    t, far = given.iron.thickness.value, place.along + 2 * given.iron.length.value
    iron = iron_outline(given, at, place)
    foot = iron[0].end
    swept_iron = polygon([iron[0].start, foot, at.on_the_bed(far, 0.0), at.on_the_bed(far, t)])
    front = hump_arc(given, at, place)
    crest = t + given.cap_iron.hump_height.value
    rest = [front.end, at.on_the_bed(far, crest), at.on_the_bed(far, t),
            at.on_the_bed(place.along + given.cap_iron.setback.value, t), front.start]  # fmt: skip
    lines = [Line(a, b) for a, b in pairwise(rest) if a != b]
    return swept_iron, (front, *lines)


def frog_outlines(given: ParameterSet, at: Layout) -> tuple[Outline, Outline]:
    """Return the frog as two plates: its foot in the bed, and what stands on the casting and carries the iron.

    The foot is empty where there is none (`LEAST_FOOT`). The upper plate is a stand-in cut level at the casting's top; only
    the foot meets wood.
    """
    depth = given.frog.foot_thickness.value
    low, high = given.frog.foot_low.value, given.frog.foot_high.value
    foot = [at.on_the_bed(low), at.on_the_bed(low, -depth), at.on_the_bed(high, -depth), at.on_the_bed(high)]
    cos, sin = at.up_the_bed
    rests = given.casting.thickness.value / sin
    thick = max(depth, given.casting.thickness.value)
    top = max(given.iron.length.value * 0.45, rests + thick * cos / sin + BEYOND_SLOT)
    upper = [
        at.on_the_bed(rests),
        at.on_the_bed(rests + thick * cos / sin, -thick),
        at.on_the_bed(top, -thick),
        at.on_the_bed(top),
    ]
    return polygon(foot) if min(depth, high - low) >= LEAST_FOOT else (), polygon(upper)


def casting_side(given: ParameterSet, at: Layout) -> Outline:
    """Return the casting's section on the mid-plane: underside on the wood, top `casting.thickness` above it."""
    front, rear, rise = at.casting_front, at.casting_rear, given.casting.thickness.value
    start = (front, at.thickness)
    if at.tail is None:
        return polygon([start, (rear, at.thickness), (rear, at.thickness + rise), (front, at.thickness + rise)])
    high, low, tail = at.tail.cove_high, at.tail.level_from, at.tail.rear
    over = walked_back(shifted(at.tail.fall, (0.0, rise)))
    end = [Line(low, tail), Line(tail, _up(tail, rise)), Line(_up(tail, rise), over[0].start)]
    front_end = [Line(over[-1].end, _up(start, rise)), Line(_up(start, rise), start)]
    pieces = [Line(start, high), *at.tail.fall, *end, *over, *front_end]
    return tuple(piece for piece in pieces if piece.start != piece.end)


def casting_opening(given: ParameterSet, at: Layout) -> tuple[Outline, float]:
    """Return what is cut from the casting so that iron and frog pass, and half its width; a stand-in, not a reading."""
    depth = given.frog.foot_thickness.value + SHARP
    cos, sin = at.up_the_bed
    below, above = -1.0, given.casting.thickness.value + 1.0
    front = at.breast_top[0]
    corners = [
        (front, at.thickness + below),
        at.on_the_bed((below + depth * cos) / sin, -depth),
        at.on_the_bed((above + depth * cos) / sin, -depth),
        (front, at.thickness + above),
    ]
    return polygon(corners), max(at.throat_half_width, given.frog.width.value / 2 + SHARP)


def _up(point: Point, rise: float) -> Point:
    return (point[0], point[1] + rise)
