"""The pen: dimensions, centre lines, arrows and labels, placed clear of one another, for views of any scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planestock.exports.drawing.model import ASCENT, DESCENT, TYPE, Area, Item, Layer, Round, Stroke, Words
from planestock.exports.wording.inch import INCH
from planestock.params.outlines.pieces import Point
from planestock.params.outlines.polygons import chain

Side = Literal["below", "above", "left", "right"]

TEXT_GAP = 1.0
"""Between the end of an extension line and its figure, mm on paper."""

LINE_GAP = 0.8
"""Between a feature and the extension line that begins at it, mm on paper (ISO 129-1 leaves a small gap)."""

ROW = 1.3
"""Distance of figures that stand side by side, as a share of the type size."""

ARROW_LENGTH, ARROW_WIDTH = 2.0, 0.55
"""Arrow heads, closed and filled at 15 degrees (ISO 129-1), mm on paper."""


@dataclass(frozen=True)
class Pen:
    """How a view is drawn. scale: paper to real thing; units: of the figures."""

    scale: float = 1.0
    units: Literal["mm", "in"] = "mm"

    def paper(self, length: float) -> float:
        """Return what a length on paper is on the real thing, mm."""
        return length / self.scale

    @property
    def size(self) -> float:
        """The type size, mm on the real thing."""
        return self.paper(TYPE)

    def figure(self, length: float) -> str:
        """Return a length as it stands on the drawing: mm to 0.01, or decimal inches to 0.001."""
        text = f"{length / INCH:.3f}" if self.units == "in" else f"{length:.2f}"
        return text.replace("-", "−")

    def bore(self, diameter: float) -> str:
        """Return a diameter as it was asked for, without needless noughts: `6.35`, `8`, `0.250`."""
        if self.units == "in":
            return f"{diameter / INCH:.3f}"
        return f"{diameter:.2f}".rstrip("0").rstrip(".")

    def small(self, length: float) -> str:
        """Return a length of a hole without needless noughts: `8`, `21.4`, `0.313`."""
        text = f"{length / INCH:.3f}" if self.units == "in" else f"{length:.1f}"
        return text.removesuffix(".0")


def degrees(angle: float) -> str:
    """Return an angle as it stands on the drawing: `45°`, `22.5°`."""
    return f"{angle:.2f}".rstrip("0").rstrip(".") + "°"


@dataclass(frozen=True)
class Level:
    """One place on a running dimension. at: distance from the datum along the axis; reach: where its extension begins."""

    at: float
    reach: float
    name: str
    figure: str


def running(pen: Pen, side: Side, base: float, levels: Sequence[Level]) -> Iterator[Item]:
    """Yield running dimensions from the datum: an extension line to each place, its figure and name at the end.

    base: the edge beyond which all is free, mm. Figures that would stand too close are spread, their lines bent.
    """
    ordered = _merged(sorted(levels, key=lambda level: level.at))
    spread = _spread([level.at for level in ordered], ROW * pen.size)
    for level, place in zip(ordered, spread, strict=True):
        yield from _extension(pen, side, base, level, place)


def _merged(levels: Sequence[Level]) -> list[Level]:
    """Return sorted levels with those that read the same made one, their names joined."""
    result: list[Level] = []
    for level in levels:
        same = bool(result) and result[-1].figure == level.figure
        result.append(_joined(result.pop(), level) if same else level)
    return result


def _joined(one: Level, other: Level) -> Level:
    return one if other.name in one.name.split(", ") else replace(one, name=f"{one.name}, {other.name}")


def _spread(places: list[float], apart: float) -> list[float]:
    """Return the nearest places that keep their distance: groups that would overlap share their middle."""
    groups: list[tuple[float, int]] = []
    for place in places:
        middle, count = place, 1
        while groups and groups[-1][0] + (groups[-1][1] + count) * apart / 2 > middle:
            other, more = groups.pop()
            middle = (other * more + middle * count) / (more + count)
            count += more
        groups.append((middle, count))
    return [middle + (index - (count - 1) / 2) * apart for middle, count in groups for index in range(count)]


def _extension(pen: Pen, side: Side, base: float, level: Level, place: float) -> Iterator[Item]:
    away = -1.0 if side in ("below", "left") else 1.0
    start = level.reach + away * pen.paper(LINE_GAP)
    stops = [base + away * pen.paper(one) for one in (1.5, 5.0, 6.5)]
    places = [level.at, level.at, place, place]
    points = [_turn(side, along, out) for along, out in zip(places, [start, *stops], strict=True)]
    yield Stroke("dimensions", chain(*points))
    text_out = stops[-1] + away * pen.paper(TEXT_GAP)
    below = (ASCENT - DESCENT) / 2 * pen.size
    if side in ("below", "above"):
        text = f"{level.name} {level.figure}" if side == "below" else f"{level.figure} {level.name}"
        yield Words(
            "dimensions", text.strip(), (place + below, text_out), pen.size, 90.0, "end" if side == "below" else "start"
        )
    else:
        text = f"{level.name} {level.figure}" if side == "left" else f"{level.figure} {level.name}"
        yield Words(
            "dimensions", text.strip(), (text_out, place - below), pen.size, 0.0, "end" if side == "left" else "start"
        )


def _turn(side: Side, along: float, out: float) -> Point:
    return (along, out) if side in ("below", "above") else (out, along)


def between(pen: Pen, start: Point, end: Point, text: str, layer: Layer = "dimensions") -> Iterator[Item]:
    """Yield a dimension line from start to end with arrows, its text in the middle above the line or beside it.

    Level or upright lines only. Where the text is longer than the line, arrows point inward and the text stands after them.
    """
    upright = start[0] == end[0]
    length = math.dist(start, end)
    room = length > 3 * pen.paper(ARROW_LENGTH)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    tail = 0.0 if room else pen.paper(2 * ARROW_LENGTH)
    first, last = (start[0] - ux * tail, start[1] - uy * tail), (end[0] + ux * tail, end[1] + uy * tail)
    yield Stroke(layer, chain(first, last))
    sense = 1.0 if room else -1.0
    yield arrow(pen, start, (-sense * ux, -sense * uy), layer)
    yield arrow(pen, end, (sense * ux, sense * uy), layer)
    lift = pen.paper(0.7) + DESCENT * pen.size
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if not room:
        at = (last[0] + pen.paper(0.8), last[1] - (ASCENT - DESCENT) / 2 * pen.size)
        yield Words(
            layer,
            text,
            at if not upright else (last[0], last[1] + pen.paper(1.0)),
            pen.size,
            0.0,
            "middle" if upright else "start",
        )
    elif upright:
        yield Words(layer, text, (middle[0] - lift, middle[1]), pen.size, 90.0, "middle")
    else:
        yield Words(layer, text, (middle[0], middle[1] + lift), pen.size, 0.0, "middle")


def arrow(pen: Pen, tip: Point, direction: Point, layer: Layer = "dimensions") -> Area:
    """Return an arrow's head with its tip at a point, pointing in a direction (unit vector)."""
    (x, y), (u, v) = tip, direction
    back, half = pen.paper(ARROW_LENGTH), pen.paper(ARROW_WIDTH) / 2
    return Area(
        layer, (tip, (x - back * u - half * v, y - back * v + half * u), (x - back * u + half * v, y - back * v - half * u))
    )


def centre_cross(pen: Pen, centre: Point, radius: float) -> Iterator[Item]:
    """Yield the crossed centre lines of a circle, a little beyond it."""
    x, y = centre
    out = radius + pen.paper(1.8)
    yield Stroke("holes", chain((x - out, y), (x + out, y)), "narrow")
    yield Stroke("holes", chain((x, y - out), (x, y + out)), "narrow")


def drilled_circle(pen: Pen, centre: Point, radius: float) -> Iterator[Item]:
    """Yield a hole seen from its mouth: circle and centre lines."""
    yield Round("holes", centre, radius)
    yield from centre_cross(pen, centre, radius)
