"""The two roads to the window compared: do they agree, and if not, which reading to take again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planestock.models.confidence import KnownWindow
from planestock.models.uncertainty import Budget, difference, normalised_error

SINGULAR = 1e-9
"""Relative size below which a covariance's direction counts as none: two ends that hang on the very same readings."""


@dataclass(frozen=True)
class EndAgreement:
    """One end of the window by both roads. apart: budget of readings - bench, mm; error: E_n of ISO/IEC 17043."""

    apart: Budget
    error: float


@dataclass(frozen=True)
class Suspect:
    """A reading that may explain a disagreement. share: its part of the budget in the direction of the disagreement.

    change: what it alone would have to change by to bring both ends together as well as it can, in its own unit.
    """

    path: str
    share: float
    change: float


@dataclass(frozen=True)
class Comparison:
    """Both roads. suspects: every uncertain reading, most likely first; shares sum to 1, or none where nothing differs."""

    readings: KnownWindow
    bench: KnownWindow
    low: EndAgreement
    high: EndAgreement
    suspects: tuple[Suspect, ...]

    @property
    def worst_error(self) -> float:
        """The larger |E_n| of the two ends."""
        return max(abs(self.low.error), abs(self.high.error))

    @property
    def agree(self) -> bool:
        """Whether both ends agree, |E_n| <= 1."""
        return self.worst_error <= 1.0


def compared(known: tuple[KnownWindow, ...]) -> Comparison | None:
    """Return the comparison of the two roads, None where the set has only one."""
    by_road = {each.road: each for each in known}
    if len(by_road) < 2:
        return None
    readings, bench = by_road["readings"], by_road["bench"]
    low, high = _end(readings.low, bench.low), _end(readings.high, bench.high)
    return Comparison(readings, bench, low, high, _suspects(low.apart, high.apart))


def _end(readings: Budget, bench: Budget) -> EndAgreement:
    error = normalised_error(readings.value, readings.expanded, bench.value, bench.expanded)
    return EndAgreement(difference(readings, bench), error)


def _suspects(low: Budget, high: Budget) -> tuple[Suspect, ...]:
    """Return the readings by their part in the most probable explanation of both differences d.

    Each reading moves the two ends by g. With the covariance S = Σ u² g gᵀ the most probable error of a reading, given d,
    is u² gᵀ S⁻¹ d (least squares); in units of its u it is u gᵀ S⁻¹ d, and the squares are the shares. A reading that alone
    takes the blame moves by gᵀ S⁻¹ d / gᵀ S⁻¹ g.
    """
    slopes, u = _slopes(low, high)
    together = sum((u[path] ** 2 * np.outer(g, g) for path, g in slopes.items()), np.zeros((2, 2)))
    inverse = np.linalg.pinv(together, rcond=SINGULAR, hermitian=True)
    apart = np.array([low.value, high.value])
    scores = {path: u[path] * float(g @ inverse @ apart) for path, g in slopes.items() if u[path] > 0}
    total = sum(score**2 for score in scores.values())
    if total == 0:
        return ()
    found = [
        Suspect(path, score**2 / total, -score / u[path] / float(slopes[path] @ inverse @ slopes[path]))
        for path, score in scores.items()
    ]
    return tuple(sorted(found, key=lambda suspect: (-suspect.share, suspect.path)))


def _slopes(low: Budget, high: Budget) -> tuple[Mapping[str, np.ndarray], Mapping[str, float]]:
    """Return for each reading how it moves the difference at (low, high), and its standard uncertainty."""
    slopes: dict[str, np.ndarray] = {}
    u: dict[str, float] = {}
    for position, end in enumerate((low, high)):
        for term in end.terms:
            slopes.setdefault(term.path, np.zeros(2))[position] = term.sensitivity
            u[term.path] = term.u
    return slopes, u
