"""Budgets and Monte Carlo against worked examples of JCGM 100 and 101, and against scipy's distributions."""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from planestock.models.window.uncertainty import (
    COVERAGE,
    Budget,
    Component,
    Input,
    Samples,
    agrees,
    budget,
    covariance,
    coverage_factor,
    difference,
    effective_dof,
    from_limit,
    from_repeats,
    monte_carlo,
    most_worth_taking_again,
    normalised_error,
    numerical_tolerance,
    sample,
    sharpening,
    shortest_interval,
    symmetric_interval,
    widened,
)
from planestock.params.problems import InputProblem

MILLION = 1_000_000
"""Draws for two digits of an interval (JCGM 101 7.2.2).

The end of a symmetric 95 % interval then scatters by 0.003 u, that of the shortest by some 0.01 u; the
tolerances below are three times that and more.
"""

# Example H.1 of JCGM 100:2008, end gauge, in nm and degrees: l = s + d - s (da theta + a dt).
# Inputs of table H.1 and H.1.3.1 to H.1.3.5, as quoted, and recomputed here.
GAUGE = [
    Input("s", 50_000_623.0, 25.0, 18, "normal"),
    Input("d", 215.0, 9.7, 25.6, "normal"),
    Input("a", 11.5e-6, 1.2e-6, math.inf, "rectangular"),
    Input("theta", -0.1, 0.41, math.inf, "normal"),
    Input("da", 0.0, 0.58e-6, 50, "rectangular"),
    Input("dt", 0.0, 0.029, 2, "rectangular"),
]
GAUGE_SLOPES = {"s": 1.0, "d": 1.0, "a": 0.0, "theta": 0.0, "da": 5_000_062.3, "dt": -50_000_623.0 * 11.5e-6}


def gauge_length(at: Mapping[str, Samples]) -> Samples:
    return at["s"] + at["d"] - at["s"] * (at["da"] * at["theta"] + at["a"] * at["dt"])


def total(at: Mapping[str, Samples]) -> Samples:
    return np.asarray(sum(at.values()), dtype=np.float64)


def plain(u: Mapping[str, float], dof: float = math.inf) -> list[Input]:
    return [Input(path, 0.0, each, dof, "normal") for path, each in u.items()]


def summed(u: Mapping[str, float], dof: float = math.inf, p: float = COVERAGE) -> Budget:
    return budget(0.0, plain(u, dof), dict.fromkeys(u, 1.0), p)


# Coverage factors


def test_infinite_degrees_of_freedom_give_k_of_exactly_two() -> None:
    assert math.erf(math.sqrt(2.0)) == COVERAGE
    assert coverage_factor(math.inf) == 2.0


@pytest.mark.parametrize("p", [0.5, 0.6827, 0.90, 0.95, COVERAGE, 0.99, 0.9973, 0.9999])
def test_coverage_factors_are_students_t_in_closed_form(p: float) -> None:
    """One, two and four degrees of freedom, and their sum for others (A&S 26.7.3 and 26.7.4, from memory)."""
    four = 2 * math.sqrt(math.cos(math.acos(math.sqrt(1 - p * p)) / 3) / math.sqrt(1 - p * p) - 1)
    assert coverage_factor(1, p) == pytest.approx(math.tan(math.pi * p / 2), rel=1e-11)
    assert coverage_factor(2, p) == pytest.approx(p * math.sqrt(2 / (1 - p * p)), rel=1e-11)
    assert coverage_factor(4, p) == pytest.approx(four, rel=1e-11)
    for dof in (*range(1, 41), 99, 100, 200, 1000):
        assert covered(coverage_factor(dof, p), dof) == pytest.approx(p, rel=1e-11)
    assert math.erf(coverage_factor(math.inf, p) / math.sqrt(2)) == pytest.approx(p, rel=1e-13)


def covered(t: float, dof: int) -> float:
    """Return the fraction of Student's t within ±t, as its finite sum (A&S 26.7.3 and 26.7.4, from memory)."""
    angle, odd = math.atan2(t, math.sqrt(dof)), dof % 2
    term = math.cos(angle) if odd else 1.0
    total = term if dof > 1 else 0.0
    for j in range(2 + odd, dof - 1, 2):
        term *= (j - 1) / j * math.cos(angle) ** 2
        total += term
    return (angle + math.sin(angle) * total) * 2 / math.pi if odd else math.sin(angle) * total


# Table G.2 of JCGM 100:2008, read as table B.1 of NIST Technical Note 1297, the same table.
TABLE_G2 = {
    # dof: 68.27 %, 90 %, 95 %, 95.45 %, 99 %, 99.73 %
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.80),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    3: (1.20, 2.35, 3.18, 3.31, 5.84, 9.22),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    16: (1.03, 1.75, 2.12, 2.17, 2.92, 3.54),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    100: (1.005, 1.660, 1.984, 2.025, 2.626, 3.077),
    math.inf: (1.000, 1.645, 1.960, 2.000, 2.576, 3.000),
}


@pytest.mark.parametrize("dof", TABLE_G2)
def test_coverage_factors_are_those_printed_in_table_g2(dof: float) -> None:
    digits = 3 if dof >= 100 else 2
    # 68.27 %, 95.45 % and 99.73 % stand for 1, 2 and 3 standard deviations (footnote a of the table).
    fractions = [math.erf(1 / math.sqrt(2)), 0.90, 0.95, COVERAGE, 0.99, math.erf(3 / math.sqrt(2))]
    computed = [round(coverage_factor(dof, p), digits) for p in fractions]
    assert computed == pytest.approx(TABLE_G2[dof], abs=0.5 * 10**-digits)


def test_degrees_of_freedom_are_truncated_but_not_for_a_rounding_error() -> None:
    # JCGM 100 G.4.1: interpolate, or truncate to the next lower whole number
    assert coverage_factor(16.66) == coverage_factor(16.0) == coverage_factor(16.999)
    assert coverage_factor(17.0 - 1e-14) == coverage_factor(17.0) < coverage_factor(16.0)


@pytest.mark.parametrize(("dof", "p"), [(0.9, 0.95), (math.nan, 0.95), (5, 0.0), (5, 1.0), (5, math.nan)])
def test_a_coverage_factor_that_does_not_exist_is_refused(dof: float, p: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        coverage_factor(dof, p)


# Inputs


def test_a_limit_is_rectangular() -> None:
    reading = from_limit("iron.thickness", 2.5, 0.05)
    assert reading.u == pytest.approx(0.05 / math.sqrt(3))  # JCGM 100 4.3.7
    assert (reading.dof, reading.shape, reading.value) == (math.inf, "rectangular", 2.5)


def test_repeats_keep_scatter_and_limit_apart() -> None:
    values = [41.20, 41.26, 41.18, 41.24]
    reading = from_repeats("cap_iron.slot_to_edge", values, 0.03)
    scatter, limit = reading.components
    assert reading.value == pytest.approx(statistics.mean(values))
    assert (scatter.dof, scatter.shape) == (3, "t")
    assert scatter.u == pytest.approx(statistics.stdev(values) / 2)
    assert limit == Component(0.03 / math.sqrt(3), math.inf, "rectangular")
    assert reading.u == pytest.approx(math.hypot(widened(scatter.u, 4), limit.u))
    assert reading.dof == math.inf


@pytest.mark.parametrize(("count", "factor"), [(2, 13.97), (3, 4.53), (4, 3.31), (5, 2.87), (6, 2.65), (21, 2.13)])
def test_twice_the_widened_scatter_is_students_interval_of_the_mean(count: int, factor: float) -> None:
    # Table G.2 of JCGM 100:2008, column of 95.45 %, at count - 1 degrees of freedom
    assert 2 * widened(1.0, count) == pytest.approx(factor, abs=0.005)


RATIOS = (0.05, 0.2, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 10.0, 30.0)
"""Scatter of one reading over the instrument's limit; Welch-Satterthwaite's formula is worst between 2 and 4."""

COVERED = 0.93
"""Share of the draws that ± U has to hold; it says 95.45 %."""


def share_covered(counts: tuple[int, ...], ratio: float, beside: float, draws: int, seed: int) -> float:
    """Share of drawn cases in which the true value lies within ± U of the mean.

    counts: repeats of each of several readings that are added up; ratio: scatter of one over its limit of 1; beside: limit
    of one more reading, taken once. U as `budget` makes it, checked against it in the test below.
    """
    generator = np.random.default_rng(seed)
    error = generator.uniform(-1, 1, draws) * beside
    variance = np.full(draws, beside**2 / 3)
    for count in counts:
        readings = generator.normal(0.0, ratio, (draws, count))
        error += readings.mean(axis=1) + generator.uniform(-1, 1, draws)
        scatter = readings.std(axis=1, ddof=1) / math.sqrt(count)
        variance += (widened(1.0, count) * scatter) ** 2 + 1 / 3
    return float(np.mean(np.abs(error) <= 2 * np.sqrt(variance)))


SUMS = [(2,), (3,), (4,), (5,), (2, 2), (2, 5), (3, 3), (2, 2, 2, 2), (3, 3, 3, 3), (5, 5)]


@pytest.mark.parametrize("counts", SUMS)
def test_what_repeated_readings_state_covers_what_they_say(counts: tuple[int, ...]) -> None:
    for ratio in RATIOS:
        assert share_covered(counts, ratio, 0.0, 10_000, 5) >= COVERED, ratio


@pytest.mark.long
@pytest.mark.parametrize("counts", SUMS)
def test_what_repeated_readings_state_covers_what_they_say_over_many_draws(counts: tuple[int, ...]) -> None:
    for ratio in RATIOS:
        for beside in (0.0, 0.5, 1.0, 3.0, 6.0):
            assert share_covered(counts, ratio, beside, 200_000, 6) >= COVERED, (ratio, beside)


def test_a_budget_of_repeated_readings_is_the_one_whose_cover_was_drawn() -> None:
    inputs = [from_repeats("a", [7.0, 7.3], 1.0), from_repeats("b", [1.0, 1.4, 1.1], 1.0), from_limit("c", 5.0, 3.0)]
    result = budget(0.0, inputs, dict.fromkeys("abc", 1.0))
    variance = 3.0**2 / 3
    for values in ([7.0, 7.3], [1.0, 1.4, 1.1]):
        scatter = statistics.stdev(values) / math.sqrt(len(values))
        variance += (stats.t.ppf((1 + COVERAGE) / 2, len(values) - 1) / 2 * scatter) ** 2 + 1 / 3
    assert (result.k, result.expanded) == pytest.approx((2.0, 2 * math.sqrt(variance)))


def test_equal_repeats_leave_the_instrument_alone() -> None:
    reading = from_repeats("b", [7.0, 7.0], 0.05)
    assert reading.u == pytest.approx(0.05 / math.sqrt(3))
    assert reading.dof == math.inf


@pytest.mark.parametrize("limit", [-0.01, math.nan, math.inf])
def test_a_limit_that_is_none_is_refused_by_path(limit: float) -> None:
    with pytest.raises(InputProblem, match=r"iron\.width = .*limit of error"):
        from_limit("iron.width", 50.0, limit)
    with pytest.raises(InputProblem, match=r"iron\.width = .*limit of error"):
        from_repeats("iron.width", [50.0, 50.1], limit)


def test_a_single_repeat_is_refused_by_path() -> None:
    with pytest.raises(InputProblem, match=r"iron\.width = \[50\.0\].*two values"):
        from_repeats("iron.width", [50.0], 0.05)


def test_inputs_that_no_formula_can_use_are_refused() -> None:
    with pytest.raises(ValueError, match="standard uncertainty"):
        Input("a", 1.0, -0.1)
    with pytest.raises(ValueError, match="degrees of freedom"):
        Input("a", 1.0, 0.1, 0.5)
    with pytest.raises(ValueError, match="finite degrees"):
        Input("a", 1.0, 0.1, math.inf, "t")
    with pytest.raises(ValueError, match="value nan"):
        Input("a", math.nan, 0.1)
    with pytest.raises(ValueError, match="go together"):
        Input("a", 1.0, 0.1, math.inf, "sum")


# Budgets


def test_the_end_gauge_of_gum_example_h1() -> None:
    # Printed: l = 50.000 838 mm; contributions 25, 9.7, 2.9, 16.6 nm, 0 for a and theta; u² = 1002 nm²;
    # u = 32 nm; dof 16.7, truncated to 16; k99 = 2.92; U99 = 93 nm.
    result = budget(50_000_838.0, GAUGE, GAUGE_SLOPES, p=0.99)
    contributions = {term.path: term.contribution for term in result.terms}
    printed = {"s": 25.0, "d": 9.7, "da": 2.9, "dt": 16.6, "a": 0.0, "theta": 0.0}
    assert contributions == pytest.approx(printed, abs=0.08)
    assert result.u**2 == pytest.approx(1002, abs=4)
    assert round(result.u) == 32
    assert result.dof == pytest.approx(16.7, abs=0.1)
    assert round(result.k, 2) == 2.92
    assert round(result.expanded) == 93
    assert [term.path for term in result.terms] == ["s", "dt", "d", "da", "a", "theta"]


def test_the_end_gauges_comparator_has_the_printed_degrees_of_freedom() -> None:
    # GUM H.1: 5.8, 3.9 and 6.7 nm with 24, 5 and 8 degrees of freedom combine to 9.7 nm with 25.6
    parts = [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)]
    u = math.hypot(*(part for part, _ in parts))
    assert u == pytest.approx(9.7, abs=0.05)
    assert effective_dof(u, parts) == pytest.approx(25.6, abs=0.2)


def test_the_end_gauge_at_95_percent() -> None:
    # JCGM 100:2008, H.1.6 and table G.2, as quoted: dof 16.7 cut to 16, t of 95 % is 2.12, U = 67 nm
    result = budget(50_000_838.0, GAUGE, GAUGE_SLOPES, p=0.95)
    assert round(result.k, 2) == 2.12
    assert result.expanded == pytest.approx(67.0, abs=0.6)


def test_coverage_factors_are_those_of_table_g2() -> None:
    # JCGM 100:2008, table G.2 (from memory; the same as quantiles of Student's t): 95 % and 95.45 %
    for dof, narrow, wide in ((5, 2.57, 2.65), (10, 2.23, 2.28), (20, 2.09, 2.13), (50, 2.01, 2.05)):
        assert round(summed({"a": 1.0}, dof, 0.95).k, 2) == narrow
        assert round(summed({"a": 1.0}, dof, 0.9545).k, 2) == wide


def test_a_budget_of_exact_inputs_is_exact() -> None:
    result = budget(3.0, [from_limit("a", 3.0, 0.0)], {"a": 1.0})
    assert (result.u, result.expanded, result.dof) == (0.0, 0.0, math.inf)
    assert result.terms[0].share == 0.0


@pytest.mark.parametrize("slopes", [{"a": 1.0}, {"a": 1.0, "b": 1.0, "c": 1.0}, {"a": 1.0, "d": 1.0}])
def test_a_budget_wants_one_sensitivity_for_each_input(slopes: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="must be the same"):
        budget(0.0, plain({"a": 1.0, "b": 1.0}), slopes)


def test_a_budget_refuses_a_path_given_twice() -> None:
    with pytest.raises(ValueError, match="must be the same"):
        budget(0.0, [*plain({"a": 1.0}), *plain({"a": 2.0})], {"a": 1.0})


uncertainties = st.dictionaries(st.sampled_from("abcdef"), st.floats(1e-6, 1e6), min_size=1, max_size=6)


@given(uncertainties, st.floats(1, 1000))
def test_shares_sum_to_one_and_come_largest_first(u: dict[str, float], dof: float) -> None:
    result = summed(u, dof)
    shares = [term.share for term in result.terms]
    assert math.fsum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert result.expanded == result.k * result.u
    assert dof * (1 - 1e-9) <= result.dof <= len(u) * dof * (1 + 1e-9)


@given(uncertainties, st.floats(1e-100, 1e100))
def test_a_change_of_unit_changes_nothing_but_the_unit(u: dict[str, float], unit: float) -> None:
    before = summed(u, 5.0)
    after = budget(0.0, plain(u, 5.0), dict.fromkeys(u, unit))
    assert after.u == pytest.approx(unit * before.u)
    assert after.dof == pytest.approx(before.dof)


# Taking a reading again


def test_sharpening_is_the_budget_with_that_reading_retaken() -> None:
    inputs = [from_limit("c", 60.0, 0.2), from_limit("a_low", 20.0, 0.1)]
    slopes = {"c": 0.7, "a_low": -0.7}
    before = budget(0.0, inputs, slopes)
    retaken = budget(0.0, [from_limit("c", 60.0, 0.02), inputs[1]], slopes)
    assert sharpening(before, "c", 0.02) == pytest.approx(retaken.expanded)
    assert sharpening(before, "c", 0.2) == pytest.approx(before.expanded)


def test_the_reading_most_worth_taking_again_is_the_one_that_sharpens_most() -> None:
    inputs = [from_limit("wide", 1.0, 0.5), from_limit("steep", 1.0, 0.3), from_limit("good", 1.0, 0.01)]
    before = budget(0.0, inputs, {"wide": 1.0, "steep": 3.0, "good": 1.0})
    best = {"wide": 0.02, "steep": 0.02, "good": 0.02, "elsewhere": 0.0}
    advice = most_worth_taking_again(before, best)
    assert advice is not None
    assert (advice.path, advice.limit) == ("steep", 0.02)
    assert advice.before == before.expanded
    assert advice.after == pytest.approx(2 * math.sqrt((0.5**2 + (3 * 0.02) ** 2 + 0.01**2) / 3))


def test_no_reading_is_worth_taking_again_when_none_can_be_better() -> None:
    before = budget(0.0, [from_limit("a", 1.0, 0.02)], {"a": 1.0})
    assert most_worth_taking_again(before, {"a": 0.02}) is None
    assert most_worth_taking_again(before, {"a": 0.05}) is None
    assert most_worth_taking_again(before, {}) is None


def test_sharpening_an_input_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="bed_angle is not in the budget"):
        sharpening(summed({"a": 1.0}), "bed_angle", 0.1)


# Two results that share readings


def test_covariance_counts_only_shared_readings() -> None:
    shared, own = from_limit("t", 3.0, 0.1), from_limit("c", 60.0, 0.1)
    a = budget(1.0, [shared, own], {"t": -0.7, "c": 0.7})
    b = budget(2.0, [shared], {"t": 2.0})
    assert covariance(a, b) == pytest.approx(-0.7 * 2.0 * shared.u**2)
    assert covariance(a, budget(0.0, [from_limit("r", 1.0, 1.0)], {"r": 1.0})) == 0.0


@given(uncertainties, uncertainties)
def test_the_variance_of_a_difference_takes_the_covariance_off_twice(one: dict[str, float], two: dict[str, float]) -> None:
    both = {path: one.get(path, u) for path, u in two.items()}  # a shared path is the same reading
    a, b = summed(one), summed(both)
    expected = a.u**2 + b.u**2 - 2 * covariance(a, b)
    assert difference(a, b).u ** 2 == pytest.approx(expected, rel=1e-9, abs=1e-9 * (a.u**2 + b.u**2))


def test_the_difference_of_a_result_from_itself_is_exactly_nothing() -> None:
    a = budget(5.0, [from_limit("t", 3.0, 0.1)], {"t": 2.0})
    assert (difference(a, a).value, difference(a, a).u) == (0.0, 0.0)


def test_a_shared_path_with_two_readings_is_refused() -> None:
    a = budget(0.0, [from_limit("t", 3.0, 0.1)], {"t": 1.0})
    b = budget(0.0, [from_limit("t", 3.0, 0.2)], {"t": 1.0})
    with pytest.raises(ValueError, match="differs between"):
        covariance(a, b)
    with pytest.raises(ValueError, match="differs between"):
        difference(a, b)


def test_normalised_error_is_signed_and_one_at_the_edge_of_agreement() -> None:
    assert normalised_error(10.5, 0.3, 10.0, 0.4) == pytest.approx(1.0)
    assert normalised_error(10.0, 0.4, 10.5, 0.3) == pytest.approx(-1.0)
    assert normalised_error(10.0, 0.0, 10.0, 0.0) == 0.0
    assert normalised_error(10.0, 0.0, 10.1, 0.0) == -math.inf
    with pytest.raises(ValueError, match="negative"):
        normalised_error(1.0, -0.1, 1.0, 0.1)


# Monte Carlo


def test_the_additive_model_of_jcgm_101_with_four_normals() -> None:
    # JCGM 101 9.2.2: u = 2.0, 95 % interval ±3.92 by both routes
    inputs = plain(dict.fromkeys("abcd", 1.0))
    samples = monte_carlo(total, inputs, MILLION, 1)
    result = summed(dict.fromkeys("abcd", 1.0), p=0.95)
    assert result.u == 2.0
    assert result.expanded == pytest.approx(3.92, abs=0.005)
    assert shortest_interval(samples, 0.95) == pytest.approx((-3.92, 3.92), abs=0.05)
    assert symmetric_interval(samples, 0.95) == pytest.approx((-3.92, 3.92), abs=0.02)
    assert agrees(result, samples, digits=2).agrees


def test_the_additive_model_of_jcgm_101_with_four_equal_rectangles() -> None:
    # JCGM 101 9.2.3: budget ±3.92, Monte Carlo ±3.88 (exact, Irwin-Hall: 3.8794)
    inputs = [from_limit(path, 0.0, math.sqrt(3)) for path in "abcd"]
    samples = monte_carlo(total, inputs, MILLION, 2)
    result = budget(0.0, inputs, dict.fromkeys("abcd", 1.0), 0.95)
    assert result.expanded == pytest.approx(3.92, abs=0.005)
    assert shortest_interval(samples, 0.95) == pytest.approx((-3.88, 3.88), abs=0.05)
    assert symmetric_interval(samples, 0.95) == pytest.approx((-3.8794, 3.8794), abs=0.02)
    # At two digits the gap, 0.0405, lies within two scatters (0.006) of the tolerance, 0.05: that verdict would be
    # chance with a million draws, so the gap itself is checked, and the verdict at one digit.
    verdict = agrees(result, samples, digits=1)
    assert (verdict.d_low, verdict.d_high) == pytest.approx((0.0405, 0.0405), abs=0.02)
    assert verdict.agrees


def test_the_additive_model_of_jcgm_101_with_one_rectangle_that_rules() -> None:
    # JCGM 101 9.2.4: budget u = 10.1, ±19.9; Monte Carlo ±17.0: the budget is not validated
    inputs = [from_limit(path, 0.0, math.sqrt(3)) for path in "abc"]
    inputs.append(from_limit("d", 0.0, 10 * math.sqrt(3)))
    samples = monte_carlo(total, inputs, MILLION, 3)
    result = budget(0.0, inputs, dict.fromkeys("abcd", 1.0), 0.95)
    assert result.u == pytest.approx(10.1, abs=0.05)
    assert result.expanded == pytest.approx(19.9, abs=0.05)
    assert shortest_interval(samples, 0.95) == pytest.approx((-17.0, 17.0), abs=0.3)
    verdict = agrees(result, samples, digits=2)
    assert not verdict.agrees
    assert verdict.d_low == pytest.approx(19.89 - 17.0, abs=0.05)
    assert verdict.d_high == pytest.approx(19.89 - 17.0, abs=0.05)
    assert verdict.tolerance == 0.5


def test_monte_carlo_sees_the_second_order_terms_of_the_end_gauge() -> None:
    # GUM H.1.7 (from memory): the second-order terms bring u from 32 to 34 nm. The model is a product of
    # independent quantities two of which have mean 0, so the variance is exact whatever their shapes are.
    s = 50_000_623.0
    exact = math.sqrt(25.0**2 + 9.7**2 + s**2 * (0.58e-6**2 * (0.1**2 + 0.41**2) + 0.029**2 * (11.5e-6**2 + 1.2e-6**2)))
    samples = monte_carlo(gauge_length, GAUGE, MILLION, 4)
    assert round(exact) == 34
    assert float(np.std(samples)) == pytest.approx(exact, abs=0.1)
    assert float(np.mean(samples)) == pytest.approx(50_000_838.0, abs=0.2)


def test_the_end_gauges_linear_budget_is_not_validated() -> None:
    # With infinite degrees of freedom the ends lie 2 (34 - 32) nm apart; in the example k differs as well.
    known = [Input(each.path, each.value, each.u, math.inf, each.shape) for each in GAUGE]
    samples = monte_carlo(gauge_length, known, MILLION, 5)
    for inputs in (known, GAUGE):
        linear = budget(50_000_838.0, inputs, GAUGE_SLOPES)
        assert linear.u == pytest.approx(31.7, abs=0.05)
        verdict = agrees(linear, samples, digits=2)
        assert verdict.tolerance == 0.5
        assert not verdict.agrees


def test_each_end_of_a_lopsided_result_is_measured_by_itself() -> None:
    # An exponential of mean and deviation 1 at the middles of 100 000 equal slices of probability
    samples = -np.log1p(-(np.arange(100_000) + 0.5) / 100_000)
    verdict = agrees(budget(1.0, plain({"a": 1.0}), {"a": 1.0}, 0.95), samples)
    low, high = -math.log(0.975), -math.log(0.025)
    assert (verdict.low, verdict.high) == pytest.approx((low, high), abs=1e-3)
    assert verdict.d_low == pytest.approx(abs(1.0 - 1.95996 - low), abs=1e-3)
    assert verdict.d_high == pytest.approx(abs(1.0 + 1.95996 - high), abs=1e-3)
    assert not verdict.agrees


def test_repeats_are_drawn_as_a_scaled_t_and_a_rectangle() -> None:
    reading = from_repeats("b", [9.0, 9.3, 9.1, 9.4, 9.2, 9.0], 0.2)
    drawn = sample([reading], 200_000, 6)["b"]
    scatter, limit = reading.components
    # Student's t with n degrees of freedom has the variance n / (n - 2)
    assert float(np.std(drawn)) == pytest.approx(math.sqrt(scatter.u**2 * 5 / 3 + limit.u**2), rel=0.01)
    alone = sample([Input("b", 9.0, scatter.u, 5, "t")], 200_000, 6)["b"]
    assert stats.kstest((alone - 9.0) / scatter.u, stats.t(5).cdf).pvalue > 0.001


def test_a_rectangle_stays_within_its_limit_and_fills_it() -> None:
    drawn = sample([from_limit("a", 10.0, 0.5)], 100_000, 7)["a"]
    assert 9.5 <= drawn.min() < 9.501
    assert 10.499 < drawn.max() <= 10.5


def test_the_same_draws_come_again_and_others_with_another_start() -> None:
    inputs = [from_limit("a", 1.0, 0.1), Input("b", 2.0, 0.3)]
    first, again, other = (monte_carlo(total, inputs, 1000, start) for start in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_several_results_come_from_the_same_draws() -> None:
    def both(at: Mapping[str, Samples]) -> Samples:
        return np.stack([at["a"] + at["b"], at["a"] - at["b"]])

    inputs = [Input("a", 1.0, 0.1), Input("b", 2.0, 0.3)]
    results = monte_carlo(both, inputs, 1000, 1)
    assert results.shape == (2, 1000)
    assert results.sum(axis=0) == pytest.approx(2 * sample(inputs, 1000, 1)["a"])


def test_a_function_that_loses_the_draws_is_refused() -> None:
    with pytest.raises(ValueError, match=r"wanted \(1000,\)"):
        monte_carlo(lambda at: at["a"][:500], plain({"a": 1.0}), 1000, 1)


def test_a_path_drawn_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="given twice"):
        sample([*plain({"a": 1.0}), *plain({"a": 1.0})], 10, 1)


@given(st.lists(st.integers(-1000, 1000), min_size=3, max_size=60), st.floats(0.2, 0.9))
def test_no_interval_of_the_fraction_is_shorter_than_the_shortest(values: list[int], p: float) -> None:
    samples = np.array(values, dtype=np.float64)
    covered = math.floor(p * samples.size + 0.5)  # JCGM 101 7.7.1
    if covered == samples.size:
        return
    low, high = shortest_interval(samples, p)
    held = [b - a for a, b in itertools.product(values, values) if sum(a <= v <= b for v in values) > covered]
    assert high - low == min(held)
    symmetric = symmetric_interval(samples, p)
    assert high - low <= symmetric[1] - symmetric[0]


def test_the_shortest_interval_leans_where_the_samples_crowd() -> None:
    samples = np.array([0.0, 0.1, 0.2, 0.3, 5.0, 9.0])
    assert shortest_interval(samples, 0.5) == (0.0, 0.3)


@pytest.mark.parametrize(
    ("samples", "message"),
    [(np.zeros(1), "too few"), (np.zeros((2, 50)), "too few"), (np.array([1.0, np.nan] * 50), "not finite")],
)
def test_samples_without_an_interval_are_refused(samples: Samples, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        shortest_interval(samples, 0.95)


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [
        (0.00035, 2, 0.000005),  # the two examples of JCGM 101 7.9.2, from memory: 35e-5 g and 4e-4 g
        (0.00035, 1, 0.00005),
        (2.0, 1, 0.5),
        (31.71, 2, 0.5),
        (0.0996, 2, 0.005),  # rounds up to 0.10, so its second digit is the hundredth
        (0.96, 1, 0.5),
        (0.0, 2, 0.0),
    ],
)
def test_numerical_tolerance_is_half_the_last_digit(u: float, digits: int, tolerance: float) -> None:
    assert numerical_tolerance(u, digits) == tolerance


@pytest.mark.parametrize(("u", "digits"), [(1.0, 0), (-1.0, 1), (math.inf, 1)])
def test_a_tolerance_that_does_not_exist_is_refused(u: float, digits: int) -> None:
    with pytest.raises(ValueError, match="digits"):
        numerical_tolerance(u, digits)
