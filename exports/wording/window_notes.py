"""What the window rests on besides the readings as they were written, in sentences: said wherever its ends are shown."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from planestock.exports.wording.window import comparison_sentence
from planestock.models.window.budgets import PLAY, KnownWindow, widened_by
from planestock.models.window.readings import limit_at, named, reading_at, span_of, unit_of, value_at
from planestock.models.window.states import IRON, OWN, SETBACK, edge_move, moved_by
from planestock.models.window.thickness import Settled
from planestock.models.window.uncertainty import Budget, expanded_with, widened
from planestock.params.parameter_set import ParameterSet


def window_notes(settled: Settled) -> tuple[str, ...]:
    """Return a sentence for each thing that a maker must know about the ends of this window; most sets have none."""
    return (*_contradiction(settled), *notes_on(settled.given, settled.known))


def _contradiction(settled: Settled) -> Iterator[str]:
    if settled.comparison is not None and not settled.comparison.agree:
        yield comparison_sentence(settled.comparison, settled.given.lengths)


def notes_on(given: ParameterSet, known: KnownWindow, varied: Collection[str] = ()) -> tuple[str, ...]:
    """Return the sentences of `window_notes` for a set and its governing window. varied: paths that get values of their own,
    of which nothing is assumed and nothing was read twice."""
    assumed = () if PLAY in varied else _play_assumed(given, known)
    return (*_bench_moved(given), *assumed, *_read_twice(given, known, varied))


def _play_assumed(given: ParameterSet, known: KnownWindow) -> Iterator[str]:
    """Say that the adjuster's play was not measured, what is assumed, and what that costs at the thin end."""
    if PLAY not in known.assumed:
        return
    length, most = given.lengths, span_of(PLAY)[1]
    wider = widened_by(known, PLAY)
    yield (
        f"The adjuster's play ({PLAY}) was not measured: anything from none to {length.short(most)} is assumed, by our own "
        f"choice. The thin end of the window stands {length(wider.value)} higher for it, and the thinnest body that is sure "
        f"{length(wider.safe)} higher than with no play."
    )


def _bench_moved(given: ParameterSet) -> Iterator[str]:
    """Say with which iron and setback the bench readings were taken, where others are in use, and what that moves."""
    length = given.lengths
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


def _read_twice(given: ParameterSet, known: KnownWindow, varied: Collection[str]) -> Iterator[str]:
    """Ask for a third reading of whatever was read twice, and say what it brings."""
    ends = {term.path: ("T min", known.low) for term in known.low.terms}
    ends |= {term.path: ("T max", known.high) for term in known.high.terms}
    for path, (name, end) in ends.items():
        reading = reading_at(given, path)
        if path not in varied and reading is not None and len(reading.repeats) == 2:
            one, other = (float(each) for each in reading.repeats)
            yield _third(given, path, abs(one - other), name, end)


def _third(given: ParameterSet, path: str, apart: float, name: str, end: Budget) -> str:
    """Ask for a third reading of a path; it is expected to leave the standard deviation as it is, apart/√2."""
    length = given.lengths
    far = "equal" if apart == 0 else f"{length(apart) if unit_of(path) == 'mm' else f'{apart:.2f}°'} apart"
    asked = (
        f"Take a third reading of {named(path)}: two, {far}, tell little of how far readings scatter, and the ± allows for "
        "that."
    )
    after = expanded_with(
        end,
        path,
        math.hypot(widened(apart / math.sqrt(6.0), 3), limit_at(given, path) / math.sqrt(3.0)),
    )
    if length(after) == length(end.expanded):
        return asked
    before = length.number(end.expanded)
    return f"{asked} A third like them would bring the ± of {name} from {before} to about {length(after)}."
