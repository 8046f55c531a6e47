"""How far an outline is its own mirror image, as castings are cast to be."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planestock.params.outlines.path_text import written
from planestock.params.outlines.pieces import bounds
from planestock.params.traced.cleaning import Cleaned


@dataclass(frozen=True)
class Evenness:
    """How far an outline is its own mirror image, mm. off, askew: its middle line beside the x axis, mm at D and degrees.

    asymmetry: about the x axis; by_itself: about its own middle line.
    """

    asymmetry: float
    by_itself: float
    off: float
    askew: float


def evenness(cleaned: Cleaned) -> Evenness | None:
    """Return how even an outline is, None of a profile. Its own middle line is the best through its middles across."""
    import numpy as np
    import shapely

    from planestock.params.outlines.pieces import flattened
    from planestock.params.outlines.polygons import crossed_at
    from planestock.params.traced.evening import plan_of

    if cleaned.kind != "outline":
        return None
    points = flattened(cleaned.outline, 0.01)
    box = bounds(cleaned.outline)
    xs = np.linspace(box.left + 0.1 * box.width, box.right - 0.1 * box.width, 81)
    middles = [(float(x), (found[0] + found[-1]) / 2) for x in xs if (found := crossed_at(points, float(x)))]
    if len(middles) < 3 or box.low >= 0 or box.high <= 0:
        return None
    rows = np.array(middles)
    slope, off = np.polyfit(rows[:, 0], rows[:, 1], 1)
    asymmetry = plan_of(written(cleaned.outline, closed=True)).asymmetry
    turned = shapely.affinity.rotate(
        shapely.LineString([*points, points[0]]), -math.atan(float(slope)), origin=(0, float(off)), use_radians=True
    )
    itself = shapely.transform(turned, lambda rows: rows - (0.0, float(off)))
    across = shapely.transform(itself, lambda rows: rows * (1.0, -1.0))
    by_itself = float(shapely.hausdorff_distance(itself, across))
    return Evenness(asymmetry, by_itself, float(off), math.degrees(math.atan(float(slope))))
