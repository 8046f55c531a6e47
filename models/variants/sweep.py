"""Many variants of one set at once: the window and what hangs on it, as arrays.

Paths that feed only the window, the thickness and the mouth (`ARRAY_PATHS`) go through the same lines as a single set, with
arrays in place of numbers; any other path goes through `design` variant by variant. A varied reading keeps the ± that the
set has for it; repeated readings count as one when varied.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.checks.rows import failing
from planestock.models.design import Design, design
from planestock.models.variants.sweep_axes import (
    MOST_ROWS,
    Axis,
    grid,
    limit_written,
    random_sample,
    reading_there,
    value_text,
)
from planestock.models.window import reach
from planestock.models.window.budgets import (
    EDGES,
    OPENING,
    PINS,
    PLAY,
    SAME,
    SLOT,
    THICKNESS,
    WISHES,
    End,
    paths_of,
    roads_of,
    sensitivities,
    thickness_stray,
    window_ends,
)
from planestock.models.window.reach import Number, Road
from planestock.models.window.readings import input_at, instrument_limit, value_at
from planestock.models.window.sole_life import mouth_after
from planestock.models.window.states import ANGLE, IRON, OWN, SETBACK
from planestock.models.window.thickness import safe_ends
from planestock.models.window.uncertainty import Input, coverage_factor, from_limit
from planestock.models.window.year import year
from planestock.params.files import changed
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem

Floats = npt.NDArray[np.float64]
Columns = dict[str, Floats]

BEVEL, LEAN = "iron.bevel_angle", "throat.wear_lean"
HEIGHT, BREAST = "throat.wear_height", "throat.breast_lean"
DEPTH, TRUINGS, CUTTING = "work.truing_depth", "work.truings", "work.cutting_tolerance"

ARRAY_PATHS = frozenset({
    SLOT, SETBACK, *PINS.values(), PLAY, ANGLE, IRON, *EDGES.values(), *OWN["bench"].values(), *WISHES, THICKNESS, OPENING,
    LEAN, HEIGHT, BREAST, BEVEL, DEPTH, TRUINGS, CUTTING,
})  # fmt: skip
"""Paths that feed the window, the thickness and the mouth and nothing else that a sweep tells."""

MOST_DESIGNS = 2_000
"""Variants of a sweep that varies any other path: each takes some 20 ms, the whole a minute."""

BLOCK = 100_000
"""Variants worked out at a time: their arrays stay in the processor's cache."""

OUTCOMES = (
    "window.min", "window.max", "window.width", "window.u_min", "window.u_max", "window.safe_min", "window.safe_max",
    "thickness", "wear_left", "reach.out", "reach.in", "mouth.opening", "mouth.growth_per_mm", "mouth.after_truings",
    "clearance_angle", "sure",
)  # fmt: skip
"""What is told of every variant, under the names of `check --json`; `sure` is 1 where the thickness is sure to work all
year."""


@dataclass(frozen=True)
class Table:
    """A sweep's outcome. inputs, outcomes: columns by name, shape (n,) each; what could not be worked out is NaN.

    failing: ids of failing checks of each variant, problems: why it is no body, both only where every variant was designed.
    """

    inputs: Columns
    outcomes: Columns
    failing: tuple[str, ...] | None = None
    problems: tuple[str, ...] | None = None

    @property
    def rows(self) -> int:
        """How many variants there are."""
        return len(next(iter(self.inputs.values())))


def swept(given: ParameterSet, inputs: Columns, beginning: Callable[[int], None] = lambda _: None) -> Table:
    """Return the table of all variants. inputs: values by path, shape (n,) each; beginning: called with each variant's
    number where they are designed one by one."""
    if set(inputs) <= ARRAY_PATHS:
        return Table(inputs, evaluated(given, inputs))
    return _designed(given, inputs, beginning)


def in_arrays(paths: Sequence[str]) -> bool:
    """Tell whether a sweep of these paths is worked out in arrays."""
    return set(paths) <= ARRAY_PATHS


def inputs_of(found: Sequence[Axis], at_random: int | None = None, seed: int = 0, *, solids: bool = False) -> Columns:
    """Return the values of all variants by path, shape (n,) each: every combination, or `at_random` of them drawn.

    solids: whether each is to be built too. Raises InputProblem where there are more than can be worked out.
    """
    most = MOST_ROWS if in_arrays([axis.path for axis in found]) and not solids else MOST_DESIGNS
    return grid(found, most) if at_random is None else random_sample(found, at_random, seed, most)


def windows(given: ParameterSet, inputs: Mapping[str, Number]) -> tuple[Number, Number]:
    """Return T_min and T_max of every variant, mm, by the road that the set would take; millions a second.

    inputs: values by path, floats or arrays; results broadcast.
    """
    roads = roads_of(given)
    if len(roads) == 1:
        paths = (*paths_of(given, roads[0], inputs), *WISHES)
        return window_ends({path: _at(given, inputs, path) for path in paths}, roads[0])
    _, low, high, _ = _governing(given, inputs)
    return low, high


def evaluated(given: ParameterSet, inputs: Columns) -> Columns:
    """Return `OUTCOMES` of every variant, shape (n,) each. Raises KeyError for a path that is not in `ARRAY_PATHS`."""
    for path in inputs:
        if path not in ARRAY_PATHS:
            raise KeyError(f"{path} feeds more than the window and the mouth")
    rows = len(next(iter(inputs.values())))
    blocks = [
        _block(given, {path: column[start : start + BLOCK] for path, column in inputs.items()})
        for start in range(0, rows, BLOCK)
    ]
    return {name: np.concatenate([block[name] for block in blocks]) for name in OUTCOMES}


def _block(given: ParameterSet, inputs: Columns) -> Columns:
    expanded, low, high, impossible = _governing(given, inputs)
    stray = _stray(given, inputs)
    safe_low, safe_high = safe_ends(low, high, expanded, stray, year(given))
    own = inputs.get(THICKNESS, math.nan if given.body.thickness is None else given.body.thickness.value)
    thickness = np.where(np.isnan(own), np.where(safe_low <= safe_high, safe_high, np.nan), own)
    theta, wear_lean = _at(given, inputs, ANGLE), _at(given, inputs, LEAN)
    growth = reach.mouth_growth(theta, wear_lean)
    opening = _at(given, inputs, OPENING)
    lost = _at(given, inputs, DEPTH) * inputs.get(TRUINGS, float(given.work.truings))
    edge_high, edge_low = low - _at(given, inputs, WISHES[1]), high + _at(given, inputs, WISHES[0])
    found: dict[str, Number] = {
        "window.min": low,
        "window.max": high,
        "window.width": high - low,
        "window.u_min": expanded[0],
        "window.u_max": expanded[1],
        "window.safe_min": safe_low,
        "window.safe_max": safe_high,
        "thickness": thickness,
        "wear_left": thickness - safe_low,
        "reach.out": edge_low - thickness,
        "reach.in": thickness - edge_high,
        "mouth.opening": opening,
        "mouth.growth_per_mm": growth,
        "mouth.after_truings": reach.mouth_worn(
            opening, lost, theta, _at(given, inputs, HEIGHT), wear_lean, _at(given, inputs, BREAST)
        ),
        "clearance_angle": reach.clearance_angle(theta, _at(given, inputs, BEVEL)),
        "sure": np.where((thickness >= safe_low - ROUNDING) & (thickness <= safe_high + ROUNDING), 1.0, 0.0),
    }
    rows = len(next(iter(inputs.values())))
    nothing = dict.fromkeys(OUTCOMES, np.nan) | {"sure": 0.0}
    return {name: np.where(impossible, nothing[name], np.broadcast_to(column, rows)) for name, column in found.items()}


ROUNDING = 1e-9
"""What arithmetic may lose, mm; a chosen thickness lies on the edge of what is sure."""


def _at(given: ParameterSet, inputs: Mapping[str, Number], path: str) -> Number:
    return inputs[path] if path in inputs else value_at(given, path)


def _stray(given: ParameterSet, inputs: Mapping[str, Number]) -> Number:
    """Return how far the cut may stray: the ± written on the thickness, else the (perhaps varied) cutting tolerance."""
    written = limit_written(given, THICKNESS)
    return written if written is not None else inputs.get(CUTTING, thickness_stray(given))


def _governing(
    given: ParameterSet, inputs: Mapping[str, Number]
) -> tuple[tuple[Number, Number], Number, Number, npt.NDArray[np.bool_]]:
    """Return expanded uncertainties, T_min, T_max of the governing road, and where the readings contradict one another."""
    roads = [_by_road(given, inputs, road) for road in roads_of(given)]
    (u_low, u_high), low, high = roads[0]
    for (other_u_low, other_u_high), other_low, other_high in roads[1:]:
        better = np.maximum(other_u_low, other_u_high) < np.maximum(u_low, u_high) * (1.0 - SAME)
        u_low, u_high = np.where(better, other_u_low, u_low), np.where(better, other_u_high, u_high)
        low, high = np.where(better, other_low, low), np.where(better, other_high, high)
    return (u_low, u_high), low, high, _contradictory(given, inputs)


def _by_road(given: ParameterSet, inputs: Mapping[str, Number], road: Road) -> tuple[tuple[Number, Number], Number, Number]:
    paths = paths_of(given, road, inputs)
    at = {path: _at(given, inputs, path) for path in (*paths, *WISHES)}
    known = {path: _input(given, inputs, path) for path in paths}
    counts = _unless_same(given, inputs, at) if road == "bench" else {}
    low, high = window_ends(at, road)
    u_low, u_high = (_expanded(at, known, counts, road, end) for end in ("low", "high"))
    return (u_low, u_high), low, high


def _unless_same(given: ParameterSet, inputs: Mapping[str, Number], at: Mapping[str, Number]) -> dict[str, Number]:
    """Return by path 0 for the variants whose iron or setback is the bench's very reading again, so that its ± cancels."""
    counts: dict[str, Number] = {}
    for in_use, own in OWN["bench"].items():
        said = own in inputs or reading_there(given, own) is not None
        if own in at and (not said or _spread_written(given, inputs, in_use) == _spread_written(given, inputs, own)):
            different = np.where(np.equal(at[in_use], at[own]), 0.0, 1.0)
            counts |= {in_use: different, own: different}
    return counts


def _spread_written(given: ParameterSet, inputs: Mapping[str, Number], path: str) -> tuple[object, object]:
    """Return ± and repeats as they are written at a path; a varied reading has no repeats."""
    if path in inputs:
        return limit_written(given, path), ()
    reading = reading_there(given, path)
    return limit_written(given, path), reading.repeats if reading else ()


def _input(given: ParameterSet, inputs: Mapping[str, Number], path: str) -> Input:
    """Return a reading as an input; one that is varied is a single reading with the ± that the set has there."""
    return from_limit(path, 0.0, _limit_if_varied(given, path)) if path in inputs else input_at(given, path)


def _limit_if_varied(given: ParameterSet, path: str) -> float:
    written = limit_written(given, path)
    return instrument_limit(given, path) if written is None else written


def _expanded(
    at: Mapping[str, Number], known: Mapping[str, Input], counts: Mapping[str, Number], road: Road, end: End
) -> Number:
    """Return the expanded uncertainty of one end of the window: as `uncertainty.budget` has it, in arrays. counts: see
    `_unless_same`."""
    slopes = sensitivities(at, road, end)
    parts = {path: np.abs(slope) * known[path].u * counts.get(path, 1.0) for path, slope in slopes.items()}
    u = np.sqrt(sum(part**2 for part in parts.values()))
    few = [path for path in parts if math.isfinite(known[path].dof)]
    if not few:
        return coverage_factor(math.inf) * u
    safe = np.where(u > 0, u, 1.0)
    share = sum((parts[path] / safe) ** 4 / known[path].dof for path in few)
    dof = np.where(share > 0, 1.0 / np.where(share > 0, share, 1.0), np.inf)
    return _coverage(dof) * u


def _coverage(dof: Number) -> Number:
    """Return coverage factors for effective degrees of freedom; few distinct whole ones occur, each is worked out once."""
    # The same allowance for rounding as `coverage_factor` has, so that 17 spoilt by rounding counts as 17 here too.
    whole = np.floor(np.asarray(dof) * (1.0 + 1e-9))
    distinct, inverse = np.unique(whole, return_inverse=True)
    factors = np.array([coverage_factor(float(each)) for each in distinct])
    return factors[inverse].reshape(whole.shape)


def _contradictory(given: ParameterSet, inputs: Mapping[str, Number]) -> npt.NDArray[np.bool_]:
    """Tell where an adjuster's two ends are not in order: such a set would be refused."""
    wrong = np.asarray(False)
    if given.adjuster is not None:
        wrong = wrong | (_at(given, inputs, PINS["high"]) >= _at(given, inputs, PINS["low"]))
    if given.bench is not None:
        wrong = wrong | (_at(given, inputs, EDGES["low"]) >= _at(given, inputs, EDGES["high"]))
    return np.asarray(wrong)


def changes_of(given: ParameterSet, inputs: Columns) -> Iterator[tuple[str, ...]]:
    """Yield the `path=value` changes of each variant."""
    paths = list(inputs)
    for values in zip(*inputs.values(), strict=True):
        yield tuple(f"{path}={value_text(given, path, float(value))}" for path, value in zip(paths, values, strict=True))


def _designed(given: ParameterSet, inputs: Columns, beginning: Callable[[int], None]) -> Table:
    raw = given.model_dump(mode="json")
    told: list[dict[str, float]] = []
    fails: list[str] = []
    problems: list[str] = []
    for number, changes in enumerate(changes_of(given, inputs)):
        beginning(number)
        try:
            made = design(parameter_set(changed(raw, changes)))
        except InputProblem as problem:
            told.append(dict.fromkeys(OUTCOMES, math.nan) | {"sure": 0.0})
            fails.append("")
            problems.append(str(problem).splitlines()[0])
            continue
        told.append(outcomes_of(made))
        fails.append(" ".join(failing(made.number_checks)))
        problems.append("")
    columns = {name: np.array([each[name] for each in told]) for name in OUTCOMES}
    return Table(inputs, columns, tuple(fails), tuple(problems))


def outcomes_of(made: Design) -> dict[str, float]:
    """Return `OUTCOMES` of one design."""
    given, settled = made.given, made.settled
    window, theta = settled.window, given.frog.bed_angle.value
    growth = float(reach.mouth_growth(theta, given.throat.wear_lean.value))
    opening = given.throat.opening.value
    return {
        "window.min": window.low,
        "window.max": window.high,
        "window.width": window.width,
        "window.u_min": settled.low.expanded,
        "window.u_max": settled.high.expanded,
        "window.safe_min": settled.safe_low,
        "window.safe_max": settled.safe_high,
        "thickness": settled.thickness,
        "wear_left": settled.wear_left,
        "reach.out": window.out(settled.thickness),
        "reach.in": window.back(settled.thickness),
        "mouth.opening": opening,
        "mouth.growth_per_mm": growth,
        "mouth.after_truings": mouth_after(given, given.work.truings * given.work.truing_depth.value),
        "clearance_angle": float(reach.clearance_angle(theta, given.iron.bevel_angle.value)),
        "sure": float(settled.safe_margin >= -ROUNDING),
    }
