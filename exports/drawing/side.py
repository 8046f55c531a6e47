"""The inside face of each half: the face the layout is knifed on. Datum: the toe and the sole."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import Item, Round, Stroke, View, clipped
from planestock.exports.drawing.pen import Level, Pen, degrees, drilled_circle, running
from planestock.models.bench.marks import Mark, front_end, marks, rear_end
from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.models.design import Design
from planestock.params.outlines.along import point_at
from planestock.params.outlines.pieces import Bounds, Line, Outline, Piece, mirrored_along
from planestock.params.outlines.polygons import chain, polygon

LEAST_GROOVE = 0.5
"""Half the width of a groove in the mating face from which its edges are drawn as such, mm. Nearer, two wide lines are
one bar; the hole is then drawn hidden."""


def inside_right(made: Design) -> View:
    """Return the right half's inside face with all its dimensions, toe to the left."""
    at, pen = made.layout, Pen(units=made.given.units)
    items = [*lines(at), *_running(pen, at)]
    room = Bounds(0.0, 0.0, at.length, at.height)
    items = labelled(pen, items, [*_labels(made, pen), *_names(at, "right half")], room)
    return View("inside-right-half", "Inside face, right half", tuple(items))


def inside_left(made: Design) -> View:
    """Return the left half's inside face, the toe to the right; its first axis is minus the distance from the toe."""
    at, pen = made.layout, Pen(units=made.given.units)
    items = [_turned_over(item) for item in lines(at)]
    names = [Label(one.text, (-one.target[0], one.target[1]), one.clearance, one.slanted, one.plain)
             for one in (*_short_labels(at), *_names(at, "left half"))]  # fmt: skip
    room = Bounds(-at.length, 0.0, 0.0, at.height)
    return View("inside-left-half", "Inside face, left half", tuple(labelled(pen, items, names, room)))


def strip_side(made: Design) -> View:
    """Return the centre strip's left side, toe to the left, as it is before pad and slip are glued on."""
    at, pen = _with_holes_of_the_strip(made.layout), Pen(units=made.given.units)
    box = Bounds(0.0, at.slip, at.length, at.height - at.pad)
    corners = [(box.left, box.low), (box.right, box.low), (box.right, box.high), (box.left, box.high)]
    inner = [item for item in lines(at) if item.layer not in ("outline", "glue lines")]
    items: list[Item] = [Stroke("outline", polygon(corners)), *clipped(inner, box)]
    rear = (at.throat[2][0] + at.length) / 2
    names = [
        Label("front piece", (at.mouth_front[0] / 2, (box.low + box.high) / 2), slanted=True, plain=True),
        Label("rear piece", (rear, box.low + (min(box.high, at.top_at(rear)) - box.low) / 2), slanted=True, plain=True),
        Label("toe", (1.0, box.low + box.height * 0.45), 2.0, slanted=True, plain=True),
        Label("heel", (at.length - 1.0, box.low + box.height * 0.3), 2.0, slanted=True, plain=True),
    ]
    wide = Label(f"strip {pen.figure(at.strip)} thick", (at.mouth_front[0] * 0.5, box.low), slanted=True)
    short = [label for label in _short_labels(at) if box.holds(Bounds(*label.target, *label.target))]
    items = labelled(pen, items, [wide, *short, *names], box)
    return View("centre-strip", "Centre strip, left side", tuple(items))


def _with_holes_of_the_strip(at: Layout) -> Layout:
    """Return the layout with only those holes that go into the strip."""
    return replace(at, holes=tuple(hole for hole in at.holes if abs(hole.start[1]) - hole.radius < at.strip / 2
                                   or hole.kind == "dowel"))  # fmt: skip


def _turned_over(item: Item) -> Item:
    """Return a line or circle of the inside face as it is seen on the other half."""
    if isinstance(item, Stroke):
        return replace(item, pieces=mirrored_along(item.pieces))
    assert isinstance(item, Round), "the bare lines of a face hold neither words nor areas"
    return replace(item, centre=(-item.centre[0], item.centre[1]))


def lines(at: Layout) -> Iterator[Item]:
    """Yield the lines of the inside face: blank, glue lines, throat, bed with recess, seat with cove and tail, holes."""
    yield Stroke("outline", polygon([(0.0, 0.0), (at.length, 0.0), (at.length, at.height), (0.0, at.height)]))
    for level in (at.slip, at.height - at.pad):
        if 0 < level < at.height:
            yield Stroke("glue lines", chain((0.0, level), (at.length, level)))
    yield Stroke("throat", polygon(at.throat))
    yield Stroke("bed", chain(at.bed_foot, at.throat[2]))
    yield Stroke("mouth", chain(at.mouth_front, at.bed_foot))
    if at.recess is not None:
        yield Stroke("bed", polygon(at.recess))
    seat = seat_cut(at)
    if seat is not None:
        yield Stroke("seat", seat)
    for hole in at.holes:
        yield from _hole(at, hole)


def seat_cut(at: Layout) -> Outline | None:
    """Return what seat, cove and tail take from the side view, closed, anticlockwise; None where the top stays as it is."""
    if at.let_in == 0 and at.tail is None:
        return None
    front = (max(0.0, at.seat_front[0]), at.thickness)
    rear = at.length if at.tail is not None and at.tail_full_width else min(at.seat_rear[0], at.length)
    floor: list[Piece] = []
    if at.tail is None:
        floor.append(Line(front, (rear, at.thickness)))
    else:
        high, low = at.tail.cove_high, at.tail.level_from
        begin = front if at.let_in > 0 else high
        floor += [Line(begin, high)] if begin != high else []
        floor += [*at.tail.fall, *([Line(low, (rear, low[1]))] if low[0] < rear else [])]
    corners = [floor[-1].end, (rear, at.height), (floor[0].start[0], at.height), floor[0].start]
    return (*floor, *chain(*corners))


def _hole(at: Layout, hole: Hole) -> Iterator[Item]:
    """Yield a hole as it shows on the mating face: dowels round, those on the mid-plane as grooves, others hidden."""
    (x, _, z), (dx, _, dz) = hole.start, hole.direction
    if hole.kind == "dowel":
        yield from drilled_circle(Pen(), (x, z), hole.radius)
        return
    groove = half_groove(hole, at)
    on_face = groove >= LEAST_GROOVE
    width = groove if on_face else hole.radius
    end = (hole.end[0], hole.end[2])
    side = (-dz * width, dx * width)
    corners = [(x + side[0], z + side[1]), (x - side[0], z - side[1]), (end[0] - side[0], end[1] - side[1]),
               (end[0] + side[0], end[1] + side[1])]  # fmt: skip
    yield Stroke("holes", polygon(corners), None if on_face else "dashed")
    beyond = 2.0
    yield Stroke("holes", chain((x - beyond * dx, z - beyond * dz), (end[0] + beyond * dx, end[1] + beyond * dz)), "centre")


def half_groove(hole: Hole, at: Layout) -> float:
    """Return half the width of the groove that a hole leaves in the mating face, mm; 0 where it does not reach the face."""
    off = abs(abs(hole.start[1]) - at.strip / 2)
    return math.sqrt(hole.radius**2 - off**2) if off < hole.radius else 0.0


def _running(pen: Pen, at: Layout) -> Iterator[Item]:
    found = marks(at)
    dowels = [hole for hole in at.holes if hole.kind == "dowel"]
    low = [Level(0.0, 0.0, "toe", pen.figure(0.0))]
    low += [Level(mark.from_toe, 0.0, mark.name, pen.figure(mark.from_toe)) for mark in found if mark.face == "sole"]
    low += [Level(hole.start[0], hole.start[2] - hole.radius - 2.0, "dowel", pen.figure(hole.start[0])) for hole in dowels]
    yield from running(pen, "below", 0.0, low)
    high = [level for mark in found if 0 < mark.from_toe <= at.length for level in _upward(pen, at, mark)]
    yield from running(pen, "above", at.height, high)
    yield from running(pen, "right", at.length, _heights(pen, at))


def _upward(pen: Pen, at: Layout, mark: Mark) -> Iterator[Level]:
    """Yield the level above the face for a mark that has one there."""
    figure, corner = pen.figure(mark.from_toe), "corner D, bed meets seat"
    if mark.face == "top" and mark.name in ("breast", "bed"):
        yield Level(mark.from_toe, at.height, f"{mark.name} at the top", figure)
    elif mark.face == "inside face" and mark.name in (front_end(at), rear_end(at), "cove, upper end", "cove, lower end"):
        yield Level(mark.from_toe, mark.up, mark.name, figure)
    elif mark.name == corner:
        yield Level(mark.from_toe, mark.up, corner.partition(",")[0], figure)


def _heights(pen: Pen, at: Layout) -> list[Level]:
    rows = {0.0: "sole", at.height: "top"}
    if at.let_in > 0:
        rows[at.thickness] = "seat"
    if at.tail is not None:
        rows[at.tail.level] = "tail"
    if at.slip:
        rows[at.slip] = "slip, glue line"
    if at.pad:
        rows[at.height - at.pad] = "pad, glue line"
    return [Level(z, at.length, name, pen.figure(z)) for z, name in rows.items()]


def _labels(made: Design, pen: Pen) -> Iterator[Label]:
    given, at = made.given, made.layout
    figure = pen.small
    dowels = [hole for hole in at.holes if hole.kind == "dowel"]
    for hole in dowels:
        deep = figure(given.body.dowels.depth.value)
        text = f"dowel Ø {pen.bore(hole.diameter)}, {deep} deep, {pen.figure(hole.start[2])} up"
        yield Label(text, (hole.start[0], hole.start[2]), hole.radius + 1.8)
    yield Label(f"wear {pen.figure(at.wear_top[1])} high, {degrees(given.throat.wear_lean.value)} from plumb", at.wear_top)
    yield Label(
        f"breast {degrees(given.throat.breast_lean.value)} from plumb", point_at(Line(at.wear_top, at.breast_top), 0.6)
    )
    yield Label(f"bed {degrees(at.bed_angle)} from the sole", at.on_the_bed(-at.thickness / at.up_the_bed[1] * 0.85))
    if at.recess is not None:
        yield Label(
            f"frog's recess, {pen.figure(given.frog.recess_depth.value)} deep",
            point_at(Line(at.recess[1], at.recess[2]), 0.5),
        )
    yield from _hole_names(at)
    if at.tail is not None:
        traced = at.tail.centre is None
        yield Label("cove, as traced" if traced else f"cove R {figure(given.casting.cove_radius.value)}", _on_cove(at))


def _hole_names(at: Layout) -> Iterator[Label]:
    """Yield the names of the holes that lie beside the face or are grooves in it; of a pair at one place only one."""
    seen: set[tuple[float, float]] = set()
    for hole in at.holes:
        x, _, z = hole.end
        if hole.kind != "dowel" and (x, z) not in seen:
            seen.add((x, z))
            yield Label(hole.kind, (x, z), hole.radius + 0.5)


def _short_labels(at: Layout) -> Iterator[Label]:
    yield Label("mouth", at.mouth_front)
    yield Label("wear", point_at(Line(at.mouth_front, at.wear_top), 0.6))
    for number, hole in enumerate((hole for hole in at.holes if hole.kind == "dowel"), 1):
        yield Label(f"dowel {number}", (hole.start[0], hole.start[2]), hole.radius + 1.8)
    yield from _hole_names(at)
    if at.let_in > 0:
        yield Label("seat", (point_at(Line(at.seat_front, at.breast_top), 0.3)[0], at.thickness))
    if at.tail is not None:
        yield Label("cove", _on_cove(at))
    yield Label("breast", point_at(Line(at.wear_top, at.breast_top), 0.6))
    yield Label("bed", at.on_the_bed(-at.thickness / at.up_the_bed[1] * 0.85))
    if at.recess is not None:
        yield Label("frog's recess", point_at(Line(at.recess[1], at.recess[2]), 0.5))


def _names(at: Layout, half: str) -> Iterator[Label]:
    """Yield names of areas; they say which way round the template goes."""
    middle = at.height * 0.45
    yield Label("toe", (1.0, middle), 2.0, slanted=True, plain=True)
    yield Label("heel", (at.length - 1.0, at.top_at(at.length) * 0.45), 2.0, slanted=True, plain=True)
    throat = at.throat
    centre = (sum(x for x, _ in throat[2:4]) / 2, at.thickness * 0.75)
    yield Label("throat: cut away", centre, 0.0, slanted=True, plain=True)
    rear = at.tail.cove_low[0] if at.tail else at.corner[0]
    yield Label(half, ((rear + at.length) / 2, at.top_at(at.length) * 0.4), 0.0, slanted=True, plain=True)
    if at.tail is not None and at.tail_full_width:
        yield Label("cut away", ((rear + at.length) / 2, (at.tail.level + at.height) / 2), 0.0, slanted=True, plain=True)


def _on_cove(at: Layout) -> tuple[float, float]:
    assert at.tail is not None
    x = point_at(Line(at.tail.cove_high, at.tail.cove_low), 0.4)[0]
    return (x, at.top_at(x))
