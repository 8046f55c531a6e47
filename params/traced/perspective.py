"""From places in a picture to millimetres: by two points of known distance, or by the four corners of a known rectangle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from planestock.params.outlines.pieces import Point
from planestock.params.problems import refuse
from planestock.params.traced.strokes import Floats

READ_TO = 1.0
"""How truly a person reads a place in a picture, pixels, each way."""

LEAST_APART = 20.0
"""Pixels between two points below which no scale can be taken from them."""


class Scale(Protocol):
    """What turns places in a picture (x to the right, y down, pixels) into millimetres, y down too."""

    def millimetres(self, points: Floats) -> Floats:
        """Return where points, shape (n, 2), lie."""

    def share(self) -> float:
        """Return by what share a length can be wrong because the points it hangs on are read to `READ_TO` pixels."""


@dataclass(frozen=True)
class ByDistance:
    """A picture taken square on: one scale all over. apart: between the two points, mm."""

    first: Point
    second: Point
    apart: float

    def millimetres(self, points: Floats) -> Floats:
        """Return where points lie."""
        return points * (self.apart / math.dist(self.first, self.second))

    def share(self) -> float:
        """Return the share: both points are read."""
        return math.sqrt(2) * READ_TO / math.dist(self.first, self.second)


@dataclass(frozen=True, eq=False)
class ByRectangle:
    """A flat thing seen askew. matrix: the homography from pixels to mm; side: the shorter side of the rectangle, pixels."""

    matrix: Floats
    side: float

    def millimetres(self, points: Floats) -> Floats:
        """Return where points lie."""
        full = np.column_stack([points, np.ones(len(points))]) @ self.matrix.T
        placed: Floats = full[:, :2] / full[:, 2:]
        return placed

    def share(self) -> float:
        """Return the share: the corners at both ends of the shorter side are read."""
        return math.sqrt(2) * READ_TO / self.side


def by_distance(first: Point, second: Point, apart: float) -> ByDistance:
    """Return the scale of two points of known distance. Raises InputProblem where they are too near."""
    if math.dist(first, second) < LEAST_APART:
        raise refuse(
            "--scale",
            f"{math.dist(first, second):.3g} pixels",
            "lie between the two points, too few for a scale",
            "choose points as far apart as the casting is long",
        )
    return ByDistance(first, second, apart)


def by_rectangle(corners: tuple[Point, Point, Point, Point], sides: tuple[float, float]) -> ByRectangle:
    """Return the homography that takes four corners, in order around, to a rectangle.

    sides: from the first corner to the second, and from the second to the third, mm. From the four pairs of places by the
    usual eight linear equations (direct linear transform). Raises InputProblem for corners that are no convex quadrangle.
    """
    turns = [_turn(*three) for three in zip(corners, corners[1:] + corners[:1], corners[2:] + corners[:2], strict=True)]
    lengths = [math.dist(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    if min(lengths) < LEAST_APART or not (all(turn > 0 for turn in turns) or all(turn < 0 for turn in turns)):
        raise refuse(
            "--rectangle",
            "the four corners",
            "are not those of a rectangle in order around",
            "give them one after the other along its edge, the first side first",
        )
    wide, tall = sides
    # In a picture y points down: corners that go round clockwise as seen turn positively, and so does the rectangle.
    down = tall if turns[0] > 0 else -tall
    places = ((0.0, 0.0), (wide, 0.0), (wide, down), (0.0, down))
    rows, right = [], []
    for (x, y), (u, v) in zip(corners, places, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    solution = np.linalg.solve(np.array(rows, dtype=np.float64), np.array(right, dtype=np.float64))
    return ByRectangle(np.append(solution, 1.0).reshape(3, 3), min(lengths))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def pixel_size(scale: Scale, at: Point) -> float:
    """Return how many mm a pixel is at a place, the larger of both ways."""
    x, y = at
    here, right, down = scale.millimetres(np.array([(x, y), (x + 1, y), (x, y + 1)]))
    return float(max(np.hypot(*(right - here)), np.hypot(*(down - here))))
