"""The first stage of measuring, *thickness*: the few readings and choices that the window of thicknesses hangs on.

They come from a full set (`of_set`) or from what was told path by path (`from_values`); fields, bounds, defaults and rules
are those of the set, at its paths.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from planestock.params.catalogue import Declaration, catalogue
from planestock.params.consistency import travel_faults, wood_faults
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import field_value
from planestock.params.problems import InputProblem, Problem, refuse
from planestock.params.reading import LengthUnit, Reading
from planestock.params.wanted import Instrument, Wood, usual_limits

BENCH = ("bench.edge_low", "bench.edge_high")
"""Readings of the bench method."""

PINS = (
    "adjuster.pin_low",
    "adjuster.pin_high",
    "cap_iron.slot_to_edge",
    "cap_iron.setback",
    "iron.thickness",
    "frog.bed_angle",
    "adjuster.play",
)
"""The readings by pin, in the order in which they are taken at the bench; the play may be left out."""

IN_USE = {"bench.iron_thickness": "iron.thickness", "bench.setback": "cap_iron.setback"}
"""What the bench readings were taken with, where it is other metal than that in use; and the same of that in use."""

STATE = tuple(IN_USE)

CHOICES = ("work.deepest_cut", "work.withdraw", "work.cutting_tolerance")
"""Choices that the thicknesses hang on, besides the wood; each has a default."""

NONE_YET = ("body.pad", "body.slip")
"""Layers of the body that have a default: none."""

OF_A_SET = ("body.thickness", "casting.let_in")
"""What a full set says of the body besides."""

GROUPS = ("instrument", "wood")
"""Groups that are taken whole: the ± of each tool, species and seasons."""


@dataclass(frozen=True)
class FirstStage:
    """Readings and choices of the stage *thickness*, by the paths that a full set has them at.

    readings: those that were given, and choices that were left to their defaults.
    """

    units: LengthUnit
    instrument: Instrument
    wood: Wood
    readings: Mapping[str, Reading]

    @property
    def lengths(self) -> Lengths:
        """How lengths are written for who took the readings."""
        return Lengths(self.units)

    def reading_at(self, path: str) -> Reading | None:
        """Return the reading at a dotted path, None where it was left out or belongs to another stage."""
        return self.readings.get(path)


def of_set(given: ParameterSet) -> FirstStage:
    """Return what a full set says of this stage."""
    found = {path: given.reading_at(path) for path in (*BENCH, *PINS, *STATE, *CHOICES, *NONE_YET, *OF_A_SET)}
    return FirstStage(
        given.units, given.instrument, given.wood, {path: one for path, one in found.items() if one is not None}
    )


def from_values(values: Mapping[str, Any], units: LengthUnit = "mm") -> FirstStage:
    """Return the stage from raw values in groups, as TOML has them; a choice that is not among them has its default, and a
    tool its usual ±.

    Raises InputProblem for a field of another stage, and where a value breaks a rule of its field or contradicts another.
    """
    known = declarations()
    usual = usual_limits(units).model_dump(mode="json", exclude_none=True)
    limits = values.get("instrument", {})
    whole = {"instrument": {**usual, **limits} if isinstance(limits, Mapping) else limits, "wood": values.get("wood", {})}
    raw = _by_path({**values, **whole})
    problems: list[Problem] = []
    found: dict[str, Any] = {}
    for path, value in raw.items():
        if path in NONE_YET or (path not in known and path not in GROUPS):
            rule = "does not move the thickness before there is a set"
            raise refuse(path, value, rule, f"what does: {', '.join((*BENCH, *PINS, *STATE, *CHOICES, *GROUPS))}")
        try:
            found[path] = field_value(path, value, units)
        except InputProblem as broken:
            problems += broken.problems
    if problems:
        raise InputProblem(problems)
    chosen = {path: found.pop(path, known[path].field.default) for path in (*CHOICES, *NONE_YET)}
    made = FirstStage(units, found.pop("instrument"), found.pop("wood"), found | chosen)
    broken_rules = [*travel_faults(made.reading_at), *wood_faults(made.wood)]
    if broken_rules:
        raise InputProblem(broken_rules)
    return made


def declarations() -> dict[str, Declaration]:
    """Return every reading and choice of the stage by its path, as it is declared."""
    taken = (*BENCH, *PINS, *STATE, *CHOICES, *NONE_YET)
    declared = {each.path: each for each in catalogue() if each.path in taken}
    return {path: declared[path] for path in taken}


def _by_path(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return raw values by path; the groups that are taken whole stay groups."""
    found: dict[str, Any] = {}
    for group, inside in values.items():
        if group in GROUPS or not isinstance(inside, Mapping):
            found[group] = inside
        else:
            found |= {f"{group}.{name}": value for name, value in inside.items()}
    return found


def needed(given: Collection[str]) -> tuple[str, ...]:
    """Return the readings that a window takes when those at these paths are there, in the order of the bench.

    Those of each road that was begun; none where none was. Readings that both roads may need (setback, iron, angle) begin
    the one by pin only where the bench method was not begun.
    """
    state = [path for path in STATE if path in given]
    bench = BENCH if state or any(path in given for path in BENCH) else ()
    moved = {IN_USE[path] for path in state} | ({"frog.bed_angle"} if state else set())
    pins = tuple(path for path in PINS if path != "adjuster.play")
    shared = {*IN_USE.values(), "frog.bed_angle"}
    begun = any(path in given for path in PINS if path not in shared or not bench)
    return (*bench, *(path for path in pins if begun or path in moved))
