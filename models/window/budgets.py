"""How well the window, the thickness and the mouth are known: budgets of JCGM 100, by either road to the window.

The two roads: the chain of readings (cap iron, adjuster pin, bed angle, iron) and the bench method. Functions that take
`at`, a mapping from paths to values, accept floats or numpy arrays alike (millimetres and degrees; results broadcast), so
that a budget, a Monte Carlo run and a sweep use the same lines. `work.deepest_cut` and `work.withdraw` are wishes: they
move the window but add nothing to its uncertainty.

A budget that hangs on a single ± is a little too wide beside its Monte Carlo run: JCGM 100 replaces it by a normal
distribution, JCGM 101 does not. Repeated readings count by Student's t in both (`uncertainty.from_repeats`).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from planestock.models.window import reach
from planestock.models.window.reach import Number, Road, Window
from planestock.models.window.readings import Given, assumed_in, best_limits, input_at, value_at
from planestock.models.window.states import ANGLE, IRON, SETBACK, edge_move, move_slopes, moved_by
from planestock.models.window.uncertainty import (
    Budget,
    Input,
    Retake,
    budget,
    most_worth_taking_again,
    sharpening,
)
from planestock.params.parameter_set import ParameterSet

End = Literal["low", "high"]
"""End of the window: low is T_min, high is T_max."""

SLOT = "cap_iron.slot_to_edge"
PINS: dict[End, str] = {"low": "adjuster.pin_high", "high": "adjuster.pin_low"}
PLAY = "adjuster.play"
EDGES: dict[End, str] = {"low": "bench.edge_high", "high": "bench.edge_low"}
TOLERANCE = "work.cutting_tolerance"
WISHES = ("work.deepest_cut", "work.withdraw")
THICKNESS, OPENING = "body.thickness", "throat.opening"

ROAD_PATHS: dict[Road, tuple[str, ...]] = {
    "bench": (EDGES["high"], EDGES["low"]),
    "readings": (SLOT, SETBACK, PINS["high"], PINS["low"], PLAY, ANGLE, IRON),
}
"""The readings that each road rests on. The bench hangs on more where its readings were taken with another iron or setback
(`paths_of`)."""

DEGREE = math.pi / 180.0
"""Radians in a degree: sensitivities to angles are per degree, as angles and their limits are kept."""

SAME = 1e-9
"""Relative difference of two expanded uncertainties that is only rounding."""


@dataclass(frozen=True)
class KnownWindow:
    """A window and how well it is known. low, high: budgets of T_min and T_max, mm; assumed: paths that were not read."""

    window: Window
    low: Budget
    high: Budget
    assumed: tuple[str, ...] = ()

    @property
    def road(self) -> Road:
        """How it was found."""
        return self.window.road

    @property
    def retake(self) -> Retake | None:
        """The reading that sharpens T_max most when taken again as well as its tool allows; None when none does.

        T_max, because the thickness is settled from it.
        """
        return most_worth_taking_again(self.high, best_limits(term.path for term in self.high.terms))


def roads_of(given: Given) -> tuple[Road, ...]:
    """Return the roads that there are readings for, the bench first; a set has at least one."""
    bench: tuple[Road, ...] = ("bench",) if _has(given, EDGES.values()) else ()
    chain: tuple[Road, ...] = ("readings",) if _has(given, (SLOT, *PINS.values())) else ()
    return bench + chain


def _has(given: Given, paths: Iterable[str]) -> bool:
    return all(given.reading_at(path) is not None for path in paths)


def paths_of(given: Given, road: Road, varied: Collection[str] = ()) -> tuple[str, ...]:
    """Return the readings that a road hangs on, with those that move the bench's readings to the iron and setback in use.

    varied: paths that get values of their own, see `states.moved_by`.
    """
    return (*ROAD_PATHS[road], *(moved_by(given, "bench", varied) if road == "bench" else ()))


def values_in(given: Given, road: Road) -> dict[str, float]:
    """Return the values by path that `window_ends` and `sensitivities` need for a road."""
    return {path: value_at(given, path) for path in (*paths_of(given, road), *WISHES)}


def edges(at: Mapping[str, Number], road: Road) -> tuple[Number, Number]:
    """Return edge_high and edge_low: from the seat plane down to the edge, adjuster back and out, mm.

    The pin pushes one wall of the slot and pulls the other, so that the withdrawn iron lags by the play between them (lost
    motion, a term borrowed from machine tools): by the readings. At the bench the pin has pulled the iron where it was read.
    """
    if road == "bench":
        moved = edge_move(at, "bench")
        return at[EDGES["low"]] + moved, at[EDGES["high"]] + moved
    slot, setback, angle, iron = at[SLOT], at[SETBACK], at[ANGLE], at[IRON]
    out = reach.edge_below_seat(slot, setback, at[PINS["high"]], angle, iron)
    back = reach.edge_below_seat(slot, setback, at[PINS["low"]] - at[PLAY], angle, iron)
    return back, out


def window_ends(at: Mapping[str, Number], road: Road) -> tuple[Number, Number]:
    """Return T_min = edge_high + withdraw and T_max = edge_low - deepest_cut, mm; millions of evaluations a second."""
    back, out = edges(at, road)
    return back + at["work.withdraw"], out - at["work.deepest_cut"]


def sensitivities(at: Mapping[str, Number], road: Road, end: End) -> dict[str, Number]:
    """Return the derivatives of one end of the window by each reading of the road, mm per mm and mm per degree.

    Bench: T_max = edge_low - q and T_min = edge_high + r, so each is 1 for its own reading; where that was taken with
    another iron or setback, those of the move come beside it (`states.move_slopes`).
    Chain: T = (c + b - a) sin θ - t cos θ, less q or plus r; by hand
        dT/dc = dT/db = sin θ,  dT/da = -sin θ,  dT/dt = -cos θ,
        dT/dθ = ((c + b - a) cos θ + t sin θ) π/180 per degree,
    a being pin_low for T_max, and pin_high less the play e for T_min, so that dT/de = sin θ there.
    """
    if road == "bench":
        return {EDGES[end]: 1.0, **move_slopes(at, "bench")}
    theta = np.radians(at[ANGLE])
    sin, cos = np.sin(theta), np.cos(theta)
    lag = {PLAY: sin} if end == "low" else {}
    along = at[SLOT] + at[SETBACK] - at[PINS[end]] + (at[PLAY] if lag else 0.0)
    return {SLOT: sin, SETBACK: sin, PINS[end]: -sin, **lag, ANGLE: (along * cos + at[IRON] * sin) * DEGREE, IRON: -cos}


def standard_uncertainty(at: Mapping[str, Number], u: Mapping[str, float], road: Road, end: End) -> Number:
    """Return the standard uncertainty of one end of the window, mm; u: of each reading, by path, in its own unit.

    Times 2 it is the expanded one, unless repeated readings with few degrees of freedom ask for more.
    """
    return np.sqrt(sum((slope * u[path]) ** 2 for path, slope in sensitivities(at, road, end).items()))


def inputs_of(given: Given, road: Road) -> tuple[Input, ...]:
    """Return the readings of a road as inputs."""
    return tuple(input_at(given, path) for path in paths_of(given, road))


def known_window(given: Given, road: Road) -> KnownWindow:
    """Return the window by one road with its budgets. Raises ValueError where the set lacks its readings."""
    at = values_in(given, road)
    back, out = edges(at, road)
    window = Window(float(out), float(back), at["work.deepest_cut"], at["work.withdraw"], road)
    inputs = {each.path: each for each in inputs_of(given, road)}
    ends: tuple[tuple[End, float], ...] = (("low", window.low), ("high", window.high))
    low, high = (_budget(value, sensitivities(at, road, end), inputs) for end, value in ends)
    return KnownWindow(window, low, high, assumed_in(given, paths_of(given, road)))


def _budget(value: float, slopes: Mapping[str, Number], inputs: Mapping[str, Input]) -> Budget:
    return budget(value, [inputs[path] for path in slopes], {path: float(slope) for path, slope in slopes.items()})


@dataclass(frozen=True)
class Widening:
    """What an assumption does to T_min, mm: value: how much higher it stands; safe: with its expanded uncertainty."""

    value: float
    safe: float


def widened_by(known: KnownWindow, path: str) -> Widening:
    """Return what an input does to T_min against being exactly nought; nothing where T_min does not hang on it."""
    term = next((term for term in known.low.terms if term.path == path), None)
    if term is None:
        return Widening(0.0, 0.0)
    higher = term.sensitivity * term.value
    return Widening(higher, higher + known.low.expanded - sharpening(known.low, path, 0.0))


def known_windows(given: Given) -> tuple[KnownWindow, ...]:
    """Return the window by each road that the set has readings for, the bench first."""
    return tuple(known_window(given, road) for road in roads_of(given))


def governing(known: tuple[KnownWindow, ...]) -> KnownWindow:
    """Return the window that the thickness is settled from: the one whose worse known end is the better known.

    Both ends are shown and built by, so that a sharp T_max does not make up for a T_min that rests on an assumed play. The
    bench method skips the bed angle and is the better road with equal tools, so it wins a tie; measured with a poor tool it
    is not better, and does not win.
    """
    best = known[0]
    for other in known[1:]:
        if _worse_known(other) < _worse_known(best) * (1.0 - SAME):
            best = other
    return best


def _worse_known(known: KnownWindow) -> float:
    """Return the larger expanded uncertainty of both ends, mm."""
    return max(known.low.expanded, known.high.expanded)


def thickness_stray(given: Given) -> float:
    """Return how far the cut thickness may stray, mm: the ± written on body.thickness, else work.cutting_tolerance."""
    own = given.reading_at(THICKNESS)
    return float(own.limit) if own is not None and own.limit is not None else value_at(given, TOLERANCE)


def thickness_input(given: Given, thickness: float) -> Input:
    """Return the cut thickness as an input: rectangular within `thickness_stray`, or a given one with its repeats."""
    stray = thickness_stray(given)
    own = given.reading_at(THICKNESS)
    if own is not None and own.repeats and own.value == thickness:
        return input_at(given, THICKNESS, stray)
    return Input(THICKNESS, thickness, stray / math.sqrt(3.0), math.inf, "rectangular")


def thickness_budget(given: Given, thickness: float) -> Budget:
    """Return the budget of the thickness as cut."""
    return budget(thickness, [thickness_input(given, thickness)], {THICKNESS: 1.0})


def mouth_budget(given: ParameterSet, thickness: float) -> Budget:
    """Return the budget of the mouth opening as it comes out when front wall and casting are placed by the layout, mm.

    The metal decides where the edge is: with the corner D and the mouth's front both cut to the layout, L apart,
        opening = L - T cot θ - t / sin θ,
    so that, by hand,
        d/dL = 1 (± work.cutting_tolerance, under the path throat.opening),  d/dT = -cot θ,  d/dt = -1 / sin θ,
        d/dθ = (T + t cos θ) / sin² θ · π/180 per degree.
    """
    theta = math.radians(given.frog.bed_angle.value)
    sin, cos = math.sin(theta), math.cos(theta)
    iron = given.iron.thickness.value
    slopes = {
        OPENING: 1.0,
        THICKNESS: -cos / sin,
        IRON: -1.0 / sin,
        ANGLE: (thickness + iron * cos) / sin**2 * DEGREE,
    }
    stray = given.work.cutting_tolerance.value
    inputs = (
        input_at(given, OPENING, stray),
        thickness_input(given, thickness),
        input_at(given, IRON),
        input_at(given, ANGLE),
    )
    return budget(given.throat.opening.value, inputs, slopes)
