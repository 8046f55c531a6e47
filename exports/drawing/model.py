"""The drawing model: views as plain lines, arcs, circles, areas and words, on layers named by what they are.

Every drawing that leaves (DXF, SVG, the pages of the shop sheet) is made from these views and from nothing else, so that
no two of them can differ. A view is in millimetres of the real thing, first axis to the right, second axis up, its origin
on the datum of the face it shows. The model is plain values rather than a CAD document: tiles have to be clipped exactly,
text has to stay text, and numbers have to be ready without loading anything.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from planestock.exports.drawing.text import text_width
from planestock.params.outlines.polygons import Arc, Line, Outline, Piece, Point

Layer = Literal["outline", "throat", "bed", "mouth", "seat", "holes", "mid-plane", "glue lines", "metal", "sections",
                "dimensions", "text"]  # fmt: skip
Kind = Literal["wide", "narrow", "dashed", "centre", "adjacent"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class LineStyle:
    """One type of line of ISO 128. width and dashes (drawn, gap, drawn, gap ...) in mm on paper; no dashes: continuous."""

    name: str
    width: float
    dashes: tuple[float, ...]


WIDE, NARROW = 0.25, 0.13
"""Widths of lines, mm, near 2 : 1 and of the series of ISO 128-2. Narrower than usual: a knife works to these lines."""

DASH, GAP = 12 * NARROW, 3 * NARROW
"""Dash and gap, mm: 12 and 3 line widths (ISO 128-2:2020, as quoted)."""

LONG_DASH, DOT = 36 * NARROW, 2 * NARROW
"""Long dash and dot, mm: our own choice, long enough to be told from dashes, and a dot that any printer sets."""

STYLES: dict[Kind, LineStyle] = {
    "wide": LineStyle("continuous wide", WIDE, ()),
    "narrow": LineStyle("continuous narrow", NARROW, ()),
    "dashed": LineStyle("dashed narrow", NARROW, (DASH, GAP)),
    "centre": LineStyle("long-dashed dotted narrow", NARROW, (LONG_DASH, GAP, DOT, GAP)),
    "adjacent": LineStyle("long-dashed double-dotted narrow", NARROW, (LONG_DASH, GAP, DOT, GAP, DOT, GAP)),
}
"""ISO 128 line types (01.2, 01.1, 02.1, 04.1, 05.1; numbers from memory): visible edges are wide; dimensions, hidden edges,
centre lines and the outlines of adjacent parts (the metal) narrow."""

LAYERS: dict[Layer, Kind] = {
    "outline": "wide", "throat": "wide", "bed": "wide", "mouth": "wide", "seat": "wide", "holes": "wide",
    "mid-plane": "centre", "glue lines": "narrow", "metal": "adjacent", "sections": "narrow", "dimensions": "narrow",
    "text": "narrow",
}  # fmt: skip
"""Layers by what is on them, each with the line it is drawn in unless the thing itself says otherwise."""


@dataclass(frozen=True)
class Stroke:
    """A chain of lines and arcs. kind: the line it is drawn in, None for the layer's."""

    layer: Layer
    pieces: Outline
    kind: Kind | None = None

    @property
    def closed(self) -> bool:
        """Whether the chain ends where it begins."""
        return len(self.pieces) > 1 and self.pieces[0].start == self.pieces[-1].end

    @property
    def style(self) -> LineStyle:
        """The line it is drawn in."""
        return STYLES[self.kind or LAYERS[self.layer]]


@dataclass(frozen=True)
class Round:
    """A full circle."""

    layer: Layer
    centre: Point
    radius: float
    kind: Kind | None = None

    @property
    def style(self) -> LineStyle:
        """The line it is drawn in."""
        return STYLES[self.kind or LAYERS[self.layer]]


@dataclass(frozen=True)
class Area:
    """A filled polygon: an arrow's head, or what a section cuts. shade: 1 black, near 0 a light tint."""

    layer: Layer
    corners: tuple[Point, ...]
    shade: float = 1.0


@dataclass(frozen=True)
class Words:
    """One line of text. at: on its baseline, at the anchor; turn: degrees anticlockwise; size: type size in mm.

    slanted: a name beside the matter, in italics.
    """

    layer: Layer
    text: str
    at: Point
    size: float
    turn: float = 0.0
    anchor: Anchor = "start"
    slanted: bool = False

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Corners of the box around the text, from its start on the bottom, anticlockwise before it is turned."""
        width = text_width(self.text, self.size)
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        low, high = -DESCENT * self.size, ASCENT * self.size
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        x, y = self.at
        box = ((left, low), (left + width, low), (left + width, high), (left, high))
        a, b, c, e = ((x + u * cos - v * sin, y + u * sin + v * cos) for u, v in box)
        return (a, b, c, e)


Item = Stroke | Round | Area | Words

ASCENT, DESCENT = 0.72, 0.24
"""How far letters reach above and below the baseline, as shares of the type size; our own choice, a little more than
the type's own."""

TYPE = 2.82
"""Type size of words and figures on a drawing, mm on paper: 8 points; our own choice, near the 2.5 mm of ISO 3098 (from
memory)."""


@dataclass(frozen=True)
class Box:
    """A rectangle along the axes."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """Length of the first axis."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Length of the second axis."""
        return self.high - self.low

    def grown(self, by: float) -> Box:
        """Return the rectangle with a margin on every side."""
        return Box(self.left - by, self.low - by, self.right + by, self.high + by)

    def holds(self, other: Box) -> bool:
        """Tell whether another rectangle lies wholly within."""
        return (self.left <= other.left and self.low <= other.low
                and other.right <= self.right and other.high <= self.high)  # fmt: skip


@dataclass(frozen=True)
class View:
    """One drawing. name: for files and layers; title: for people; scale: paper to real thing, 1 for full size.

    unit: of its figures.
    """

    name: str
    title: str
    items: tuple[Item, ...]
    scale: float = 1.0
    unit: Literal["mm", "in"] = "mm"

    @property
    def heading(self) -> str:
        """Its title, and what its figures are in; a file that goes out alone says both."""
        return f"{self.title}; figures in {self.unit}"

    @cached_property
    def box(self) -> Box:
        """The rectangle around everything, words included."""
        return around(self.items)

    def only(self, *layers: Layer) -> tuple[Item, ...]:
        """Return what is on these layers."""
        return tuple(item for item in self.items if item.layer in layers)


def around(items: Iterable[Item]) -> Box:
    """Return the rectangle around items; there must be some."""
    boxes = [box_of(item) for item in items]
    return Box(min(box.left for box in boxes), min(box.low for box in boxes),
               max(box.right for box in boxes), max(box.high for box in boxes))  # fmt: skip


def box_of(item: Item) -> Box:
    """Return the rectangle around one item."""
    if isinstance(item, Round):
        (x, y), r = item.centre, item.radius
        return Box(x - r, y - r, x + r, y + r)
    points = [*_points(item)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _points(item: Stroke | Area | Words) -> Iterable[Point]:
    if isinstance(item, Stroke):
        return [point for piece in item.pieces for point in extremes(piece)]
    return item.corners


def extremes(piece: Piece) -> list[Point]:
    """Return the ends of a piece and, for an arc, its leftmost, lowest, rightmost and highest points on it."""
    ends = [piece.start, piece.end]
    if isinstance(piece, Arc):
        (cx, cy), r = piece.centre, piece.radius
        begin = math.atan2(piece.start[1] - cy, piece.start[0] - cx)
        for quarter in range(4):
            turned = (quarter * math.pi / 2 - begin) % math.tau
            if turned <= piece.sweep or turned - math.tau >= piece.sweep:
                ends.append((cx + r * (1, 0, -1, 0)[quarter], cy + r * (0, 1, 0, -1)[quarter]))
    return ends


def moved(item: Item, by: Point) -> Item:
    """Return an item moved by a vector."""
    if isinstance(item, Stroke):
        return replace(item, pieces=tuple(_moved_piece(piece, by) for piece in item.pieces))
    if isinstance(item, Round):
        return replace(item, centre=_plus(item.centre, by))
    if isinstance(item, Area):
        return replace(item, corners=tuple(_plus(corner, by) for corner in item.corners))
    return replace(item, at=_plus(item.at, by))


def _moved_piece(piece: Piece, by: Point) -> Piece:
    if isinstance(piece, Line):
        return Line(_plus(piece.start, by), _plus(piece.end, by))
    return Arc(_plus(piece.start, by), _plus(piece.end, by), _plus(piece.centre, by), piece.clockwise)


def _plus(point: Point, by: Point) -> Point:
    return (point[0] + by[0], point[1] + by[1])


def flipped(outline: Outline) -> Outline:
    """Return an outline with its first axis turned round, as seen from the other side; it keeps its sense."""
    return tuple(_flipped(piece) for piece in reversed(outline))


def _flipped(piece: Piece) -> Piece:
    start, end = _turned(piece.end), _turned(piece.start)
    if isinstance(piece, Line):
        return Line(start, end)
    return Arc(start, end, _turned(piece.centre), piece.clockwise)


def _turned(point: Point) -> Point:
    return (-point[0] + 0.0, point[1])


def chain(*points: Point) -> Outline:
    """Return the open chain of straight lines through the points."""
    return tuple(Line(start, end) for start, end in itertools.pairwise(points) if start != end)
