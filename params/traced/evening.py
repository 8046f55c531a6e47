"""A traced outline made its own mirror image, as the halves of the body are: the union of the outline and its image."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from planestock.params.outlines.along import directions
from planestock.params.outlines.crossings import crossings, cut_at
from planestock.params.outlines.path_text import read
from planestock.params.outlines.pieces import (
    Arc,
    Line,
    Outline,
    Piece,
    Point,
    area,
    bounds,
    flattened,
    mirrored_across,
    through,
    turn_between,
    walked_back,
)

if TYPE_CHECKING:
    import shapely


FINE = 0.001
"""Chords that stand for arcs where outlines are joined or grown stray at most this far, mm."""


REFIT = 0.005
"""Tolerance, mm, of the lines and arcs that are made of a joined or grown outline: half of that of a drawing."""


EVEN = 0.03
"""Outlines that differ from their mirror image by less than this, mm, are symmetric, and their right half stands for both:
fits of two halves differ by twice the tolerance of a drawing, and a seat's gap is ten times as wide."""


@dataclass(frozen=True)
class TracedPlan:
    """A traced outline. metal: as it is, anticlockwise; even: its union with its mirror image; asymmetry: mm between."""

    metal: Outline
    even: Outline
    asymmetry: float

    @property
    def front(self) -> float:
        """Its front end, from D."""
        return bounds(self.even).left

    @property
    def rear(self) -> float:
        """Its rear end, from D."""
        return bounds(self.even).right

    @property
    def width(self) -> float:
        """Across the even outline at its widest."""
        return bounds(self.even).height


@lru_cache(maxsize=64)
def plan_of(text: str) -> TracedPlan:
    """Return the traced outline in path data that is known to be sound. Raises InputProblem where it is not readable."""
    import shapely

    pieces = read(text, "casting.outline")
    metal = pieces if area(pieces) > 0 else walked_back(pieces)
    shape = shapely.Polygon(flattened(metal, FINE))
    mirrored = shapely.Polygon([(x, -y) for x, y in flattened(metal, FINE)])
    apart = float(shapely.hausdorff_distance(shape.exterior, mirrored.exterior))
    half, other = _upper_half(metal), _upper_half(tuple(mirrored_across(metal)))
    if half is not None and apart < EVEN:
        return TracedPlan(metal, _doubled(half), apart)
    outer = None if half is None or other is None else _outer(half, other, (shape, mirrored))
    even = even_from(shapely.union(shape, mirrored)) if outer is None else _doubled(outer)
    joined = shapely.Polygon(flattened(even, FINE))
    return TracedPlan(metal, even, float(shapely.hausdorff_distance(joined.exterior, shape.exterior)))


def _outer(half: Outline, other: Outline, shapes: tuple[Any, Any]) -> Outline | None:
    """Return what of two halves, each from rear to front, lies outside the other's shape; None where it is no one chain."""
    cuts = {(i, j): crossings(a, b) for i, a in enumerate(half) for j, b in enumerate(other) if _boxes_meet(a, b)}
    kept = []
    for pieces, which, shape in ((half, 0, shapes[1]), (other, 1, shapes[0])):
        for index, piece in enumerate(pieces):
            points = [point for key, found in cuts.items() if key[which] == index for point in found]
            kept += [part for part in cut_at(piece, points) if not _is_within(_middle(part), shape)]
    return _chain_to_front(kept)


def _boxes_meet(a: Piece, b: Piece) -> bool:
    one, other = bounds([a]), bounds([b])
    return (one.left <= other.right + FINE and other.left <= one.right + FINE
            and one.low <= other.high + FINE and other.low <= one.high + FINE)  # fmt: skip


def _is_within(point: Point, shape: Any) -> bool:
    import shapely

    return bool(shape.contains(shapely.Point(point)))


def _chain_to_front(pieces: list[Piece]) -> Outline | None:
    """Return pieces end to end, from the rearmost start on the middle line to the front; None where one is left over."""
    left = list(pieces)
    begins = [piece for piece in left if abs(piece.start[1]) < FINE]
    if not begins:
        return None
    chain = [max(begins, key=lambda piece: piece.start[0])]
    left.remove(chain[0])
    while left:
        following = min(left, key=lambda piece: math.dist(piece.start, chain[-1].end))
        if math.dist(following.start, chain[-1].end) > FINE / 10:
            return None
        left.remove(following)
        chain.append(with_ends(following, chain[-1].end, following.end))
    return tuple(chain) if abs(chain[-1].end[1]) < FINE else None


def _upper_half(outline: Outline) -> Outline | None:
    """Return the pieces above the middle line, from the rear crossing to the front one; None where more cross it."""
    parts = [part for piece in outline for part in _cut_level(piece)]
    above = [part for part in parts if _middle(part)[1] > 0]
    begins = [index for index, part in enumerate(above) if above[index - 1].end != part.start]
    if len(begins) != 1:
        return None
    chain = [*above[begins[0] :], *above[: begins[0]]]
    if abs(chain[0].start[1]) > FINE or abs(chain[-1].end[1]) > FINE:
        return None
    chain[0] = with_ends(chain[0], (chain[0].start[0], 0.0), chain[0].end)
    chain[-1] = with_ends(chain[-1], chain[-1].start, (chain[-1].end[0], 0.0))
    return tuple(chain)


def with_ends(piece: Piece, start: Point, end: Point) -> Piece:
    """Return a piece between slightly other ends; an arc keeps the angle that it turns."""
    return Line(start, end) if isinstance(piece, Line) else through(start, end, piece.sweep)


def _middle(piece: Piece) -> Point:
    if isinstance(piece, Arc):
        return piece.at(0.5)
    return ((piece.start[0] + piece.end[0]) / 2, (piece.start[1] + piece.end[1]) / 2)


def _cut_level(piece: Piece) -> list[Piece]:
    """Return a piece cut where it crosses the middle line."""
    if isinstance(piece, Line):
        (sx, sy), (ex, ey) = piece.start, piece.end
        if sy * ey >= 0:
            return [piece]
        at = (sx + (ex - sx) * sy / (sy - ey), 0.0)
        return [Line(piece.start, at), Line(at, piece.end)]
    return _cut_arc(piece)


def _cut_arc(arc: Arc) -> list[Piece]:
    (cx, cy), radius = arc.centre, arc.radius
    if abs(cy) >= radius:
        return [arc]
    begin = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    reach = math.sqrt(radius**2 - cy**2)
    shares = []
    for x in (cx - reach, cx + reach):
        angle = math.atan2(-cy, x - cx)
        turned = (begin - angle) % math.tau if arc.clockwise else (angle - begin) % math.tau
        share = turned / abs(arc.sweep)
        if 1e-9 < share < 1 - 1e-9:
            shares.append((share, (x, 0.0)))
    stops = [arc.start, *(point for _, point in sorted(shares)), arc.end]
    return [Arc(a, b, arc.centre, arc.clockwise) for a, b in pairwise(stops)]


def _doubled(half: Outline) -> Outline:
    """Return a half from rear to front and its mirror image as one closed anticlockwise outline."""
    whole = [*half, *mirrored_across(half)]
    return _one_piece_at_the_ends(whole, len(half))


def _one_piece_at_the_ends(whole: list[Piece], count: int) -> Outline:
    """Join the two pieces that meet on the middle line, at the front and at the rear, where they are one line or arc."""
    front = _joined(whole[count - 1], whole[count])
    rear = _joined(whole[-1], whole[0])
    middle = [*whole[1 : count - 1], *([front] if front else whole[count - 1 : count + 1]), *whole[count + 1 : -1]]
    return (rear, *middle) if rear else (whole[0], *middle, whole[-1])


def _joined(one: Piece, other: Piece) -> Piece | None:
    if isinstance(one, Line) and isinstance(other, Line):
        return Line(one.start, other.end) if abs(turn_between(directions(one)[0], directions(other)[0])) < 1e-9 else None
    if isinstance(one, Arc) and isinstance(other, Arc) and abs(one.centre[1]) < FINE and one.clockwise == other.clockwise:
        wide = abs(one.sweep + other.sweep) < 1.9 * math.pi
        return through(one.start, other.end, one.sweep + other.sweep) if wide else None
    return None


def even_from(shape: Any) -> Outline:
    """Return a symmetric polygon as lines and arcs: its upper half fitted, and mirrored."""
    import shapely

    from planestock.params.traced.fitting import fitted
    from planestock.params.traced.strokes import Chained, polyline

    solid = shapely.Polygon(shapely.get_exterior_ring(_largest(shape)))
    ring = [(float(x), float(y)) for x, y in shapely.get_coordinates(solid.exterior)[:-1]]
    if not shapely.is_ccw(solid.exterior):
        ring.reverse()
    above = _ring_above(ring)
    made = fitted(Chained(tuple(polyline(above)), False, 0.0), REFIT, "casting.outline")
    return _doubled(made.pieces)


def _largest(shape: Any) -> shapely.Polygon:
    parts: list[shapely.Polygon] = list(getattr(shape, "geoms", [shape]))
    return max(parts, key=lambda part: part.area)


def _ring_above(ring: list[Point]) -> list[Point]:
    """Return the part of an anticlockwise ring above the middle line, from where it crosses at the rear to the front."""
    pairs = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    rises = [(_level(a, b), index) for index, (a, b) in enumerate(pairs) if a[1] < 0 <= b[1] or (a[1] <= 0 < b[1])]
    (begin, _), index = max(rises)
    points = [(begin, 0.0)]
    for step in range(1, len(ring) + 1):
        a, b = pairs[(index + step) % len(ring)]
        if a[1] > 0:
            points.append(a)
        if b[1] <= 0 < a[1]:
            points.append((_level(a, b)[0], 0.0))
            break
    return points


def _level(a: Point, b: Point) -> Point:
    """Return where the piece a-b meets the middle line."""
    share = 0.0 if a[1] == b[1] else a[1] / (a[1] - b[1])
    return (a[0] + share * (b[0] - a[0]), 0.0)
