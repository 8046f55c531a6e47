"""Points over a scan's surface, evenly by area, each with the direction its surface faces but for the sign.

Nothing is taken from how triangles are turned: scans come with all ways mixed. Directions are those of the largest
eigenvalue of Σ area n nᵀ over the triangles around, which does not know a sign; the noise of single small triangles averages
out over `SMOOTHED`. A triangle larger than that has its own direction: drawn bodies and thinned-out scans have large ones
beside small ones, and across their sharp edges nothing may be averaged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array

SAMPLES = 60_000
"""Points that a scan is fitted by: a fraction of a millimetre apart on a plane's metal, and a second's work."""

SMOOTHED = 0.8
"""Radius over which directions are averaged, mm: below the width of the narrowest face that is measured."""

SIDE = 1.07
"""Side of a triangle over the root of twice its area: 1.07 where all its sides are equal, 1 for half a square."""

MOST_ROUNDS = 4
"""Rounds of averaging; each reaches one triangle further."""

SEED = 20_240_229
"""Of the samples' places; always the same, so that the same scan gives the same result."""


@dataclass(frozen=True, eq=False)
class Samples:
    """points, directions: (n, 3); area: what each stands for, mm²; shared: how many samples lean on one vertex of the scan,
    1 or more, by which their errors are less independent than their number says."""

    points: Array
    directions: Array
    area: float
    shared: float


def sampled(vertices: Array, faces: npt.NDArray[np.int64], count: int = SAMPLES) -> Samples:
    """Return `count` points over a mesh, evenly by area. The mesh has triangles with area."""
    corners = vertices[faces]
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(crossed, axis=1)
    total = np.cumsum(double)
    generator = np.random.Generator(np.random.PCG64(SEED))
    # One place in each of `count` equal shares of the area: as even as a grid, without its regularity.
    wanted = (np.arange(count) + generator.random(count)) * (total[-1] / count)
    chosen = np.minimum(np.searchsorted(total, wanted, side="right"), len(faces) - 1)
    points = _places(corners[chosen], generator.random((count, 2)))
    directions = _directions(faces, crossed, double, len(vertices), chosen)
    used = len(np.unique(faces[chosen]))
    return Samples(points, directions, float(total[-1]) / 2 / count, max(1.0, count / used))


def _places(corners: Array, shares: Array) -> Array:
    """Return a point in each triangle (n, 3, 3), evenly over its area, for two numbers (n, 2) in 0 to 1."""
    root = np.sqrt(shares[:, :1])
    weights = np.column_stack((1 - root, root * (1 - shares[:, 1:]), root * shares[:, 1:]))
    points: Array = np.einsum("nk,nkd->nd", weights, corners)
    return points


def _directions(
    faces: npt.NDArray[np.int64], crossed: Array, double: Array, count: int, chosen: npt.NDArray[np.int64]
) -> Array:
    """Return unit directions (n, 3) of the chosen triangles, averaged over those around without regard to sign."""
    size = np.maximum(double, 1e-30)
    directions: Array = crossed[chosen] / size[chosen, None]
    small = np.flatnonzero(size[chosen] < (SMOOTHED / SIDE) ** 2)
    if len(small) == 0:
        return directions
    edge = float(np.sqrt(np.median(size[chosen[small]]))) * SIDE
    rounds = int(np.clip(round(SMOOTHED / max(edge, 1e-9)), 0, MOST_ROUNDS))
    if rounds > 0:
        directions[small] = _averaged(faces, crossed, size, count, rounds, chosen[small])
    return directions


def _averaged(
    faces: npt.NDArray[np.int64], crossed: Array, size: Array, count: int, rounds: int, chosen: npt.NDArray[np.int64]
) -> Array:
    """Return unit directions of the chosen triangles: the six entries of n nᵀ times area, carried to vertices and back.

    A triangle counts for no more than the area that is averaged over, so that a large one does not outweigh small ones that
    meet it at a sharp edge.
    """
    pairs = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
    weight = np.minimum(1.0, (SMOOTHED / SIDE) ** 2 / size) / size
    carried = np.empty((len(pairs), len(chosen)))
    corner = faces.ravel()
    around = np.maximum(np.bincount(corner, minlength=count), 1)
    for row, (i, j) in enumerate(pairs):
        entry = crossed[:, i] * crossed[:, j] * weight
        for _ in range(rounds):
            at_vertex = np.bincount(corner, np.repeat(entry, 3), minlength=count) / around
            entry = at_vertex[faces].mean(axis=1)
        carried[row] = entry[chosen]
    tensors = np.empty((len(chosen), 3, 3))
    for row, (i, j) in enumerate(pairs):
        tensors[:, i, j] = tensors[:, j, i] = carried[row]
    directions: Array = np.linalg.eigh(tensors)[1][:, :, 2]
    return directions
