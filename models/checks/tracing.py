"""Checks of a traced casting: how its drawing and the caliper readings agree, and how far it is its own mirror image."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from planestock.models.body.casting_outline import traced_plan, width_at
from planestock.models.body.layout import Layout, parametric_plan
from planestock.models.checks.rows import Row, at_most
from planestock.models.window.readings import limit_at
from planestock.params.outlines.pieces import Point, flattened
from planestock.params.parameter_set import ParameterSet
from planestock.params.traced.evening import TracedPlan

MOST_ASYMMETRY = 0.5
"""How much wider than the metal the seat may be on one side before it is worth a word, mm: about a seat's gap, which a maker
sees as a line of light beside the casting (common practice, no published source)."""

NEAR_END = 0.15
"""Share of the length at each end within which the widest place is taken for that end's width."""

STATIONS = 60
"""Places at which an end's width is taken."""

CHORDS = 0.01
"""Chords of outlines whose widths are compared stray at most this far, mm."""


@dataclass(frozen=True)
class Difference:
    """A place where drawing and readings can be compared. traced, read: mm; limit: of both together, mm."""

    what: str
    path: str
    traced: float
    read: float
    limit: float

    @property
    def apart(self) -> float:
        """How far they are apart."""
        return abs(self.traced - self.read)


def tracing_checks(given: ParameterSet, at: Layout) -> tuple[Row, ...]:
    """Return the checks of what was traced; none where nothing was."""
    plan = traced_plan(given.casting)
    return (*_agreement(given, at, plan), *_symmetry(plan))


def differences(given: ParameterSet, at: Layout) -> tuple[Difference, ...]:
    """Return every comparison of drawing and readings. Limits add as of rectangular errors: square root of both squares."""
    return tuple(_differences(given, at, traced_plan(given.casting)))


def _agreement(given: ParameterSet, at: Layout, plan: TracedPlan | None) -> Iterator[Row]:
    found = list(_differences(given, at, plan))
    if not found:
        return
    worst, length = max(found, key=lambda one: one.apart / one.limit), given.lengths
    both = f"{length.number(worst.traced)} and {length(worst.read)}"
    yield at_most(
        "tracing-agrees",
        f"Drawing and caliper agree on the casting (worst: {worst.what}, {both})",
        worst.apart, worst.limit,
        f"take {worst.path} again; check the drawing's scale and where D lies in it; raise casting.tracing.limit if the "
        "drawing is coarser",
        advisory=True,
    )  # fmt: skip


def _differences(given: ParameterSet, at: Layout, plan: TracedPlan | None) -> Iterator[Difference]:
    casting = given.casting
    if plan is not None:
        yield _one(given, "front end", "casting.front", plan.front, casting.front.value)
        yield _one(given, "rear end", "casting.rear", plan.rear, casting.rear.value)
        yield from _widths(given, plan)
    if casting.profile is not None:
        drop = at.thickness - at.tail.level if at.tail else 0.0
        yield _one(given, "tail's drop", "casting.tail_drop", drop, casting.tail_drop.value)


def _one(given: ParameterSet, what: str, path: str, traced: float, read: float) -> Difference:
    limit = math.hypot(limit_at(given, path), given.casting.tracing.limit.value)
    return Difference(what, path, traced, read, max(limit, CHORDS))


def _widths(given: ParameterSet, plan: TracedPlan) -> Iterator[Difference]:
    """Yield the widest place near each end, as drawn and as read; a width has two drawn sides.

    A reading is taken where the corners begin to round off, and that may lie anywhere between the very end and the widest
    place near it by the readings' own straight taper: the one nearest to the drawing is compared.
    """
    casting = given.casting
    traced = flattened(plan.even, CHORDS)
    read = flattened(parametric_plan(casting, 0.0, 0.0), CHORDS)
    both_sides = math.sqrt(2) * casting.tracing.limit.value
    for end in ("front", "rear"):
        path = f"casting.{end}_width"
        by_drawing = _widest(traced, plan.front, plan.rear, end)
        at_end = getattr(casting, f"{end}_width").value
        near_end = _widest(read, casting.front.value, casting.rear.value, end)
        by_caliper = min(max(by_drawing, min(at_end, near_end)), max(at_end, near_end))
        limit = max(CHORDS, math.hypot(limit_at(given, path), both_sides))
        yield Difference(f"{end} width", path, by_drawing, by_caliper, limit)


def _widest(points: list[Point], front: float, rear: float, end: str) -> float:
    """Return the largest width within `NEAR_END` of one end."""
    span = NEAR_END * (rear - front)
    shares = [k / STATIONS for k in range(1, STATIONS + 1)]
    return max(width_at(points, front + share * span if end == "front" else rear - share * span) for share in shares)


def _symmetry(plan: TracedPlan | None) -> Iterator[Row]:
    if plan is not None:
        yield at_most(
            "tracing-even",
            "The traced casting is its own mirror image; the seat is wider than it on one side by so much",
            plan.asymmetry, MOST_ASYMMETRY,
            "check that D and the second mark lie on the casting's middle line, or accept a wider gap on one side",
            advisory=True,
        )  # fmt: skip
