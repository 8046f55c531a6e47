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


AROUND = 60.0
"""Distance from the thing within which a table that was left out is drawn, mm: all of a large one would make it small."""


def table_shown(fitted: Fitted, most: int) -> Shown | None:
    """Return what was left out of the scan, as far as it lies around the thing, with at most `most` triangles, all in one
    colour; None where nothing was."""
    pieces = fitted.scan.left_out
    if not pieces:
        return None
    starts = np.cumsum([0, *(len(one.vertices) for one in pieces)])
    points = np.concatenate([one.vertices for one in pieces])
    faces = np.concatenate([one.faces + start for one, start in zip(pieces, starts, strict=False)])
    points = fitted.fine.motion.points(points) + fitted.subject.origin
    thing = fitted.in_body
    # A triangle is drawn where one of its corners is near.
    near = ((points > thing.min(axis=0) - AROUND) & (points < thing.max(axis=0) + AROUND)).all(axis=1)
    faces = faces[near[faces].any(axis=1)]
    if not len(faces):
        return None
    points, faces = _used(*thinned_out(*_used(points, faces), most))
    return Shown(points, faces, np.zeros(len(points), dtype=np.uint8), 0.0)


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
