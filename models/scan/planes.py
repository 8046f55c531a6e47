"""The large flat faces of a scan: RANSAC over its samples, each plane then fitted by iterated reweighting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array
from planestock.models.scan.samples import Samples

MOST_PLANES = 6
"""Planes that are looked for: underside, top, frog and iron, and what of a bench was scanned along."""

TRIES = 300
"""Planes that are tried for each one kept. One through a sample of a face that is a tenth of the area is met with near
certainty: 0.9 to the power of 300 is 2e-14."""

LOOKED_THROUGH = 5_000
"""Samples that the tries are counted on."""

NEAR = 0.4
"""Farthest that a point of a plane lies from it while it is looked for, mm: above a scanner's noise, below a casting's
thickness."""

ALIKE = 0.95
"""Least |cosine| between a plane and the direction of its points."""

LEAST_SHARE = 0.01
"""Of all samples that a plane must hold to be one."""

REWEIGHTED = 8
"""Rounds of reweighting; two or three settle it."""

SEED = 20_240_301
"""Of the tries; always the same."""


@dataclass(frozen=True, eq=False)
class Plane:
    """A flat face. middle: (3,), the mean of its points; normal: unit, of either sign; rows: which samples lie on it."""

    middle: Array
    normal: Array
    rows: npt.NDArray[np.int64]


def planes(samples: Samples, most: int = MOST_PLANES) -> list[Plane]:
    """Return the largest flat faces, largest first, `most` of them."""
    generator = np.random.Generator(np.random.PCG64(SEED))
    left = np.arange(len(samples.points))
    found: list[Plane] = []
    while len(found) < most and len(left) >= 3:
        plane = _largest(samples, left, generator)
        if plane is None or len(plane.rows) < LEAST_SHARE * len(samples.points):
            break
        found.append(plane)
        left = np.setdiff1d(left, plane.rows, assume_unique=True)
    return found


def _largest(samples: Samples, left: npt.NDArray[np.int64], generator: np.random.Generator) -> Plane | None:
    """Return the plane among many tried ones that most of the samples `left` lie on."""
    counted = left[:: max(1, len(left) // LOOKED_THROUGH)]
    points, directions = samples.points[counted], samples.directions[counted]
    tried = generator.integers(0, len(counted), TRIES)
    best, most = -1, 0
    for one in tried:
        normal = directions[one]
        on = (np.abs((points - points[one]) @ normal) < NEAR) & (np.abs(directions @ normal) > ALIKE)
        if (count := int(np.count_nonzero(on))) > most:
            best, most = int(one), count
    return _fitted(samples, left, points[best], directions[best]) if most else None


def _fitted(samples: Samples, left: npt.NDArray[np.int64], middle: Array, normal: Array) -> Plane | None:
    """Return the plane fitted to the samples near a first guess; far ones lose their weight (Cauchy's) round by round."""
    points, directions = samples.points[left], samples.directions[left]
    on = np.zeros(len(left), dtype=bool)
    for _ in range(REWEIGHTED):
        apart = (points - middle) @ normal
        on = (np.abs(apart) < NEAR) & (np.abs(directions @ normal) > ALIKE)
        if np.count_nonzero(on) < 3:
            return None
        scale = max(1e-6, 1.4826 * float(np.median(np.abs(apart[on]))))
        weight = 1.0 / (1.0 + (apart[on] / (2.0 * scale)) ** 2)
        middle = np.average(points[on], axis=0, weights=weight)
        spread = points[on] - middle
        normal = np.linalg.eigh((spread * weight[:, None]).T @ spread)[1][:, 0]
    return Plane(middle, normal, left[on])
