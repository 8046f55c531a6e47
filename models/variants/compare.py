"""Variants side by side: what differs between their sets, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from planestock.models.checks.rows import Row, failing
from planestock.models.design import Design, design
from planestock.models.window import reach
from planestock.models.window.sole_life import mouth_after
from planestock.params.catalogue import declared
from planestock.params.fields import Group
from planestock.params.lengths import Lengths
from planestock.params.outlines.path_text import SHAPES, in_words
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem, refuse
from planestock.params.reading import Reading
from planestock.params.wanted import FROM_WINDOW

FEWEST, MOST = 2, 24
"""Variants of one comparison; more are a sweep."""

NO_INPUTS = frozenset({"name", "note"})
"""Fields that say nothing about the body."""

WOOD_CHECKS = (
    "cheek", "seat-wall", "wood-under-tail", "wood-behind-bed", "wood-ahead-of-mouth", "wood-behind-casting",
    "wood-under-recess", "frog-screw-covered", "casting-screw-covered", "tote-bolt-covered", "tote-toe-screw-covered",
    "knob-bolt-covered", "dowels-covered", "holes-apart",
)  # fmt: skip
"""Checks whose value is a thickness of wood."""


@dataclass(frozen=True)
class Variant:
    """One variant. label: what it is called; made: its design, None where the set is no body, for the reason `problem`.

    solids: whether solids were built, so that mass and all checks are known.
    """

    label: str
    given: ParameterSet
    made: Design | None
    problem: str
    solids: bool

    @property
    def rows(self) -> tuple[Row, ...]:
        """The checks that were made."""
        if self.made is None:
            return ()
        return self.made.checks if self.solids else self.made.number_checks

    @property
    def failing(self) -> tuple[str, ...]:
        """Ids of the checks that fail."""
        return failing(self.rows)


@dataclass(frozen=True)
class Difference:
    """One field that is not the same in all variants: its path, its name, and how each variant writes it."""

    path: str
    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """One thing that follows. key: its name for machines; values: of each variant, None where it has none.

    spread: expanded uncertainties beside the values, where they have one; notes: words beside a value, such as where.
    """

    key: str
    title: str
    unit: str
    values: tuple[float | None, ...]
    spread: tuple[float | None, ...] | None = None
    notes: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Comparison:
    """Variants, what differs between their sets, and what follows."""

    variants: tuple[Variant, ...]
    differences: tuple[Difference, ...]
    outcomes: tuple[Outcome, ...]

    @property
    def lengths(self) -> Lengths:
        """How lengths are written beside each other: in inches where every set is in inches."""
        return Lengths("in" if all(variant.given.units == "in" for variant in self.variants) else "mm")


def compare(sets: Sequence[tuple[str, ParameterSet]], *, solids: bool) -> Comparison:
    """Return the comparison of sets, each with its label. solids: build them, for masses and the checks of solids.

    A set that cannot become a body, or whose solids cannot be built, is told with the reason. Raises InputProblem for
    fewer than two sets or too many.
    """
    if not FEWEST <= len(sets) <= MOST:
        remedy = "name more sets, or one set and --variant" if len(sets) < FEWEST else "use `planestock sweep`"
        raise refuse("compare", f"{len(sets)} variants", f"takes {FEWEST} to {MOST}", remedy)
    variants = tuple(_variant(label, given, solids=solids) for label, given in sets)
    return Comparison(variants, differences([given for _, given in sets]), _outcomes(variants))


def _variant(label: str, given: ParameterSet, *, solids: bool) -> Variant:
    try:
        made = design(given)
        if solids:
            _ = made.checks
    except InputProblem as problem:
        return Variant(label, given, None, str(problem).splitlines()[0], solids)
    except RuntimeError as failed:  # A KernelProblem is one; numbers import nothing of the kernel to name it.
        return Variant(label, given, None, str(failed).splitlines()[0], solids)
    return Variant(label, given, made, "", solids)


def differences(sets: Sequence[ParameterSet]) -> tuple[Difference, ...]:
    """Return the fields in which the sets differ, in the order they are declared; another unit is no difference."""
    flat = [dict(_leaves(given, "")) for given in sets]
    paths = dict.fromkeys(path for one in flat for path in one)
    found = []
    for path in paths:
        values = [one.get(path) for one in flat]
        if len({_same(value) for value in values}) > 1:
            found.append(Difference(path, _title(path), tuple(_text(path, value) for value in values)))
    return tuple(found)


def _leaves(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Yield every value that is not a group, with its dotted path; a list of groups is numbered from 0."""
    if isinstance(value, Group):
        for name in type(value).model_fields:
            if path or name not in NO_INPUTS:
                yield from _leaves(getattr(value, name), f"{path}.{name}" if path else name)
    elif isinstance(value, tuple) and any(isinstance(one, Group) for one in value):
        for index, one in enumerate(value):
            yield from _leaves(one, f"{path}.{index}")
    else:
        yield path, value


def _same(value: Any) -> Any:
    if isinstance(value, Reading):
        return (value.exact, value.limit or Fraction(0), value.repeats)
    return tuple(_same(one) for one in value) if isinstance(value, tuple) else value


def _title(path: str) -> str:
    field = declared(path)
    return (field.title if field else None) or path


def _text(path: str, value: Any) -> str:
    if value is None:
        return FROM_WINDOW if path == "body.thickness" else "–"
    if isinstance(value, Reading):
        return value.shown
    if isinstance(value, tuple):
        return ", ".join(_text(path, one) for one in value) or "none"
    if path in SHAPES:
        return in_words(value)
    return f"{value:g}" if isinstance(value, float) else str(value)


Tell = Callable[[Design], float | None]


def _outcomes(variants: Sequence[Variant]) -> tuple[Outcome, ...]:
    def told(key: str, title: str, unit: str, tell: Tell, spread: Tell | None = None) -> Outcome:
        values, spreads = _each(variants, tell), None if spread is None else _each(variants, spread)
        return Outcome(key, title, unit, values, spreads)

    return (
        told("thickness", "Thickness", "mm", lambda made: made.settled.thickness),
        told("window.min", "Window, thinnest", "mm", lambda made: made.settled.window.low,
             lambda made: made.settled.low.expanded),
        told("window.max", "Window, thickest", "mm", lambda made: made.settled.window.high,
             lambda made: made.settled.high.expanded),
        told("window.safe_min", "Sure, thinnest", "mm", lambda made: made.settled.safe_low),
        told("window.safe_max", "Sure, thickest", "mm", lambda made: made.settled.safe_high),
        told("reach.out", "Edge comes out", "mm", lambda made: made.settled.window.out(made.settled.thickness)),
        told("reach.in", "Edge goes back", "mm", lambda made: made.settled.window.back(made.settled.thickness)),
        told("wear_left", "Wear left, sure", "mm", lambda made: made.settled.wear_left),
        told("mouth.opening", "Mouth", "mm", lambda made: made.given.throat.opening.value,
             lambda made: made.settled.mouth.expanded),
        told("mouth.growth_per_mm", "Mouth opens, per mm off", "mm", _growth),
        told("mouth.after_truings", "Mouth after truings", "mm", _after_truings),
        told("clearance_angle", "Clearance angle", "deg", _clearance),
        _thinnest(variants),
        told("movement.thickness", "Thickness over the year", "mm", _swing),
        told("movement.side_clearance", "Beside the iron, driest", "mm", lambda made: made.seasons.driest.side_clearance),
        _mass(variants),
        _count(variants, "checks.warn", "Checks that warn", "warn"),
        _count(variants, "checks.fail", "Checks that fail", "fail"),
    )  # fmt: skip


def _each(variants: Sequence[Variant], tell: Tell) -> tuple[float | None, ...]:
    return tuple(None if variant.made is None else tell(variant.made) for variant in variants)


def _growth(made: Design) -> float:
    return float(reach.mouth_growth(made.given.frog.bed_angle.value, made.given.throat.wear_lean.value))


def _after_truings(made: Design) -> float:
    work = made.given.work
    return mouth_after(made.given, work.truings * work.truing_depth.value)


def _clearance(made: Design) -> float:
    return float(reach.clearance_angle(made.given.frog.bed_angle.value, made.given.iron.bevel_angle.value))


def _swing(made: Design) -> float:
    """Return how far the thickness goes through the year, from its thinnest to its thickest, mm."""
    through = [season.thickness for season in made.seasons.all]
    return max(through) - min(through)


def _thinnest(variants: Sequence[Variant]) -> Outcome:
    found = [None if variant.made is None else thinnest_wood(variant.made) for variant in variants]
    values = tuple(math.inf if one is None else one[0] for one in found)
    return Outcome("wood.thinnest", "Thinnest wood", "mm", tuple(None if math.isinf(value) else value for value in values),
                   notes=tuple("" if one is None else one[1] for one in found))  # fmt: skip


def thinnest_wood(made: Design) -> tuple[float, str] | None:
    """Return the least thickness of wood that any check found, mm, and the check's id; None where none measures wood."""
    found = [(row.value, row.id) for row in made.number_checks if row.id in WOOD_CHECKS and row.value is not None]
    return min(found, default=None)


def _mass(variants: Sequence[Variant]) -> Outcome:
    values = tuple(variant.made.mass if variant.made is not None and variant.solids else None for variant in variants)
    return Outcome("mass", "Mass of the wood", "g", values)


def _count(variants: Sequence[Variant], key: str, title: str, verdict: str) -> Outcome:
    named = [tuple(row.id for row in variant.rows if row.verdict == verdict) for variant in variants]
    values = tuple(None if variant.made is None else float(len(ids)) for variant, ids in zip(variants, named, strict=True))
    return Outcome(key, title, "", values, notes=tuple(" ".join(ids) for ids in named))
