"""Glue lines: how much area, how many clamps. Clamping figures are common practice, no published source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Point, area
from planestock.params.outlines.polygons import crossed_at

STEP = 0.25
"""Distance of the places at which the mating face is measured, mm; its area is then right to a few mm²."""

CAUL = 30.0
"""Thickness of the cauls reckoned with, mm; common practice, no published source."""

CLAMP_PRESSURE = (0.7, 1.4)
"""Pressure wanted on a hardwood glue line, N/mm²; common practice, no published source."""

HAND_FORCE = 2500.0
"""What a hand turns on a bar clamp without effort, N; from memory, 2 to 5 kN."""


@dataclass(frozen=True)
class GlueLine:
    """Glue lines of one kind. lines: how many; area: of each, mm²; clamps: to each, near enough for their
    pressure to meet, and enough for a hand to reach it."""

    name: str
    lines: int
    area: float
    clamps: int


def glue_lines(at: Layout) -> tuple[GlueLine, ...]:
    """Return the glue lines of a body in the order they are made."""
    return tuple(_lines(at))


def _lines(at: Layout) -> Iterator[GlueLine]:
    between = "halves and centre strip" if at.strip else "the two halves"
    yield GlueLine(between, 2 if at.strip else 1, mating_area(at), clamps(at.length, at.plan.half_width, mating_area(at)))
    for name, thickness, line in (("pad", at.pad, at.height - at.pad), ("slip", at.slip, at.slip)):
        if thickness > 0:
            joint = glue_area(at, line)
            yield GlueLine(name, 1, joint, clamps(at.length, thickness, joint))


def clamps(length: float, depth: float, joint: float) -> int:
    """Return how many clamps a glue line wants. depth: of wood between clamp and glue, mm; joint: its area, mm².

    Pressure spreads at 45 degrees from each clamp through wood and caul, so they may stand twice that depth apart; and all
    of them, turned by hand, must reach the least pressure wanted.
    """
    spread = math.ceil(length / (2 * (depth + CAUL))) + 1
    return max(3, spread, math.ceil(CLAMP_PRESSURE[0] * joint / HAND_FORCE))


def mating_area(at: Layout) -> float:
    """Return the area of one half's mating face with throat, recess, seat and tail cut away, mm²."""
    places = np.arange(STEP / 2, at.length, STEP)
    return float(sum(_wood_at(at, float(x)) for x in places) * STEP)


def _wood_at(at: Layout, x: float) -> float:
    low, high = at.slip, min(at.top_at(x), at.height - at.pad)
    gone = [_span(at.throat, x), *([_span(at.recess, x)] if at.recess else [])]
    spans = sorted((max(low, a), min(high, b)) for a, b in gone if min(high, b) > max(low, a))
    left, reached = max(0.0, high - low), low
    for start, end in spans:
        left -= max(0.0, end - max(start, reached))
        reached = max(reached, end)
    return max(0.0, left)


def _span(corners: tuple[Point, ...], x: float) -> tuple[float, float]:
    """Return from where to where a convex polygon covers the upright line at x; an empty span where it does not."""
    heights = [
        z1 + (z2 - z1) * (x - x1) / (x2 - x1)
        for (x1, z1), (x2, z2) in zip(corners, [*corners[1:], corners[0]], strict=True)
        if x1 != x2 and min(x1, x2) <= x <= max(x1, x2)
    ]
    return (min(heights), max(heights)) if heights else (0.0, 0.0)


def section_at(at: Layout, z: float) -> float:
    """Return the area of throat and frog recess in the plane at height z, mm²: what a glue line there loses."""
    return max(0.0, at.bed_at(z) - at.front_at(z)) * 2 * at.throat_half_width + _recess_section(at, z)


def _recess_section(at: Layout, z: float) -> float:
    """Return the area of the recess behind the bed at height z; its outline is a rectangle that leans with the bed."""
    if at.recess is None:
        return 0.0
    crossings = crossed_at([(high, x) for x, high in at.recess], z)
    return (crossings[-1] - crossings[0]) * 2 * at.recess_half_width if crossings else 0.0


def glue_area(at: Layout, z: float) -> float:
    """Return the area of a glue line through the whole body at height z, mm²: the plan less throat and recess.

    Holes that cross the line are not taken off.
    """
    return area(at.plan.whole_outline()) - section_at(at, z)
