"""Wood that a round cutter leaves in a pocket: inside corners, tight curves, passages narrower than the cutter.

Run along its walls, a cutter of radius r covers the pocket's opening by a disc of that radius (mathematical morphology).
What is left over is bounded by the walls that it does not touch and by arcs of radius r where it stands still. Both come in
closed form from `offsets.tracks`, so that places and areas are exact; for a sharp corner of angle α between straight walls
    area = r² (cot(α/2) - (π - α)/2),   farthest wood r cot(α/2) from the corner,   nearest cut r / sin(α/2) - r from it,
which is r² (1 - π/4) for a square one (plane geometry).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from planestock.params.outlines.along import direction, part, point_at, share_of
from planestock.params.outlines.crossings import crossings
from planestock.params.outlines.distances import distance
from planestock.params.outlines.offsets import NEAR, Track, touched, tracks
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, area, cross, flattened, length
from planestock.params.outlines.polygons import inside

Kind = Literal["corner", "curve", "passage", "everything"]

LINK = 1e-4
"""Ends of the cutter's path that are nearer than this meet, mm: what short tracks that were left out may leave open, and
what walls that meet almost straight may overlap."""

LEAST_AREA = 1e-4
"""Wood below this area is not a leftover, mm²: a square corner leaves it with a cutter 0.04 mm wide."""

CHORD = 0.01
"""How far chords may stray from an arc where only farthest points are looked for, mm."""


@dataclass(frozen=True)
class Leftover:
    """One piece of wood that stays, as seen along the cutter.

    kind: a sharp corner, a curve tighter than the cutter, a passage (more than one corner), or the whole of the pocket.
    place: the corner, the middle of the curve, or the middle of a passage; angle: of the corner between its walls, degrees,
    None for other kinds; area: mm²; farthest: from the place to the wood farthest from it; nearest: from the place to the
    cutter where it comes nearest; mm. outline: its border, anticlockwise. stand: the place of the cutter's middle nearest
    by; None where it can stand nowhere, or at several places.
    """

    kind: Kind
    place: Point
    angle: float | None
    area: float
    farthest: float
    nearest: float
    outline: Outline
    stand: Point | None


class PathBroken(ArithmeticError):
    """The cutter's path could not be closed; two walls nearly touch."""


def leftovers(rings: Sequence[Outline], radius: float) -> tuple[Leftover, ...]:
    """Return what a cutter of this radius leaves, in the order of the walls. rings: with the free space on their left.

    Rings that bound wood (walked clockwise) leave the space around them free; one walked anticlockwise bounds a closed
    pocket.
    """
    found = tracks(rings, radius)
    loops = [*_loops(rings, found)] if found else []
    idle = [ring for index, ring in enumerate(rings) if not any(track.ring == index for track in found)]
    regions = [_with_islands(loop, idle) for loop in loops]
    whole = [_everything(ring) for ring in idle if area(ring) > LEAST_AREA]
    return (*(one for one in regions if one is not None), *whole)


def _everything(ring: Outline) -> Leftover:
    place = _middle(ring)
    return Leftover("everything", place, None, area(ring), _farthest(ring, place), 0.0, ring, None)


def _with_islands(loop: _Loop, idle: Sequence[Outline]) -> Leftover | None:
    """Return a loop as a leftover, less the islands of wood in it that the cutter touches nowhere."""
    if area(loop.pieces) < LEAST_AREA:
        return None
    border = flattened(loop.pieces, CHORD)
    islands = sum(area(ring) for ring in idle if area(ring) < 0 and inside(ring[0].start, border))
    return _leftover(loop, area(loop.pieces) + islands)


@dataclass(frozen=True)
class _Loop:
    """walls: the chains of untouched wall; stands: the middles of the cutter at the arcs between them."""

    pieces: Outline
    walls: tuple[tuple[Piece, ...], ...]
    stands: tuple[Point, ...]


@dataclass(frozen=True)
class _Strand:
    """A chain of pieces of a border: untouched wall, or one arc of the cutter that stands still."""

    pieces: tuple[Piece, ...]
    stand: Point | None = None


def _loops(rings: Sequence[Outline], found: Sequence[Track]) -> Iterator[_Loop]:
    """Yield the closed borders of what is left."""
    strands: list[_Strand] = []
    follow: dict[int, int] = {}
    for cycle in _cycles(rings, found):
        first = len(strands)
        strands.extend(cycle)
        follow |= {first + index: first + (index + 1) % len(cycle) for index in range(len(cycle))}
    strands, follow = _apart(strands, follow, found)
    seen: set[int] = set()
    for start in follow:
        loop: list[_Strand] = []
        index = start
        while index not in seen:
            seen.add(index)
            loop.append(strands[index])
            index = follow[index]
        if loop:
            yield _loop(loop)


def _loop(strands: Sequence[_Strand]) -> _Loop:
    pieces = tuple(piece for strand in strands for piece in strand.pieces)
    walls = tuple(strand.pieces for strand in strands if strand.stand is None)
    return _Loop(pieces, walls, tuple(dict.fromkeys(strand.stand for strand in strands if strand.stand is not None)))


def _cycles(rings: Sequence[Outline], found: Sequence[Track]) -> Iterator[list[_Strand]]:
    """Yield closed chains: along an untouched wall, back along the cutter to where it last touched, and so on."""
    after_on_ring = _following(found)
    before_on_path = {after: before for before, after in _links(found).items()}
    seen: set[int] = set()
    for first in range(len(found)):
        index, cycle = first, list[_Strand]()
        while index not in seen:
            seen.add(index)
            start = after_on_ring[index]
            wall = tuple(_untouched(rings, found[index], found[start]))
            cycle.extend([_Strand(wall)] if wall else [])
            index = before_on_path[start]
            cycle.extend(_stood(rings, found[start], found[index]))
        if cycle:
            yield cycle


def _apart(strands: list[_Strand], follow: dict[int, int], found: Sequence[Track]) -> tuple[list[_Strand], dict[int, int]]:
    """Part borders at places that the cutter reaches from two sides: where its arcs cross, the wood falls in two."""
    arcs = {index: strand.pieces[0] for index, strand in enumerate(strands) if strand.stand is not None}
    crossed = {index: inner for index, arc in arcs.items() if (inner := _inner(arc, arcs.values()))}
    if not crossed:
        return strands, follow
    result, links = list(strands), dict(follow)
    loose: list[int] = []
    for index, inner in crossed.items():
        stand, after = strands[index].stand, follow[index]
        radius = arcs[index].radius  # type: ignore[union-attr]
        ids = [index, *range(len(result), len(result) + len(inner))]
        parts = [part(arcs[index], a, b) for a, b in pairwise([0.0, *inner, 1.0])]
        result.extend(_Strand((), stand) for _ in inner)
        for number, (own, piece) in enumerate(zip(ids, parts, strict=True)):
            result[own] = _Strand((piece,), stand)
            links[own] = after if number == len(inner) else ids[number + 1]
            if _covered(point_at(piece, 0.5), radius, found):
                links.pop(own)
                loose.append(own)
    return result, _relinked(result, links, set(loose))


def _inner(arc: Piece, others: Iterable[Piece]) -> list[float]:
    shares = [share_of(arc, point) for other in others if other is not arc for point in crossings(arc, other)]
    spare = NEAR / length(arc)
    return sorted({share for share in shares if spare < share < 1 - spare})


def _covered(point: Point, radius: float, found: Sequence[Track]) -> bool:
    return min(distance(track.piece, point) for track in found) < radius - NEAR


def _relinked(strands: Sequence[_Strand], links: dict[int, int], loose: set[int]) -> dict[int, int]:
    """Lead each arc that ran into a dropped one on along the arc that begins where it ends."""
    begun = set(links.values())
    free = [index for index in links if index not in begun]
    for index, after in list(links.items()):
        if after in loose:
            end = strands[index].pieces[-1].end
            links[index] = min(free, key=lambda other: math.dist(strands[other].pieces[0].start, end))
            free.remove(links[index])
    return links


def _following(found: Sequence[Track]) -> dict[int, int]:
    """Return for each track the one that follows on the same ring."""
    result: dict[int, int] = {}
    for ring in {track.ring for track in found}:
        own = [index for index, track in enumerate(found) if track.ring == ring]
        result |= dict(pairwise([*own, own[0]]))
    return result


def _links(found: Sequence[Track]) -> dict[int, int]:
    """Return for each track the one that begins where it ends. Raises PathBroken where none does."""
    free = set(range(len(found)))
    result: dict[int, int] = {}
    for index, track in enumerate(found):
        nearest = min(free, key=lambda other: math.dist(found[other].piece.start, track.piece.end))
        if math.dist(found[nearest].piece.start, track.piece.end) > LINK:
            x, y = track.piece.end
            raise PathBroken(f"gives a path that cannot be closed near {x:.2f}, {y:.2f} mm: two walls nearly touch it there")
        free.remove(nearest)
        result[index] = nearest
    return result


def _untouched(rings: Sequence[Outline], before: Track, after: Track) -> Iterator[Piece]:
    """Yield the wall between two tracks that follow one another on a ring."""
    ring = rings[before.ring]
    begin, finish = _along(before, before.finish), _along(after, after.begin)
    if finish < begin - NEAR or (finish <= begin and before.order >= after.order):
        finish += len(ring)
    here = begin
    while here < finish:
        index = math.floor(here)
        there = min(index + 1.0, finish)
        piece = part(ring[index % len(ring)], here - index, there - index)
        if length(piece) > NEAR:
            yield piece
        here = there


def _along(track: Track, share: float) -> float:
    """Return how far along its ring a share of a track's element lies, in pieces."""
    index, on_wall = divmod(track.element, 2)
    return index + (share if on_wall else 0.0)


def _stood(rings: Sequence[Outline], start: Track, end: Track) -> Iterator[_Strand]:
    """Yield the cutter's border from where a track first touches back to where the one before it last touched."""
    here, there = touched(rings, start, start.begin), touched(rings, end, end.finish)
    if math.dist(here, there) > NEAR:
        yield _Strand((Arc(here, there, start.piece.start, clockwise=True),), start.piece.start)


def _leftover(loop: _Loop, left: float) -> Leftover:
    corners = [point for wall in loop.walls for point in _corners(wall)]
    if len(loop.stands) == 1 and len(corners) == 1:
        return _at_a_corner(loop, left, corners[0])
    if len(loop.stands) == 1 and not corners:
        return _in_a_curve(loop, left)
    place = _middle(loop.pieces)
    nearest = min(abs(math.dist(place, stand) - _radius(loop)) for stand in loop.stands)
    stand = loop.stands[0] if len(loop.stands) == 1 else None
    return Leftover("passage", place, None, left, _farthest(loop.pieces, place), nearest, loop.pieces, stand)


def _at_a_corner(loop: _Loop, left: float, corner: tuple[Point, float]) -> Leftover:
    place, angle = corner
    stand = loop.stands[0]
    nearest = math.dist(place, stand) - _radius(loop)
    return Leftover("corner", place, angle, left, _farthest(loop.pieces, place), nearest, loop.pieces, stand)


def _in_a_curve(loop: _Loop, left: float) -> Leftover:
    stand = loop.stands[0]
    points = flattened(loop.walls[0], CHORD) or [loop.walls[0][0].start]
    place = max(points, key=lambda point: math.dist(point, stand))
    nearest = math.dist(place, stand) - _radius(loop)
    return Leftover("curve", place, None, left, _farthest(loop.pieces, place), nearest, loop.pieces, stand)


def _radius(loop: _Loop) -> float:
    arcs = [piece for piece in loop.pieces if isinstance(piece, Arc) and piece.centre in loop.stands]
    return arcs[-1].radius


SMOOTH = math.radians(0.5)
"""Walls that turn by less than this run on, radians: such a corner of a traced outline is no corner to a maker."""


def _corners(wall: Sequence[Piece]) -> Iterator[tuple[Point, float]]:
    """Yield the inside corners of a wall: place and angle between the walls on both sides, degrees."""
    for before, after in pairwise(wall):
        one, other = direction(before, 1.0), direction(after, 0.0)
        turn = math.atan2(cross(one, other), one[0] * other[0] + one[1] * other[1])
        if abs(turn) > SMOOTH:
            yield after.start, 180.0 - math.degrees(turn)


def _middle(outline: Outline) -> Point:
    """Return the centre of area of an outline, arcs as chords."""
    points = flattened(outline, CHORD)
    double = sx = sy = 0.0
    for (x1, y1), (x2, y2) in zip(points, [*points[1:], points[0]], strict=True):
        piece = x1 * y2 - x2 * y1
        double, sx, sy = double + piece, sx + (x1 + x2) * piece, sy + (y1 + y2) * piece
    return (sx / (3 * double), sy / (3 * double)) if double else points[0]


def _farthest(outline: Outline, place: Point) -> float:
    return max(math.dist(place, point) for point in flattened(outline, CHORD))


def closed(points: Sequence[Point]) -> Outline:
    """Return the closed ring through points."""
    return tuple(Line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True) if a != b)
