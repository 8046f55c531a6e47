"""The metal as plain reference solids, drawn half transparent: iron, cap iron, frog, casting, knob and tote."""

from __future__ import annotations

import math
from itertools import takewhile

import cadquery as cq

from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import (
    IronPlace,
    cap_iron_outline,
    casting_opening,
    casting_side,
    frog_outlines,
    iron_outline,
    way_out,
)
from planestock.models.solids.kernel import Tool, cut, naming, plan_prism, side_prism
from planestock.params.metal import Tote
from planestock.params.outlines.pieces import Point
from planestock.params.outlines.polygons import polygon
from planestock.params.parameter_set import ParameterSet


def iron(given: ParameterSet, at: Layout, place: IronPlace) -> cq.Shape:
    """Return the iron at a place on the bed."""
    with naming("iron", "check its thickness, length and bevel_angle"):
        return side_prism(iron_outline(given, at, place), given.iron.width.value / 2)


def cap_iron(given: ParameterSet, at: Layout, place: IronPlace) -> cq.Shape:
    """Return the cap iron on the iron at that place."""
    with naming("cap iron", "check its hump_height, hump_distance and thickness"):
        return side_prism(cap_iron_outline(given, at, place), given.cap_iron.width.value / 2)


def swept_way_out(given: ParameterSet, at: Layout, place: IronPlace) -> tuple[cq.Shape, cq.Shape]:
    """Return what iron and cap iron pass through when lifted out along the bed."""
    with naming("the iron's way out", "check the readings of iron and cap iron"):
        swept_iron, swept_cap = way_out(given, at, place)
        return (
            side_prism(swept_iron, given.iron.width.value / 2),
            side_prism(swept_cap, given.cap_iron.width.value / 2),
        )


def frog(given: ParameterSet, at: Layout) -> cq.Shape:
    """Return the frog: its foot in the bed, and a plate on the casting that carries the iron."""
    with naming("frog", "check its width, foot_low, foot_high and foot_thickness"):
        half = given.frog.width.value / 2
        return cq.Compound.makeCompound([side_prism(outline, half) for outline in frog_outlines(given, at) if outline])


def casting(given: ParameterSet, at: Layout) -> cq.Shape:
    """Return the casting: its section cut to its outline, with an opening for iron and frog."""
    with naming("casting", "check its readings"):
        section = side_prism(casting_side(given, at), at.casting_width)
        bottom = (at.thickness if at.tail is None else at.tail.lowest) - 1.0
        plate = section.intersect(plan_prism(at.casting, bottom, at.thickness + given.casting.thickness.value + 1.0))
        outline, half = casting_opening(given, at)
        opened, _ = cut(plate, [Tool("casting opening", side_prism(outline, half))])
        return opened


LEAST_FOOT = 6.0
"""What a handle's foot has around its bolt or screw at the least, mm: our own choice, about a wood screw's head.

A foot's size is a guess, so that a stand-in's foot ends where its level place does; nearer than this it cannot end.
"""

STEP = 0.25
"""Steps in which the edge of a level place is looked for, mm."""

LEVEL = 0.01
"""A place is level where it rises or falls less, mm."""


def knob(given: ParameterSet, at: Layout) -> cq.Shape | None:
    """Return the knob as a turned stand-in, or None where there is none."""
    if given.knob is None:
        return None
    x, radius, height = given.knob.from_toe.value, max(11.0, 2 * given.knob.bolt_diameter.value), 34.0
    ahead, behind = (level_from(given, at, x, way, radius) for way in (-1, 1))
    foot = min(radius * 0.8, max(LEAST_FOOT, min(ahead, behind)))
    with naming("knob", "check knob.from_toe"):
        profile = [(0.0, 0.0), (foot, 0.0), (min(foot, radius * 0.62), height * 0.35), (radius, height * 0.72),
                   (radius * 0.7, height), (0.0, height)]  # fmt: skip
        base = cq.Vector(x, 0, on_top(given, at, x))
        wire = cq.Wire.makePolygon([cq.Vector(r, 0, z) + base for r, z in profile], close=True)
        return cq.Solid.revolve(wire, [], 360.0, base, base + cq.Vector(0, 0, 1))


def tote(given: ParameterSet, at: Layout) -> cq.Shape | None:
    """Return the tote as a sawn-out stand-in that leans like its bolt, or None where there is none."""
    if given.tote is None:
        return None
    with naming("tote", "check tote.bolt_x and bolt_tilt"):
        return side_prism(polygon(tote_corners(given.tote, given, at)), 11.0)


def tote_corners(handle: Tote, given: ParameterSet, at: Layout) -> list[Point]:
    """Return the stand-in's corners in the side view: a foot towards the toe, a grip along the bolt, a horn.

    The foot is level, and no longer than the level place that it stands on. The grip is drawn lower where the iron leaves
    less room, so that the picture shows no handle through an iron.
    """
    x = at.corner[0] + handle.bolt_x.value
    z = on_top(given, at, x)
    lean = -math.tan(math.radians(handle.bolt_tilt.value))
    screw = x if handle.toe_screw_x is None else min(x, at.corner[0] + handle.toe_screw_x.value)
    wanted = min(x - 45 if handle.toe_screw_x is None else screw - 10, x - 25)
    toe = min(screw - LEAST_FOOT, max(wanted, x - level_from(given, at, x, -1, x - wanted)))
    heel = max(LEAST_FOOT, level_from(given, at, x, 1, 18.0))
    tall = _tote_scale(handle, given, at, lean)
    shape = [(min(heel, 17.0), 15.0), (15.0, 40.0), (30.0, 78.0), (8.0, 88.0), (-16.0, 74.0), (-15.0, 30.0)]
    grip = ((x + dx + lean * up * tall, z + up * tall) for dx, up in shape)
    return [(toe, z), (x + heel, z), *grip, (toe + 4, z + 12 * tall)]


def level_from(given: ParameterSet, at: Layout, x: float, way: int, furthest: float) -> float:
    """Return how far what a handle stands on is level from x on, towards the toe (way = −1) or the heel (1), in mm."""
    height = on_top(given, at, x)
    steps = (number * STEP for number in range(1, math.ceil(furthest / STEP) + 1))
    level = takewhile(lambda far: abs(on_top(given, at, x + way * far) - height) < LEVEL, steps)
    return min(furthest, max(level, default=0.0))


TOTE_ROOM = 4.0
"""Room that the stand-in leaves behind iron and frog, mm."""


def _tote_scale(handle: Tote, given: ParameterSet, at: Layout, lean: float) -> float:
    """Return how tall the grip may be, 1 at most, that its horn stays behind the frog's back."""
    cos, sin = at.up_the_bed
    back = max(given.frog.foot_thickness.value, given.casting.thickness.value) / sin
    room = handle.bolt_x.value - 16.0 - back - TOTE_ROOM
    return min(1.0, max(0.3, room / (74.0 * (cos / sin - lean))))


def on_top(given: ParameterSet, at: Layout, x: float) -> float:
    """Return the height on which knob or tote stands at x: the casting's top where it is there, else the wood's."""
    metal = at.casting_front <= x <= at.casting_rear
    return at.top_at(x) + (given.casting.thickness.value if metal else 0.0)
