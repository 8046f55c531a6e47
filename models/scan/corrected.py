"""The set with the scan's readings in it: its text with comments kept, and what its window becomes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planestock.models.design import Design, design
from planestock.models.scan.fit import Fitted
from planestock.models.scan.proposals import Proposal
from planestock.models.window.states import same_reading
from planestock.params.files import loaded, rewritten, text_as_used
from planestock.params.problems import InputProblem
from planestock.params.states import kept_fields


@dataclass(frozen=True)
class Corrected:
    """taken: readings that go into the set; left: those that cannot go in by themselves; text: the set's TOML; made: its
    design, None where it cannot be laid out, with the problem's words."""

    taken: tuple[Proposal, ...]
    left: tuple[Proposal, ...]
    text: str
    made: Design | None
    problem: str | None


def corrected(fitted: Fitted, text: str, source: str, changes: list[str]) -> Corrected | None:
    """Return the corrected set, None where the scan corrects nothing. text: of the set at `source`; changes: laid over it
    before."""
    found = fitted.corrected
    if not found:
        return None
    one_edge = [one for one in found if one.path.startswith("bench.") and fitted.made.given.bench is None]
    taken = tuple(one for one in found if one not in one_edge)
    # A set takes both ends of the travel or neither; one scan shows one.
    left = tuple(one_edge)
    if not taken:
        return Corrected((), left, "", None, None)
    every = [*changes, *(one.change for one in taken), *_same_metal(fitted, taken)]
    try:
        given = loaded(text, source, every)
        return Corrected(taken, left, text_as_used(text, every, given), design(given), None)
    except InputProblem as problem:
        return Corrected(taken, left, rewritten(text, every), None, str(problem).splitlines()[0])


def _same_metal(fitted: Fitted, taken: tuple[Proposal, ...]) -> Iterator[str]:
    """Yield the changes by which a reading that the scan corrects stays that of the readings taken with it.

    The metal was misread and is no other: what was measured with it does not move.
    """
    given = fitted.made.given
    for kept in kept_fields():
        for one in taken:
            own = f"{kept.group}.{kept.name}"
            if one.path == kept.in_use and getattr(given, kept.group) is not None and same_reading(given, own, kept.in_use):
                yield f"{own}={one.text}"
