"""When no thickness is safe: the refusal, and what would make room, with the number that each way gives."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from planestock.models.confidence.budgets import KnownWindow, thickness_stray
from planestock.models.confidence.readings_in import named, unit_of
from planestock.models.confidence.uncertainty import sharpening
from planestock.models.year import year
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import Problem

LEAST_WISH = 0.05
"""Deepest cut and withdrawal are each at least this, mm: the fields' own lower bound."""

LEAST_GAIN = 0.01
"""Room, mm, below which a way to make it is not worth a word."""


def room_problem(given: ParameterSet, known: KnownWindow, short: float, movement: float) -> Problem:
    """Return the refusal of "from window". short: room that is missing, mm; movement: swelling and shrinkage together."""
    window, stray = known.window, thickness_stray(given)
    rule = (
        f"no thickness is sure to work: of the window {window.low:.2f} to {window.high:.2f} mm ({window.width:.2f} wide), "
        f"the readings' ± take {known.low.expanded + known.high.expanded:.2f}, the seasons {movement:.2f} and the cut "
        f"{2 * stray:.2f}, which leaves {short:.2f} mm too little"
    )
    return Problem("body.thickness", "from window", rule, "; or ".join(_ways(given, known, short, movement)))


def _ways(given: ParameterSet, known: KnownWindow, short: float, movement: float) -> Iterator[str]:
    """Yield each way to make room with what it gives, the ones that change nothing made first."""
    yield from _sharper_reading(known)
    wishes = given.work.deepest_cut.value + given.work.withdraw.value - 2 * LEAST_WISH
    if wishes > LEAST_GAIN:
        needed = f"{short:.2f} mm less" if wishes >= short else f"up to {wishes:.2f} mm less"
        yield f"ask for {needed} of work.deepest_cut and work.withdraw together"
    yield from _calmer_wood(given, known, movement)
    stray = thickness_stray(given)
    if stray > LEAST_GAIN:
        yield f"cut nearer than ± {stray:g} mm (work.cutting_tolerance): each 0.1 mm gives 0.20 mm"
    yield f"find an adjuster with {_longer_travel(given, known, short):.2f} mm more travel"


def _sharper_reading(known: KnownWindow) -> Iterator[str]:
    again = known.retake
    if again is None:
        return
    gain = again.before - again.after
    if again.path in {term.path for term in known.low.terms}:
        gain += known.low.expanded - sharpening(known.low, again.path, again.limit)
    if gain > LEAST_GAIN:
        yield f"measure {named(again.path)} again to ± {again.limit:g} {unit_of(again.path)}: gives {gain:.2f} mm"


def _calmer_wood(given: ParameterSet, known: KnownWindow, movement: float) -> Iterator[str]:
    if movement <= LEAST_GAIN:
        return
    other: Literal["flat", "quarter"] = "flat" if given.wood.cut == "quarter" else "quarter"
    turned = given.model_copy(update={"wood": given.wood.model_copy(update={"cut": other})})
    gain = movement - _movement(turned, known)
    if gain > LEAST_GAIN:
        yield f'turn the growth rings (wood.cut = "{other}"): gives {gain:.2f} mm'
    yield "name narrower seasons (wood.dry, wood.wet) if the plane lives in one room, or a calmer wood.species"


def _movement(given: ParameterSet, known: KnownWindow) -> float:
    through = year(given)
    least, most = known.low.value, known.high.value
    return float(through.thinnest_in_shop(least) - least + most - through.thickest_in_shop(most))


def _longer_travel(given: ParameterSet, known: KnownWindow, short: float) -> float:
    """Return the travel along the bed, or up and down at the bench, that gives so much more window."""
    return short if known.road == "bench" else short / math.sin(math.radians(given.frog.bed_angle.value))
