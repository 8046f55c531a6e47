"""The drawing model: views as plain lines, arcs, circles, areas and words, on layers named by what they are.

Every drawing that leaves (DXF, SVG, the pages of the shop sheet) is made from these views and from nothing else, so that
no two of them can differ. A view is in millimetres of the real thing, first axis to the right, second axis up, its origin
on the datum of the face it shows. The model is plain values rather than a CAD document: tiles have to be clipped exactly,
text has to stay text, and numbers have to be ready without loading anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from planestock.exports.drawing.text import text_width
from planestock.params.outlines.clipping import EDGE, runs_within
from planestock.params.outlines.pieces import Bounds, Outline, Point, bounds, bounds_of, circle, shifted

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
    def box(self) -> Bounds:
        """The rectangle around everything, words included."""
        return around(self.items)

    def only(self, *layers: Layer) -> tuple[Item, ...]:
        """Return what is on these layers."""
        return tuple(item for item in self.items if item.layer in layers)


def around(items: Iterable[Item]) -> Bounds:
    """Return the rectangle around items; there must be some."""
    boxes = [bounds_of_item(item) for item in items]
    return Bounds(min(box.left for box in boxes), min(box.low for box in boxes),
               max(box.right for box in boxes), max(box.high for box in boxes))  # fmt: skip


def bounds_of_item(item: Item) -> Bounds:
    """Return the rectangle around one item."""
    if isinstance(item, Stroke):
        return bounds(item.pieces)
    if isinstance(item, Round):
        (x, y), r = item.centre, item.radius
        return Bounds(x - r, y - r, x + r, y + r)
    return bounds_of(item.corners)


def moved(item: Item, by: Point) -> Item:
    """Return an item moved by a vector."""
    if isinstance(item, Stroke):
        return replace(item, pieces=shifted(item.pieces, by))
    if isinstance(item, Round):
        return replace(item, centre=_plus(item.centre, by))
    if isinstance(item, Area):
        return replace(item, corners=tuple(_plus(corner, by) for corner in item.corners))
    return replace(item, at=_plus(item.at, by))


def _plus(point: Point, by: Point) -> Point:
    return (point[0] + by[0], point[1] + by[1])


def clipped(items: Sequence[Item], window: Bounds) -> list[Item]:
    """Return what of the items lies in a window: lines and arcs cut at its edge, areas and words only where whole."""
    result: list[Item] = []
    for item in items:
        around_it = bounds_of_item(item)
        if window.grown(EDGE).holds(around_it):
            result.append(item)
        elif window.meets(around_it) and isinstance(item, Stroke | Round):
            pieces = item.pieces if isinstance(item, Stroke) else circle(item.centre, item.radius)
            result.extend(Stroke(item.layer, run, item.kind) for run in runs_within(pieces, window))
    return result
