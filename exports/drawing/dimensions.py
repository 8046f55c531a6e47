"""Line drawings for the worksheet: parts placed on paper, numbered dimensions and leaders that end on the part.

Everything here is in millimetres on paper, x to the right and y down, from the picture's upper left corner. A `View` takes
points of a part there; dimensions and leaders begin at such points, so that they end where the part is drawn. Widths and
kinds of line follow ISO 128-2 (wide outlines, narrow everything else, 2 : 1).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from planestock.params.outlines.clipping import runs_within
from planestock.params.outlines.pieces import Bounds, Outline, Point, flattened, stepped
from planestock.params.outlines.polygons import polygon

MARK_RADIUS = 2.9
"""Radius of a numbered circle, mm: two figures of 9 pt stand clear inside it."""

ARROW_LENGTH, ARROW_HALF_WIDTH = 2.6, 0.45
"""Dimension arrow, mm: a closed, filled head of about 20 degrees."""

OVERSHOOT = 1.0
"""How far an extension line goes beyond its dimension line, mm."""

ROOM_FOR_MARK = 2 * (ARROW_LENGTH + MARK_RADIUS) + 1.5
"""A dimension line at least this long, mm, carries its number in its middle; a shorter one has it beside."""

ROOM_FOR_ARROWS = 2 * ARROW_LENGTH + 1.0
"""A dimension line shorter than this, mm, has its arrows outside."""

SAGITTA = 0.02
"""How far a drawn chord strays from its arc, mm on paper: a tenth of the narrowest line."""


@dataclass(frozen=True)
class Pen:
    """How a line looks. width: mm; grey: 0 black to 255 white; dash: lengths of dashes and gaps, mm."""

    width: float
    grey: int = 0
    dash: tuple[float, ...] = ()


WIDE = Pen(0.5)
NARROW = Pen(0.25)
SOFT = Pen(0.25, 140)
HIDDEN = Pen(0.25, 60, (2.0, 1.0))
CENTRE = Pen(0.25, 60, (5.0, 1.0, 0.5, 1.0))


@dataclass(frozen=True)
class Stroke:
    """One line through points, or a filled shape. fill: grey value, None for none."""

    points: tuple[Point, ...]
    pen: Pen | None
    closed: bool = False
    fill: int | None = None


@dataclass(frozen=True)
class Mark:
    """A numbered circle; its number is that of the field's row."""

    path: str
    at: Point


@dataclass(frozen=True)
class Label:
    """A few words. at: on the text's baseline, at its start, middle or end."""

    text: str
    at: Point
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False


@dataclass(frozen=True)
class Pointer:
    """Where the lines of one field's dimension or leader end on the part."""

    path: str
    ends: tuple[Point, ...]


@dataclass(frozen=True)
class Drawn:
    """Pieces of a picture; add them up with `+`."""

    strokes: tuple[Stroke, ...] = ()
    marks: tuple[Mark, ...] = ()
    labels: tuple[Label, ...] = ()
    pointers: tuple[Pointer, ...] = ()

    def __add__(self, other: Drawn) -> Drawn:
        """Both, this one underneath."""
        return Drawn(
            self.strokes + other.strokes,
            self.marks + other.marks,
            self.labels + other.labels,
            self.pointers + other.pointers,
        )


def together(pieces: Iterable[Drawn]) -> Drawn:
    """Return all pieces as one, the first underneath."""
    return sum(pieces, Drawn())


@dataclass(frozen=True)
class Picture:
    """A drawing in its frame. width, height: mm; note: under the picture; own: drawn from the set's own readings."""

    name: str
    width: float
    height: float
    drawn: Drawn
    alt: str
    own: bool = False


@dataclass(frozen=True)
class Frame:
    """A rectangle of the picture, mm."""

    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class View:
    """Takes points of a part (mm, second axis up) to paper. turn: degrees anticlockwise; origin: where (0, 0) comes."""

    scale: float
    origin: Point
    turn: float = 0.0

    def __call__(self, point: Point) -> Point:
        """Return the point's place on paper."""
        x, y = turned(point, self.turn)
        return (self.origin[0] + self.scale * x, self.origin[1] - self.scale * y)

    def direction(self, degrees: float) -> Point:
        """Return the unit vector on paper of a direction in the part, degrees anticlockwise from its first axis."""
        angle = math.radians(degrees + self.turn)
        return (math.cos(angle), -math.sin(angle))


def fitted(points: Sequence[Point], frame: Frame, turn: float = 0.0, largest: float = math.inf) -> View:
    """Return the view that shows all points as large as the frame (and `largest`) allows, in the frame's middle."""
    places = [turned(point, turn) for point in points]
    low = (min(x for x, _ in places), min(y for _, y in places))
    high = (max(x for x, _ in places), max(y for _, y in places))
    wide, tall = max(high[0] - low[0], 1e-6), max(high[1] - low[1], 1e-6)
    scale = min((frame.right - frame.left) / wide, (frame.bottom - frame.top) / tall, largest)
    middle = ((frame.left + frame.right) / 2, (frame.top + frame.bottom) / 2)
    return View(scale, (middle[0] - scale * (low[0] + high[0]) / 2, middle[1] + scale * (low[1] + high[1]) / 2), turn)


def turned(point: Point, degrees: float) -> Point:
    """Return the point turned anticlockwise about the origin."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos)


def shape(view: View, outline: Outline, pen: Pen | None = WIDE, fill: int | None = None) -> Drawn:
    """Return a closed outline of a part."""
    points = flattened(outline, SAGITTA / view.scale)
    return Drawn((Stroke(tuple(view(point) for point in points), pen, closed=True, fill=fill),))


def line(points: Iterable[Point], pen: Pen = NARROW) -> Drawn:
    """Return a line through points on paper."""
    return Drawn((Stroke(tuple(points), pen),))


def path_of(view: View, points: Iterable[Point], pen: Pen = WIDE) -> Drawn:
    """Return a line through points of a part."""
    return line((view(point) for point in points), pen)


def area(points: Iterable[Point], grey: int, pen: Pen | None = None) -> Drawn:
    """Return a filled shape on paper."""
    return Drawn((Stroke(tuple(points), pen, closed=True, fill=grey),))


def circle(middle: Point, radius: float, pen: Pen | None = WIDE, fill: int | None = None) -> Drawn:
    """Return a circle on paper."""
    count = 48
    points = tuple(stepped(middle, direction(360 * index / count), radius) for index in range(count))
    return Drawn((Stroke(points, pen, closed=True, fill=fill),))


def hole(middle: Point, radius: float) -> Drawn:
    """Return a round hole with the centre lines that mark its middle."""
    reach = radius + 1.2
    x, y = middle
    cross = line(((x - reach, y), (x + reach, y)), CENTRE) + line(((x, y - reach), (x, y + reach)), CENTRE)
    return circle(middle, radius) + cross


def cut_shape(view: View, outline: Outline, left: float, right: float, pen: Pen = WIDE) -> Drawn:
    """Return what an outline has between two uprights of the part, open where it is cut off; nothing for left >= right."""
    if left >= right:
        return Drawn()
    runs = runs_within(polygon(flattened(outline, SAGITTA / view.scale)), Bounds(left, -math.inf, right, math.inf))
    if len(runs) > 1 and runs[-1][-1].end == runs[0][0].start:
        runs[0] = runs.pop() + runs[0]
    return together(path_of(view, [run[0].start, *(piece.end for piece in run)], pen) for run in runs)


def smoothed(points: Sequence[Point]) -> list[Point]:
    """Return a closed smooth curve through the points (a uniform Catmull-Rom spline), for parts that are only sketched."""
    curve: list[Point] = []
    count = len(points)
    for index in range(count):
        before, start, end, after = (points[(index + step) % count] for step in (-1, 0, 1, 2))
        curve += [_spline(before, start, end, after, share / 8) for share in range(8)]
    return curve


def _spline(before: Point, start: Point, end: Point, after: Point, s: float) -> Point:
    def one(a: float, b: float, c: float, d: float) -> float:
        return b + s * ((c - a) + s * ((2 * a - 5 * b + 4 * c - d) + s * (3 * (b - c) + d - a))) / 2

    return (one(before[0], start[0], end[0], after[0]), one(before[1], start[1], end[1], after[1]))


def break_line(start: Point, end: Point) -> Drawn:
    """Return a narrow line with one zigzag, where a part is broken off (ISO 128-2, line with zigzags)."""
    along, length = _unit(start, end), math.dist(start, end)
    square = (along[1], -along[0])
    middle, size = length / 2, min(1.6, length / 4)
    bends = [(middle - size, 0.0), (middle - size / 2, size), (middle + size / 2, -size), (middle + size, 0.0)]
    points = [stepped(stepped(start, along, share), square, out) for share, out in bends]
    return line((stepped(start, along, -1.5), *points, stepped(end, along, 1.5)), NARROW)


def dimension(path: str, ends: tuple[Point, Point], way: Point, through: Point, beside: float = 0.0) -> Drawn:
    """Return a dimension with its extension lines, arrows and numbered circle.

    ends: the two places on the part; way: unit vector of what is measured; through: a point of the dimension line;
    beside: where the circle goes when there is no room on the line: square to it, to the right of `way` (> 0), to the left
    (< 0), or for 0 beyond its second end.
    """
    first, second = (_foot(end, way, through) for end in ends)
    if _dot(_minus(second, first), way) < 0:
        ends, first, second = (ends[1], ends[0]), second, first
    length = math.dist(first, second)
    extensions = [_extension(end, foot) for end, foot in zip(ends, (first, second), strict=True)]
    at, span, arrows = _dimension_line(first, second, way, length, beside)
    pieces = [line(piece) for piece in extensions if piece]
    return together([*pieces, span, *arrows, mark(path, at), Drawn(pointers=(Pointer(path, ends),))])


def _dimension_line(
    first: Point, second: Point, way: Point, length: float, beside: float
) -> tuple[Point, Drawn, list[Drawn]]:
    """Return where the numbered circle goes, the line itself, and its arrows."""
    back, middle = (-way[0], -way[1]), stepped(first, way, length / 2)
    inward = length < ROOM_FOR_ARROWS
    tail = ARROW_LENGTH + 2.0 if inward else 0.0
    arrows = [arrow(first, way if inward else back), arrow(second, back if inward else way)]
    span = (stepped(first, way, -tail), stepped(second, way, tail))
    if length >= ROOM_FOR_MARK:
        return middle, line(span), arrows
    square = (-way[1], way[0])
    if beside:
        return stepped(middle, square, beside * (MARK_RADIUS + 1.2)), line(span), arrows
    end = stepped(second, way, (tail or 1.0) + MARK_RADIUS)
    return end, line((span[0], end)), arrows


def _extension(end: Point, foot: Point) -> tuple[Point, Point] | None:
    """Return the line from the part to just beyond the dimension line; None where they are one point."""
    length = math.dist(end, foot)
    return None if length < 1e-6 else (end, stepped(foot, _unit(end, foot), OVERSHOOT))


def level(path: str, ends: tuple[Point, Point], y: float, beside: float = 0.0) -> Drawn:
    """Return a dimension along the paper, its line at height y."""
    return dimension(path, ends, (1.0, 0.0), (0.0, y), beside)


def upright(path: str, ends: tuple[Point, Point], x: float, beside: float = 0.0) -> Drawn:
    """Return a dimension up the paper, its line at x."""
    return dimension(path, ends, (0.0, 1.0), (x, 0.0), beside)


def leader(path: str, tip: Point, at: Point, *, dot: bool = False) -> Drawn:
    """Return a numbered circle with a line to the part: an arrow on its outline, or a dot inside it (ISO 128-2)."""
    end = circle(tip, 0.55, None, 0) if dot else arrow(tip, _unit(at, tip))
    return line((at, tip)) + end + mark(path, at) + Drawn(pointers=(Pointer(path, (tip,)),))


def angle(path: str, vertex: Point, sides: tuple[float, float], radius: float, at: float | None = None) -> Drawn:
    """Return an angle's dimension.

    sides: directions of its two sides on paper, degrees anticlockwise, the second beyond the first; radius: of the arc;
    at: direction of the numbered circle, None for the arc's middle.
    """
    low, high = sides
    length = math.radians(high - low) * radius
    inward = length < ROOM_FOR_ARROWS
    slack = math.degrees((ARROW_LENGTH + 1.5) / radius) if inward else 0.0
    middle = (low + high) / 2 if at is None else at
    start, stop = min(low - slack, middle), max(high + slack, middle)
    steps = [start + (stop - start) * index / 24 for index in range(25)]
    arc = line(stepped(vertex, direction(step), radius) for step in steps)
    tips = tuple(stepped(vertex, direction(side), radius) for side in sides)
    turn = 90.0 if inward else -90.0
    heads = [arrow(tips[0], direction(low + turn)), arrow(tips[1], direction(high - turn))]
    rays = [line((vertex, stepped(tip, _unit(vertex, tip), OVERSHOOT))) for tip in tips]
    place = mark(path, stepped(vertex, direction(middle), radius))
    return together([*rays, arc, *heads, place, Drawn(pointers=(Pointer(path, (vertex, *tips)),))])


def mark(path: str, at: Point) -> Drawn:
    """Return a numbered circle."""
    return circle(at, MARK_RADIUS, NARROW, 255) + Drawn(marks=(Mark(path, at),))


def arrow(tip: Point, way: Point) -> Drawn:
    """Return an arrow head that points along a unit vector at its tip."""
    base, square = stepped(tip, way, -ARROW_LENGTH), (-way[1], way[0])
    return area((tip, stepped(base, square, ARROW_HALF_WIDTH), stepped(base, square, -ARROW_HALF_WIDTH)), 0)


def words(text: str, at: Point, anchor: Literal["start", "middle", "end"] = "start", *, bold: bool = False) -> Drawn:
    """Return a label."""
    return Drawn(labels=(Label(text, at, anchor, bold),))


def named(text: str, tip: Point, at: Point, anchor: Literal["start", "middle", "end"] = "start") -> Drawn:
    """Return a label with a soft line to what it names; the line starts beside the text."""
    start = {"start": (at[0] - 0.8, at[1] - 1.0), "middle": (at[0], at[1] + 0.8), "end": (at[0] + 0.8, at[1] - 1.0)}[anchor]
    return line((start, tip), SOFT) + words(text, at, anchor)


def direction(degrees: float) -> Point:
    """Return the unit vector on paper, degrees anticlockwise from the right."""
    return (math.cos(math.radians(degrees)), -math.sin(math.radians(degrees)))


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (1.0, 0.0) if length == 0 else ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def _minus(a: Point, b: Point) -> Point:
    return (a[0] - b[0], a[1] - b[1])


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _foot(point: Point, way: Point, through: Point) -> Point:
    """Return the foot of a point on the line through `through` along `way`."""
    return stepped(through, way, _dot(_minus(point, through), way))


def legible(picture: Picture) -> bool:
    """Tell whether all numbered circles lie inside the picture and clear of one another."""
    places = [mark.at for mark in picture.drawn.marks]
    wide, tall = picture.width - MARK_RADIUS, picture.height - MARK_RADIUS
    inside = all(MARK_RADIUS <= x <= wide and MARK_RADIUS <= y <= tall for x, y in places)
    return inside and all(math.dist(a, b) >= 2 * MARK_RADIUS for a, b in combinations(places, 2))


def svg(picture: Picture) -> str:
    """Return the picture's lines as SVG, one unit to the millimetre; numbers and words are set by the page."""
    body = "".join(_element(stroke) for stroke in picture.drawn.strokes)
    size = f'width="{picture.width}mm" height="{picture.height}mm" viewBox="0 0 {picture.width} {picture.height}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} fill="none" stroke-linejoin="round">{body}</svg>'


def _element(stroke: Stroke) -> str:
    points = "L".join(f"{x:.3f} {y:.3f}" for x, y in stroke.points)
    fill = "" if stroke.fill is None else f' fill="{_grey(stroke.fill)}"'
    pen = "" if stroke.pen is None else _pen(stroke.pen)
    return f'<path d="M{points}{"Z" if stroke.closed else ""}"{fill}{pen}/>'


def _pen(pen: Pen) -> str:
    dash = f' stroke-dasharray="{" ".join(f"{length:g}" for length in pen.dash)}"' if pen.dash else ""
    return f' stroke="{_grey(pen.grey)}" stroke-width="{pen.width:g}"{dash}'


def _grey(value: int) -> str:
    return f"#{value:02x}{value:02x}{value:02x}"
