"""The shavings' way: the gap between the front wall (wear, breast) and the metal, from the mouth to the top."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import hump_arc, iron_place
from planestock.params.outlines.pieces import Point, flattened
from planestock.params.parameter_set import ParameterSet

Floats = npt.NDArray[np.float64]

STEPS = 400
"""Places along the front wall where the gap is taken: every 0.1 to 0.3 mm."""

SAGITTA = 0.002
"""How far the chords of the hump may stray from its arc, mm: less than the narrowing that is looked for."""


@dataclass(frozen=True)
class Passage:
    """narrowing: the most by which the gap, going up, falls below a gap it had further down, mm; where: height of that."""

    gap_at_mouth: float
    narrowing: float
    where: float


def passage(given: ParameterSet, at: Layout) -> Passage:
    """Return how the shavings' way develops, the edge standing level with the sole."""
    heights = np.linspace(0.0, at.thickness, STEPS)
    wall = np.array([(at.front_at(z), z) for z in heights])
    gaps = _distances(wall, _metal_front(given, at))
    widest_so_far = np.maximum.accumulate(gaps)
    fall = widest_so_far - gaps
    worst = int(np.argmax(fall))
    return Passage(float(gaps[0]), float(fall[worst]), float(heights[worst]))


def _metal_front(given: ParameterSet, at: Layout) -> list[Point]:
    """Return the front of the metal as a chain of points: the edge, the setback, the hump, and on along the iron."""
    place = iron_place(given, at, 0.0)
    t = given.iron.thickness.value
    front = hump_arc(given, at, place)
    arc = [*flattened([front], SAGITTA), front.end]
    setback = place.along + given.cap_iron.setback.value
    flat = t + given.cap_iron.thickness.value
    behind = setback + 2 * given.cap_iron.hump_distance.value
    return [at.on_the_bed(place.along, t), at.on_the_bed(setback, t), *arc, at.on_the_bed(behind, flat),
            at.on_the_bed(behind + 2 * at.height, flat)]  # fmt: skip


def _distances(points: Floats, chain: list[Point]) -> Floats:
    """Return the distance of each point (n, 2) to a chain of straight pieces. Shape (n,)."""
    starts, ends = np.asarray(chain[:-1]), np.asarray(chain[1:])
    lines = ends - starts
    squares = np.maximum((lines**2).sum(axis=1), 1e-18)
    offsets = points[:, None, :] - starts[None]
    shares = np.clip((offsets * lines).sum(axis=2) / squares, 0, 1)
    apart: Floats = np.linalg.norm(offsets - shares[..., None] * lines, axis=2).min(axis=1)
    return apart
