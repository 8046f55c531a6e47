"""The worksheet's pictures of the old body, the new body and its throat, drawn from a plane's own outlines."""

from __future__ import annotations

import math

from planestock.exports.drawing.dimensions import (
    CENTRE,
    HIDDEN,
    NARROW,
    WIDE,
    Drawn,
    Frame,
    Picture,
    View,
    angle,
    area,
    fitted,
    leader,
    level,
    line,
    named,
    path_of,
    shape,
    together,
    upright,
    words,
)
from planestock.exports.worksheet.metal_drawings import FULL_WIDTH, corner_dot, in_order
from planestock.exports.worksheet.shape import Shape
from planestock.params.outlines.pieces import Arc, Outline, Point, flattened, stepped

SKETCHED_ADDITION = 3.0
"""Thickness of what was added to the old body as drawn, mm, where the set gives none."""


def old_body_picture(seen: Shape) -> Picture:
    """Return the old body from the side: three thicknesses and the wood that was added to it."""
    at, old = seen.at, seen.given.old_body
    sole, top = (
        each.value if each is not None and each.value > 0 else SKETCHED_ADDITION
        for each in ((old.sole_patch, old.top_patch) if old else (None, None))
    )
    view = fitted([(0, 0), (at.length, at.height)], Frame(14, 10, 150, 38))
    steps = [at.length * index / 240 for index in range(241)]
    jumps = [x for edge in (at.seat_front[0], at.seat_rear[0]) for x in (edge - 1e-6, edge + 1e-6)]
    outline = [(x, at.top_at(x)) for x in sorted([*steps, *jumps])]
    seat = view((0, at.thickness))[1]
    low = view((0, 0))[1]
    over_x = (at.corner[0] + 6, at.tail.cove_high[0] - 4 if at.tail else at.seat_rear[0] - 4)
    patch = [view(p) for p in ((0, 0), (at.length, 0), (at.length, sole), (0, sole))]
    under = at.thickness - top
    over = [
        view((over_x[0], at.thickness)),
        view((over_x[1], at.thickness)),
        view((over_x[1], under)),
        view((over_x[0], under)),
    ]
    on_sole, on_top = view((at.length * 0.46, sole / 2)), view((sum(over_x) / 2, at.thickness - top / 2))
    front_wall, bed = ([view(point) for point in wall] for wall in _throat_lines(seen))
    mouth, before = at.mouth_front[0] - 4, min(at.breast_top[0], at.mouth_front[0]) - 7
    spots = [("toe", 10.0, 10.0), ("mouth", mouth, before), ("heel", at.length - 10, at.length - 10)]
    pieces = [
        area([view(p) for p in [(0, 0), *outline, (at.length, 0)]], 246, WIDE),
        area(patch, 212, NARROW),
        area(over, 212, NARROW),
        area([*front_wall, *reversed(bed)], 255),
        line(front_wall, WIDE),
        line(bed, WIDE),
        line(((view((0, 0))[0] - 6, seat), (view((at.length, 0))[0] + 6, seat)), CENTRE),
        *(upright(f"old_body.thickness_{name}", ((view((x, 0))[0], seat), view((x, 0))), view((at_x, 0))[0])
          for name, x, at_x in spots),
        leader("old_body.sole_patch", on_sole, (on_sole[0] + 8, low + 8), dot=True),
        leader("old_body.top_patch", on_top, (on_top[0] + 6, view((0, at.height))[1] - 7), dot=True),
        words("seat plane", (view((at.length, 0))[0] + 7, seat + 1)),
        words("toe", (view((0, 0))[0] - 7, low - 8), "end"),
        words("heel", (view((at.length, 0))[0] + 3, low - 3)),
        words("grey: added", (view((at.length * 0.64, 0))[0], low + 9)),
    ]  # fmt: skip
    return Picture("old body", FULL_WIDTH, 52.0, together(pieces), "The old body from the side.", seen.own)


def body_picture(seen: Shape) -> Picture:
    """Return the body from above, and from its heel end."""
    at, body = seen.at, seen.given.body
    half = body.width.value / 2
    outline = at.plan.whole_outline()
    view = fitted([(0, -half), (at.length, half)], Frame(15, 13, 122, 42))
    toe, heel = at.plan.toe.half_width, at.plan.heel.half_width
    left, right, below = view((0, 0))[0], view((at.length, 0))[0], view((0, -half))[1]
    edge = at.edge[0]
    wide = (at.plan.toe.shoulder + at.plan.heel.shoulder) / 2
    behind = at.on_the_bed(at.let_in / at.up_the_bed[1])[0] + 0.05 * at.length
    pieces = [
        words("From above", (0, 4), bold=True),
        shape(view, outline, fill=242),
        _mouth_slot(seen, view),
        line((view((-4, 0)), view((at.length + 4, 0))), CENTRE),
        level("body.toe_to_mouth", (view((0, toe * 0.4)), view((edge, at.throat_half_width))), view((0, half))[1] - 5),
        level("body.length", (view((0, -toe * 0.4)), view((at.length, -heel * 0.4))), below + 8),
        upright("body.width", (view((wide, half)), view((wide, -half))), view((behind, 0))[0]),
        upright("body.toe_width", (view((0, toe)), view((0, -toe))), left - 7, beside=1),
        upright("body.heel_width", (view((at.length, heel)), view((at.length, -heel))), right + 7, beside=-1),
        _end_corner("body.toe_radius", outline, view, 1, -1.0, 11),
        _end_corner("body.heel_radius", outline, view, -1, -1.0, 11),
        _end_view(seen),
    ]
    return Picture("body", FULL_WIDTH, 55.0, together(pieces), "The body from above and from the heel.", seen.own)


def _mouth_slot(seen: Shape, view: View) -> Drawn:
    at = seen.at
    half = at.throat_half_width
    back = at.on_the_bed(at.let_in / at.up_the_bed[1])[0]
    corners = [(at.breast_top[0], -half), (back, -half), (back, half), (at.breast_top[0], half)]
    edge = (view((at.edge[0], -half)), view((at.edge[0], half)))
    return area([view(corner) for corner in corners], 255, NARROW) + line(edge, WIDE)


def _end_corner(path: str, outline: Outline, view: View, sense: int, side: float, far: float) -> Drawn:
    """Return the leader to an end's corner, seen from above. sense: 1 toe, -1 heel; side: -1 the lower one on paper."""
    points = [piece.at(0.5) if isinstance(piece, Arc) else piece.start for piece in outline]
    points += [piece.end for piece in outline]
    tip = view(min(points, key=lambda point: sense * point[0] - side * point[1]))
    return leader(path, tip, stepped(tip, (-0.5 * sense, 0.866), far))


def _end_view(seen: Shape) -> Drawn:
    """Return the body from its heel end: height, laminations, strip, broken edge; the laminations and strip sketched."""
    at, body = seen.at, seen.given.body
    half, high = body.width.value / 2, at.height
    view = fitted([(-half, 0), (half, high)], Frame(142, 15, 163, 42))
    strip = max(at.strip, 0.06 * half) / 2
    pad, slip = max(at.pad, 0.09 * high), max(at.slip, 0.09 * high)
    size = max(body.edge_size.value, 0.05 * half)
    corner = Arc((half, high - size), (half - size, high), (half - size, high - size), clockwise=False)
    arc = flattened((corner,), 0.05) if body.edge == "round" else [corner.start]
    side = [(half, 0.0), *arc, corner.end]
    border = [*side, *((-x, y) for x, y in reversed(side))]
    top = view((0, high))
    tip = view(corner.at(0.5)) if body.edge == "round" else view((half - size / 2, high - size / 2))
    pieces = [
        words("From the heel", (138, 4), bold=True),
        area([view(point) for point in border], 242, WIDE),
        path_of(view, [(-half, high - pad), (half, high - pad)], HIDDEN),
        path_of(view, [(-half, slip), (half, slip)], HIDDEN),
        path_of(view, [(-strip, slip), (-strip, high - pad)], HIDDEN),
        path_of(view, [(strip, slip), (strip, high - pad)], HIDDEN),
        leader("body.pad", view((-half * 0.5, high - pad / 2)), (view((-half, 0))[0] + 1, top[1] - 5), dot=True),
        leader("body.slip", view((half * 0.5, slip / 2)), (view((half, 0))[0], view((0, 0))[1] + 8), dot=True),
        leader("body.centre_strip", view((0, high * 0.45)), (view((-half * 0.45, 0))[0], view((0, 0))[1] + 8), dot=True),
        path_of(view, [(-half * 1.08, at.thickness), (half * 1.15, at.thickness)], CENTRE),
        upright("body.thickness", (view((half, at.thickness)), view((half, 0))), view((half, 0))[0] + 5),
        leader("body.edge_size", tip, (tip[0] + 4, top[1] - 5)),
    ]
    return together(pieces)


def throat_picture(seen: Shape) -> Picture:
    """Return the throat in section, the mouth enlarged, and the room beside the iron."""
    drawn = _throat_whole(seen) + _mouth(seen) + _beside(seen)
    return Picture("throat", FULL_WIDTH, 57.0, drawn, "The throat in section and the mouth enlarged.", seen.own)


def _throat_lines(seen: Shape) -> tuple[tuple[Point, Point, Point], tuple[Point, Point]]:
    """Return mouth front, wear top and breast, and bed foot and corner D: the throat's walls up to the seat plane."""
    at = seen.at
    wear, breast = at.wear_top, at.breast_top
    share = (at.thickness - wear[1]) / (breast[1] - wear[1])
    return (at.mouth_front, wear, (wear[0] + share * (breast[0] - wear[0]), at.thickness)), (at.bed_foot, at.corner)


def _throat_whole(seen: Shape) -> Drawn:
    at = seen.at
    lean = seen.given.throat.breast_lean.value
    front, bed = _throat_lines(seen)
    left, right, top = front[2][0] - 22, at.corner[0] + 18, at.thickness
    view = fitted([(left, 0), (right, top + 6)], Frame(2, 7, 62, 47))
    mouth, wear, breast = (view(point) for point in front)
    foot, d = (view(point) for point in bed)
    pieces = [
        words("The throat", (0, 4), bold=True),
        area([view((left, top)), breast, wear, mouth, view((left, 0))], 242),
        area([view((right, top)), d, foot, view((right, 0))], 242),
        line((view((left, top)), breast, wear, mouth, view((left, 0))), WIDE),
        line((view((right, top)), d, foot, view((right, 0))), WIDE),
        corner_dot(d),
        angle("throat.breast_lean", wear, in_order(90.0, 90.0 + lean), math.dist(wear, breast) * 0.72, 90 - 26),
        words("breast", (breast[0] - 1, (breast[1] + wear[1]) / 2), "end"),
        words("bed", (foot[0] + 16, foot[1] - 10)),
        words("toe", (view((left, 0))[0], view((0, 0))[1] + 5)),
        words("sole", (foot[0] + 8, view((0, 0))[1] + 5)),
    ]
    return together(pieces)


def _mouth(seen: Shape) -> Drawn:
    at, throat = seen.at, seen.given.throat
    high, lean = throat.wear_height.value, throat.wear_lean.value
    left, right, top = at.wear_top[0] - 0.6 * high, at.bed_foot[0] + 1.1 * high, 1.7 * high
    view = fitted([(left, 0), (right, top)], Frame(76, 11, 124, 46))
    mouth, wear, foot = view(at.mouth_front), view(at.wear_top), view(at.bed_foot)
    breast = view((at.wear_top[0] - (top - high) * math.tan(math.radians(throat.breast_lean.value)), top))
    bed_top = view((at.bed_foot[0] + top * at.up_the_bed[0] / at.up_the_bed[1], top))
    edge = view(at.edge)
    t, sole = seen.given.iron.thickness.value, view((0, 0))[1]
    bevel = t / math.tan(math.radians(seen.given.iron.bevel_angle.value))
    bed = View(view.scale, view(at.bed_foot), at.bed_angle)
    start = -t * at.up_the_bed[0] / at.up_the_bed[1]
    far = top / at.up_the_bed[1]
    iron = [bed(p) for p in ((far, 0.0), (start + bevel, 0.0), (start, t), (far + start, t))]
    pieces = [
        words("The mouth, enlarged", (72, 4), bold=True),
        area([(72, breast[1]), breast, wear, mouth, (72, sole)], 242),
        area([(128, bed_top[1]), bed_top, foot, (128, sole)], 242),
        line((breast, wear, mouth, (72, sole)), WIDE),
        line((bed_top, foot, (128, sole)), WIDE),
        line(iron, WIDE),
        level("throat.opening", (mouth, edge), sole + 7),
        upright("throat.wear_height", (mouth, wear), min(wear[0], breast[0]) - 5, beside=1),
        angle("throat.wear_lean", mouth, in_order(90.0, 90.0 + lean), high * view.scale + 6, 90 - 22),
        words("iron", ((iron[0][0] + iron[3][0]) / 2 - 3, iron[0][1] - 1.5), "end"),
        named("wear", ((mouth[0] + wear[0]) / 2, (mouth[1] + wear[1]) / 2), (mouth[0] - 8, sole + 5), "end"),
        words("sole", (foot[0] + 9, sole + 5)),
    ]
    return together(pieces)


def _beside(seen: Shape) -> Drawn:
    at = seen.at
    half, iron = at.throat_half_width, seen.given.iron.width.value / 2
    view = fitted([(-half, -4), (half, 10)], Frame(140, 12, 168, 36))
    wall = [view(point) for point in ((-half, 16), (-half, -6), (half, -6), (half, 16))]
    steel = [view(point) for point in ((-iron, 16), (-iron, 0), (iron, 0), (iron, 16))]
    pieces = [
        words("The mouth, from below", (134, 4), bold=True),
        area([(wall[0][0] - 6, wall[0][1]), wall[0], wall[1], wall[2], wall[3], (wall[3][0] + 6, wall[3][1]),
              (wall[3][0] + 6, wall[1][1] + 5), (wall[0][0] - 6, wall[1][1] + 5)], 242),
        line(wall, WIDE),
        area(steel, 255),
        line(steel, WIDE),
        level("throat.side_clearance", (steel[2], wall[2]), steel[2][1] + 12, beside=1),
        words("iron", view((0, 5)), "middle"),
    ]  # fmt: skip
    return together(pieces)
