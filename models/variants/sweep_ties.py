"""Which varied values change nothing in a sweep and why, and which variants share the first place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planestock.models.variants.sweep import (
    ARRAY_PATHS,
    BEVEL,
    BREAST,
    DEPTH,
    HEIGHT,
    LEAN,
    OUTCOMES,
    TRUINGS,
    Floats,
    Table,
)
from planestock.models.variants.sweep_axes import Axis
from planestock.models.window.budgets import OPENING, ROAD_PATHS, governing, known_windows, roads_of
from planestock.params.parameter_set import ParameterSet

SAME = 1e-9
"""Difference of two outcomes, mm or degrees, that is only rounding."""

BESIDE_THE_WINDOW = frozenset({OPENING, LEAN, HEIGHT, BREAST, BEVEL, DEPTH, TRUINGS})
"""Paths that feed the mouth or the clearance angle alone."""

ROADS = {"bench": "the bench method", "readings": "the chain of readings"}


@dataclass(frozen=True)
class Idle:
    """A varied value that changes no outcome of the sweep. why: in words, to follow a colon."""

    path: str
    why: str


@dataclass(frozen=True)
class Best:
    """The sure variants with most wear left. wear: mm; rows: their positions; sure: how many variants are sure at all."""

    wear: float
    rows: tuple[int, ...]
    sure: int


def idle(given: ParameterSet, axes: Sequence[Axis], table: Table) -> tuple[Idle, ...]:
    """Return the varied values that change no outcome over a grid; none of a random sample, which has no rows to compare."""
    if any(axis.count is None for axis in axes):
        return ()
    columns = [table.outcomes[name] for name in OUTCOMES]
    return tuple(
        Idle(axis.path, _why(given, axis.path, table))
        for place, axis in enumerate(axes)
        if all(unmoved(column, axes, place) for column in columns)
    )


def unmoved(column: Floats, axes: Sequence[Axis], place: int) -> bool:
    """Tell whether an outcome of a grid, shape (n,), is the same along the axis at `place` wherever the others stand."""
    field = column.reshape([axis.count or 0 for axis in axes])
    first = np.take(field, [0], axis=place)
    return bool(np.all((np.abs(field - first) <= SAME) | (np.isnan(field) & np.isnan(first))))


def beside_the_wear(axes: Sequence[Axis], table: Table) -> tuple[str, ...]:
    """Return the varied paths of a grid that change outcomes, but not the wear that is left: they feed only the mouth or the
    clearance angle. None of a random sample."""
    if any(axis.count is None for axis in axes):
        return ()
    return tuple(
        axis.path
        for place, axis in enumerate(axes)
        if axis.path in BESIDE_THE_WINDOW and not all(unmoved(table.outcomes[name], axes, place) for name in OUTCOMES)
    )


def _why(given: ParameterSet, path: str, table: Table) -> str:
    if path not in ARRAY_PATHS:
        also = ", though other checks fail by it or not" if len(set(table.failing or ())) > 1 else ""
        return f"it feeds neither the window nor the mouth{also}"
    roads = roads_of(given)
    used = [road for road in roads if path in ROAD_PATHS[road]]
    if len(roads) > len(used):
        rules = governing(known_windows(given)).road
        if rules not in used and any(path in paths for paths in ROAD_PATHS.values()):
            return f"{ROADS[rules]} rules the window and does not use it"
    return "over this range it moves none of the numbers of a sweep"


def best(table: Table) -> Best | None:
    """Return the sure variants that leave most wear, all of them where several leave the same; None where none is sure."""
    wear = np.where(table.outcomes["sure"] == 1, table.outcomes["wear_left"], np.nan)
    if not np.isfinite(wear).any():
        return None
    most = float(np.nanmax(wear))
    return Best(most, tuple(int(row) for row in np.flatnonzero(wear >= most - SAME)), int(np.isfinite(wear).sum()))
