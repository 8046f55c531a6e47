"""Whether a hole takes any wood of its own, or lies wholly in what other cuts have taken already."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from planestock.models.body.holes import Hole, Vector
from planestock.models.body.layout import Layout
from planestock.params.outlines.polygons import inside

DEPTHS = (0.01, 0.25, 0.5, 0.75, 0.99)
"""Shares of a hole's depth at which it is looked at; its very ends lie on surfaces, where nothing is decided."""

RINGS = (0.0, 0.5, 0.98)
"""Shares of a hole's radius at which it is looked at; wood thinner than what lies between is no wood that a hole is for."""

AROUND = 12
"""Places looked at on each ring."""


def in_wood(point: Vector, at: Layout) -> bool:
    """Tell whether a point lies in the body with throat, seat, tail and recess cut; holes are not looked at."""
    x, y, z = point
    within = 0 < x < at.length and abs(y) < at.plan.half_width_at(x) and 0 < z <= at.top_at(x)
    in_throat = abs(y) < at.throat_half_width and inside((x, z), at.throat)
    in_recess = at.recess is not None and abs(y) < at.recess_half_width and inside((x, z), at.recess)
    return within and not in_throat and not in_recess


def takes_wood(hole: Hole, others: Sequence[Hole], at: Layout) -> bool:
    """Tell whether a hole takes wood that none of the other holes takes; decided at points spread through it."""
    return any(in_wood(point, at) and not any(_in_hole(point, other) for other in others) for point in _spread(hole))


def _in_hole(point: Vector, hole: Hole) -> bool:
    (dx, dy, dz) = hole.direction
    x, y, z = (a - b for a, b in zip(point, hole.start, strict=True))
    along = x * dx + y * dy + z * dz
    off = math.hypot(x - along * dx, y - along * dy, z - along * dz)
    return -hole.overrun <= along <= hole.depth and off <= hole.radius


def _spread(hole: Hole) -> Iterator[Vector]:
    """Yield points through a hole, ring by ring from its mouth to its bottom."""
    one, other = _across(hole.direction)
    for share in DEPTHS:
        middle = [a + share * hole.depth * d for a, d in zip(hole.start, hole.direction, strict=True)]
        for ring in RINGS:
            for step in range(AROUND if ring else 1):
                angle, reach = step * math.tau / AROUND, ring * hole.radius
                u, v = reach * math.cos(angle), reach * math.sin(angle)
                x, y, z = (m + u * a + v * b for m, a, b in zip(middle, one, other, strict=True))
                yield (x, y, z)


def _across(direction: Vector) -> tuple[Vector, Vector]:
    """Return two unit vectors square to a direction in the x-z plane or along y, and to each other."""
    dx, dy, dz = direction
    if abs(dy) > 0.5:
        return (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    return (0.0, 1.0, 0.0), (dz, 0.0, -dx)
