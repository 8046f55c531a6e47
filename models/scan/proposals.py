"""Readings as the scan has them, held against the set's, and corrected where the two do not agree."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from planestock.models.scan.fine import Fine
from planestock.models.window.readings import input_at, limit_at, title_of, unit_of, value_at
from planestock.models.window.states import edge_move, move_slopes, moved_by
from planestock.models.window.uncertainty import normalised_error
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet
from planestock.params.reading import LengthUnit

Adjuster = Literal["out", "back"]
"""Which end of its travel the adjuster stood at when the metal was scanned."""

WORST_LENGTH, WORST_ANGLE = 1.0, 1.0
"""Expanded uncertainty, mm and degrees, beyond which a scan is said not to show a reading: a rule does better."""

DIGITS = 2
"""Decimals of a proposed reading: hundredths, which no scanner is worth more than."""

Verdict = Literal["agrees", "corrected", "new", "not seen"]


@dataclass(frozen=True)
class Proposal:
    """One reading. found, u: from the scan, with its expanded uncertainty (k = 2), None where it was not seen; given,
    u_given: the set's, None where it has none; error: E_n of the two; units: of the set, in which a length is written."""

    path: str
    title: str
    unit: str
    found: float | None
    u: float | None
    given: float | None
    u_given: float | None
    error: float | None
    verdict: Verdict
    units: LengthUnit = "mm"

    @property
    def line(self) -> str:
        """The reading as it is pasted into a set: `path = "value ± limit"`; for --set leave out the quotes and the
        spaces."""
        return f'{self.path} = "{self.text}"'

    @property
    def text(self) -> str:
        """The value with its limit, rounded; the limit upwards. Expanded uncertainty as a limit is a little on the safe
        side."""
        assert self.found is not None
        assert self.u is not None
        if self.unit == "mm" and self.units == "in":
            length = Lengths("in")
            return f"{length.written(self.found)} ± {length.written(self.u, 'up')}"
        limit = math.ceil(round(self.u * 10**DIGITS, 6)) / 10**DIGITS
        return f"{self.found:.{DIGITS}f} ± {limit:.{DIGITS}f} {self.unit}"

    @property
    def change(self) -> str:
        """The reading as `path=value`."""
        return f"{self.path}={self.text}"


def held_against(given: ParameterSet, path: str, found: float, u: float) -> Proposal:
    """Return a reading of the scan beside the set's. u: standard uncertainty, mm or degrees."""
    title, unit = title_of(path), unit_of(path)
    expanded = 2.0 * u
    reading = given.reading_at(path)
    value = reading.value if reading is not None else None
    theirs = 2.0 * limit_at(given, path) / math.sqrt(3.0) if reading is not None else None
    worst = WORST_ANGLE if unit == "deg" else WORST_LENGTH
    if expanded > worst:
        return Proposal(path, title, unit, None, None, value, theirs, None, "not seen", given.units)
    if value is None or theirs is None:
        return Proposal(path, title, unit, found, expanded, None, None, None, "new", given.units)
    error = normalised_error(found, expanded, value, theirs)
    verdict: Verdict = "agrees" if abs(error) <= 1.0 else "corrected"
    return Proposal(path, title, unit, found, expanded, value, theirs, error, verdict, given.units)


def at_the_bench(given: ParameterSet, edge: float, u: float) -> tuple[float, float]:
    """Return how far below the seat an edge would stand with the iron and setback of the bench readings, and its u, mm.

    edge, u: of the scan, which shows the iron and setback in use.
    """
    paths = moved_by(given, "bench") if given.bench is not None else ()
    at = {path: value_at(given, path) for path in paths}
    parts = [slope * input_at(given, path).u for path, slope in move_slopes(at, "bench").items()]
    return edge - float(edge_move(at, "bench")), math.hypot(u, *parts)


def proposals(given: ParameterSet, fine: Fine, seen: frozenset[str]) -> tuple[Proposal, ...]:
    """Return every reading that the fit was free to find. seen: the paths whose faces were there at all."""
    told = []
    for path in fine.order:
        if reading_at_or_none(given, path):
            u = fine.standard_uncertainty({path: 1.0}) if path in seen else math.inf
            told.append(held_against(given, path, fine.values[path], u))
    return tuple(told)


def reading_at_or_none(given: ParameterSet, path: str) -> bool:
    """Tell whether a free value of a subject is a reading of the set (some only help to place faces)."""
    return "." in path and given.reading_at(path) is not None
