"""What the window rests on besides the readings as they were written, in sentences: said wherever its ends are shown."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

from planestock.exports.wording.window import comparison_sentence
from planestock.models.window.budgets import PLAY, KnownWindow, roads_of, widened_by
from planestock.models.window.readings import Given, limit_at, named, span_of, unit_of, value_at
from planestock.models.window.states import ANGLE, IRON, OWN, SETBACK, edge_move, moved_by
from planestock.models.window.thickness import Safe
from planestock.models.window.uncertainty import Budget, expanded_with, widened

KINDS = {IRON: "an iron {} thick", SETBACK: "a setback of {}"}
"""What may be another than in use where readings were taken, in words."""


def window_notes(safe: Safe) -> tuple[str, ...]:
    """Return a sentence for each thing that a maker must know about the ends of this window; most sets have none."""
    return (*_contradiction(safe), *notes_on(safe.given, safe.known))


def _contradiction(safe: Safe) -> Iterator[str]:
    if safe.comparison is not None and safe.contradicted:
        yield comparison_sentence(safe.comparison, safe.given.lengths)


def notes_on(given: Given, known: KnownWindow, varied: Collection[str] = ()) -> tuple[str, ...]:
    """Return the sentences of `window_notes` for a set and its governing window. varied: paths that get values of their own,
    of which nothing is assumed and nothing was read twice."""
    assumed = () if PLAY in varied else _play_assumed(given, known)
    return (*_bench_moved(given, varied), *assumed, *_read_twice(given, known, varied))


def _play_assumed(given: Given, known: KnownWindow) -> Iterator[str]:
    """Say that the adjuster's play was not measured, what is assumed, and what that costs at the thin end."""
    if PLAY not in known.assumed:
        return
    length, most = given.lengths, span_of(PLAY)[1]
    wider = widened_by(known, PLAY)
    yield (
        f"The adjuster play ({PLAY}) was not measured: anything from none to {length.short(most)} is assumed, by our own "
        f"choice. The thin end of the window stands {length(wider.value)} higher for it, and the thinnest body that is sure "
        f"{length(wider.safe)} higher than with no play."
    )


def _bench_moved(given: Given, varied: Collection[str]) -> Iterator[str]:
    """Say with which iron and setback the bench readings were taken, where others are in use, and what that moves."""
    if "bench" not in roads_of(given):
        return
    own = OWN["bench"]
    turned = [path for path in KINDS if path in varied or own[path] in varied]
    still = [path for path in KINDS if path not in turned and path in moved_by(given, "bench")]
    if still:
        yield (
            f"The bench readings were taken with {_metal(given, [own[path] for path in still])}; with "
            f"{_metal(given, still)} in use the edge stands {_moved(given, still, varied)}, and the window of the bench "
            "method is moved with it."
        )
    for path in turned:
        which = f"with each {path}" if own[path] not in varied else f"with each {own[path]}"
        taken = f" were taken with {_metal(given, [own[path]])}: they" if own[path] not in varied else ""
        yield f"The bench readings{taken} are moved {which} of this sweep, and the window of the bench method with them."


def _metal(given: Given, paths: Sequence[str]) -> str:
    """Return iron and setback in words, at the paths in use or at those of a state."""
    kinds = {**KINDS, **{own: KINDS[path] for path, own in OWN["bench"].items()}}
    return " and ".join(kinds[path].format(given.lengths(value_at(given, path))) for path in paths)


def _moved(given: Given, still: Sequence[str], varied: Collection[str]) -> str:
    """Return where the edge stands for a change of iron or setback; with the bed angle varied, no one number says it."""
    if ANGLE in varied:
        return "elsewhere, by the bed angle"
    at = {path: value_at(given, path) for kept in still for path in (kept, OWN["bench"][kept])}
    move, length = float(edge_move({**at, ANGLE: value_at(given, ANGLE)}, "bench")), given.lengths
    return f"{length(abs(move))} {'lower' if move > 0 else 'higher'}" if length(abs(move)) != length(0.0) else "where it did"


def _read_twice(given: Given, known: KnownWindow, varied: Collection[str]) -> Iterator[str]:
    """Ask for a third reading of whatever was read twice, and say what it brings."""
    ends = {term.path: ("T min", known.low) for term in known.low.terms}
    ends |= {term.path: ("T max", known.high) for term in known.high.terms}
    for path, (name, end) in ends.items():
        reading = given.reading_at(path)
        if path not in varied and reading is not None and len(reading.repeats) == 2:
            one, other = (float(each) for each in reading.repeats)
            yield _third(given, path, abs(one - other), name, end)


def _third(given: Given, path: str, apart: float, name: str, end: Budget) -> str:
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
