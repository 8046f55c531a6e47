"""Glue lines: how much area, how many clamps. Clamping figures are common practice, no published source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planestock.models.layout import Layout
from planestock.models.shapes import Point

STEP = 0.25
"""Distance of the places at which the mating face is measured, mm; its area is then right to a few mm²."""

CAUL = 30.0
"""Thickness of the cauls reckoned with, mm."""

CLAMP_PRESSURE = (0.7, 1.4)
"""Pressure wanted on a hardwood glue line, N/mm²; common practice, no published source."""


@dataclass(frozen=True)
class GlueLine:
    """Glue lines of one kind. lines: how many; area: of each, mm²; clamps: to each, spaced so that their pressure meets."""

    name: str
    lines: int
    area: float
    clamps: int


def glue_lines(at: Layout) -> tuple[GlueLine, ...]:
    """Return the glue lines of a body in the order they are made."""
    return tuple(_lines(at))


def _lines(at: Layout) -> Iterator[GlueLine]:
    between = "halves and centre strip" if at.strip else "the two halves"
    yield GlueLine(between, 2 if at.strip else 1, mating_area(at), clamps(at.length, at.plan.half_width))
    for name, thickness in (("pad", at.pad), ("slip", at.slip)):
        if thickness > 0:
            yield GlueLine(name, 1, level_area(at), clamps(at.length, thickness))


def clamps(length: float, depth: float) -> int:
    """Return how many clamps a glue line wants. depth: of wood between clamp and glue, mm.

    Pressure spreads at 45 degrees from each clamp through wood and caul, so they may stand twice that depth apart.
    """
    return max(3, math.ceil(length / (2 * (depth + CAUL))) + 1)


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


def level_area(at: Layout) -> float:
    """Return the area of the body's plan less the throat, mm²: what pad or slip is glued on."""
    places = np.arange(STEP / 2, at.length, STEP)
    plan = float(sum(2 * at.plan.half_width_at(float(x)) for x in places) * STEP)
    return plan - 2 * at.throat_half_width * (at.throat[2][0] - at.breast_top[0])
