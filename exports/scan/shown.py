"""The scan as it is drawn: thinned out, laid in the body, each point with the colour of its deviation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.exports.scan.colours import reach_for, shades
from planestock.models.scan.cleaning import thinned_out
from planestock.models.scan.motion import Array

if TYPE_CHECKING:
    from planestock.models.scan.fit import Fitted

NEIGHBOURS = 6
"""Samples whose mean a point is coloured by, so that noise does not sprinkle the picture."""

FARTHEST = 2.0
"""Distance from a point to a sample that still speaks for it, mm."""


@dataclass(frozen=True, eq=False)
class Shown:
    """points: (n, 3), in the body, mm; faces: (m, 3); shade: (n,), number of each point's colour; reach: of the scale,
    mm."""

    points: Array
    faces: npt.NDArray[np.int64]
    shade: npt.NDArray[np.uint8]
    reach: float


def shown(fitted: Fitted, most: int) -> Shown:
    """Return the scan with at most `most` triangles."""
    from scipy.spatial import cKDTree

    vertices, faces = thinned_out(fitted.in_body, fitted.scan.faces, most)
    vertices, faces = _used(vertices, faces)
    samples = fitted.fine.motion.points(fitted.samples.points) + fitted.subject.origin
    owner, apart = fitted.found.owner, fitted.found.apart
    away, nearest = cKDTree(samples).query(vertices, k=NEIGHBOURS)
    same = (owner[nearest] == owner[nearest[:, :1]]) & (away < FARTHEST)
    counts = np.maximum(same.sum(axis=1), 1)
    mean = (apart[nearest] * same).sum(axis=1) / counts
    compared = (owner[nearest[:, 0]] >= 0) & (away[:, 0] < FARTHEST)
    reach = reach_for(apart[owner >= 0])
    return Shown(vertices, faces, shades(mean, compared, reach), reach)


def _used(vertices: Array, faces: npt.NDArray[np.int64]) -> tuple[Array, npt.NDArray[np.int64]]:
    """Return only the points that a triangle has."""
    used, numbers = np.unique(faces, return_inverse=True)
    return vertices[used], numbers.reshape(-1, 3).astype(np.int64)
