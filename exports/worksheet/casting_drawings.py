"""The worksheet's pictures of casting, tote and knob, drawn from a plane's own outlines."""

from __future__ import annotations

import math

from planestock.exports.drawing.dimensions import (
    CENTRE,
    NARROW,
    SOFT,
    WIDE,
    Drawn,
    Frame,
    Picture,
    View,
    angle,
    area,
    break_line,
    cut_shape,
    dimension,
    fitted,
    hole,
    leader,
    level,
    line,
    named,
    shape,
    smoothed,
    together,
    upright,
    words,
)
from planestock.exports.worksheet.metal_drawings import FULL_WIDTH, corner_dot, in_order
from planestock.exports.worksheet.shape import Shape, moved
from planestock.models.body.metal_outlines import casting_side
from planestock.params.outlines.pieces import Arc, Outline, Point, stepped, unit

SCREW_CORE = {4: 2.8, 5: 3.2, 6: 3.5, 7: 3.8, 8: 4.2, 9: 4.5, 10: 4.8, 11: 5.2, 12: 5.5, 13: 5.8, 14: 6.1, 15: 6.5, 16: 6.8}


def casting_side_picture(seen: Shape) -> Picture:
    """Return the casting from the side with its cove and lowered tail, let into the wood."""
    given, tail = seen.given.casting, seen.at.tail
    assert tail is not None, "the caller shows the general shape where there is no tail"
    assert tail.centre is not None, "the caller shows the general shape where the cove is no arc"
    front, rear, rise, let_in = given.front.value, given.rear.value, given.thickness.value, given.let_in.value
    drop = given.tail_drop.value
    view = fitted([(front - 14, -drop - 8), (rear + 8, rise + 4)], Frame(12, 6, 154, 28))
    high, low, centre = (seen.from_corner(point) for point in (tail.cove_high, tail.cove_low, tail.centre))
    cove = Arc(high, low, centre, clockwise=False)
    seat, right = view((0, 0))[1], view((rear, 0))[0]
    screw = front + 0.22 * (0 - front)
    left = view((front, 0))[0]
    pieces = [
        _wood_top(seen, view),
        shape(view, seen.casting(), fill=255),
        line((view(high), (right + 14, seat)), CENTRE),
        corner_dot(view((0, 0))),
        upright("casting.let_in", (view((front, 0)), view((front, let_in))), left - 8),
        dimension("casting.thickness", (view((screw, 0)), view((screw, rise))), (0, -1), view((screw, 0))),
        upright("casting.tail_drop", ((right + 6, seat), view((rear, -drop))), right + 9, beside=-1),
        level("casting.tail_length", (view(low), view((rear, -drop))), view((0, -drop))[1] + 9),
        leader("casting.cove_radius", view(cove.at(0.5)), stepped(view(cove.at(0.5)), (-0.5, 0.866), 13)),
        words("seat plane", (right - 2, seat - 1.2), "end"),
        named("wood", view((front * 0.55, -3)), (view((front * 0.55, 0))[0] + 6, seat + 12)),
    ]
    return Picture("casting side", FULL_WIDTH, 39.0, together(pieces), "The casting from the side.", seen.own)


def _wood_top(seen: Shape, view: View) -> Drawn:
    """Return the wood's top on the mid-plane around the casting, throat and holes left aside."""
    at, x = seen.at, seen.at.corner[0]
    start, end = at.seat_front[0] - 14, min(at.seat_rear[0] + 12, at.length)
    steps = [start + (end - start) * index / 200 for index in range(201)]
    gap = [at.seat_front[0] - 1e-6, at.seat_front[0] + 1e-6, at.seat_rear[0] - 1e-6, at.seat_rear[0] + 1e-6]
    points = [view((step - x, at.top_at(step) - at.thickness)) for step in sorted([*steps, *gap])]
    deep = max(y for _, y in points) + 7
    ground = area([*points, (points[-1][0], deep), (points[0][0], deep)], 242)
    return ground + line(points, SOFT)


def casting_plan_picture(seen: Shape) -> Picture:
    """Return the casting from above: its outline, its ends from D, one screw."""
    given = seen.given.casting
    front, rear = given.front.value, given.rear.value
    half_front, half_rear = given.front_width.value / 2, given.rear_width.value / 2
    widest = max(half_front, half_rear)
    outline = moved(seen.at.casting, lambda point: (point[0] - seen.at.corner[0], point[1]))
    view = fitted([(front, -widest), (rear, widest)], Frame(20, 14, 152, 46))
    screw = max(given.screws, key=lambda each: (each.y.value > 0, each.x.value))
    centre, d = view((screw.x.value, screw.y.value)), view((0, 0))
    below, left, right = view((0, -widest))[1] + 7, view((front, 0))[0], view((rear, 0))[0]
    pieces = [
        shape(view, outline),
        _slot(seen, view),
        *_screw_circles(seen, view),
        line((view((front - 6, 0)), view((rear + 6, 0))), CENTRE),
        line((view((0, widest + 3)), (d[0], below + 3)), CENTRE),
        words("level of D", (d[0], below + 6.5), "middle"),
        *(line((view((x, side * half)), view(_meets(outline, side, x > 0))), NARROW)
          for x, half in ((front, half_front), (rear, half_rear)) for side in (1, -1)),
        level("casting.front", (view((front, 0)), (d[0], below - 3)), below),
        level("casting.rear", (view((rear, 0)), (d[0], below - 3)), below),
        upright("casting.front_width", (view((front, half_front)), view((front, -half_front))), left - 9, beside=1),
        upright("casting.rear_width", (view((rear, half_rear)), view((rear, -half_rear))), right + 9, beside=-1),
        level("casting.screws[].x", ((d[0], d[1] - 1), centre), view((0, widest))[1] - 6),
        upright("casting.screws[].y", ((centre[0], d[1]), centre), centre[0] - 7, beside=1),
        _corner_radius(outline, view),
        words("toe", (0, d[1] + 1)),
        words("heel", (FULL_WIDTH, d[1] + 1), "end"),
    ]  # fmt: skip
    return Picture("casting plan", FULL_WIDTH, 62.0, together(pieces), "The casting from above.", seen.own)


def _corner_radius(outline: Outline, view: View) -> Drawn:
    """Return the leader to the corner at the casting's front, below the middle line; to the corner itself if it is sharp."""
    arcs = [piece for piece in outline if isinstance(piece, Arc)]
    places = [arc.at(0.5) for arc in arcs] or [piece.start for piece in outline]
    tip = view(min(places, key=lambda point: point[0] + point[1]))
    return leader("casting.corner_radius", tip, stepped(tip, (-0.707, 0.707), 11))


def _meets(outline: Outline, side: int, rear: bool) -> Point:
    """Return the point where the long side of the casting's plan begins to round off."""
    points = [point for piece in outline for point in (piece.start, piece.end) if point[1] * side > 0]
    widest = [point for point in points if not _on_end(point, outline)] or points
    return max(widest) if rear else min(widest)


def _on_end(point: Point, outline: Outline) -> bool:
    ends = [x for piece in outline for x, _ in (piece.start, piece.end)]
    return math.isclose(point[0], min(ends), abs_tol=1e-6) or math.isclose(point[0], max(ends), abs_tol=1e-6)


def _screw_circles(seen: Shape, view: View) -> list[Drawn]:
    return [
        hole(view((each.x.value, side)), SCREW_CORE[each.gauge] / 2 * view.scale)
        for each in seen.given.casting.screws
        for side in sorted({each.y.value, -each.y.value})
    ]


def _slot(seen: Shape, view: View) -> Drawn:
    """Return the opening that iron and frog go through; where exactly it ends is not measured."""
    front, back = seen.opening()
    half = 0.36 * min(seen.given.casting.front_width.value, seen.given.casting.rear_width.value)
    corners = [(front, -half), (back, -half), (back, half), (front, half)]
    return area([view(corner) for corner in corners], 255, SOFT)


def casting_screw_picture(seen: Shape) -> Picture:
    """Return a wood screw under the casting's top: its gauge and its length."""
    screw = seen.given.casting.screws[0]
    wide, long = SCREW_CORE[screw.gauge], screw.length.value
    view = fitted([(0, -wide), (long, wide)], Frame(16, 8, 62, 22), largest=1.7)
    half = wide / 2
    body = [(0, wide * 0.95), (wide * 0.5, half), (0.8 * long, half * 0.85), (long, 0)]
    outline = [*body, *((x, -y) for x, y in reversed(body[:-1]))]
    turns = [
        line((view((x, half * 0.9)), view((x + 0.05 * long, -half * 0.9))), SOFT)
        for x in (0.4 * long, 0.5 * long, 0.6 * long, 0.7 * long)
    ]
    shank = view((wide * 0.5 + 0.12 * long, half))
    pieces = [
        area([view(point) for point in outline], 255, WIDE),
        *turns,
        level("casting.screws[].length", (view((0, wide * 0.95)), view((long, 0))), view((0, -wide))[1] + 8),
        leader("casting.screws[].gauge", shank, (shank[0] + 5, shank[1] - 7)),
    ]
    return Picture("casting screw", 76.0, 34.0, together(pieces), "A wood screw.", seen.own)


def handles_picture(seen: Shape) -> Picture:
    """Return the bolts of knob and tote in the wood."""
    drawn = _knob(seen) + _tote(seen)
    return Picture("handles", FULL_WIDTH, 84.0, drawn, "The bolts of the knob and of the tote in the wood.", seen.own)


def _section(seen: Shape, view: View, left: float, right: float) -> Drawn:
    """Return the wood between two places from the toe: its top, and breaks where it goes on."""
    at = seen.at
    steps = [left + (right - left) * index / 120 for index in range(121)]
    jumps = [x for edge in (at.seat_front[0], at.seat_rear[0]) for x in (edge - 1e-6, edge + 1e-6) if left < x < right]
    top = [view((step, at.top_at(step))) for step in sorted([*steps, *jumps])]
    low = (view((left, 0)), view((right, 0)))
    ground = area([*top, low[1], low[0]], 242)
    sides = [
        line((view((x, 0)), view((x, at.top_at(x)))), WIDE)
        if x in (0.0, at.length)
        else break_line(view((x, 0)), view((x, at.top_at(x))))
        for x in (left, right)
    ]
    return together([ground, line(top, WIDE), line(low, WIDE), *sides])


def _bore(view: View, start: Point, tilt: float, diameter: float, depth: float) -> tuple[Drawn, list[Point]]:
    """Return a hole in the wood, and its corners on paper: top, bottom on the toe's side, bottom, top on the heel's."""
    axis = view.direction(-90 + tilt)
    square, top = (-axis[1], axis[0]), view(start)
    end, half = stepped(top, axis, depth * view.scale), diameter / 2 * view.scale
    corners = [
        stepped(top, square, half),
        stepped(end, square, half),
        stepped(end, square, -half),
        stepped(top, square, -half),
    ]
    return area(corners, 255) + line(corners, WIDE), corners


def _knob(seen: Shape) -> Drawn:
    knob, at = seen.given.knob, seen.at
    assert knob is not None, "the caller shows the general shape where there is no knob"
    x, top = knob.from_toe.value, at.top_at(knob.from_toe.value)
    far = min(x + 26, at.seat_front[0] - 1) if at.seat_front[0] - 1 > x + 6 else x + 26
    view = fitted([(0, 0), (far, top + 42)], Frame(8, 8, 56, 70), largest=0.75)
    wide, deep = knob.bolt_diameter.value, knob.bolt_depth.value
    bore, corners = _bore(view, (x, top), 0.0, wide, deep)
    axis, sole = view((x, top)), view((0, 0))[1]
    turned_knob = [(3.5, 0), (11, 0), (12, 3), (7, 9), (7, 15), (13, 25), (13, 31), (9, 37), (0, 38.5)]
    side = [view((x + out, top + up)) for out, up in turned_knob[1:]]
    other = [view((x - out, top + up)) for out, up in reversed(turned_knob[1:-1])]
    pieces = [
        words("Knob", (0, 4), bold=True),
        _section(seen, view, 0.0, far),
        area(smoothed([*side, *other]), 255, SOFT),
        bore,
        line((stepped(axis, (0, -1), 40 * view.scale), stepped(axis, (0, 1), deep * view.scale + 5)), CENTRE),
        level("knob.from_toe", (view((0, top * 0.5)), (axis[0], axis[1] + deep * view.scale)), sole + 8),
        upright("knob.bolt_depth", (corners[0], corners[1]), axis[0] - 11, beside=1),
        level("knob.bolt_diameter", (corners[2], corners[1]), corners[1][1] + 4),
        words("toe", (view((0, 0))[0] - 1.5, sole - 2), "end"),
    ]
    return together(pieces)


def _tote(seen: Shape) -> Drawn:
    tote, at = seen.given.tote, seen.at
    assert tote is not None, "the caller shows the general shape where there is no tote"
    assert tote.toe_screw_x is not None, "the caller shows the general shape where there is no toe screw"
    d, bolt, screw = at.corner[0], tote.bolt_x.value, tote.toe_screw_x.value
    tilt = tote.bolt_tilt.value
    high = at.thickness
    start, toe = (d + bolt, at.top_at(d + bolt)), (d + screw, at.top_at(d + screw))
    far = min(max(d + bolt + 44, d + screw + 20), at.length)
    view = fitted([(d - 8, 0), (far, high + 62)], Frame(72, 12, 170, 76))
    bore, corners = _bore(view, start, tilt, tote.bolt_diameter.value, tote.bolt_depth.value)
    small, toes = _bore(view, toe, 0.0, tote.toe_screw_diameter.value, tote.toe_screw_depth.value)
    up, deep = view.direction(90 + tilt), tote.bolt_depth.value * view.scale
    place, corner, toe_at = view(start), view((d, high)), view(toe)
    pieces = [
        words("Tote", (70, 4), bold=True),
        _section(seen, view, d - 8, far),
        cut_shape(view, casting_side(seen.given, at), seen.opening()[1] + d, far, SOFT),
        _tote_outline(view, start, toe, tilt),
        bore,
        small,
        line((stepped(place, up, 66 * view.scale), stepped(place, up, -deep - 5)), CENTRE),
        line((stepped(toe_at, (0, -1), 6), stepped(toe_at, (0, 1), tote.toe_screw_depth.value * view.scale + 4)), CENTRE),
        corner_dot(corner),
        level("tote.toe_screw_x", (corner, toe_at), corner[1] - 12),
        level("tote.bolt_x", (corner, place), corner[1] - 20),
        angle("tote.bolt_tilt", place, in_order(90.0, 90.0 + tilt), 56 * view.scale, 90 - 12 if tilt >= 0 else 90 + 12),
        dimension("tote.bolt_depth", (place, stepped(place, up, -deep)), view.direction(-90 + tilt),
                  stepped(place, (1, 0), 12), beside=-1),
        dimension("tote.bolt_diameter", (corners[1], corners[2]), unit(corners[1], corners[2]),
                  stepped(stepped(place, up, -deep), up, -4)),
        upright("tote.toe_screw_depth", (toes[0], toes[1]), toe_at[0] - 8, beside=1),
        level("tote.toe_screw_diameter", (toes[2], toes[1]), toes[1][1] + 4, beside=1),
        words("towards the toe", (70, view((0, 0))[1] + 5)),
    ]  # fmt: skip
    return together(pieces)


def _tote_outline(view: View, start: Point, toe: Point, tilt: float) -> Drawn:
    """Return a plain handle around its bolt; only its bolts are measured."""
    up, across = view.direction(90 + tilt), view.direction(tilt)
    foot, front = view(start), view(toe)
    s = view.scale
    back = [stepped(stepped(foot, up, h * s), across, w * s) for h, w in ((0, 16), (14, 11), (34, 11), (52, 15), (60, 10))]
    near = [stepped(stepped(foot, up, h * s), across, -w * s) for h, w in ((60, 12), (46, 13), (26, 10), (14, 13))]
    return area(
        smoothed([*back, *near, stepped(front, (-1, 0), 8 * s), stepped(front, (-0.8, -0.6), 7 * s)][::-1]), 255, SOFT
    )
