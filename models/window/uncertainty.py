"""Uncertainty of a result: the budget of JCGM 100:2008 (GUM) and the Monte Carlo check of JCGM 101:2008.

A budget needs only sensitivities; the Monte Carlo run needs the function itself and shows whether the budget,
which is linear, can be trusted. Units are the caller's: a sensitivity carries result units per unit of its
input.

Coverage factors come from the closed forms of Student's t (Abramowitz & Stegun, A&S) for whole degrees of
freedom, because JCGM 100 G.4.1 truncates the degrees of freedom anyway and because importing a statistics
library would cost more than the whole check.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
import numpy.typing as npt

from planestock.params.problems import refuse

Shape = Literal["rectangular", "normal", "t", "sum"]
Samples = npt.NDArray[np.float64]

COVERAGE = 0.9544997361036416
"""Coverage of every expanded uncertainty, 95.45 %: that of ±2 standard deviations of a normal, so k = 2."""
DOF_ROUNDING = 1e-9
"""Relative allowance before degrees of freedom are truncated: 16.999999999999996 is 17 spoilt by rounding."""


@dataclass(frozen=True)
class Component:
    """One source of uncertainty. u: standard uncertainty; for "t" the scale, as s/√n (JCGM 101 6.4.9)."""

    u: float
    dof: float
    shape: Shape

    def __post_init__(self) -> None:
        """Refuse what no formula here could use: a mistake of the caller, not of the maker."""
        if not (math.isfinite(self.u) and self.u >= 0):
            raise ValueError(f"standard uncertainty {self.u} must be finite and not negative")
        if not self.dof >= 1:
            raise ValueError(f"degrees of freedom {self.dof} must be at least 1")
        if self.shape == "t" and math.isinf(self.dof):
            raise ValueError('shape "t" needs finite degrees of freedom; without them it is "normal"')


@dataclass(frozen=True)
class Input:
    """One input. path: its name in the parameter tree; value, u: in its own unit; dof: degrees of freedom.

    `parts` holds the independent components of an input that has more than one (`from_repeats`, shape "sum"), as they are
    drawn at random; u and dof are then those of the combination, scatter widened.
    """

    path: str
    value: float
    u: float
    dof: float = math.inf
    shape: Shape = "normal"
    parts: tuple[Component, ...] = ()

    def __post_init__(self) -> None:
        """Check through `Component`, which holds the rules, and that "sum" and parts go together."""
        Component(self.u, self.dof, self.shape)
        if not math.isfinite(self.value):
            raise ValueError(f"{self.path}: value {self.value} must be finite")
        if (self.shape == "sum") != bool(self.parts):
            raise ValueError(f'{self.path}: shape "sum" and parts go together')

    @property
    def components(self) -> tuple[Component, ...]:
        """The independent components: the parts, or the input itself as its only one."""
        return self.parts or (Component(self.u, self.dof, self.shape),)


@dataclass(frozen=True)
class Term:
    """One line of a budget. contribution: |sensitivity| u, in the result's unit; share: of the variance."""

    path: str
    value: float
    u: float
    dof: float
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True)
class Budget:
    """A result with its uncertainty: value ± expanded, where expanded = k u covers the fraction p.

    dof: effective degrees of freedom, not truncated. terms: largest share first; shares sum to 1, or are all
    0 when nothing is uncertain.
    """

    value: float
    u: float
    dof: float
    p: float
    k: float
    expanded: float
    terms: tuple[Term, ...]


@dataclass(frozen=True)
class Retake:
    """The reading most worth taking again: to ± limit, which brings the expanded uncertainty to `after`."""

    path: str
    limit: float
    before: float
    after: float


@dataclass(frozen=True)
class Agreement:
    """Budget against Monte Carlo (JCGM 101 clause 8): how far their ends lie apart, and whether they agree.

    low, high: ends of the Monte Carlo interval; d_low, d_high: distances to the ends of the budget's
    interval.
    """

    low: float
    high: float
    d_low: float
    d_high: float
    tolerance: float
    agrees: bool


def from_limit(path: str, value: float, limit: float) -> Input:
    """Return an input known to ± limit: rectangular, u = limit/√3 (JCGM 100 4.3.7); refuses one below 0."""
    _require_limit(path, limit)
    return Input(path, value, limit / math.sqrt(3.0), math.inf, "rectangular")


def from_repeats(path: str, values: Sequence[float], limit: float) -> Input:
    """Return the mean of repeated readings taken with an instrument good to ± limit.

    Scatter of the mean: s/√n with n - 1 degrees of freedom (JCGM 100 4.2.3); the instrument's limit does not average out
    and is added as a rectangular part (4.3.7). The scatter counts widened by `widened`, with infinitely many degrees of
    freedom, and so covers what it says from two readings on: Welch-Satterthwaite's formula (G.4.1) takes the scatter that
    two readings happened to show for the true one wherever the limit is the larger, and then covers down to 88 % (three
    readings: 93 %). Refuses fewer than two readings and a negative limit.
    """
    _require_limit(path, limit)
    n = len(values)
    if n < 2:
        raise refuse(
            path,
            list(values),
            "repeated readings need at least two values",
            "add a reading, or give one value with its ±",
        )
    mean = math.fsum(values) / n
    scatter = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n * (n - 1)))
    parts = (Component(scatter, n - 1, "t"), Component(limit / math.sqrt(3.0), math.inf, "rectangular"))
    return Input(path, mean, math.hypot(widened(scatter, n), parts[1].u), math.inf, "sum", parts)


def widened(scatter: float, count: int) -> float:
    """Return the standard uncertainty of a mean of `count` readings whose scatter of the mean is s/√n.

    s/√n · t(n - 1) / 2, t being Student's factor for `COVERAGE`: twice it is the interval of JCGM 100 G.3.2, so that it may
    stand in a sum with k = 2. That the parts are added as squares after widening is our own choice: it covers at least what
    it says, for any number of readings and any ratio of scatter to limit.
    """
    return scatter * coverage_factor(count - 1) / coverage_factor(math.inf)


def _require_limit(path: str, limit: float) -> None:
    if not (math.isfinite(limit) and limit >= 0):
        raise refuse(path, limit, "a limit of error is a number, not negative", "give the ± as e.g. 0.05")


def effective_dof(u: float, contributions: Iterable[tuple[float, float]]) -> float:
    """Return Welch-Satterthwaite's u⁴ / Σ uᵢ⁴/νᵢ of (uᵢ, νᵢ), not truncated (JCGM 100 G.4.1).

    Infinite if every νᵢ is. Computed from the ratios uᵢ/u, so that no unit underflows or overflows.
    """
    total = math.fsum((part / u) ** 4 / dof for part, dof in contributions) if u > 0 else 0.0
    return 1.0 / total if total > 0 else math.inf


def budget(value: float, inputs: Iterable[Input], sensitivities: Mapping[str, float], p: float = COVERAGE) -> Budget:
    """Return the budget of a result from independent inputs and sensitivities by path (JCGM 100 5.1.2, 6.2).

    Raises ValueError when the paths of inputs and sensitivities are not the same set: one left out would make
    the uncertainty too small without a word.
    """
    listed = list(inputs)
    paths = [each.path for each in listed]
    if len(set(paths)) != len(paths) or set(paths) != set(sensitivities):
        raise ValueError(f"inputs {sorted(paths)} and sensitivities {sorted(sensitivities)} must be the same")
    return _combined(value, [(i.path, i.value, i.u, i.dof, float(sensitivities[i.path])) for i in listed], p)


def _combined(value: float, rows: Sequence[tuple[str, float, float, float, float]], p: float) -> Budget:
    """Combine rows of (path, value, u, dof, sensitivity)."""
    parts = [abs(sensitivity) * u for _, _, u, _, sensitivity in rows]
    u = math.hypot(*parts)
    terms = [
        Term(*row, contribution=part, share=(part / u) ** 2 if u > 0 else 0.0) for row, part in zip(rows, parts, strict=True)
    ]
    terms.sort(key=lambda term: (-term.share, term.path))
    dof = effective_dof(u, [(term.contribution, term.dof) for term in terms])
    k = coverage_factor(dof, p)
    return Budget(value, u, dof, p, k, k * u, tuple(terms))


def _rows(terms: Iterable[Term]) -> list[tuple[str, float, float, float, float]]:
    return [(term.path, term.value, term.u, term.dof, term.sensitivity) for term in terms]


def coverage_factor(dof: float, p: float = COVERAGE) -> float:
    """Return k such that ±k covers the fraction p of Student's t, `dof` truncated (JCGM 100 G.3 and G.4.1).

    Infinite `dof` gives the normal distribution's factor. Raises ValueError for p outside (0, 1) or dof below
    1.
    """
    if not (0.0 < p < 1.0 and dof >= 1.0):
        raise ValueError(f"coverage {p} must lie between 0 and 1 and degrees of freedom {dof} be at least 1")
    if math.isinf(dof):
        return NormalDist().inv_cdf((1.0 + p) / 2.0)
    # Slow to import, and only sets with repeated readings have finite degrees of freedom.
    from scipy.special import stdtrit

    return float(stdtrit(math.floor(dof * (1.0 + DOF_ROUNDING)), (1.0 + p) / 2.0))


def sharpening(before: Budget, path: str, new_limit: float) -> float:
    """Return the expanded uncertainty if the input `path` were taken again to ± new_limit, all else the same.

    Raises ValueError when the budget has no such input.
    """
    _require_limit(path, new_limit)
    return expanded_with(before, path, new_limit / math.sqrt(3.0))


def expanded_with(before: Budget, path: str, u: float) -> float:
    """Return the expanded uncertainty if the input `path` had the standard uncertainty u, all else the same.

    Raises ValueError when the budget has no such input.
    """
    rows = _rows(before.terms)
    if path not in [row[0] for row in rows]:
        raise ValueError(f"{path} is not in the budget")
    changed = [(row[0], row[1], u, math.inf, row[4]) if row[0] == path else row for row in rows]
    return _combined(before.value, changed, before.p).expanded


def most_worth_taking_again(before: Budget, best_limit_by_path: Mapping[str, float]) -> Retake | None:
    """Return the reading that sharpens the result most when taken again as well as can be; None if none does.

    best_limit_by_path: the ± reachable for each reading; paths that are not in the budget are passed over.
    """
    best: Retake | None = None
    for term in before.terms:
        if term.path not in best_limit_by_path:
            continue
        limit = best_limit_by_path[term.path]
        after = sharpening(before, term.path, limit)
        if after < (best.after if best else before.expanded):
            best = Retake(term.path, limit, before.expanded, after)
    return best


def covariance(a: Budget, b: Budget) -> float:
    """Return the covariance of two results: Σ c_a c_b u² over the inputs they share (JCGM 100 F.1.2.3).

    Raises ValueError when a shared path has a different value or u in the two: it is then not the same
    reading.
    """
    return math.fsum(c_a * c_b * u * u for c_a, c_b, u in _shared(a, b))


def _shared(a: Budget, b: Budget) -> list[tuple[float, float, float]]:
    """Return (sensitivity in a, sensitivity in b, u) for each path that both budgets have."""
    of_b = {term.path: term for term in b.terms}
    pairs = [(term, of_b[term.path]) for term in a.terms if term.path in of_b]
    for one, other in pairs:
        if (one.value, one.u, one.dof) != (other.value, other.u, other.dof):
            raise ValueError(f"{one.path} differs between the two budgets: {one} and {other}")
    return [(one.sensitivity, other.sensitivity, one.u) for one, other in pairs]


def difference(a: Budget, b: Budget) -> Budget:
    """Return the budget of a - b; readings shared by both act through the difference of their sensitivities.

    Exact where `normalised_error` is not: that one takes its two results as independent. p is that of `a`.
    """
    _shared(a, b)
    merged = {row[0]: row for row in _rows(a.terms)}
    for path, value, u, dof, sensitivity in _rows(b.terms):
        already = merged[path][4] if path in merged else 0.0
        merged[path] = (path, value, u, dof, already - sensitivity)
    return _combined(a.value - b.value, list(merged.values()), a.p)


def normalised_error(a: float, expanded_a: float, b: float, expanded_b: float) -> float:
    """Return E_n = (a - b) / √(U_a² + U_b²) (ISO/IEC 17043); two independent results agree if |E_n| <= 1.

    With both uncertainties 0 the result is 0 for equal values and ±infinity for others. Raises ValueError if
    one is negative.
    """
    if expanded_a < 0 or expanded_b < 0:
        raise ValueError(f"expanded uncertainties {expanded_a} and {expanded_b} must not be negative")
    together = math.hypot(expanded_a, expanded_b)
    if together > 0:
        return (a - b) / together
    return math.copysign(math.inf, a - b) if a != b else 0.0


def sample(inputs: Iterable[Input], draws: int, seed: int) -> dict[str, Samples]:
    """Return `draws` values of each input, shape (draws,) by path, from its distribution (JCGM 101 6.4).

    The same inputs in the same order with the same seed give the same values (PCG64). A "t" of 1 or 2 degrees
    of freedom has no variance: use intervals, not standard deviations, for what follows from two or three
    repeats.
    """
    generator = np.random.Generator(np.random.PCG64(seed))
    drawn: dict[str, Samples] = {}
    for each in inputs:
        if each.path in drawn:
            raise ValueError(f"{each.path} is given twice")
        values = np.full(draws, each.value)
        for component in each.components:
            values += component.u * _standard_draws(component, draws, generator)
        drawn[each.path] = values
    return drawn


def _standard_draws(component: Component, draws: int, generator: np.random.Generator) -> Samples:
    """Draw from the component's shape with mean 0 and unit scale."""
    if component.shape == "rectangular":
        return generator.uniform(-math.sqrt(3.0), math.sqrt(3.0), draws)
    if component.shape == "t":
        return generator.standard_t(component.dof, draws)
    return generator.standard_normal(draws)


def monte_carlo(
    function: Callable[[Mapping[str, Samples]], Samples], inputs: Iterable[Input], draws: int, seed: int
) -> Samples:
    """Return the result for every draw, (draws,) or (m, draws); `function` gets arrays of (draws,) by path.

    JCGM 101 7.2.2 expects about a million draws for a 95 % interval good to two digits; 100 000 serve for one
    digit. Raises ValueError when the last axis of the result is not `draws` long.
    """
    results = np.asarray(function(sample(inputs, draws, seed)), dtype=np.float64)
    if results.ndim not in (1, 2) or results.shape[-1] != draws:
        raise ValueError(f"the function returned shape {results.shape}, wanted ({draws},) or (m, {draws})")
    return results


def shortest_interval(samples: Samples, p: float = COVERAGE) -> tuple[float, float]:
    """Return the ends of the shortest interval that holds the fraction p of samples (n,) (JCGM 101 7.7.4)."""
    ordered, covered = _ordered(samples, p)
    widths = ordered[covered:] - ordered[: ordered.size - covered]
    start = int(np.argmin(widths))
    return float(ordered[start]), float(ordered[start + covered])


def symmetric_interval(samples: Samples, p: float = COVERAGE) -> tuple[float, float]:
    """Return the ends of the interval that leaves (1 - p)/2 of samples (n,) on each side (JCGM 101 7.7.2)."""
    ordered, covered = _ordered(samples, p)
    start = (ordered.size - covered) // 2
    return float(ordered[start]), float(ordered[start + covered])


def _ordered(samples: Samples, p: float) -> tuple[Samples, int]:
    """Return the sorted samples and how many steps of them span the fraction p."""
    covered = math.floor(p * samples.size + 0.5)
    if samples.ndim != 1 or not 0 < covered < samples.size:
        raise ValueError(f"samples of shape {samples.shape} are too few for the fraction {p}")
    if not bool(np.all(np.isfinite(samples))):
        raise ValueError("samples contain values that are not finite")
    return np.sort(samples), covered


def numerical_tolerance(u: float, digits: int) -> float:
    """Return half a unit in the last of `digits` significant digits of u (JCGM 101 7.9.2); 0 for u = 0."""
    if digits < 1 or not (math.isfinite(u) and u >= 0):
        raise ValueError(f"{digits} digits of {u}: digits must be at least 1 and u finite and not negative")
    if u == 0:
        return 0.0
    # Formatting rounds first, so that 0.0996 to two digits counts as 0.10 and not as 0.09.
    exponent = int(f"{u:.{digits - 1}e}".partition("e")[2]) - (digits - 1)
    return float(f"5e{exponent - 1}")


def agrees(result: Budget, samples: Samples, p: float | None = None, digits: int = 1) -> Agreement:
    """Compare the budget's interval with that of Monte Carlo samples, shape (n,), as in JCGM 101 clause 8.

    Both ends must agree to `digits` significant digits of u. p: coverage, that of the budget if not given.
    The interval with equal tails is taken: its ends scatter far less with the draws than those of the
    shortest one, and the standard allows either. With n draws they scatter by about 3 u/√n, at 95 %: a
    distance that close to the tolerance is decided by chance.
    """
    probability = result.p if p is None else p
    expanded = result.u * coverage_factor(result.dof, probability)
    low, high = symmetric_interval(samples, probability)
    d_low = abs(result.value - expanded - low)
    d_high = abs(result.value + expanded - high)
    tolerance = numerical_tolerance(result.u, digits)
    return Agreement(low, high, d_low, d_high, tolerance, max(d_low, d_high) <= tolerance)
