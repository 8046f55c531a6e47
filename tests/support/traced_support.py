"""Outlines, drawings and photographs of made-up castings for the tests of tracing."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
import shapely

from planestock.params.outlines.along import directions
from planestock.params.outlines.path_text import read, written
from planestock.params.outlines.pieces import (
    Arc,
    Line,
    Outline,
    Point,
    flattened,
    mirrored_across,
    turn_between,
    walked_back,
)
from planestock.params.outlines.polygons import rounded
from planestock.params.traced.cleaning import Cleaned, How, clean, drawing_of
from planestock.params.traced.strokes import Chained, chained, polyline

JACK = rounded(((-92, -31), (152, -28), (152, 28), (-92, 31)), 16)
"""Four sides and four corners of 16 mm radius, as the shipped jack's readings make them."""


@cache
def waisted() -> Outline:
    """An outline with a waist and unlike ends, of tangent arcs: its upper half, rear to front, and the mirror."""
    turns = ((16.0, 85.0), (14.0, 9.0), (70.0, -11.0), (70.0, 7.0), (62.0, 7.0), (24.0, 60.0))
    upper: list[Line | Arc] = []
    here, heading = (152.0, 0.0), math.pi / 2
    upper.append(Line(here, here := (152.0, 14.0)))
    for length, degrees in turns:
        turn = math.radians(degrees)
        radius = length / turn
        centre = (here[0] - radius * math.sin(heading), here[1] + radius * math.cos(heading))
        heading += turn
        end = (centre[0] + radius * math.sin(heading), centre[1] - radius * math.cos(heading))
        upper.append(Arc(here, end, centre, clockwise=turn < 0))
        here = end
    # Round to square to the middle line, and straight down to it.
    left = 3 * math.pi / 2 - heading
    radius = 12.0
    centre = (here[0] - radius * math.sin(heading), here[1] + radius * math.cos(heading))
    end = (centre[0] - radius, centre[1])
    assert 0 < left < math.pi
    upper += [Arc(here, end, centre, clockwise=False), Line(end, (end[0], 0.0))]
    return (*upper, *mirrored_across(tuple(upper)))


def loop(points: Sequence[Point]) -> Chained:
    """A closed polyline."""
    plain = [(float(x), float(y)) for x, y in points]
    return chained([polyline([*plain, plain[0]])], 0.1, "test")[0]


def dense(outline: Outline, step: float) -> list[Point]:
    """Points every so many mm along an outline."""
    points: list[Point] = []
    for piece in outline:
        size = math.dist(piece.start, piece.end) if isinstance(piece, Line) else piece.radius * abs(piece.sweep)
        count = max(1, round(size / step))
        for k in range(count):
            if isinstance(piece, Arc):
                points.append(piece.at(k / count))
            else:
                (sx, sy), (ex, ey) = piece.start, piece.end
                points.append((sx + k / count * (ex - sx), sy + k / count * (ey - sy)))
    return points


def polygon_of(outline: Outline) -> Any:
    return shapely.Polygon(flattened(outline, 0.0005))


def apart(one: Outline, other: Outline) -> float:
    """Hausdorff distance of two outlines, by shapely."""
    return float(shapely.hausdorff_distance(polygon_of(one).exterior, polygon_of(other).exterior))


def worst_turn(outline: Outline) -> float:
    """Largest angle between neighbours, degrees."""
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return math.degrees(max(abs(turn_between(directions(a)[1], directions(b)[0])) for a, b in pairs))


def ends_meet(outline: Outline) -> bool:
    return all(a.end == b.start for a, b in zip(outline, [*outline[1:], outline[0]], strict=True))


# ---- drawings ------------------------------------------------------------------------------------------------------


def dxf_bytes(draw: Callable[[Any], object], units: int = 4) -> bytes:
    """A DXF whose model space was drawn into."""
    from ezdxf.filemanagement import new

    document = new("R2010", units=units)
    draw(document.modelspace())
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def loose_pieces(outline: Outline, gap: float = 0.0) -> Callable[[Any], None]:
    """Draw an outline as loose lines and arcs, some the other way round, with gaps between."""

    def draw(space: Any) -> None:
        for index, piece in enumerate(outline):
            way = piece if index % 2 else walked_back([piece])[0]
            if isinstance(way, Line):
                size = math.dist(way.start, way.end)
                share = gap / 2 / size
                a, b = np.asarray(way.start), np.asarray(way.end)
                space.add_line(tuple(a + share * (b - a)), tuple(b - share * (b - a)))
            else:
                first, last = (
                    math.degrees(math.atan2(y - way.centre[1], x - way.centre[0])) for x, y in (way.start, way.end)
                )
                space.add_arc(way.centre, way.radius, first, last, not way.clockwise)

    return draw


def svg_bytes(body: str, size: str = 'width="400mm" height="100mm" viewBox="-150 -50 400 100"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'.encode()


def svg_path(outline: Outline) -> str:
    """A path element of an outline, y down the page as SVG has it."""
    return f'<path d="{written(tuple(mirrored_across(outline)), closed=True)}"/>'


def cleaned(data: bytes, kind: str = "outline", **how: Any) -> Cleaned:
    made = How(**how)
    return clean(drawing_of(data, made.tolerance, "test"), kind, made, "test")  # type: ignore[arg-type]


def shape_in(path_text: str) -> Outline:
    return read(path_text, "test")
