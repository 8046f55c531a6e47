"""A picture of a casting turned into its outline or profile in millimetres, with an honest word on how true it can be."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planestock.params.outlines.pieces import Point
from planestock.params.traced.border import Border, border
from planestock.params.traced.camera import Taken, taken
from planestock.params.traced.cleaning import Cleaned, How, Kind, clean
from planestock.params.traced.drawing import Drawing
from planestock.params.traced.edges import sheet_sides
from planestock.params.traced.evenness import evenness
from planestock.params.traced.exactness import (
    AN_EDGE,
    LENS_UNSEEN,
    OF_SHADOW,
    Exactness,
    Rim,
    height_did,
    lowered,
    normals_of,
    rim,
    view_error,
)
from planestock.params.traced.neighbourhoods import smoothed_loop
from planestock.params.traced.perspective import ByRectangle, Scale, pixel_size
from planestock.params.traced.photographs import Greys, greys, taken_by_camera
from planestock.params.traced.region import Region, largest_region
from planestock.params.traced.strokes import Floats

if TYPE_CHECKING:
    from PIL.Image import Image

A_PIXEL = 1.0
"""Tolerance of the lines and arcs where none is asked for, pixels: half of it gives twice the pieces, most of them noise."""

LEAST_TOLERANCE = 0.02
"""Finest tolerance, mm, that is chosen by itself."""

SHARP = 4.0
"""Width of an edge, pixels, between 15 and 85 % of its step, up to which it is as sharp as cameras make it."""

TRIES = 2
"""Times that sides of the sheet which were not seen are looked for again."""

LEAST_FAR = 350.0
"""How far from the casting a camera stands that sees the whole of it, mm: a telephone about so (our own choice)."""

FLAT = "it is taken for a flat scan, the underside on the glass; a photograph needs --rectangle with --sides"

NO_SHEET = (
    "a camera took it, and without a sheet in it (--rectangle, --sides) neither lens nor height can be taken out; the limit "
    "is wider by both"
)


@dataclass(frozen=True, eq=False)
class Asked:
    """What is asked of a picture. corner, middle: of D and of a point on the middle line towards the heel, pixels.

    within, sides: corners of a sheet under the casting, pixels, and its sides, mm; thickness: how high the rim stands on it.
    """

    kind: Kind
    scale: Scale
    corner: Point | None
    middle: Point | None
    light: bool = False
    level: float | None = None
    within: tuple[Point, Point, Point, Point] | None = None
    sides: tuple[float, float] | None = None
    tolerance: float | None = None
    thickness: float | None = None


@dataclass(frozen=True, eq=False)
class FromPicture:
    """What came of it. outline: as seen, pixels; pixel: its size at the casting, mm; tolerance: of the fit, mm; sheet: its
    corners where its sides meet, pixels."""

    cleaned: Cleaned
    region: Region
    outline: Floats
    pixel: float
    tolerance: float
    exactness: Exactness
    sheet: tuple[Point, ...] = ()


def from_picture(picture: Image, asked: Asked, called: str) -> FromPicture:
    """Return the outline in a picture. Without corner and middle it is placed by its own middle and long way.

    Raises InputProblem.
    """
    shades = greys(picture)
    region = largest_region(shades, light=asked.light, level=asked.level, within=asked.within)
    centre = region.outline[:-1].mean(axis=0)
    pixel = pixel_size(asked.scale, (float(centre[0]), float(centre[1])))
    seen = border(shades, region.outline, pixel, light=asked.light, keep=asked.level is not None)
    tolerance = asked.tolerance if asked.tolerance is not None else max(LEAST_TOLERANCE, A_PIXEL * pixel)
    way = _taken(picture.size, shades, asked)
    view = _by_scale(picture, seen, asked) if way is None else _by_sheet(way, seen, asked)
    places, note = _places(view, asked)
    drawing = Drawing(([smoothed_loop(view.points, tolerance)],), {}, 1.0, "millimetres, by the picture's scale", -1)
    cleaned = clean(drawing, asked.kind, How("file", tolerance, tolerance, True, places), called)
    edge = AN_EDGE * pixel * max(1.0, seen.width / SHARP)
    even = evenness(cleaned)
    exactness = replace(
        view.exactness, edge=edge, fit=tolerance, shadow=OF_SHADOW * seen.shadow * pixel,
        mirror=even.by_itself if even else 0.0,
    )  # fmt: skip
    sheet = () if way is None else tuple((float(x), float(y)) for x, y in way.corners)
    return FromPicture(
        replace(cleaned, notes=(*note, *view.notes)), region, seen.outline, pixel, tolerance, exactness, sheet
    )


@dataclass(frozen=True, eq=False)
class _View:
    """points: the outline, closed, mm; place: what turns other places into mm; notes: what the maker should know."""

    points: Floats
    place: Callable[[Floats], Floats]
    exactness: Exactness
    notes: tuple[str, ...] = ()


def _taken(size: tuple[int, int], shades: Greys, asked: Asked) -> Taken | None:
    """Return how the picture was taken, None of one with a plain scale."""
    if asked.within is None or asked.sides is None or not isinstance(asked.scale, ByRectangle):
        return None
    way = taken(size, asked.scale, asked.within, asked.sides, sheet_sides(shades, asked.within))
    for _ in range(TRIES):  # From the sides that were found follows better where the others lie.
        if way.seen == len(asked.within):
            break
        again = sheet_sides(shades, [(float(x), float(y)) for x, y in way.corners])
        way = taken(size, asked.scale, asked.within, asked.sides, again)
    return way


def _by_sheet(way: Taken, seen: Border, asked: Asked) -> _View:
    """Return the outline of the underside, lens and height taken out."""
    from planestock.params.traced.perspective import by_rectangle

    stands = rim(asked.thickness) if asked.kind == "outline" else Rim(0.0, 0.0)
    on_sheet = way.likely.millimetres(seen.outline)
    a, b, c, d = ((float(x), float(y)) for x, y in way.corners)
    straight = by_rectangle((a, b, c, d), asked.sides or (0.0, 0.0)).millimetres(seen.outline)
    marks = None if asked.corner is None or asked.middle is None else np.array([asked.corner, asked.middle])
    height = height_did(on_sheet[:-1], normals_of(on_sheet[:-1]), way.likely, stands.height)
    exactness = Exactness(
        view_error(way, seen.outline, marks, stands), 0.0, 0.0, 0.0,
        lens=float(np.hypot(*(straight - on_sheet).T).max()),
        height=height if asked.kind == "outline" else None,
        thickness=stands.height if asked.kind == "outline" else None,
        said=asked.thickness is not None, sides=way.seen, misfit=way.misfit,
    )  # fmt: skip
    return _View(lowered(on_sheet, way.likely, stands.height), way.likely.millimetres, exactness)


def _by_scale(picture: Image, seen: Border, asked: Asked) -> _View:
    """Return the outline by a plain scale, as a flat scan has it; a photograph may be off by lens and height besides."""
    points = asked.scale.millimetres(seen.outline)
    reach = float(np.ptp(points, axis=0).max()) / 2
    view = asked.scale.share() * reach
    if not taken_by_camera(picture):
        return _View(points, asked.scale.millimetres, Exactness(view, 0.0, 0.0, 0.0), (FLAT,))
    stands = rim(asked.thickness)
    near = stands.height + 2 * stands.spread
    view = math.hypot(view, LENS_UNSEEN * reach, near / LEAST_FAR * reach)
    return _View(points, asked.scale.millimetres, Exactness(view, 0.0, 0.0, 0.0), (NO_SHEET,))


def _places(view: _View, asked: Asked) -> tuple[tuple[float, float, float, float], tuple[str, ...]]:
    """Return corner and middle mark in mm of the picture, and what is to be said about them."""
    if asked.corner is not None and asked.middle is not None:
        corner, middle = view.place(np.array([asked.corner, asked.middle]))
        return (float(corner[0]), float(corner[1]), float(middle[0]), float(middle[1])), ()
    points = view.points
    middle = (points.max(axis=0) + points.min(axis=0)) / 2
    way = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]
    way = way * (1.0 if way[0] >= 0 else -1.0) * 100.0
    note = "it is not placed: its origin is its own middle; give --corner and --middle to place it by D"
    return (float(middle[0]), float(middle[1]), float(middle[0] + way[0]), float(middle[1] + way[1])), (note,)
