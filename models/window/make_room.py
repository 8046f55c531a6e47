"""When no thickness is safe: the refusal, and what would make room, with the number that each way gives."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planestock.models.window.budgets import WISHES, KnownWindow, thickness_stray, widened_by
from planestock.models.window.movement import Cut
from planestock.models.window.readings import Given, best_limits, named, told_limit, value_at
from planestock.models.window.states import ANGLE
from planestock.models.window.uncertainty import sharpening
from planestock.models.window.year import year
from planestock.params.lengths import Lengths
from planestock.params.problems import Problem

LEAST_WISH = 0.05
"""Deepest cut and withdrawal are each at least this, mm: the fields' own lower bound."""

LEAST_GAIN = 0.01
"""Room, mm, below which a way to make it is not worth a word."""


def room_problem(given: Given, known: KnownWindow, short: float, movement: float) -> Problem:
    """Return why no thickness is sure, and what would make room, as the refusal of "from window".

    short: room that is missing, mm; movement: swelling and shrinkage together.
    """
    window, stray, length = known.window, thickness_stray(given), given.lengths
    rule = (
        f"no thickness is sure to work: of the window {length.span(window.low, window.high)} ({length(window.width)} wide), "
        f"the readings' ± take {length.number(known.low.expanded + known.high.expanded)}, the seasons "
        f"{length.number(movement)} and the cut {length.number(2 * stray)}, which leaves {length(short)} too little"
    )
    return Problem("body.thickness", "from window", rule, "; or ".join(_ways(given, known, short, movement)))


def _ways(given: Given, known: KnownWindow, short: float, movement: float) -> Iterator[str]:
    """Yield each way to make room with what it gives, the ones that change nothing made first."""
    length = given.lengths
    yield from _sharper_reading(known, length)
    yield from _measured_instead(known, length)
    wishes = sum(value_at(given, path) for path in WISHES) - 2 * LEAST_WISH
    if wishes > LEAST_GAIN:
        needed = f"{length(short)} less" if wishes >= short else f"up to {length(wishes)} less"
        yield f"ask for {needed} of work.deepest_cut and work.withdraw together"
    yield from _calmer_wood(given, known, movement)
    stray = thickness_stray(given)
    if stray > LEAST_GAIN:
        yield f"cut nearer than ± {length.short(stray)} (work.cutting_tolerance): what it is less comes twice"
    yield f"find an adjuster with {length(_longer_travel(given, known, short))} more travel"


def _sharper_reading(known: KnownWindow, length: Lengths) -> Iterator[str]:
    again = known.retake
    if again is None:
        return
    gain = again.before - again.after
    if again.path in {term.path for term in known.low.terms}:
        gain += known.low.expanded - sharpening(known.low, again.path, again.limit)
    if gain > LEAST_GAIN:
        yield f"measure {named(again.path)} again to ± {told_limit(again.path, again.limit, length)}: gives {length(gain)}"


def _measured_instead(known: KnownWindow, length: Lengths) -> Iterator[str]:
    """Yield what measuring an assumed reading gives where it turns out to be nought, as near as its tool tells."""
    for path, limit in best_limits(known.assumed).items():
        gain = widened_by(known, path).value + known.low.expanded - sharpening(known.low, path, limit)
        if gain > LEAST_GAIN:
            yield f"measure {named(path)}, which is only assumed: gives {length(gain)} where there is none"


def _calmer_wood(given: Given, known: KnownWindow, movement: float) -> Iterator[str]:
    if movement <= LEAST_GAIN:
        return
    other: Cut = "flat" if given.wood.cut == "quarter" else "quarter"
    gain = movement - _movement(given, known, other)
    if gain > LEAST_GAIN:
        yield f'turn the growth rings (wood.cut = "{other}"): gives {given.lengths(gain)}'
    yield "name narrower seasons (wood.dry, wood.wet) if the plane lives in one room, or a calmer wood.species"


def _movement(given: Given, known: KnownWindow, cut: Cut) -> float:
    through = year(given, cut)
    least, most = known.low.value, known.high.value
    return float(through.thinnest_in_shop(least) - least + most - through.thickest_in_shop(most))


def _longer_travel(given: Given, known: KnownWindow, short: float) -> float:
    """Return the travel along the bed, or up and down at the bench, that gives so much more window."""
    return short if known.road == "bench" else short / math.sin(math.radians(value_at(given, ANGLE)))
