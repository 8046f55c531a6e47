"""Places of a scan that stand out: where it lies in the wood, where a gap is too wide; near samples gathered into one
place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array

TOGETHER = 4.0
"""Samples nearer than this are one place, mm: several times their distance from one another."""

LEAST_SAMPLES, LEAST_AREA = 6, 8.0
"""Samples, and mm², that make a place; less are stray points."""

DEEPEST_SHARE = 95.0
"""Percentile of the samples' amounts that counts as a place's worst: the very largest is noise."""

MOST_PLACES = 12
"""Places that are listed, worst first."""


@dataclass(frozen=True)
class Place:
    """where: in words; at: its middle, mm from the toe, from the mid-plane (right positive) and from the sole; amount: the
    worst there, mm; area: mm²."""

    where: str
    at: tuple[float, float, float]
    amount: float
    area: float


def gathered(points: Array, amounts: Array, names: npt.NDArray[np.str_], area: float) -> tuple[Place, ...]:
    """Return the places that samples make, worst first. points: (n, 3), in the body; amounts, names: (n,); area: of a
    sample."""
    if len(points) < LEAST_SAMPLES:
        return ()
    labels = _groups(points)
    found = []
    for label in range(labels.max() + 1):
        rows = np.flatnonzero(labels == label)
        if len(rows) < LEAST_SAMPLES or len(rows) * area < LEAST_AREA:
            continue
        values, counts = np.unique(names[rows], return_counts=True)
        x, y, z = np.median(points[rows], axis=0)
        worst = float(np.percentile(amounts[rows], DEEPEST_SHARE))
        found.append(Place(str(values[counts.argmax()]), (float(x), float(y), float(z)), worst, len(rows) * area))
    return tuple(sorted(found, key=lambda place: (-place.amount, place.at)))[:MOST_PLACES]


def _groups(points: Array) -> npt.NDArray[np.int64]:
    """Return a number for each point, the same for points that hang together within `TOGETHER`, through cells of that
    size."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    cells, inverse = np.unique(np.floor(points / (TOGETHER / 2)).astype(np.int64), axis=0, return_inverse=True)
    pairs = cKDTree(cells).query_pairs(1.8, output_type="ndarray")
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(cells), len(cells)))
    labels: npt.NDArray[np.int64] = connected_components(links, directed=False)[1]
    return labels[inverse.reshape(-1)]
