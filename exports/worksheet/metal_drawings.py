"""The worksheet's pictures of iron, corner, adjuster, frog and bench method, drawn from a plane's own outlines."""

from __future__ import annotations

from planestock.exports.drawing.dimensions import (
    CENTRE,
    HIDDEN,
    NARROW,
    SOFT,
    WIDE,
    Drawn,
    Frame,
    Pen,
    Picture,
    View,
    angle,
    area,
    arrow,
    break_line,
    circle,
    cut_shape,
    dimension,
    fitted,
    hole,
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
from planestock.exports.worksheet.shape import Shape, moved
from planestock.models.body.metal_outlines import SHARP
from planestock.params.outlines.pieces import Outline, Point, flattened, stepped
from planestock.params.outlines.polygons import polygon

FULL_WIDTH = 174.0
"""Width of a picture across the page, mm: between the margins of A4."""

PIN_WIDTH = 4.0
"""Width of the adjuster's pin as drawn, mm; only the side that pushes is measured."""

PLAY_DRAWN = 2.0
"""Play between pin and slot as drawn, mm: more than any, so that it can be seen."""

SLOT_LENGTH = 7.0
"""Length of the cap iron's slot as drawn, mm; only the wall that the pin pushes against is measured."""

LOWEST = -1e3
"""Below any frog, mm down the bed: nothing is broken off."""

SKETCHED_TILT = 12.0
"""Tilt drawn where a screw stands square, degrees, so that the sign can be seen."""


def iron_picture(seen: Shape) -> Picture:
    """Return the iron and cap iron: whole from the side, their edges enlarged, and from above."""
    place = seen.place(seen.edge_low)

    def from_edge(point: Point) -> Point:
        return (point[0] - place.along, point[1])

    iron, cap = moved(seen.iron(place), from_edge), moved(seen.cap_iron(place), from_edge)
    drawn = _iron_whole(seen, iron, cap) + _iron_edge(seen, iron, cap) + _iron_above(seen)
    alt = "The iron and its cap iron lying flat: whole from the side, the edge enlarged, and from above."
    return Picture("iron", FULL_WIDTH, 99.0, drawn, alt, seen.own)


def _iron_whole(seen: Shape, iron: Outline, cap: Outline) -> Drawn:
    given = seen.given
    t, setback = given.iron.thickness.value, given.cap_iron.setback.value
    top, long = t + given.cap_iron.thickness.value, given.iron.length.value
    slot = given.cap_iron.slot_to_edge
    assert slot is not None, "the caller shows the general shape where the slot was not measured"
    wall = setback + slot.value
    view = fitted([point for each in (iron, cap) for point in flattened(each, 0.1)], Frame(12, 17, 162, 27))
    pieces = [
        words("Whole, from the side", (0, 4), bold=True),
        shape(view, iron),
        shape(view, cap, fill=255),
        area([view(p) for p in ((wall, t), (wall + SLOT_LENGTH, t), (wall + SLOT_LENGTH, top), (wall, top))], 255, WIDE),
        level("cap_iron.slot_to_edge", (view((setback, t + SHARP)), view((wall, top))), 11),
        level("iron.length", (view((0, t)), view((long, 0))), 36),
        named("slot for the adjuster's pin", view((wall + SLOT_LENGTH / 2, top)), (view((wall, top))[0] + 9, 15)),
        words("iron", (view((long * 0.9, 0))[0], view((0, t))[1] - 1.5), "middle"),
        words("cap iron", (view((wall * 0.72, 0))[0], view((0, top))[1] - 1.2), "middle"),
        words("edge", (view((0, 0))[0] - 2, view((0, 0))[1] - 1), "end"),
    ]
    return together(pieces)


def _iron_edge(seen: Shape, iron: Outline, cap: Outline) -> Drawn:
    given = seen.given
    t, setback, hump = given.iron.thickness.value, given.cap_iron.setback.value, given.cap_iron.hump_distance.value
    top, crest = t + given.cap_iron.thickness.value, t + given.cap_iron.hump_height.value
    end = setback + 2 * hump + 0.4 * hump
    view = fitted([(0, 0), (end, crest)], Frame(22, 62, 92, 84))
    edge, front, right = view((0, t)), view((setback, t + SHARP)), view((end, 0))[0]
    pieces = [
        words("The edge, enlarged; cap iron screwed down", (0, 46), bold=True),
        cut_shape(view, iron, -1, end),
        cut_shape(view, cap, -1, end),
        break_line(view((end, 0)), view((end, top))),
        upright("cap_iron.hump_height", (view((setback + hump, crest)), edge), edge[0] - 9, beside=1),
        level("cap_iron.hump_distance", (front, view((setback + hump, crest))), view((0, crest))[1] - 6, beside=-1),
        dimension("cap_iron.setback", (edge, front), (-1, 0), (0, view((0, crest))[1] - 13)),
        upright("iron.thickness", (view((end, t)), view((end, 0))), right + 7),
        dimension("cap_iron.thickness", (view((end, t)), view((end, top))), (0, -1), (right + 14, 0)),
        angle("iron.bevel_angle", edge, (-given.iron.bevel_angle.value, 0), 17, -given.iron.bevel_angle.value - 14),
        words("cap iron", view((setback + 1.35 * hump, t + 0.15 * (crest - t))), "middle"),
    ]
    return together(pieces)


def _iron_above(seen: Shape) -> Drawn:
    given = seen.given
    half, cap_half, back = given.iron.width.value / 2, given.cap_iron.width.value / 2, given.cap_iron.setback.value
    deep = 0.66 * 2 * half
    view = fitted([(-half, 0), (half, deep)], Frame(126, 54, 170, 84), largest=0.85)
    low, high = view((0, 0))[1], deep * 0.82
    cap = [view(p) for p in ((-cap_half, high), (-cap_half, back), (cap_half, back), (cap_half, high))]
    middle = deep * 0.42
    pieces = [
        words("From above", (view((-half, 0))[0], 46), bold=True),
        path_of(view, [(-half, deep), (-half, 0), (half, 0), (half, deep)]),
        break_line(view((-half, deep)), view((half, deep))),
        area(cap, 255),
        line(cap, WIDE),
        break_line(cap[0], cap[-1]),
        level("cap_iron.width", (view((-cap_half, middle)), view((cap_half, middle))), view((0, middle))[1]),
        level("iron.width", (view((-half, 0)), view((half, 0))), low + 8),
    ]
    return together(pieces)


def corner_picture(seen: Shape) -> Picture:
    """Return how the corner D is found: the lines of the underside and of the frog's face, scribed on a card."""
    view = fitted([(-40, -24), (40, 27)], Frame(2, 2, 82, 58))
    bed = seen.bed_view(view)
    d, up = view((0, 0)), view.direction(seen.at.bed_angle)
    card = [view(p) for p in ((-30, 1.5), (-30, -22), (26, -22), (26, 1.5))]
    pieces = [
        area(card, 240, SOFT),
        _frog(seen, bed, -24, 34),
        _casting(seen, view, -40, 40),
        line((view((-40, 0)), view((40, 0))), NARROW),
        line((bed((-28, 0)), bed((36, 0))), NARROW),
        circle(d, 0.9, None, 0),
        circle(d, 2.2, NARROW),
        words("D", (d[0] - 6, d[1] - 3), bold=True),
        _way(stepped(d, up, 15), up, "+", (-4.0, -0.5)),
        _way(stepped(d, up, -9), (-up[0], -up[1]), "−", (-4.5, 0.0)),
        _way(stepped(d, (1, 0), 12), (1.0, 0.0), "+", (-1.0, 4.4)),
        _way(stepped(d, (1, 0), -9), (-1.0, 0.0), "−", (-1.0, 4.4)),
        words("card", stepped(card[2], (-0.95, -0.3), 4), "end"),
        words("toe", (view((-40, 0))[0], d[1] + 5)),
        words("heel", (view((40, 0))[0], d[1] + 5), "end"),
    ]
    alt = "The line of the casting's underside and the line of the frog's face cross at the corner D."
    return Picture("corner", 84.0, 60.0, together(pieces), alt, seen.own)


def _way(start: Point, way: Point, sign: str, off: Point) -> Drawn:
    """Return a short arrow with the sign that belongs to its direction."""
    end = stepped(start, way, 7)
    return line((start, end)) + arrow(end, way) + words(sign, (end[0] + off[0], end[1] + off[1]), bold=True)


def _casting(seen: Shape, view: View, left: float, right: float, pen: Pen = WIDE) -> Drawn:
    """Return the casting's side between two places from D, open where iron and frog go through it."""
    rise = seen.given.casting.thickness.value
    front, back = seen.opening()
    outline = seen.casting()
    pieces = [cut_shape(view, outline, left, front, pen), cut_shape(view, outline, back, right, pen)]
    ends = [line((view((x, 0)), view((x, rise))), pen) for x in (front, back) if left < x < right]
    return together([*pieces, *ends])


def _frog(seen: Shape, bed: View, low: float, top: float) -> Drawn:
    """Return the frog's side between two places on the bed, with a soft line where it is broken off.

    How the foot hangs on the rest is not measured; a thin web is sketched.
    """
    foot, upper = seen.frog()
    if not foot:
        foot = polygon([(seen.given.frog.foot_low.value, 0.0), (seen.given.frog.foot_high.value, 0.0)])
    start, end = max(x for x, _ in flattened(foot, 0.1)), min(x for x, _ in flattened(upper, 0.1))
    web = 0.45 * min(y for _, y in flattened(foot, 0.1)) or -1.0
    pieces = (
        [cut_shape(bed, polygon([(start, 0), (start, web), (end, web), (end, 0)]), low, top, SOFT)] if start < end else []
    )
    for outline in (foot, upper):
        points = flattened(outline, 0.1)
        pieces.append(cut_shape(bed, outline, low, top))
        ends = (min(x for x, _ in points), max(x for x, _ in points))
        deep = min(y for _, y in points)
        pieces += [line((bed((x, 0)), bed((x, deep))), SOFT) for x in (low, top) if ends[0] < x < ends[1]]
    return together(pieces)


def adjuster_picture(seen: Shape) -> Picture:
    """Return the adjuster's pin at both ends of its travel, on the bed line from the corner D."""
    given, adjuster = seen.given, seen.given.adjuster
    assert adjuster is not None, "the caller shows the general shape where the adjuster was not measured"
    low, high = adjuster.pin_low.value, adjuster.pin_high.value
    top = max(high + 14, 30.0)
    cos, sin = seen.at.up_the_bed
    view = fitted([(-14, -12), (top * cos + 4, top * sin)], Frame(38, 9, 112, 78))
    bed = seen.bed_view(view)
    out = given.iron.thickness.value + given.cap_iron.thickness.value
    place = seen.place(seen.edge_low)
    up, off, d = view.direction(seen.at.bed_angle), view.direction(seen.at.bed_angle + 90), bed((0, 0))
    touch, wall = out * 0.75, high + PIN_WIDTH + PLAY_DRAWN
    pieces = [
        _frog(seen, bed, -16, top),
        _casting(seen, view, -14, top * cos + 4),
        cut_shape(bed, seen.iron(place), -14, top - 3, SOFT),
        cut_shape(bed, seen.cap_iron(place), -14, top - 3, SOFT),
        line((view((-14, 0)), view((top * cos, 0))), CENTRE),
        line((bed((-16, 0)), bed((top, 0))), NARROW),
        _pin(bed, high, out, HIDDEN),
        _pin(bed, low, out, WIDE),
        corner_dot(d),
        dimension("adjuster.pin_low", (d, bed((low, touch))), up, stepped(d, off, 15)),
        dimension("adjuster.pin_high", (d, bed((high, touch))), up, stepped(d, off, 24)),
        line((bed((wall, 0.35 * out)), bed((wall, out + 1))), WIDE),
        dimension(
            "adjuster.play", (bed((high + PIN_WIDTH, out)), bed((wall, out))), up, stepped(bed((wall, out)), off, 6), 1.0
        ),
        named("pin, adjuster all the way out", bed((low + PIN_WIDTH / 2, -0.4)), (118, view((0, 0))[1] - 12)),
        named("pin, adjuster all the way back", bed((high + PIN_WIDTH / 2, 0.2)), (118, view((0, 0))[1] - 24)),
        named("seat plane: the casting's underside", view((14, 0)), (118, view((0, 0))[1] + 6)),
        words("grey: iron and cap iron", (118, view((0, 0))[1] + 14)),
        words("frog", stepped(bed((-9, 0)), view.direction(seen.at.bed_angle - 90), 12)),
    ]
    return Picture(
        "adjuster", FULL_WIDTH, 80.0, together(pieces), "The adjuster's pin at both ends of its travel.", seen.own
    )


def _pin(bed: View, place: float, out: float, pen: Pen) -> Drawn:
    corners = [(place, 0.0), (place, out + 1), (place + PIN_WIDTH, out + 1), (place + PIN_WIDTH, 0.0)]
    return area([bed(corner) for corner in corners], 255, pen)


def corner_dot(d: Point) -> Drawn:
    """Return the corner D as a dot with its letter."""
    return circle(d, 0.8, None, 0) + words("D", (d[0] + 1.8, d[1] + 4.4), bold=True)


def frog_picture(seen: Shape) -> Picture:
    """Return the frog from the side, and its foot seen square to its face."""
    drawn = _frog_side(seen) + _frog_face(seen) + _frog_hole(seen)
    return Picture(
        "frog", FULL_WIDTH, 86.0, drawn, "The frog from the side, its foot square to its face, and a screw's hole.", seen.own
    )


def _frog_side(seen: Shape) -> Drawn:
    frog, theta = seen.given.frog, seen.at.bed_angle
    low, high, thick, deep = (
        reading.value for reading in (frog.foot_low, frog.foot_high, frog.foot_thickness, frog.recess_depth)
    )
    cos, sin = seen.at.up_the_bed
    top = 36.0
    view = fitted([(low * cos, low * sin), (top * cos + 8, top * sin)], Frame(22, 7, 92, 69))
    bed = seen.bed_view(view)
    up, off, d = view.direction(theta), view.direction(theta + 90), view((0, 0))
    pieces = [
        words("From the side", (0, 4), bold=True),
        _frog(seen, bed, LOWEST, top),
        _casting(seen, view, -22, top * cos + 8),
        line((bed((low - 6, 0)), bed((low, 0)))),
        line((bed((high, 0)), bed((top, 0)))),
        line((view((-22, 0)), view((top * cos + 8, 0))), CENTRE),
        path_of(bed, [(low, 0), (low, -deep), (high, -deep), (high, 0)], HIDDEN),
        corner_dot(d),
        dimension("frog.foot_high", (d, bed((high, 0))), up, stepped(d, off, 10), beside=-1),
        dimension("frog.foot_low", (d, bed((low, 0))), up, stepped(d, off, 20)),
        dimension("frog.foot_thickness", (bed((low, 0)), bed((low, -thick))), (-off[0], -off[1]),
                  stepped(bed((low, 0)), up, -6)),
        leader("frog.recess_depth", bed(((low + high) / 2, -deep)), stepped(bed(((low + high) / 2, -deep)), off, -15)),
        angle("frog.bed_angle", d, (0, theta), 24),
    ]  # fmt: skip
    return together(pieces)


def _frog_face(seen: Shape) -> Drawn:
    frog = seen.given.frog
    half, low, high = frog.width.value / 2, frog.foot_low.value, frog.foot_high.value
    view = fitted([(-half, low), (half, max(high, 0))], Frame(112, 17, 158, 42))
    screw = max(frog.screws, key=lambda each: each.across.value)
    centre = view((screw.across.value, screw.along.value))
    left, right = view((-half, 0))[0], view((half, 0))[0]
    bottom = view((0, low))[1]
    foot = [view(p) for p in ((-half, low), (half, low), (half, high), (-half, high))]
    d = view((0, 0))
    holes = [
        hole(view((side, each.along.value)), each.diameter.value / 2 * view.scale)
        for each in frog.screws
        for side in sorted({each.across.value, -each.across.value})
    ]
    pieces = [
        words("The foot, square to its face", (104, 4), bold=True),
        area(foot, 255, WIDE),
        *holes,
        line((view((0, low - 3)), (d[0], d[1] - 9)), CENTRE),
        line(((left - 4, d[1]), (right + 14, d[1])), CENTRE),
        words("level of D", (left - 4, d[1] - 1.2)),
        level("frog.width", (foot[0], foot[1]), bottom + 5.5),
        level("frog.screws[].across", (d, centre), d[1] - 7),
        upright("frog.screws[].along", ((right + 2, d[1]), centre), right + 9),
        words("towards the sole", (right + 3, bottom + 1)),
    ]
    return together(pieces)


def _frog_hole(seen: Shape) -> Drawn:
    """Return the hole of a frog screw in the bed: how wide, how deep, how it leans."""
    frog = seen.given.frog
    screw = frog.screws[0]
    tilt = screw.tilt.value if abs(screw.tilt.value) >= 5 else SKETCHED_TILT
    deep, wide, recess = screw.depth.value, screw.diameter.value, frog.recess_depth.value
    view = fitted([(-16, 2), (16, -recess - deep - 3)], Frame(112, 62, 166, 77), largest=1.1)
    axis = view.direction(-90 - tilt)
    square, side = (-axis[1], axis[0]), 1 if tilt > 0 else -1
    outward = (side * square[0], side * square[1])
    start = view((0, -recess))
    end, half = stepped(start, axis, deep * view.scale), wide / 2 * view.scale
    walls = [
        stepped(start, square, half),
        stepped(end, square, half),
        stepped(end, square, -half),
        stepped(start, square, -half),
    ]
    pieces = [
        words("A screw's hole in the bed", (104, 58), bold=True),
        path_of(view, [(-24, 0), (-13, 0), (-13, -recess), (13, -recess), (13, 0), (24, 0)]),
        line(walls, WIDE),
        line((stepped(start, axis, -6), stepped(end, axis, 10)), CENTRE),
        line((stepped(start, (0, 1), -4), stepped(start, (0, 1), deep * view.scale + 6)), NARROW),
        dimension("frog.screws[].depth", (start, end), axis, stepped(start, (side, 0), 16), beside=-side),
        dimension("frog.screws[].diameter", (walls[1], walls[2]), outward, stepped(end, axis, 6)),
        angle("frog.screws[].tilt", start, in_order(-90.0, -90.0 - tilt), deep * view.scale * 0.72, -90 - tilt - 40 * side),
        words("towards the sole", (view((-24, 0))[0] - 1.5, view((0, 0))[1] + 1), "end"),
        words("bed", (view((24, 0))[0] + 1.5, view((0, 0))[1] + 1)),
    ]
    return together(pieces)


def in_order(first: float, second: float) -> tuple[float, float]:
    """Return two directions, the smaller first."""
    return (min(first, second), max(first, second))


def bench_picture(seen: Shape) -> Picture:
    """Return the metal bolted together without the wood: from the seat plane straight down to the edge, both ends."""
    low, high = seen.edge_low, seen.edge_high
    cos, sin = seen.at.up_the_bed
    top = 24.0
    ends = [seen.place(edge) for edge in (low, high)]
    t = seen.given.iron.thickness.value
    view = fitted([(-low * cos / sin - 8, -low), (top * cos + 34, top * sin)], Frame(36, 2, 124, 45))
    bed = seen.bed_view(view)
    edges = [bed((place.along, t)) for place in ends]
    seat = view((0, 0))[1]
    left = edges[0][0]
    pieces = [
        _frog(seen, bed, LOWEST, top),
        _casting(seen, view, (left - 22 - view.origin[0]) / view.scale, top * cos + 34),
        cut_shape(bed, seen.iron(ends[1]), -1e3, top, HIDDEN),
        cut_shape(bed, seen.iron(ends[0]), -1e3, top, WIDE),
        cut_shape(bed, seen.cap_iron(ends[0]), -1e3, top, SOFT),
        line(((left - 30, seat), view((top * cos + 34, 0))), CENTRE),
        upright("bench.edge_high", ((left - 8, seat), edges[1]), left - 8),
        upright("bench.edge_low", ((left - 18, seat), edges[0]), left - 18),
        named("seat plane: the casting's underside", view((26, 0)), (118, seat + 8)),
        named("edge, adjuster all the way back", edges[1], (118, edges[1][1] - 6)),
        named("edge, adjuster all the way out", edges[0], (118, edges[0][1] + 0.5)),
    ]
    return Picture("bench", FULL_WIDTH, 48.0, together(pieces), "From the seat plane straight down to the edge.", seen.own)
