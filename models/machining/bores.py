"""Which part each hole goes into, and whether a spindle that only stands upright can bore it there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.body.dowels import dowel_depth_in_half
from planestock.models.body.holes import Hole, Vector, clear_of_touching
from planestock.models.body.layout import Layout
from planestock.models.machining.part_blocks import Stretch
from planestock.params.outlines.pieces import Point, flattened
from planestock.params.outlines.polygons import inside

Obstacle = Literal["leans", "on the joint", "along the strip", "begins elsewhere"]
"""Why a hole is not bored by the router: it leans; it lies on the joint of the halves; it runs along the thin strip; it
begins in another part that is glued on later."""

STEPS, RAYS = 60, 48
"""Places along a hole's wall and around it where wood is looked for: a few tenths of a millimetre apart."""

HAIR = 1e-3
"""A hole goes into a part where it lies at least this deep in it, mm."""

UPRIGHT = 1e-9
"""Sine of the lean below which a hole stands upright."""

CHORD = 0.05
"""How far chords may stray from the seat's outline here, mm."""


@dataclass(frozen=True)
class Bore:
    """A hole, or a pair of one kind, in one part. obstacle: None where the router bores it.

    feature: as the solids name it; places: middle of the mouth in the body, mm; depth: in this part, from its face.
    lean: from the tool's direction, degrees.
    """

    feature: str
    kind: str
    path: str
    places: tuple[Vector, ...]
    diameter: float
    depth: float
    lean: float
    obstacle: Obstacle | None


def feature_of(hole: Hole) -> str:
    """Return the name of a hole's cut as the solids give it."""
    return f"{hole.path} at {hole.start[0]:.2f}, {hole.start[2]:.2f}"


def bores(at: Layout, own: Stretch) -> tuple[Bore, ...]:
    """Return the holes that the solids cut into a part, a pair as one; a hole that touches the joint grazes the half too."""
    seat = flattened(at.seat, CHORD)
    found: dict[str, list[Hole]] = {}
    for hole in at.holes:
        if _goes_into(clear_of_touching(hole, at.strip / 2), at, own, seat):
            found.setdefault(feature_of(hole), []).append(hole)
    return tuple(_bore(feature, holes, at, own) for feature, holes in found.items())


def _bore(feature: str, holes: list[Hole], at: Layout, own: Stretch) -> Bore:
    first = holes[0]
    (dx, _, dz) = first.direction
    depth, lean = first.depth, math.degrees(math.atan2(dx, -dz))
    if first.kind == "dowel":
        depth, lean = (own.across if own.name == "centre strip" else dowel_depth_in_half(first, at.strip)), 0.0
    places = tuple(hole.start if first.kind != "dowel" else (hole.start[0], own.inner, hole.start[2]) for hole in holes)
    obstacle = None if first.kind == "dowel" else _obstacle(holes, own)
    if obstacle is None and first.kind != "dowel":
        depth = min(depth, first.start[2] - own.low)
    return Bore(feature, first.kind, first.path, places, first.diameter, depth, lean, obstacle)


def _obstacle(holes: list[Hole], own: Stretch) -> Obstacle | None:
    first = holes[0]
    if abs(first.direction[0]) > UPRIGHT:
        return "leans"
    if own.name == "centre strip":
        return "along the strip"
    if not own.low < first.start[2] <= own.high + HAIR:
        return "begins elsewhere"
    if not own.whole_width and any(hole.start[1] - hole.radius < own.inner for hole in holes):
        return "on the joint"
    return None


def _goes_into(hole: Hole, at: Layout, own: Stretch, seat: list[Point]) -> bool:
    """Tell whether any of a hole's wall lies in a part's wood. The left half has the right one's holes, mirrored."""
    return any(
        own.inner + HAIR < y < own.outer - HAIR and own.low + HAIR < z < own.high - HAIR and _in_wood(at, (x, y, z), seat)
        for x, y, z in _wall(hole)
    )


def _wall(hole: Hole) -> Iterator[Vector]:
    """Yield points of a hole's wall and bottom. Every hole lies in a plane along the body or square across it."""
    dx, dy, dz = hole.direction
    one, other = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)) if abs(dy) > 0.5 else ((0.0, 1.0, 0.0), (-dz, 0.0, dx))
    for ray in range(RAYS):
        cos, sin = math.cos(math.tau * ray / RAYS), math.sin(math.tau * ray / RAYS)
        out = tuple(hole.radius * (cos * a + sin * b) for a, b in zip(one, other, strict=True))
        for step in range(STEPS + 1):
            far = hole.depth * step / STEPS
            x, y, z = (s + far * d + o for s, d, o in zip(hole.start, (dx, dy, dz), out, strict=True))
            yield (x, y, z)


def _in_wood(at: Layout, point: Vector, seat: list[Point]) -> bool:
    x, y, z = point
    if not 0 < x < at.length or abs(y) > at.plan.half_width_at(x) or z > surface(at, x, y, seat) - HAIR:
        return False
    if abs(y) < at.throat_half_width and inside((x, z), at.throat):
        return False
    return at.recess is None or abs(y) > at.recess_half_width or not inside((x, z), at.recess)


def surface(at: Layout, x: float, y: float, seat: list[Point]) -> float:
    """Return the height of the wood's top at x and y, throat and holes left aside. seat: the seat's outline as points."""
    lowered = at.tail is not None and at.tail_full_width and x >= at.tail.cove_high[0]
    return at.top_at(x) if lowered or inside((x, y), seat) else at.height
