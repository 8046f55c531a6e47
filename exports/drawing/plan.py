"""The body from above, with casting and screws, and from below, with the mouth. Datum: toe and mid-plane."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import Item, Stroke, View
from planestock.exports.drawing.pen import Level, Pen, degrees, drilled_circle, running
from planestock.exports.wording.said import many
from planestock.models.bench.drill_table import Drilling, drillings
from planestock.models.bench.marks import mouth_wear
from planestock.models.body.casting_outline import width_at
from planestock.models.body.layout import Layout
from planestock.models.design import Design
from planestock.params.outlines.clipping import frame, kept
from planestock.params.outlines.pieces import Bounds, Point, begun_at, flattened
from planestock.params.outlines.polygons import chain

BEYOND = 6.0
"""How far the mid-plane is drawn beyond the body's ends, mm."""

ABOVE = 8.0
"""Room above the body for what would be crossed by lines on it, mm."""


def top(made: Design) -> View:
    """Return the body from above, toe to the left, the right half upward."""
    at, pen = made.layout, Pen(units=made.given.units)
    holes = [one for one in drillings(made.given, at) if one.face == "top"]
    items = [*_body(at), *_throat_above(at), *_seat(at), *_holes(pen, holes), *_running_top(pen, at, holes)]
    room = Bounds(0.0, -at.plan.half_width, at.length, at.plan.half_width + ABOVE)
    wide = Label(f"throat {pen.figure(at.throat_half_width)} to either side", (at.throat[2][0], -at.throat_half_width * 0.8))
    labels = [*_hole_labels(pen, holes), wide, *_line_names(at), *_names(at, "above")]
    return View("top", "Top", tuple(labelled(pen, items, labels, room)))


def sole(made: Design) -> View:
    """Return the body from below, toe to the left, the right half downward; its second axis is minus y."""
    at, pen = made.layout, Pen(units=made.given.units)
    items = [*_body(at), *_mouth(made), *running(pen, "right", at.length + BEYOND, _widths(pen, at)), *_toe_width(pen, at)]
    room = Bounds(0.0, -at.plan.half_width, at.length, at.plan.half_width)
    return View("sole", "Sole", tuple(labelled(pen, items, [*_mouth_labels(made, pen), *_names(at, "below")], room)))


def _body(at: Layout) -> Iterator[Item]:
    yield Stroke("outline", at.plan.whole_outline())
    yield Stroke("mid-plane", chain((-BEYOND, 0.0), (at.length + BEYOND, 0.0)))
    for side in (1, -1) if at.strip else ():
        yield Stroke("glue lines", chain((0.0, side * at.strip / 2), (at.length, side * at.strip / 2)))


def _throat_above(at: Layout) -> Iterator[Item]:
    w, front, rear = at.throat_half_width, at.breast_top[0], at.throat[2][0]
    yield Stroke("throat", frame(front, -w, rear, w))
    yield Stroke("mouth", frame(at.mouth_front[0], -w, at.bed_foot[0], w))
    if at.recess is not None:
        xs = [x for x, _ in at.recess]
        yield Stroke("bed", frame(min(xs), -at.recess_half_width, max(xs), at.recess_half_width), "narrow")


def _seat(at: Layout) -> Iterator[Item]:
    """Yield the casting's outline, its seat as it is cut, and the cove's ends across the body."""
    yield Stroke("metal", at.casting)
    if at.let_in > 0:
        seat = at.seat
        if at.tail is not None and at.tail_full_width:
            seat = begun_at(kept([seat], "left", at.tail.cove_high[0])[0], seat[0].start)
        yield Stroke("seat", seat)
    if at.tail is not None:
        for x, kind in ((at.tail.cove_high[0], None), (at.tail.cove_low[0], "narrow")):
            half = at.plan.half_width_at(x) if at.tail_full_width else _seat_half_width(at, x)
            yield Stroke("seat", chain((x, -half), (x, half)), kind)  # type: ignore[arg-type]


def _seat_half_width(at: Layout, x: float) -> float:
    """Return half the seat's width at x, corners left aside."""
    if at.is_traced:
        return width_at(flattened(at.seat, 0.02), x) / 2
    ys = [abs(point[1]) for piece in at.seat for point in (piece.start, piece.end) if abs(point[0] - x) < abs(at.length)]
    return max(ys, default=0.0)


def _holes(pen: Pen, holes: list[Drilling]) -> Iterator[Item]:
    for one in holes:
        for place in _places(one):
            yield from drilled_circle(pen, place, one.diameter / 2)


def _places(one: Drilling) -> list[Point]:
    return [(one.from_toe, 0.0)] if one.count == 1 else [(one.from_toe, one.across), (one.from_toe, -one.across)]


def _hole_labels(pen: Pen, holes: list[Drilling]) -> Iterator[Label]:
    for one in holes:
        x, y = _places(one)[0]
        aside = f", {pen.figure(one.across)} from the middle" if one.count == 2 else ""
        lean = f", point {degrees(abs(one.lean))} to the {'heel' if one.lean > 0 else 'toe'}" if one.lean else ""
        text = f"Ø {pen.bore(one.diameter)}, {pen.small(one.depth)} deep{aside}{lean}"
        yield Label(text, (x, y), one.diameter / 2 + 2.0)


def _line_names(at: Layout) -> Iterator[Label]:
    """Yield names of the lines that nothing else names: the casting's outline, its seat, mouth and recess below."""
    half = _seat_half_width(at, at.breast_top[0]) if at.let_in > 0 else width_at(flattened(at.casting, 0.02), at.edge[0]) / 2
    along = (at.throat[2][0] + at.seat_rear[0]) / 2
    yield Label("casting" if at.let_in == 0 else "casting, and its seat around it", (along, half))
    yield Label("mouth, on the sole", (at.mouth_front[0], -at.throat_half_width * 0.3))
    if at.recess is not None:
        yield Label("frog's recess", ((at.recess[0][0] + at.recess[3][0]) / 2, at.recess_half_width))


def _running_top(pen: Pen, at: Layout, holes: list[Drilling]) -> Iterator[Item]:
    edge = -at.plan.half_width
    places = [("toe", 0.0, edge), ("heel", at.length, edge), ("breast", at.breast_top[0], -at.throat_half_width),
              ("bed", at.throat[2][0], -at.throat_half_width)]  # fmt: skip
    if at.let_in > 0:
        places.append(("seat, front end", at.seat_front[0], edge))
    if at.tail is not None:
        places += [("cove, upper end", at.tail.cove_high[0], edge), ("cove, lower end", at.tail.cove_low[0], edge)]
    if at.let_in > 0 and (at.tail is None or not at.tail_full_width):
        places.append(("seat, rear end", at.seat_rear[0], edge))
    levels = [Level(x, reach, name, pen.figure(x)) for name, x, reach in places if 0 <= x <= at.length]
    levels += [
        Level(one.from_toe, -one.across - one.diameter / 2 - 2.0, one.kind, pen.figure(one.from_toe)) for one in holes
    ]
    yield from running(pen, "below", edge, levels)
    yield from running(pen, "right", at.length + BEYOND, _widths(pen, at))
    yield from _toe_width(pen, at)


def _widths(pen: Pen, at: Layout) -> list[Level]:
    rows = {"middle": 0.0, "heel": at.plan.heel.half_width, "body": at.plan.half_width}
    if at.strip:
        rows["glue line"] = at.strip / 2
    return [Level(y, at.length + (BEYOND if y == 0 else 0.0), name, pen.figure(y)) for name, y in rows.items()]


def _toe_width(pen: Pen, at: Layout) -> Iterator[Item]:
    """Yield half the toe's width, beside the toe, where it is not the body's."""
    half = at.plan.toe.half_width
    if half < at.plan.half_width:
        yield from running(pen, "left", -BEYOND, [Level(half, 0.0, "toe", pen.figure(half))])


def _mouth(made: Design) -> Iterator[Item]:
    """Yield the mouth now, where it is after the last truing asked for, and the iron's edge."""
    at, w = made.layout, made.layout.throat_half_width
    for wear in mouth_wear(made.given, at)[1:][-1:]:
        yield Stroke("mouth", chain((wear.front, -w), (wear.front, w)), "narrow")
        yield Stroke("mouth", chain((wear.foot, -w), (wear.foot, w)), "narrow")
    yield Stroke("mouth", frame(at.mouth_front[0], -w, at.bed_foot[0], w))
    half = made.given.iron.width.value / 2
    yield Stroke("metal", chain((at.edge[0], -half), (at.edge[0], half)), "narrow")


def _mouth_labels(made: Design, pen: Pen) -> Iterator[Label]:
    at, worn = made.layout, mouth_wear(made.given, made.layout)
    w, half = at.throat_half_width, made.given.iron.width.value / 2
    yield Label(f"mouth, front {pen.figure(at.mouth_front[0])} from the toe", (at.mouth_front[0], w * 0.85))
    yield Label(f"bed, foot {pen.figure(at.bed_foot[0])} from the toe", (at.bed_foot[0], w * 0.85))
    yield Label(f"edge of the iron {pen.figure(at.edge[0])} from the toe", (at.edge[0], -half * 0.9))
    yield Label(f"mouth opening {pen.figure(worn[0].opening)}, front to edge", (at.mouth_front[0], w * 0.45))
    yield Label(f"mouth {pen.figure(w)}, iron {pen.figure(half)} to either side", (at.bed_foot[0], w * 0.5))
    yield Label(f"heel {pen.figure(at.length)} from the toe", (at.length, -at.plan.heel.half_width * 0.5))
    if len(worn) > 1:
        last = worn[-1]
        text = f"after {many(last.truings, 'truing')} ({pen.figure(last.sole)} off the sole): {pen.figure(last.opening)}"
        yield Label(text, (last.foot, -at.throat_half_width * 0.3))


def _names(at: Layout, seen_from: str) -> Iterator[Label]:
    upper, lower = ("right half", "left half") if seen_from == "above" else ("left half", "right half")
    y = at.plan.half_width * 0.55
    yield Label("toe", (1.0, y * 0.5), 2.0, slanted=True, plain=True)
    yield Label("heel", (at.length - 1.0, y * 0.5), 2.0, slanted=True, plain=True)
    x = (at.throat[2][0] + at.length) / 2
    yield Label(upper, (x, y), 0.0, slanted=True, plain=True)
    yield Label(lower, (x, -y), 0.0, slanted=True, plain=True)
    yield Label(f"{'top' if seen_from == 'above' else 'sole'}", (x * 0.2, -y), 0.0, slanted=True, plain=True)
