"""Outside checks of the router's numbers: openings by shapely, and the highest wood over a place by plain triangles."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from shapely import affinity, buffer, linestrings
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from planestock.models.machining.leftovers import Leftover
from planestock.params.outlines.clipping import Region
from planestock.params.outlines.pieces import Arc, Outline, area, flattened

CHORD = 2e-3
"""How far chords may stray from arcs that are given to shapely, mm."""

SEGMENTS = 48
"""Chords that shapely makes of a quarter circle: they stray 1.4e-4 of the radius."""

FINE_SEGMENTS = 200
"""The same for whole borders."""

SEEN = 0.05
"""Leftovers below this area are not compared one by one, mm²: chords make and join slivers of that size."""

AREA_ERROR, AREA_SHARE = 0.05, 5e-3
"""How far an area may differ from shapely's, mm² and as a share of it, for the chords on both sides."""

PLACE_ERROR = 0.05
"""How far the middles of area may lie apart, mm, for the same chords."""

BEYOND = 9000.0
"""Half the side of the sheet of free space around bounded wood, mm."""


def polygon_of(ring: Outline) -> Polygon:
    """Return a ring as a polygon, arcs as chords."""
    return Polygon(flattened(ring, CHORD))


def free_space(walls: Region) -> BaseGeometry:
    """Return what lies to the left of rings: around wood where the largest ring goes clockwise, else inside that ring."""
    bounded: BaseGeometry = Polygon()
    for ring in walls:
        bounded = bounded.symmetric_difference(polygon_of(ring))
    largest = max(walls, key=lambda ring: abs(area(ring)))
    return bounded if area(largest) > 0 else box(-BEYOND, -BEYOND, BEYOND, BEYOND).difference(bounded)


def left_by_shapely(walls: Region, radius: float) -> BaseGeometry:
    """Return what an opening of the free space by a disc leaves: buffer(-r), buffer(r), difference.

    Where walls have arcs, both offsets are joined from shapely's buffers of single straight pieces: its buffer of a whole
    border first drops waves of up to a hundredth of the distance, which on borders with many short chords takes far more
    than is looked for here.
    """
    free = free_space(walls)
    if any(isinstance(piece, Arc) for ring in walls for piece in ring):
        middle = free.difference(_along(free, radius))
        opened = middle.union(_along(middle, radius))
    else:
        opened = free.buffer(-radius, quad_segs=FINE_SEGMENTS).buffer(radius, quad_segs=FINE_SEGMENTS)
    return free.difference(opened).intersection(LOOKED_AT)


def _along(shape: BaseGeometry, radius: float) -> BaseGeometry:
    """Return all that lies within `radius` of a shape's border."""
    rings = [
        ring for part in getattr(shape, "geoms", [shape]) for ring in (part.exterior, *part.interiors) if ring is not None
    ]
    ends = np.concatenate([np.stack([np.array(ring.coords)[:-1], np.array(ring.coords)[1:]], axis=1) for ring in rings])
    discs: BaseGeometry = unary_union(list(buffer(linestrings(ends), radius, quad_segs=SEGMENTS)))
    return discs


def pieces_of(shape: BaseGeometry) -> list[BaseGeometry]:
    """Return the pieces of a shape that can be seen, thin joints between them cut."""
    eroded = shape.buffer(-2e-3)
    return [piece for piece in getattr(eroded, "geoms", [eroded]) if piece.area > SEEN]


def assert_same_leftovers(found: Sequence[Leftover], walls: Region, radius: float) -> None:
    """Assert that leftovers are those that shapely's opening leaves: same number, places and areas."""
    theirs = left_by_shapely(walls, radius)
    ours = [polygon_of(left.outline).buffer(0) for left in found]
    total = sum(left.area for left in found)
    allowed = AREA_ERROR + AREA_SHARE * theirs.area
    assert abs(total - theirs.area) < allowed, (total, theirs.area)
    assert unary_union(ours).symmetric_difference(theirs).area < 2 * allowed
    pieces = pieces_of(theirs)
    seen = [piece for shape in ours for piece in pieces_of(shape)]
    _assert_each_has_a_partner(pieces, seen)
    _assert_each_has_a_partner(seen, pieces)


def _assert_each_has_a_partner(ones: Sequence[BaseGeometry], others: Sequence[BaseGeometry]) -> None:
    """Assert that each piece well above what can be seen has one of its own among the others, at its place, of its area."""
    free = list(others)
    for piece in sorted(ones, key=lambda one: -one.area):
        if piece.area < 2 * SEEN:
            continue
        assert free, f"{piece.area} has no partner"
        nearest = min(free, key=lambda one: one.centroid.distance(piece.centroid))
        free.remove(nearest)
        assert nearest.centroid.distance(piece.centroid) < PLACE_ERROR
        assert abs(nearest.area - piece.area) < AREA_ERROR + AREA_SHARE * piece.area


def corner_of(angle: float, length: float = 60.0, turn: float = 0.0) -> list[tuple[float, float]]:
    """Return a triangle with a corner of `angle` degrees at zero, anticlockwise, turned by `turn` degrees."""
    points = [(0.0, 0.0), (length, 0.0), (length * math.cos(math.radians(angle)), length * math.sin(math.radians(angle)))]
    turned = affinity.rotate(Polygon(points), turn, origin=(0, 0))
    return [(x, y) for x, y in turned.exterior.coords[:-1]]


LOOKED_AT = box(-100.0, -300.0, 1000.0, 300.0)
"""The stretch that leftovers are looked for in, mm: every body lies in it, and wood around a pocket reaches far beyond."""

Floats = npt.NDArray[np.float64]


def highest(vertices: Floats, faces: npt.NDArray[np.int32], places: Floats) -> Floats:
    """Return the height of the uppermost triangle over each place (n, 2); minus infinity where there is none."""
    corners = vertices[faces]
    a, b, c = (corners[:, index, :2] for index in range(3))
    result = np.full(len(places), -np.inf)
    double = _cross(b - a, c - a)
    flat = np.abs(double) > 1e-9
    for index, place in enumerate(places):
        u, v, w = _cross(b - place, c - place), _cross(c - place, a - place), _cross(a - place, b - place)
        over = flat & (u * double >= 0) & (v * double >= 0) & (w * double >= 0)
        if over.any():
            weights = np.stack([u, v, w], axis=1)[over] / double[over, None]
            result[index] = float((weights * corners[over, :, 2]).sum(axis=1).max())
    return result


def _cross(one: Floats, other: Floats) -> Floats:
    found: Floats = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    return found
