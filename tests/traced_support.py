"""Outlines, drawings and photographs of made-up castings for the tests of tracing."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
import shapely

from planestock.models.shapes import Arc, Line, Outline, Point, flattened, rounded
from planestock.params.traced.cleaning import Cleaned, How, clean, drawing_of
from planestock.params.traced.path_text import read, written
from planestock.params.traced.pieces import directions, mirrored_across, turn_between, walked_back
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


# ---- photographs ---------------------------------------------------------------------------------------------------

SHEET = (297.0, 210.0)
"""Sides of the white sheet that a casting lies on, mm: A4 lying."""


def homography(corners: Sequence[Point]) -> np.ndarray[Any, np.dtype[np.float64]]:
    """From mm on the sheet to pixels, by SVD of the eight equations (the program solves them otherwise)."""
    places = ((0.0, 0.0), (SHEET[0], 0.0), SHEET, (0.0, SHEET[1]))
    rows = []
    for (x, y), (u, v) in zip(places, corners, strict=True):
        rows += [[-x, -y, -1, 0, 0, 0, u * x, u * y, u], [0, 0, 0, -x, -y, -1, v * x, v * y, v]]
    return np.asarray(np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3), dtype=np.float64)


class Photograph:
    """A casting on a white sheet on a grey bench, seen askew, with blur and noise."""

    def __init__(self, outline: Outline, corners: Sequence[Point], seed: int, *, scale: int = 2) -> None:
        self.corners = tuple(corners)
        self.outline, self.seed, self.scale = outline, seed, scale
        self.matrix = homography(corners)
        self.turn, self.corner_d = math.radians(4), (115.0, 105.0)

    def pixel(self, point: Point) -> Point:
        """Where a point of the casting (x from D, y across) lies in the picture; y of the sheet points down."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        x, y = self.corner_d[0] + c * point[0] + s * point[1], self.corner_d[1] + s * point[0] - c * point[1]
        return self.of_sheet((x, y))

    def of_sheet(self, point: Point) -> Point:
        u, v, w = self.matrix @ np.array([point[0], point[1], 1.0])
        return (float(u / w), float(v / w))

    def image(self, size: tuple[int, int]) -> Any:
        from PIL import Image, ImageDraw, ImageFilter

        big = Image.new("L", (size[0] * self.scale, size[1] * self.scale), 95)
        pen = ImageDraw.Draw(big)

        def at(points: Sequence[Point]) -> list[Point]:
            return [((x + 0.5) * self.scale - 0.5, (y + 0.5) * self.scale - 0.5) for x, y in points]

        pen.polygon(at([self.of_sheet(p) for p in ((0, 0), (SHEET[0], 0), SHEET, (0, SHEET[1]))]), fill=228)
        pen.polygon(at([self.pixel(p) for p in flattened(self.outline, 0.01)]), fill=52)
        for x, y in ((62.0, 16.0), (62.0, -16.0), (-30.0, 0.0)):
            ring = [(x + 4 * math.cos(a), y + 4 * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 40)]
            pen.polygon(at([self.pixel(p) for p in ring]), fill=228)
        small = big.resize(size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(1.0))
        shades = np.asarray(small, dtype=np.float64) + np.random.default_rng(self.seed).normal(0, 6, size[::-1])
        return Image.fromarray(np.clip(shades, 0, 255).astype(np.uint8))

    def options(self) -> list[str]:
        """What a person would type, places read to a tenth of a pixel."""
        corner, middle = self.pixel((0.0, 0.0)), self.pixel((140.0, 0.0))
        return [
            "--rectangle", " ".join(f"{x:.1f},{y:.1f}" for x, y in self.corners), "--sides", "297 x 210 mm",
            "--corner", f"{corner[0]:.1f},{corner[1]:.1f}", "--middle", f"{middle[0]:.1f},{middle[1]:.1f}",
        ]  # fmt: skip


def shape_in(path_text: str) -> Outline:
    return read(path_text, "test")
