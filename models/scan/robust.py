"""Surfaces through noisy heights, with weights that leave out what does not belong (iterated reweighting)."""

from __future__ import annotations

import numpy as np

from planestock.models.scan.motion import Array

ROUNDS = 6
"""Rounds of reweighting; three settle it."""

CAUCHY = 3.0
"""Standard deviations at which a height has lost half of its weight."""

RIDGE = 1e-9
"""Keeps a term that the points do not show at nothing, instead of dividing by it."""


def surface_through(terms: Array, heights: Array) -> Array:
    """Return the factors (k,) of the terms (n, k) that fit heights (n,) best, whatever a few of them do."""
    weights = np.ones(len(heights))
    factors: Array = np.zeros(terms.shape[1])
    for _ in range(ROUNDS):
        weighted = terms * weights[:, None]
        factors = np.asarray(np.linalg.solve(terms.T @ weighted + RIDGE * np.eye(terms.shape[1]), weighted.T @ heights))
        left = heights - terms @ factors
        spread = max(1e-6, 1.4826 * float(np.median(np.abs(left))))
        weights = 1.0 / (1.0 + (left / (CAUCHY * spread)) ** 2)
    return factors
