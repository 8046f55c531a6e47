"""What the window rests on besides the readings as they were written, in sentences: said wherever its ends are shown."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planestock.models.confidence.readings_in import limit_at, named, reading_at, unit_of, value_at
from planestock.models.confidence.states import IRON, OWN, SETBACK, edge_move, moved_by
from planestock.models.confidence.uncertainty import Budget, expanded_with, widened
from planestock.models.confidence.words import comparison_sentence
from planestock.models.thickness import Settled


def window_notes(settled: Settled) -> tuple[str, ...]:
    """Return a sentence for each thing that a maker must know about the ends of this window; most sets have none."""
    return (*_contradiction(settled), *_bench_moved(settled), *_read_twice(settled))


def _contradiction(settled: Settled) -> Iterator[str]:
    if settled.comparison is not None and not settled.comparison.agree:
        yield comparison_sentence(settled.comparison, settled.given.lengths)


def _bench_moved(settled: Settled) -> Iterator[str]:
    """Say with which iron and setback the bench readings were taken, where others are in use, and what that moves."""
    given, length = settled.given, settled.given.lengths
    paths = moved_by(given, "bench") if given.bench is not None else ()
    if not paths:
        return
    at = {path: value_at(given, path) for path in paths}
    kinds = (("an iron {} thick", IRON), ("a setback of {}", SETBACK))
    then = [words.format(length(at[OWN["bench"][path]])) for words, path in kinds if path in paths]
    now = [words.format(length(at[path])) for words, path in kinds if path in paths]
    move = float(edge_move(at, "bench"))
    stands = (
        f"{length(abs(move))} {'lower' if move > 0 else 'higher'}" if length(abs(move)) != length(0.0) else "where it did"
    )
    yield (
        f"The bench readings were taken with {' and '.join(then)}; with {' and '.join(now)} in use the edge stands "
        f"{stands}, and the window of the bench method is moved with it."
    )


def _read_twice(settled: Settled) -> Iterator[str]:
    """Ask for a third reading of whatever was read twice, and say what it brings."""
    ends = {term.path: ("T min", settled.low) for term in settled.low.terms}
    ends |= {term.path: ("T max", settled.high) for term in settled.high.terms}
    for path, (name, end) in ends.items():
        reading = reading_at(settled.given, path)
        if reading is not None and len(reading.repeats) == 2:
            one, other = (float(each) for each in reading.repeats)
            yield _third(settled, path, abs(one - other), name, end)


def _third(settled: Settled, path: str, apart: float, name: str, end: Budget) -> str:
    """Ask for a third reading of a path; it is expected to leave the standard deviation as it is, apart/√2."""
    length = settled.given.lengths
    far = "equal" if apart == 0 else f"{length(apart) if unit_of(path) == 'mm' else f'{apart:.2f}°'} apart"
    asked = (
        f"Take a third reading of {named(path)}: two, {far}, tell little of how far readings scatter, and the ± allows for "
        "that."
    )
    after = expanded_with(
        end,
        path,
        math.hypot(widened(apart / math.sqrt(6.0), 3), limit_at(settled.given, path) / math.sqrt(3.0)),
    )
    if length(after) == length(end.expanded):
        return asked
    before = length.number(end.expanded)
    return f"{asked} A third like them would bring the ± of {name} from {before} to about {length(after)}."
