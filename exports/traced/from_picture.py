"""A picture of a casting turned into its outline or profile in millimetres, with an honest word on how true it can be."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planestock.exports.traced.perspective import Scale, pixel_size
from planestock.exports.traced.pictures import greys
from planestock.exports.traced.region import Region, largest_region
from planestock.params.traced.cleaning import Cleaned, How, Kind, clean
from planestock.params.traced.drawing import Drawing
from planestock.params.traced.neighbourhoods import smoothed_loop
from planestock.params.traced.pieces import Point, bounds
from planestock.params.traced.strokes import Floats

if TYPE_CHECKING:
    from PIL.Image import Image

A_PIXEL = 1.0
"""Tolerance of the lines and arcs where none is asked for, pixels: half of it gives twice the pieces, most of them noise."""

LEAST_TOLERANCE = 0.02
"""Finest tolerance, mm, that is chosen by itself."""

AN_EDGE = 1.0
"""How far a casting's edge may lie from where it is seen, pixels: light round its rim, blur, a shadow."""


@dataclass(frozen=True, eq=False)
class Asked:
    """What is asked of a picture. corner, middle: of D and of a point on the middle line towards the heel, pixels."""

    kind: Kind
    scale: Scale
    corner: Point | None
    middle: Point | None
    light: bool = False
    level: float | None = None
    within: tuple[Point, ...] | None = None
    tolerance: float | None = None


@dataclass(frozen=True, eq=False)
class FromPicture:
    """What came of it. pixel: its size at the casting, mm; tolerance: of the fit; limit: ± that the outline deserves, mm."""

    cleaned: Cleaned
    region: Region
    pixel: float
    tolerance: float
    limit: float


def from_picture(picture: Image, asked: Asked, called: str) -> FromPicture:
    """Return the outline in a picture. Without corner and middle it is placed by its own middle and long way.

    Raises InputProblem.
    """
    region = largest_region(greys(picture), light=asked.light, level=asked.level, within=asked.within)
    points = asked.scale.millimetres(region.outline)
    centre = region.outline[:-1].mean(axis=0)
    pixel = pixel_size(asked.scale, (float(centre[0]), float(centre[1])))
    tolerance = asked.tolerance if asked.tolerance is not None else max(LEAST_TOLERANCE, A_PIXEL * pixel)
    places, note = _places(points, asked)
    drawing = Drawing(([smoothed_loop(points, tolerance)],), {}, 1.0, "millimetres, by the picture's scale", -1)
    cleaned = clean(drawing, asked.kind, How("file", tolerance, tolerance, True, places), called)
    cleaned = replace(cleaned, notes=note)
    box = bounds(cleaned.outline)
    stretched = asked.scale.share() * max(box.long, box.tall) / 2
    return FromPicture(cleaned, region, pixel, tolerance, math.hypot(AN_EDGE * pixel, tolerance, stretched))


def _places(points: Floats, asked: Asked) -> tuple[tuple[float, float, float, float], tuple[str, ...]]:
    """Return corner and middle mark in mm of the picture, and what is to be said about them."""
    if asked.corner is not None and asked.middle is not None:
        corner, middle = asked.scale.millimetres(np.array([asked.corner, asked.middle]))
        return (float(corner[0]), float(corner[1]), float(middle[0]), float(middle[1])), ()
    middle = (points.max(axis=0) + points.min(axis=0)) / 2
    way = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]
    way = way * (1.0 if way[0] >= 0 else -1.0) * 100.0
    note = "it is not placed: its origin is its own middle; give --corner and --middle to place it by D"
    return (float(middle[0]), float(middle[1]), float(middle[0] + way[0]), float(middle[1] + way[1])), (note,)
