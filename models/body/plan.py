"""The body seen from above: one half's outline as a chain of tangent lines and arcs.

Parallel beside the throat, drawn in to the toe and to the heel by one arc each that is tangent to the parallel part, with
rounded corners tangent to that arc and to the end. Tangent arcs because edge rounds on splines fail far more often.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, mirrored_across


@dataclass(frozen=True)
class End:
    """One end of the plan. x: of the end face; shoulder: x where the parallel part begins; half_width: at the end face."""

    x: float
    shoulder: float
    half_width: float
    corner_radius: float


@dataclass(frozen=True)
class Plan:
    """The plan of the whole body. inner: half the centre strip; half_width: of the parallel part."""

    inner: float
    half_width: float
    toe: End
    heel: End

    def half_outline(self) -> Outline:
        """Return the right half's outline (y from `inner` out), anticlockwise seen from above."""
        return (*self._side(self.inner), Line((self.toe.x, self.inner), (self.heel.x, self.inner)))

    def whole_outline(self) -> Outline:
        """Return the whole body's outline, anticlockwise seen from above."""
        side = self._side(0.0)
        return _without_stubs((*side, *mirrored_across(side)))

    def _side(self, inner: float) -> tuple[Piece, ...]:
        """Return the pieces from the mating face at the heel, round the cheek, to the mating face at the toe."""
        toe, heel = _end_pieces(self.toe, self.half_width), _end_pieces(self.heel, self.half_width)
        toe_end, heel_end = (self.toe.x, inner), (self.heel.x, inner)
        return (
            Line(heel_end, heel[-1].end),
            *(_reversed(piece) for piece in reversed(heel)),
            Line(heel[0].start, toe[0].start),
            *toe,
            Line(toe[-1].end, toe_end),
        )

    def half_width_at(self, x: float) -> float:
        """Return half the body's width at x, corners included; 0 outside the body."""
        if not self.toe.x <= x <= self.heel.x:
            return 0.0
        if self.toe.shoulder <= x <= self.heel.shoulder:
            return self.half_width
        end = self.toe if x < self.toe.shoulder else self.heel
        return min(_height_at(piece, x) for piece in _end_pieces(end, self.half_width) if _spans(piece, x))


def swell_radius(end: End, half_width: float) -> float:
    """Return the radius of the arc tangent to the parallel part at the shoulder that meets the end; inf where straight.

    From the right triangle over chord and sagitta: R = (a² + d²) / 2d, a = length drawn in, d = how far.
    """
    drawn_in, length = half_width - end.half_width, abs(end.shoulder - end.x)
    return math.inf if drawn_in == 0 else (length**2 + drawn_in**2) / (2 * drawn_in)


def _end_pieces(end: End, half_width: float) -> list[Piece]:
    """Return the pieces from the shoulder to the end face: swell (or straight), then corner."""
    inward = 1.0 if end.shoulder > end.x else -1.0
    radius = swell_radius(end, half_width)
    shoulder = (end.shoulder, half_width)
    if math.isinf(radius):
        return _straight_end(end, half_width, inward)
    centre = (end.shoulder, half_width - radius)
    if end.corner_radius == 0:
        return [Arc(shoulder, (end.x, end.half_width), centre, clockwise=inward < 0)]
    corner = corner_centre(end, half_width)
    scale = radius / (radius - end.corner_radius)
    meeting = (centre[0] + (corner[0] - centre[0]) * scale, centre[1] + (corner[1] - centre[1]) * scale)
    return [
        Arc(shoulder, meeting, centre, clockwise=inward < 0),
        Arc(meeting, (end.x, corner[1]), corner, clockwise=inward < 0),
    ]


def corner_centre(end: End, half_width: float) -> Point:
    """Return the centre of the corner's arc: tangent to the end face and, from inside, to the swell's arc."""
    inward = 1.0 if end.shoulder > end.x else -1.0
    x = end.x + inward * end.corner_radius
    radius = swell_radius(end, half_width)
    if math.isinf(radius):
        return (x, half_width - end.corner_radius)
    inner = radius - end.corner_radius
    return (x, half_width - radius + math.sqrt(inner**2 - (end.shoulder - x) ** 2))


def _straight_end(end: End, half_width: float, inward: float) -> list[Piece]:
    corner, r = (end.x, half_width), end.corner_radius
    if r == 0:
        return [Line((end.shoulder, half_width), corner)]
    begin, finish = (end.x + inward * r, half_width), (end.x, half_width - r)
    arc = Arc(begin, finish, (begin[0], finish[1]), clockwise=inward < 0)
    return [Line((end.shoulder, half_width), begin), arc]


def _reversed(piece: Piece) -> Piece:
    if isinstance(piece, Line):
        return Line(piece.end, piece.start)
    return Arc(piece.end, piece.start, piece.centre, not piece.clockwise)


def _spans(piece: Piece, x: float) -> bool:
    return min(piece.start[0], piece.end[0]) <= x <= max(piece.start[0], piece.end[0])


def _height_at(piece: Piece, x: float) -> float:
    if isinstance(piece, Line):
        return max(piece.start[1], piece.end[1])
    return piece.centre[1] + math.sqrt(max(0.0, piece.radius**2 - (x - piece.centre[0]) ** 2))


def _without_stubs(outline: Outline) -> Outline:
    """Join the two straight pieces that meet on the mid-plane at each end face into one."""
    pieces = list(outline)
    first, last = pieces[0], pieces[-1]
    side = len(pieces) // 2
    toe = Line(pieces[side - 1].start, pieces[side].end)
    heel = Line(last.start, first.end)
    return (heel, *pieces[1 : side - 1], toe, *pieces[side + 1 : -1])
