"""Room between the front wall and the cap iron on its way down and out, from the layout's numbers alone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from planestock.models.body.layout import Layout
from planestock.models.body.metal_outlines import hump_arc, iron_place
from planestock.params.outlines.pieces import Point, flattened
from planestock.params.parameter_set import ParameterSet

Floats = npt.NDArray[np.float64]

SAGITTA = 0.002
"""How far the chords of the hump may stray from its arc, mm."""

STEPS = 200
"""Heights at which the room is taken: every quarter of a millimetre."""


def room_before_cap_iron(given: ParameterSet, at: Layout, proud: float) -> float:
    """Return the least room along the body between the front wall and the cap iron, its edge `proud` mm below the sole.

    The cap iron is taken with the way along the bed on which it is lifted out. Negative where it would enter the wood.
    """
    chain = _front(given, at, proud)
    heights = np.append(np.linspace(0.0, at.height, STEPS), at.wear_top[1])
    metal = np.min([_crossed(a, b, heights) for a, b in pairwise(chain)], axis=0)
    (fx, fz), (wx, wz), (bx, bz) = at.mouth_front, at.wear_top, at.breast_top
    wall = np.interp(heights, [fz, wz, bz], [fx, wx, bx])
    return float(np.min(metal - wall))


def _front(given: ParameterSet, at: Layout, proud: float) -> list[Point]:
    """Return the metal's front: edge, setback, hump, and from its crest along the bed to above the wood."""
    place, t = iron_place(given, at, proud), given.iron.thickness.value
    front = hump_arc(given, at, place)
    setback = place.along + given.cap_iron.setback.value
    crest = t + given.cap_iron.hump_height.value
    far = setback + given.cap_iron.hump_distance.value + 3 * at.height
    return [at.on_the_bed(place.along, t), at.on_the_bed(setback, t), *flattened([front], SAGITTA), front.end,
            at.on_the_bed(far, crest)]  # fmt: skip


def _crossed(start: Point, end: Point, heights: Floats) -> Floats:
    """Return where a straight piece is at each height, infinity at heights that it does not reach. Shape (n,)."""
    (x1, z1), (x2, z2) = (start, end) if start[1] <= end[1] else (end, start)
    if z1 == z2:
        return np.where(heights == z1, min(x1, x2), np.inf)
    at = x1 + (x2 - x1) * (heights - z1) / (z2 - z1)
    reached: Floats = np.where((heights >= z1) & (heights <= z2), at, np.inf)
    return reached
