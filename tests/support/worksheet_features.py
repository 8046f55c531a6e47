"""Where each dimension and leader of the worksheet has to end: the readings' own trigonometry, without the drawing code.

Points are in millimetres of the part; a coordinate that the reading leaves open is None.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planestock.exports.worksheet.metal_drawings import SKETCHED_TILT
from planestock.models.body.metal_outlines import SHARP
from planestock.models.window.thickness import settle
from planestock.params.parameter_set import ParameterSet

Place = tuple[float | None, float | None]


@dataclass(frozen=True)
class Expected:
    """One view. picture: its picture; turn: degrees by which the part is turned on paper; ends: by path, in any order."""

    picture: str
    ends: dict[str, list[Place]]
    turn: float = 0.0


def expected(given: ParameterSet) -> list[Expected]:
    """Return every view with its features, for a plane that has all parts and its tote behind the cove."""
    return [*_iron(given), *_frog(given), *_casting(given), *_handles(given), *_bodies(given)]


def _iron(given: ParameterSet) -> list[Expected]:
    iron, cap = given.iron, given.cap_iron
    t, long, b, ct = iron.thickness.value, iron.length.value, cap.setback.value, cap.thickness.value
    h, d = cap.hump_height.value, cap.hump_distance.value
    assert cap.slot_to_edge is not None
    assert given.adjuster is not None
    theta = given.frog.bed_angle.value
    front: Place = (b, t + SHARP)
    whole: dict[str, list[Place]] = {
        "iron.length": [(0, t), (long, 0)],
        "cap_iron.slot_to_edge": [front, (b + cap.slot_to_edge.value, t + ct)],
    }
    edge: dict[str, list[Place]] = {
        "cap_iron.hump_height": [(0, t), (b + d, t + h)],
        "cap_iron.hump_distance": [front, (b + d, t + h)],
        "cap_iron.setback": [(0, t), front],
        "iron.thickness": [(None, 0), (None, t)],
        "cap_iron.thickness": [(None, t), (None, t + ct)],
        "iron.bevel_angle": [(0, t)],
    }
    across: dict[str, list[Place]] = {
        "iron.width": [(-iron.width.value / 2, 0), (iron.width.value / 2, 0)],
        "cap_iron.width": [(-cap.width.value / 2, None), (cap.width.value / 2, None)],
    }
    pins: dict[str, list[Place]] = {
        "adjuster.pin_low": [(0, 0), (given.adjuster.pin_low.value, None)],
        "adjuster.pin_high": [(0, 0), (given.adjuster.pin_high.value, None)],
    }
    return [*(Expected("iron", each) for each in (whole, edge, across)), Expected("adjuster", pins, theta)]


def _frog(given: ParameterSet) -> list[Expected]:
    frog = given.frog
    low, high, half = frog.foot_low.value, frog.foot_high.value, frog.width.value / 2
    side: dict[str, list[Place]] = {
        "frog.foot_low": [(0, 0), (low, 0)],
        "frog.foot_high": [(0, 0), (high, 0)],
        "frog.foot_thickness": [(low, 0), (low, -frog.foot_thickness.value)],
        "frog.recess_depth": [((low + high) / 2, -frog.recess_depth.value)],
        "frog.bed_angle": [(0, 0)],
    }
    screw = max(frog.screws, key=lambda each: each.across.value)
    hole: Place = (screw.across.value, screw.along.value)
    face: dict[str, list[Place]] = {
        "frog.width": [(-half, low), (half, low)],
        "frog.screws[].across": [(0, None), hole],
        "frog.screws[].along": [(None, 0), hole],
    }
    seat: dict[str, list[Place]] = {f"bench.{name}": [(None, 0), _edge(given, name)] for name in ("edge_low", "edge_high")}
    return [
        Expected("frog", side, frog.bed_angle.value),
        Expected("frog", face),
        Expected("frog", _hole(given)),
        Expected("bench", seat),
    ]


def _hole(given: ParameterSet) -> dict[str, list[Place]]:
    """Return the first frog screw's hole, drawn along the bed (the sole on the left); a small tilt is drawn larger."""
    screw, floor = given.frog.screws[0], -given.frog.recess_depth.value
    tilt = math.radians(screw.tilt.value if abs(screw.tilt.value) >= 5 else SKETCHED_TILT)
    deep, half = screw.depth.value, screw.diameter.value / 2
    end = (-deep * math.sin(tilt), floor - deep * math.cos(tilt))
    return {
        "frog.screws[].tilt": [(0, floor)],
        "frog.screws[].depth": [(0, floor), end],
        "frog.screws[].diameter": [
            (end[0] + side * half * math.cos(tilt), end[1] - side * half * math.sin(tilt)) for side in (1, -1)
        ],
    }


def _edge(given: ParameterSet, name: str) -> Place:
    """Return the iron's edge from D: h below the seat plane and t out from the bed."""
    theta, t = math.radians(given.frog.bed_angle.value), given.iron.thickness.value
    below = getattr(settle(given).window, name)
    along = -(below + t * math.cos(theta)) / math.sin(theta)
    return (along * math.cos(theta) - t * math.sin(theta), -below)


def _casting(given: ParameterSet) -> list[Expected]:
    casting = given.casting
    front, rear, drop, radius = (
        each.value for each in (casting.front, casting.rear, casting.tail_drop, casting.cove_radius)
    )
    foot = rear - casting.tail_length.value
    high = -math.sqrt(radius**2 - (radius - drop) ** 2)
    middle = (math.atan2(drop - radius, high) - math.pi / 2) / 2
    if middle > 0:
        middle -= math.pi
    cove = (foot + radius * math.cos(middle), radius - drop + radius * math.sin(middle))
    side: dict[str, list[Place]] = {
        "casting.thickness": [(None, 0), (None, casting.thickness.value)],
        "casting.let_in": [(front, 0), (front, casting.let_in.value)],
        "casting.tail_drop": [(None, 0), (rear, -drop)],
        "casting.tail_length": [(foot, -drop), (rear, -drop)],
        "casting.cove_radius": [cove],
    }
    screw = max((each for each in casting.screws if each.y.value > 0), key=lambda each: each.x.value)
    hole: Place = (screw.x.value, screw.y.value)
    plan: dict[str, list[Place]] = {
        "casting.front": [(front, None), (0, None)],
        "casting.rear": [(0, None), (rear, None)],
        "casting.front_width": [(front, side * casting.front_width.value / 2) for side in (1, -1)],
        "casting.rear_width": [(rear, side * casting.rear_width.value / 2) for side in (1, -1)],
        "casting.screws[].x": [(0, None), hole],
        "casting.screws[].y": [(None, 0), hole],
    }
    return [Expected("casting side", side), Expected("casting plan", plan)]


def _handles(given: ParameterSet) -> list[Expected]:
    tote, knob, low = given.tote, given.knob, -given.casting.tail_drop.value
    assert tote is not None
    assert tote.toe_screw_x is not None
    assert knob is not None
    x, deep, half = tote.bolt_x.value, tote.bolt_depth.value, tote.bolt_diameter.value / 2
    sin, cos = math.sin(math.radians(tote.bolt_tilt.value)), math.cos(math.radians(tote.bolt_tilt.value))
    end = (x + deep * sin, low - deep * cos)
    toe, small = tote.toe_screw_x.value, tote.toe_screw_diameter.value / 2
    behind: dict[str, list[Place]] = {
        "tote.bolt_x": [(0, 0), (x, low)],
        "tote.toe_screw_x": [(0, 0), (toe, low)],
        "tote.bolt_tilt": [(x, low)],
        "tote.bolt_depth": [(x, low), end],
        "tote.bolt_diameter": [(end[0] + side * half * cos, end[1] + side * half * sin) for side in (1, -1)],
        "tote.toe_screw_depth": [(toe - small, low), (toe - small, low - tote.toe_screw_depth.value)],
        "tote.toe_screw_diameter": [(toe + side * small, low - tote.toe_screw_depth.value) for side in (1, -1)],
    }
    at, bore = knob.from_toe.value, knob.bolt_depth.value
    ahead: dict[str, list[Place]] = {
        "knob.from_toe": [(0, None), (at, None)],
        "knob.bolt_depth": [(None, 0), (None, -bore)],
        "knob.bolt_diameter": [(at + side * knob.bolt_diameter.value / 2, -bore) for side in (1, -1)],
    }
    return [Expected("handles", behind), Expected("handles", ahead)]


def _bodies(given: ParameterSet) -> list[Expected]:
    body, throat = given.body, given.throat
    widths = {"toe": body.toe_width or body.width, "heel": body.heel_width or body.width}
    ends = {"toe": 0.0, "heel": body.length.value}
    above: dict[str, list[Place]] = {
        "body.length": [(0, None), (body.length.value, None)],
        "body.toe_to_mouth": [(0, None), (body.toe_to_mouth.value, None)],
        "body.width": [(None, side * body.width.value / 2) for side in (1, -1)],
        **{f"body.{end}_width": [(ends[end], side * widths[end].value / 2) for side in (1, -1)] for end in ends},
    }
    mouth, high = body.toe_to_mouth.value - throat.opening.value, throat.wear_height.value
    enlarged: dict[str, list[Place]] = {
        "throat.opening": [(mouth, 0), (body.toe_to_mouth.value, 0)],
        "throat.wear_height": [(mouth, 0), (mouth - high * math.tan(math.radians(throat.wear_lean.value)), high)],
        "throat.wear_lean": [(mouth, 0)],
    }
    old: dict[str, list[Place]] = {
        "old_body.thickness_toe": [(None, 0), (None, -settle(given).thickness)],
        "old_body.thickness_mouth": [(None, 0), (None, -settle(given).thickness)],
        "old_body.thickness_heel": [(None, 0), (None, -settle(given).thickness)],
    }
    return [Expected("body", above), Expected("throat", enlarged), Expected("old body", old)]
