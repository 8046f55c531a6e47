"""The two roads to the window compared: do they agree, and if not, which reading to take again."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.window.budgets import KnownWindow
from planestock.models.window.uncertainty import Budget, difference, normalised_error

SINGULAR = 1e-9
"""Relative size below which a covariance's direction counts as none: two ends that hang on the very same readings."""

MISREAD = 10.0
"""How many standard uncertainties a misread reading is off by, in size; only the order of suspects hangs on it."""


NAMED = 3
"""Readings that are named at least where the roads disagree; our own choice."""

PARALLEL = 1e-9
"""Sine of the angle below which two readings move both ends in one proportion: rounding alone."""


@dataclass(frozen=True)
class EndAgreement:
    """One end of the window by both roads. apart: budget of readings - bench, mm; error: E_n of ISO/IEC 17043."""

    apart: Budget
    error: float


@dataclass(frozen=True)
class Suspect:
    """A reading that may explain a disagreement. probability: that it is the one, given that one of them is off.

    change: what it alone would have to change by to bring both ends together as well as it can, in its own unit. limits: how
    many times its ± that is (u √3, which is the ± of a reading taken once); chance: that a reading of its u errs by so much
    or more, either way, as a normal one does.
    """

    path: str
    probability: float
    change: float
    limits: float
    chance: float


@dataclass(frozen=True)
class Explanation:
    """Suspects that move both ends in one proportion, so that the two roads cannot tell them apart; most probable first."""

    suspects: tuple[Suspect, ...]

    @property
    def probability(self) -> float:
        """That it is one of them, given that one reading is off."""
        return math.fsum(suspect.probability for suspect in self.suspects)


@dataclass(frozen=True)
class Comparison:
    """Both roads. suspects: every uncertain reading, most probable first; they matter when the roads do not agree.

    explanations: the same, those that cannot be told apart together, most probable first.
    """

    readings: KnownWindow
    bench: KnownWindow
    low: EndAgreement
    high: EndAgreement
    suspects: tuple[Suspect, ...]
    explanations: tuple[Explanation, ...]

    @property
    def told(self) -> tuple[Explanation, ...]:
        """The most probable explanations that together name at least `NAMED` readings."""
        named = 0
        for count, each in enumerate(self.explanations, start=1):
            named += len(each.suspects)
            if named >= NAMED:
                return self.explanations[:count]
        return self.explanations

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
    suspects = _suspects(low.apart, high.apart)
    return Comparison(readings, bench, low, high, suspects, _explanations(suspects, _slopes(low.apart, high.apart)[0]))


def _end(readings: Budget, bench: Budget) -> EndAgreement:
    """The roads share readings where the bench's had to be moved to another iron: E_n takes the difference's own U."""
    apart = difference(readings, bench)
    return EndAgreement(apart, normalised_error(apart.value, apart.expanded, 0.0, 0.0))


def _suspects(low: Budget, high: Budget) -> tuple[Suspect, ...]:
    """Return every uncertain reading that moves the roads apart by how probably it is the one that is off, given both
    differences d.

    A reading moves the two ends by g, and S = Σ u² g gᵀ is the covariance of d. If it alone is off, by some `MISREAD` u more
    than it should, then d is normal with S + v g gᵀ, v = (MISREAD u)². With h = gᵀ S⁻¹ g and w = gᵀ S⁻¹ d the logarithm of
    that likelihood is, up to what all readings share, (v w² / (1 + v h) - ln(1 + v h)) / 2: a vague reading needs less of an
    excuse than a sharp one, and one that moves the ends as they differ needs no second cause. It would be off by w / h.
    """
    slopes, u = _slopes(low, high)
    together = sum((u[path] ** 2 * np.outer(g, g) for path, g in slopes.items()), np.zeros((2, 2)))
    inverse = np.linalg.pinv(together, rcond=SINGULAR, hermitian=True)
    apart = np.array([low.value, high.value])
    uncertain = [path for path in slopes if u[path] > 0 and float(np.max(np.abs(slopes[path]))) > SINGULAR]
    weights = {
        path: (float(slopes[path] @ inverse @ slopes[path]), float(slopes[path] @ inverse @ apart)) for path in uncertain
    }
    logs = {path: _likelihood(*weights[path], (MISREAD * u[path]) ** 2) for path in uncertain}
    likely = {path: math.exp(each - max(logs.values())) for path, each in logs.items()}
    total = sum(likely.values())
    found = [_suspect(path, likely[path] / total, -weights[path][1] / weights[path][0], u[path]) for path in uncertain]
    return tuple(sorted(found, key=lambda suspect: (-suspect.probability, suspect.path)))


def _suspect(path: str, probability: float, change: float, u: float) -> Suspect:
    return Suspect(
        path, probability, change, abs(change) / (u * math.sqrt(3.0)), math.erfc(abs(change) / (u * math.sqrt(2.0)))
    )


def _explanations(suspects: tuple[Suspect, ...], slopes: Mapping[str, npt.NDArray[np.float64]]) -> tuple[Explanation, ...]:
    """Return the suspects with those together whose slopes at (low, high) are parallel, whichever way they point."""
    groups: list[list[Suspect]] = []
    for suspect in suspects:
        own = next((group for group in groups if _parallel(slopes[group[0].path], slopes[suspect.path])), None)
        if own is None:
            groups.append([suspect])
        else:
            own.append(suspect)
    made = (Explanation(tuple(group)) for group in groups)
    return tuple(sorted(made, key=lambda each: (-each.probability, each.suspects[0].path)))


def _parallel(one: npt.NDArray[np.float64], other: npt.NDArray[np.float64]) -> bool:
    across = float(one[0] * other[1] - one[1] * other[0])
    return abs(across) <= PARALLEL * float(np.hypot(*one)) * float(np.hypot(*other))


def _likelihood(h: float, w: float, v: float) -> float:
    return (v * w * w / (1.0 + v * h) - math.log1p(v * h)) / 2.0


def _slopes(low: Budget, high: Budget) -> tuple[Mapping[str, npt.NDArray[np.float64]], Mapping[str, float]]:
    """Return for each reading how it moves the difference at (low, high), and its standard uncertainty."""
    slopes: dict[str, npt.NDArray[np.float64]] = {}
    u: dict[str, float] = {}
    for position, end in enumerate((low, high)):
        for term in end.terms:
            slopes.setdefault(term.path, np.zeros(2))[position] = term.sensitivity
            u[term.path] = term.u
    return slopes, u
