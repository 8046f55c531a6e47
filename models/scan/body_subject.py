"""A body as faces that hang on its layout: x from the toe, y across, z up from the sole. The sole is the datum."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from planestock.models.body.layout import Layout
from planestock.models.design import Design
from planestock.models.scan.faces import Face, Flat, Mask, Round
from planestock.models.scan.motion import Array
from planestock.models.scan.subjects import Of, Patch, Subject, Values, always, looked_at, widest
from planestock.params.outlines.pieces import Arc

THICKNESS, LET_IN, ANGLE, OPENING = "body.thickness", "casting.let_in", "frog.bed_angle", "throat.opening"
LENGTH, WIDTH, DROP = "body.length", "body.width", "casting.tail_drop"
WEAR_LEAN, BREAST_LEAN = "throat.wear_lean", "throat.breast_lean"
BED_FOOT, MOUTH_FRONT = "bed foot", "mouth front"
"""Where the bed and the wear meet the sole, mm from the toe: no readings, but what the mouth follows from."""

FREE = (THICKNESS, LET_IN, ANGLE, BED_FOOT, MOUTH_FRONT, WEAR_LEAN, BREAST_LEAN, LENGTH, WIDTH, DROP)

LEAST_FACE = 0.5
"""A face narrower than this tells nothing, mm."""


def body(made: Design, of: Of) -> Subject:
    """Return the wood of a design as a subject. of: "old-body" or "new-body"."""
    at, given = made.layout, made.given
    values = {
        THICKNESS: at.thickness,
        LET_IN: at.let_in,
        ANGLE: at.bed_angle,
        BED_FOOT: at.bed_foot[0],
        MOUTH_FRONT: at.mouth_front[0],
        WEAR_LEAN: given.throat.wear_lean.value,
        BREAST_LEAN: given.throat.breast_lean.value,
        LENGTH: at.length,
        WIDTH: 2 * at.plan.half_width,
        DROP: at.thickness - at.tail.level if at.tail else 0.0,
    }
    patches = tuple(_patches(at))
    free = tuple(path for path in FREE if any(path in patch.paths for patch in patches))
    seen, facing = looked_at(patches, values, lambda name, points: _exists(name, points, at))
    return Subject(of, patches, values, free, "sole", None, np.zeros(3), seen, facing, widest(seen))


def _patches(at: Layout) -> Iterator[Patch]:
    yield Patch("sole", "sole", (), lambda values: _level(0.0, -1.0, (0.0, values[LENGTH]), at.plan.half_width))
    yield Patch("seat", "casting seat", (THICKNESS,), lambda values: _seat(values, at))
    if at.let_in > 0:
        yield Patch("top", "top", (THICKNESS, LET_IN), lambda values: _top(values, at))
    if at.tail is not None:
        yield Patch("tail", "lowered tail", (THICKNESS, DROP), lambda values: _tail(values, at))
        yield Patch("cove", "cove", (THICKNESS, DROP), lambda values: _cove(values, at))
    yield Patch("bed", "bed", (ANGLE, BED_FOOT), lambda values: _bed(values, at))
    yield Patch("wear", "wear", (MOUTH_FRONT, WEAR_LEAN), lambda values: _wear(values, at))
    yield Patch("breast", "breast", (MOUTH_FRONT, WEAR_LEAN, BREAST_LEAN), lambda values: _breast(values, at))
    yield Patch("left cheek", "left side of the body", (WIDTH,), _side(at, -1.0))
    yield Patch("right cheek", "right side of the body", (WIDTH,), _side(at, 1.0))
    yield from _drawn_in(at)
    yield Patch("toe", "toe end", (), always(_end(0.0, -1.0, at.plan.toe.half_width, at)))
    yield Patch("heel", "heel end", (LENGTH,), lambda values: _end(values[LENGTH], 1.0, at.plan.heel.half_width, at))


def _drawn_in(at: Layout) -> Iterator[Patch]:
    """Yield the sides where they are drawn in to toe and heel, and the rounded corners; they hang on no value."""
    for number, piece in enumerate(at.plan.whole_outline(), start=1):
        if isinstance(piece, Arc) and abs(piece.sweep) * piece.radius > LEAST_FACE:
            yield Patch(f"side {number}", _words(piece, at), (), always(_upright(piece, at)))


def _words(arc: Arc, at: Layout) -> str:
    """Return what an arc of the plan is called: the long ones draw a side in, the short ones round a corner."""
    x, y = arc.at(0.5)
    side, end = "left" if y < 0 else "right", "toe" if x < at.length / 2 else "heel"
    is_corner = arc.radius < at.plan.half_width
    return f"{side} corner of the {end}" if is_corner else f"{side} side, drawn in to the {end}"


def _upright(arc: Arc, at: Layout) -> Round:
    mx, my = arc.at(0.5)
    middle = np.array([mx - arc.centre[0], my - arc.centre[1], 0.0]) / arc.radius
    centre, up = np.array([*arc.centre, 0.0]), np.array([0.0, 0.0, 1.0])
    outward = -1.0 if arc.clockwise else 1.0
    return Round(centre, up, arc.radius, middle, abs(arc.sweep) / 2, (0.0, at.height - at.edge_size), outward)


def _level(z: float, normal: float, span: tuple[float, float], half: float) -> Flat | None:
    if span[1] - span[0] < LEAST_FACE:
        return None
    up = np.array([0.0, 0.0, normal])
    return Flat(np.array([0.0, 0.0, z]), up, np.array([1.0, 0.0, 0.0]), span, (half, half))


def _seat_half(at: Layout) -> float:
    ys = [piece.start[1] for piece in at.seat]
    return max(ys) if at.let_in > 0 else min(max(ys), at.plan.half_width)


def _seat(values: Values, at: Layout) -> Face | None:
    rear = at.tail.cove_high[0] if at.tail else at.seat_rear[0]
    return _level(values[THICKNESS], 1.0, (max(0.0, at.seat_front[0]), min(rear, at.length)), _seat_half(at))


def _top(values: Values, at: Layout) -> Face | None:
    half = min(at.plan.toe.half_width, at.plan.half_width)
    return _level(values[THICKNESS] + values[LET_IN], 1.0, (0.0, at.seat_front[0]), half)


def _tail(values: Values, at: Layout) -> Face | None:
    assert at.tail is not None
    end = values[LENGTH] if at.tail_full_width else at.tail.rear[0]
    return _level(values[THICKNESS] - values[DROP], 1.0, (at.tail.level_from[0], min(end, values[LENGTH])), _seat_half(at))


def _cove(values: Values, at: Layout) -> Face | None:
    assert at.tail is not None
    if at.tail.centre is None:
        return None
    radius = at.tail.centre[1] - at.tail.cove_low[1]
    drop = min(values[DROP], 2 * radius)
    if drop < LEAST_FACE or radius < LEAST_FACE:
        return None
    turn = math.acos(1.0 - drop / radius) / 2
    centre = np.array([at.tail.cove_low[0], 0.0, values[THICKNESS] - values[DROP] + radius])
    half = _seat_half(at)
    middle = np.array([-math.sin(turn), 0.0, -math.cos(turn)])
    return Round(centre, np.array([0.0, 1.0, 0.0]), radius, middle, turn, (-half, half), outward=-1.0)


def _bed(values: Values, at: Layout) -> Face | None:
    theta = math.radians(values[ANGLE])
    along = np.array([math.cos(theta), 0.0, math.sin(theta)])
    normal = np.array([-math.sin(theta), 0.0, math.cos(theta)])
    return Flat(np.array([values[BED_FOOT], 0.0, 0.0]), normal, along, (0.0, values[THICKNESS] / math.sin(theta)),
                (at.throat_half_width, at.throat_half_width))  # fmt: skip


def _leaning(foot: Array, lean: float, rise: float, half: float) -> Flat | None:
    """Return a front wall of the throat: it leans toe-ward by `lean` degrees from plumb and faces the heel."""
    if rise < LEAST_FACE:
        return None
    angle = math.radians(lean)
    up = np.array([-math.sin(angle), 0.0, math.cos(angle)])
    return Flat(foot, np.array([math.cos(angle), 0.0, math.sin(angle)]), up, (0.0, rise / math.cos(angle)), (half, half))


def _wear(values: Values, at: Layout) -> Face | None:
    foot = np.array([values[MOUTH_FRONT], 0.0, 0.0])
    return _leaning(foot, values[WEAR_LEAN], at.wear_top[1], at.throat_half_width)


def _breast(values: Values, at: Layout) -> Face | None:
    height = at.wear_top[1]
    foot = np.array([values[MOUTH_FRONT] - height * math.tan(math.radians(values[WEAR_LEAN])), 0.0, height])
    return _leaning(foot, values[BREAST_LEAN], values[THICKNESS] - height, at.throat_half_width)


def _side(at: Layout, sign: float) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        span = (at.plan.toe.shoulder, at.plan.heel.shoulder)
        if span[1] - span[0] < LEAST_FACE:
            return None
        half = (at.height - at.edge_size) / 2
        point = np.array([0.0, sign * values[WIDTH] / 2, half])
        return Flat(point, np.array([0.0, sign, 0.0]), np.array([1.0, 0.0, 0.0]), span, (half, half))

    return place


def _end(x: float, sign: float, half: float, at: Layout) -> Face | None:
    end = at.plan.toe if sign < 0 else at.plan.heel
    wide = half - end.corner_radius
    high = at.top_at(x) - at.edge_size
    if min(wide, high) < LEAST_FACE:
        return None
    normal, up = np.array([sign, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    return Flat(np.array([x, 0.0, 0.0]), normal, up, (0.0, high), (wide, wide))


def _exists(name: str, points: Array, at: Layout) -> Mask:
    """Leave out what throat and lowered tail take away, and of the sole what lies beyond the drawn-in ends."""
    x, y, z = points.T
    gone = np.zeros(len(points), dtype=bool)
    if name == "sole":
        mouth = (x > at.mouth_front[0]) & (x < at.bed_foot[0]) & (np.abs(y) < at.throat_half_width)
        gone = mouth | (np.abs(y) >= np.array([at.plan.half_width_at(float(place)) for place in x]))
    elif name == "seat":
        gone = (x > at.breast_top[0]) & (x < at.corner[0]) & (np.abs(y) < at.throat_half_width)
    elif name in ("left cheek", "right cheek") or name.startswith("side "):
        gone = z >= np.array([at.top_at(float(place)) for place in x])
    elif name == "bed" and at.recess is not None:
        gone = (x > at.recess[0][0]) & (x < at.recess[3][0]) & (np.abs(y) < at.recess_half_width)
    return ~gone
