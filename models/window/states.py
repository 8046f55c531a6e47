"""Readings taken with another iron or setback than those in use: how far the edge stands now from where it stood then.

Up the bed the edge goes with the setback, out from it with the iron: with iron t and setback b in use, and t' and b' then,
it stands (b - b') sin θ - (t - t') cos θ lower. What is the same reading then and now cancels, its ± too. `at` maps paths
to floats or numpy arrays alike (millimetres and degrees; results broadcast).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

import numpy as np

from planestock.models.window import reach
from planestock.models.window.reach import Number
from planestock.models.window.readings import Given, reading_or_stand_in
from planestock.params.parameter_set import ParameterSet

IRON, SETBACK, ANGLE = "iron.thickness", "cap_iron.setback", "frog.bed_angle"

State = Literal["bench", "old_body"]
"""Group of readings that says with which iron and setback they were taken, or what they are of was used."""

OWN: dict[State, dict[str, str]] = {
    state: {IRON: f"{state}.iron_thickness", SETBACK: f"{state}.setback"} for state in ("bench", "old_body")
}
"""For each state, where it keeps its own iron and setback, by the paths of those in use."""


def moved_by(given: Given, state: State, varied: Collection[str] = ()) -> tuple[str, ...]:
    """Return the paths that the edge's move from a state to the one in use hangs on; none where nothing was changed.

    varied: paths that get values of their own, so that they are no longer the same reading.
    """
    changed = [
        path
        for in_use, own in OWN[state].items()
        if in_use in varied or own in varied or not same_reading(given, own, in_use)
        for path in (in_use, own)
    ]
    return (*changed, ANGLE) if changed else ()


def as_it_was(given: ParameterSet, state: State) -> ParameterSet:
    """Return the set with the iron and setback of a state in use, and every other state as it is said to be."""
    kept = {path: reading_or_stand_in(given, own) for path, own in OWN[state].items()}
    bench = given.bench and given.bench.model_copy(
        update={own.partition(".")[2]: reading_or_stand_in(given, own) for own in OWN["bench"].values()}
    )
    return given.model_copy(
        update={
            "iron": given.iron.model_copy(update={"thickness": kept[IRON]}),
            "cap_iron": given.cap_iron.model_copy(update={"setback": kept[SETBACK]}),
            "bench": bench,
        }
    )


def same_reading(given: Given, own: str, in_use: str) -> bool:
    """Tell whether a state's reading is that of the metal in use: not written, or written just the same, ± and all."""
    kept, now = given.reading_at(own), given.reading_at(in_use)
    if kept is None or now is None:
        return kept is None
    return (kept.exact, kept.limit, kept.repeats) == (now.exact, now.limit, now.repeats)


def edge_move(at: Mapping[str, Number], state: State) -> Number:
    """Return how much lower the edge stands than in the state, mm; at: values of the paths of `moved_by`."""
    thicker, further = _changes(at, state)
    if thicker is None and further is None:
        return 0.0
    return reach.edge_move(_or_nought(further), _or_nought(thicker), at[ANGLE])


def move_slopes(at: Mapping[str, Number], state: State) -> dict[str, Number]:
    """Return the derivatives of `edge_move` by each path of `moved_by`, mm per mm and mm per degree.

    By hand: dm/db = sin θ, dm/db' = -sin θ, dm/dt = -cos θ, dm/dt' = cos θ,
    dm/dθ = ((b - b') cos θ + (t - t') sin θ) π/180 per degree.
    """
    thicker, further = _changes(at, state)
    if thicker is None and further is None:
        return {}
    theta = np.radians(at[ANGLE])
    sin, cos = np.sin(theta), np.cos(theta)
    slopes = {ANGLE: np.radians(_or_nought(further) * cos + _or_nought(thicker) * sin)}
    if further is not None:
        slopes |= {SETBACK: sin, OWN[state][SETBACK]: -sin}
    if thicker is not None:
        slopes |= {IRON: -cos, OWN[state][IRON]: cos}
    return slopes


def _changes(at: Mapping[str, Number], state: State) -> tuple[Number | None, Number | None]:
    """Return t - t' and b - b', each None where it is the same reading."""
    thicker, further = (
        at[path] - at[OWN[state][path]] if path in at and OWN[state][path] in at else None for path in (IRON, SETBACK)
    )
    return thicker, further


def _or_nought(change: Number | None) -> Number:
    return 0.0 if change is None else change
