"""Every hole as the driller needs it: face, place, diameter, depth, lean, and the bits that come nearest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from planestock.models.body.dowels import dowel_depth_in_half
from planestock.models.body.holes import Hole, HoleKind
from planestock.models.body.layout import Layout
from planestock.models.body.screws import INCH, shank_diameter
from planestock.params.parameter_set import ParameterSet

DrilledFace = Literal["top", "bed", "mating face"]

METRIC_STEP = Fraction(1, 10)
"""Metric twist drills are sold in steps of 0.1 mm."""

INCH_STEP = Fraction(1, 64)
"""Fractional drills go by 1/64 in."""

PLAIN_SHARE = 1 / 3
"""Share of a wood screw's length that has no thread; common practice, no published source."""


@dataclass(frozen=True)
class Bit:
    """A drill bit on sale: size in mm, exact, and as it is named; over: how much wider than the hole asked for, mm."""

    size: Fraction
    name: str
    over: float


@dataclass(frozen=True)
class ShankHole:
    """The wider hole for the plain part of a wood screw below the casting, mm."""

    diameter: float
    depth: float


@dataclass(frozen=True)
class Drilling:
    """One hole, or a pair `across` to either side of the mid-plane.

    from_toe, up: of its mouth, mm; along: up the bed from the corner D, for holes in the bed. lean: of the drill from square
    to the face, degrees, positive when its point leans to the heel (on the bed: to the sole). from_plumb: of the drill with
    the body on its sole, positive when its point leans to the heel. depth: from the face; in each half for dowels.
    """

    kind: HoleKind
    path: str
    face: DrilledFace
    count: int
    from_toe: float
    across: float
    up: float
    along: float | None
    diameter: float
    depth: float
    lean: float
    from_plumb: float
    gauge: int | None
    shank: ShankHole | None


def drillings(given: ParameterSet, at: Layout) -> tuple[Drilling, ...]:
    """Return all holes in the order they are drilled: dowels, bed, top."""
    holes = [hole for hole in at.holes if hole.start[1] >= 0 or hole.kind == "dowel"]
    order = {"mating face": 0, "bed": 1, "top": 2}
    return tuple(sorted((_drilling(given, at, hole) for hole in holes), key=lambda one: (order[one.face], one.from_toe)))


def _drilling(given: ParameterSet, at: Layout, hole: Hole) -> Drilling:
    (x, y, z), (dx, _, dz) = hole.start, hole.direction
    from_plumb = 0.0 if hole.kind == "dowel" else math.degrees(math.atan2(dx, -dz))
    gauge, shank = _screw(given, hole)
    return Drilling(
        kind=hole.kind,
        path=hole.path,
        face=_face(hole),
        count=1 if hole.kind == "dowel" or y == 0 else 2,
        from_toe=x,
        across=0.0 if hole.kind == "dowel" else y,
        up=z,
        along=_along(at, hole) if hole.kind == "frog screw" else None,
        diameter=hole.diameter,
        depth=dowel_depth_in_half(hole, at.strip) if hole.kind == "dowel" else hole.depth,
        lean=at.bed_angle - from_plumb if hole.kind == "frog screw" else from_plumb,
        from_plumb=from_plumb,
        gauge=gauge,
        shank=shank,
    )


def _face(hole: Hole) -> DrilledFace:
    return {"dowel": "mating face", "frog screw": "bed"}.get(hole.kind, "top")  # type: ignore[return-value]


def _along(at: Layout, hole: Hole) -> float:
    (cos, sin), (x, z) = at.up_the_bed, at.corner
    return (hole.start[0] - x) * cos + (hole.start[2] - z) * sin


def _screw(given: ParameterSet, hole: Hole) -> tuple[int | None, ShankHole | None]:
    if hole.kind != "casting screw":
        return None, None
    screw = given.casting.screws[int(hole.path.rpartition(".")[2])]
    plain = screw.length.value * PLAIN_SHARE - given.casting.thickness.value
    return screw.gauge, ShankHole(shank_diameter(screw.gauge), plain) if plain > 0 else None


def metric_bit(diameter: float) -> Bit:
    """Return the nearest metric bit, in steps of 0.1 mm."""
    size = max(1, round(Fraction(diameter) / METRIC_STEP)) * METRIC_STEP
    return Bit(size, f"{float(size):.1f} mm", float(size) - diameter)


def inch_bit(diameter: float) -> Bit:
    """Return the nearest fractional bit, in steps of 1/64 in."""
    size = max(1, round(Fraction(diameter) / Fraction(INCH) / INCH_STEP)) * INCH_STEP
    whole, part = divmod(size, 1)
    name = f"{whole}-{part}" if whole and part else str(size)
    return Bit(size * Fraction("25.4"), f"{name} in", float(size * Fraction("25.4")) - diameter)


def dowel_places(at: Layout) -> Iterator[tuple[int, Hole]]:
    """Yield the dowels with their numbers, from 1, toe to heel within each group, as the marks name them."""
    yield from enumerate((hole for hole in at.holes if hole.kind == "dowel"), 1)
