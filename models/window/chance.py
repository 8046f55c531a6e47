"""The probability that a body works: readings and cut drawn at random within their limits (JCGM 101)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planestock.models.window.budgets import (
    THICKNESS,
    WISHES,
    governing,
    inputs_of,
    known_windows,
    thickness_input,
    window_ends,
)
from planestock.models.window.reach import Road
from planestock.models.window.readings import Given, value_at
from planestock.models.window.uncertainty import Samples, sample
from planestock.models.window.year import year

DRAWS = 100_000
"""Draws of a run: a probability is then good to 0.3 % at 95 %, better near 0 and 1."""

SEED = 20_110_101
"""Starts the draws; a constant, so that the same set gives the same numbers."""


@dataclass(frozen=True)
class Chance:
    """Shares of the draws, 0 to 1. reaches: the edge comes out to the deepest cut; withdraws: it goes back far enough.

    works: both, as cut; all_year: both, in the driest and in the dampest season too.
    """

    reaches: float
    withdraws: float
    works: float
    all_year: float
    draws: int


def window_samples(given: Given, road: Road, draws: int = DRAWS, seed: int = SEED) -> Samples:
    """Return T_min and T_max for every draw of the road's readings, shape (2, draws), mm."""
    drawn = sample(inputs_of(given, road), draws, seed)
    return _ends(given, road, drawn)


def _ends(given: Given, road: Road, drawn: dict[str, Samples]) -> Samples:
    at = drawn | {path: np.full(1, value_at(given, path)) for path in WISHES}
    return np.stack(window_ends(at, road))


def probability_works(given: Given, thickness: float, draws: int = DRAWS, seed: int = SEED) -> Chance:
    """Return how probably a body cut to this thickness, straying as `confidence.thickness_stray` says, works.

    By the governing road. The seasons' moisture contents are taken as exact.
    """
    road = governing(known_windows(given)).road
    drawn = sample((*inputs_of(given, road), thickness_input(given, thickness)), draws, seed)
    cut = drawn.pop(THICKNESS)
    low, high = _ends(given, road, drawn)
    through = year(given)
    dry, wet = cut + through.dry.of(cut), cut + through.wet.of(cut)
    reaches, withdraws = cut <= high, cut >= low
    all_year = reaches & withdraws & (np.maximum(dry, wet) <= high) & (np.minimum(dry, wet) >= low)
    out, back, works, always = (float(np.mean(each)) for each in (reaches, withdraws, reaches & withdraws, all_year))
    return Chance(out, back, works, always, draws)
