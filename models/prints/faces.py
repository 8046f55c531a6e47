"""Names for places on the body: which face it is that hangs over in a print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.models.prints import pegs
from planestock.models.prints.print_groups import Joint
from planestock.models.solids.parts import Vector
from planestock.params.outlines.distances import point_to_segment
from planestock.params.outlines.pieces import Point
from planestock.params.outlines.polygons import inside

NEAR = 0.6
"""A place within this of a face is on it, mm: the middle of a patch of facets on a curved face lies off it."""


def face_name(at: Layout, joints: Sequence[Joint], middle: Vector, scale: float = 1.0) -> str:
    """Return the name of the face on which a place lies. middle: in the coordinates of a body `scale` times as large."""
    for joint in joints:
        if _in_socket(joint, middle):
            return "peg socket"
    x, y, z = (value / scale for value in middle)
    return next(_faces(at, (x, y, z)), "outer face")


def _in_socket(joint: Joint, place: Vector) -> bool:
    deep = pegs.socket_depth(joint.size, 1.0)
    return abs(place[0] - joint.x) <= deep and any(
        math.dist(place[1:], one) <= pegs.corner_radius(joint.size) + 1.0 for one in joint.places
    )


def _faces(at: Layout, place: Vector) -> Iterator[str]:
    x, y, z = place
    for hole in at.holes:
        if _in_hole(hole, place):
            yield f"{hole.kind} hole"
    wide, side = abs(y) < at.throat_half_width + NEAR, (x, z)
    if at.recess is not None and abs(y) < at.recess_half_width + NEAR and _in_or_by(at.recess, side):
        yield "wall of the frog's recess"
    if wide and _in_or_by(at.throat, side):
        on_cheek = abs(abs(y) - at.throat_half_width) < NEAR
        yield "throat's cheek" if on_cheek else _throat_wall(at, side)
    if at.seat_front[0] - NEAR < x < at.seat_rear[0] + NEAR and at.thickness - NEAR < z < at.height + NEAR and at.let_in:
        yield "wall of the casting's seat"
    if at.tail is not None and x > at.tail.cove_high[0] - NEAR and abs(at.top_at(min(x, at.length)) - z) < NEAR:
        yield "cove and tail"
    if z < NEAR:
        yield "sole"
    if abs(abs(y) - at.strip / 2) < NEAR:
        yield "mating face"
    if abs(z - at.height) < at.edge_size + NEAR:
        yield "top and its edges"


def _in_hole(hole: Hole, place: Vector) -> bool:
    start, end = hole.start, hole.end
    along = [b - a for a, b in zip(start, end, strict=True)]
    share = sum((p - a) * d for p, a, d in zip(place, start, along, strict=True)) / hole.depth**2
    nearest = [a + min(max(share, 0.0), 1.0) * d for a, d in zip(start, along, strict=True)]
    return math.dist(nearest, place) < hole.radius + NEAR


def _in_or_by(corners: Sequence[Point], place: Point) -> bool:
    ends = zip(corners, [*corners[1:], corners[0]], strict=True)
    return inside(place, corners) or any(point_to_segment(place, a, b) < NEAR for a, b in ends)


def _throat_wall(at: Layout, place: Point) -> str:
    walls = {
        "wear": (at.mouth_front, at.wear_top),
        "breast": (at.wear_top, at.breast_top),
        "bed": (at.bed_foot, at.on_the_bed(at.let_in / at.up_the_bed[1])),
    }
    return min(walls, key=lambda name: point_to_segment(place, *walls[name]))
