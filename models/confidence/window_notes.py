"""What the window rests on besides the readings as they were written, in sentences: said wherever its ends are shown."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.models.confidence.readings_in import value_at
from planestock.models.confidence.states import IRON, OWN, SETBACK, edge_move, moved_by
from planestock.models.thickness import Settled


def window_notes(settled: Settled) -> tuple[str, ...]:
    """Return a sentence for each thing that a maker must know about the ends of this window; most sets have none."""
    return tuple(_bench_moved(settled))


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
