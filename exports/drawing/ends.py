"""The toe, the heel, and the bed seen square on. Datum: the mid-plane and the sole; on the bed the corner D."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import Item, Stroke, View
from planestock.exports.drawing.pen import Level, Pen, drilled_circle, running
from planestock.models.bench.drill_table import Drilling, drillings
from planestock.models.body.layout import Layout
from planestock.models.body.plan import End, corner_centre
from planestock.models.design import Design
from planestock.params.outlines.pieces import Arc, Bounds, Line, Outline
from planestock.params.outlines.polygons import chain, polygon

BEYOND = 4.0
"""How far the mid-plane is drawn beyond the wood, mm."""


def toe(made: Design) -> View:
    """Return the toe end, the right half to the left; its first axis is minus y."""
    at, pen = made.layout, Pen(units=made.given.units)
    levels = _heights(pen, at, at.plan.half_width, at.height)
    items = [*_end(at, at.plan.toe), *running(pen, "right", at.plan.half_width, levels), *_widths(pen, at, at.plan.toe)]
    names = _names(at, "right half", "left half", at.height)
    return View("toe", "Toe end", tuple(labelled(pen, items, list(names), _room(at))))


def heel(made: Design) -> View:
    """Return the heel end, the right half to the right."""
    at, pen = made.layout, Pen(units=made.given.units)
    top = at.top_at(at.length)
    levels = _heights(pen, at, at.plan.half_width, top)
    items = [*_end(at, at.plan.heel), *running(pen, "right", at.plan.half_width, levels), *_widths(pen, at, at.plan.heel)]
    if at.tail is not None and top < at.height:
        half = at.plan.half_width_at(at.tail.cove_high[0])
        items.append(Stroke("seat", chain((-half, top), (half, top))))
    names = _names(at, "left half", "right half", top)
    return View("heel", "Heel end", tuple(labelled(pen, items, list(names), _room(at))))


def _room(at: Layout) -> Bounds:
    return Bounds(-at.plan.half_width, 0.0, at.plan.half_width, at.height)


def _end(at: Layout, end: End) -> Iterator[Item]:
    yield Stroke("outline", across(at))
    flat = corner_centre(end, at.plan.half_width)[1] if end.corner_radius else end.half_width
    for side in (1, -1) if flat < at.plan.half_width else ():
        yield Stroke("outline", chain((side * flat, 0.0), (side * flat, at.height)), "narrow")
    yield Stroke("mid-plane", chain((0.0, -BEYOND), (0.0, at.height + BEYOND)))
    low, high = at.slip, at.height - at.pad
    for side in (1, -1) if at.strip else ():
        yield Stroke("glue lines", chain((side * at.strip / 2, low), (side * at.strip / 2, high)))
    for level in (low, high):
        if 0 < level < at.height:
            yield Stroke("glue lines", chain((-at.plan.half_width, level), (at.plan.half_width, level)))


def across(at: Layout) -> Outline:
    """Return the body's outline across at its widest, its upper edges broken, anticlockwise."""
    w, h, e = at.plan.half_width, at.height, at.edge_size
    if e == 0:
        return polygon([(-w, 0.0), (w, 0.0), (w, h), (-w, h)])
    right: Line | Arc = Line((w, h - e), (w - e, h))
    left: Line | Arc = Line((-w + e, h), (-w, h - e))
    if at.edge_kind == "round":
        right = Arc(right.start, right.end, (w - e, h - e), clockwise=False)
        left = Arc(left.start, left.end, (-w + e, h - e), clockwise=False)
    return (Line((-w, 0.0), (w, 0.0)), Line((w, 0.0), right.start), right, Line(right.end, left.start), left,
            Line(left.end, (-w, 0.0)))  # fmt: skip


def _heights(pen: Pen, at: Layout, reach: float, face_top: float) -> list[Level]:
    rows = {0.0: "sole", at.height: "top", face_top: "top" if face_top == at.height else "tail"}
    if at.slip:
        rows[at.slip] = "slip"
    if at.pad:
        rows[at.height - at.pad] = "pad"
    return [Level(z, reach - (at.edge_size if z == at.height else 0.0), name, pen.figure(z)) for z, name in rows.items()]


def _widths(pen: Pen, at: Layout, end: End) -> Iterator[Item]:
    rows = {0.0: "middle", at.plan.half_width: "body"}
    if end.half_width < at.plan.half_width:
        rows[end.half_width] = "end"
    if at.strip:
        rows[at.strip / 2] = "glue line"
    levels = [Level(y, -BEYOND if y == 0 else 0.0, name, pen.figure(y)) for y, name in rows.items()]
    yield from running(pen, "below", -BEYOND, levels)


def _names(at: Layout, left: str, right: str, top: float) -> Iterator[Label]:
    for name, side in ((left, -1), (right, 1)):
        yield Label(name, (side * at.plan.half_width * 0.5, top * 0.5), 0.0, slanted=True, plain=True)
    if at.pad:
        yield Label("pad", (-at.plan.half_width * 0.5, at.height - at.pad / 2), 0.0, slanted=True, plain=True)
    if at.slip:
        yield Label("slip", (-at.plan.half_width * 0.5, at.slip / 2), 0.0, slanted=True, plain=True)


def bed(made: Design) -> View:
    """Return the bed seen square on from the toe, the right half to the left; second axis up the bed from the corner D."""
    at, pen = made.layout, Pen(units=made.given.units)
    holes = [one for one in drillings(made.given, at) if one.face == "bed"]
    low, high = _bed_ends(at)
    items = [*_bed_lines(at, low, high), *_bed_holes(pen, holes)]
    items += running(pen, "right", at.throat_half_width, _up_the_bed(pen, at, holes, low))
    items += running(pen, "below", low - BEYOND, _across_the_bed(pen, at, holes, low))
    room = Bounds(-at.throat_half_width, low, at.throat_half_width, high)
    return View("bed", "Bed, seen square on", tuple(labelled(pen, items, list(_bed_labels(pen, at, holes, low)), room)))


def _bed_ends(at: Layout) -> tuple[float, float]:
    """Return where the bed begins and ends, up the bed from the corner D."""
    return (-at.thickness / at.up_the_bed[1], at.let_in / at.up_the_bed[1])


def _bed_lines(at: Layout, low: float, high: float) -> Iterator[Item]:
    w = at.throat_half_width
    yield Stroke("bed", _upright(w, low, high))
    yield Stroke("mid-plane", chain((0.0, low - BEYOND), (0.0, high + BEYOND)))
    for side in (1, -1) if at.strip else ():
        yield Stroke("glue lines", chain((side * at.strip / 2, low), (side * at.strip / 2, high)))
    if high > 0:
        yield Stroke("seat", chain((-w, 0.0), (w, 0.0)), "narrow")
    if at.recess is not None:
        yield Stroke("bed", _upright(at.recess_half_width, *_foot(at)))


def _upright(half: float, low: float, high: float) -> Outline:
    return polygon([(-half, low), (half, low), (half, high), (-half, high)])


def _foot(at: Layout) -> list[float]:
    """Return where the frog's recess begins and ends up the bed; nothing where there is none."""
    return [along_bed(at, point) for point in (at.recess[0], at.recess[3])] if at.recess else []


def _bed_holes(pen: Pen, holes: list[Drilling]) -> Iterator[Item]:
    for one in holes:
        for x in (0.0,) if one.count == 1 else (one.across, -one.across):
            yield from drilled_circle(pen, (x, one.along or 0.0), one.diameter / 2)


def _up_the_bed(pen: Pen, at: Layout, holes: list[Drilling], low: float) -> list[Level]:
    w = at.throat_half_width
    rows = [("corner D", 0.0, w), ("bed, foot", low, w)]
    rows += [("recess", along, at.recess_half_width) for along in _foot(at)]
    rows += [("screw", one.along or 0.0, one.across + one.diameter / 2 + 2.0) for one in holes]
    return [Level(along, reach, name, pen.figure(along)) for name, along, reach in rows]


def _across_the_bed(pen: Pen, at: Layout, holes: list[Drilling], low: float) -> list[Level]:
    rows = [("middle", 0.0, low - BEYOND), ("throat", at.throat_half_width, low)]
    if at.recess is not None:
        rows.append(("recess", at.recess_half_width, low))
    rows += [("screw", one.across, low) for one in holes if one.across]
    return [Level(y, reach, name, pen.figure(y)) for name, y, reach in rows]


def _bed_labels(pen: Pen, at: Layout, holes: list[Drilling], low: float) -> Iterator[Label]:
    for one in holes:
        text = f"Ø {pen.bore(one.diameter)}, {pen.small(one.depth)} deep"
        yield Label(text, (-one.across, one.along or 0.0), one.diameter / 2 + 2.0)
    for name, side in (("right half", -0.5), ("left half", 0.5)):
        yield Label(name, (side * at.throat_half_width, low * 0.92), slanted=True, plain=True)


def along_bed(at: Layout, point: tuple[float, float]) -> float:
    """Return how far up the bed from the corner D a point lies, mm."""
    (cos, sin), (x, z) = at.up_the_bed, at.corner
    return (point[0] - x) * cos + (point[1] - z) * sin
