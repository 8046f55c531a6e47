"""The window as a drawn gauge: the thicknesses that work, those that are sure to, the one chosen.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.drawing.model import Anchor, Area, Item, Stroke, Words
from planestock.exports.drawing.pen import Pen, arrow
from planestock.exports.drawing.text import text_width
from planestock.models.window.thickness import Settled
from planestock.params.lengths import Lengths
from planestock.params.outlines.pieces import Bounds
from planestock.params.outlines.polygons import chain

LENGTH = 150.0
"""Length of the gauge on paper, mm."""

SHARE = 0.62
"""Share of it that the window takes, where thickness and window fit."""

HIGH = 7.0
"""Height of the bar, mm."""

SIZE = 3.17
"""Type size, mm: 9 points."""

SAFE, WORKS = 0.3, 0.1
"""Tints of the sure and of the working part."""


def gauge(settled: Settled, lengths: Lengths) -> tuple[tuple[Item, ...], Bounds]:
    """Return the gauge as items in mm on paper, and the rectangle that holds it. lengths: how its figures are written."""
    place = _scale(settled)
    items = [*_bar(settled, place), *_chosen(settled, place, lengths)]
    items += [item for which in ("low", "high") for item in _end(settled, place, which, lengths)]
    return tuple(items), Bounds(0.0, -15.5, LENGTH, HIGH + 13.0)


class _Place:
    """Turns a thickness into a place along the gauge."""

    def __init__(self, low: float, per_mm: float, left: float) -> None:
        self._low, self._per_mm, self._left = low, per_mm, left

    def __call__(self, thickness: float) -> float:
        return min(max(self._left + (thickness - self._low) * self._per_mm, 1.5), LENGTH - 1.5)


def _scale(settled: Settled) -> _Place:
    window = settled.window
    width = max(window.width, 0.5)
    left = (1 - SHARE) / 2 * LENGTH
    return _Place(min(window.low, window.high), SHARE * LENGTH / width, left)


def _bar(settled: Settled, place: _Place) -> Iterator[Item]:
    low, high = place(settled.window.low), place(settled.window.high)
    if low < high:
        yield Area("sections", _corners(low, high), WORKS)
    if settled.safe_low < settled.safe_high:
        yield Area("sections", _corners(place(settled.safe_low), place(settled.safe_high)), SAFE)
    yield Stroke("outline", chain(*_corners(low, high), (low, 0.0)))
    yield Stroke("outline", chain((0.0, 0.0), (LENGTH, 0.0)), "narrow")


def _corners(low: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((low, 0.0), (high, 0.0), (high, HIGH), (low, HIGH))


def _end(settled: Settled, place: _Place, which: str, lengths: Lengths) -> Iterator[Item]:
    """Yield one end of the window: its whisker of uncertainty below the bar, value and meaning outside it."""
    budget = settled.low if which == "low" else settled.high
    x, level = place(budget.value), -3.0
    ends = (place(budget.value - budget.expanded), place(budget.value + budget.expanded))
    yield Stroke("dimensions", chain((ends[0], level), (ends[1], level)), "narrow")
    for end in (*ends, x):
        yield Stroke("dimensions", chain((end, level - 1.0), (end, level + 1.0)), "narrow")
    name, meaning = (
        ("Thinnest", "thinner, the edge does not withdraw")
        if which == "low"
        else ("Thickest", "thicker, the edge does not reach")
    )
    anchor: Anchor = "start" if which == "low" else "end"
    edge = 0.0 if which == "low" else LENGTH
    yield Words("text", f"{name} {lengths.spread(budget.value, budget.expanded)}", (edge, level - 5.5), SIZE, anchor=anchor)
    yield Words("text", meaning, (edge, level - 10.0), SIZE * 0.9, anchor=anchor, slanted=True)


def _chosen(settled: Settled, place: _Place, lengths: Lengths) -> Iterator[Item]:
    x = place(settled.thickness)
    yield arrow(Pen(0.7), (x, HIGH + 0.4), (0.0, -1.0))
    yield Stroke("outline", chain((x, 0.0), (x, HIGH + 4.0)))
    said = f"{'Chosen' if settled.chosen else 'Given'} thickness {lengths(settled.thickness)}"
    half = text_width(said, SIZE) / 2
    yield Words("text", said, (min(max(x, half), LENGTH - half), HIGH + 5.5), SIZE, anchor="middle")
    if settled.safe_low < settled.safe_high:
        alone = ", by the bench method alone" if settled.contradicted else ""
        sure = f"sure all year{alone}: {lengths.span(settled.safe_low, settled.safe_high)}"
        yield Words("text", sure, (LENGTH / 2, HIGH + 9.8), SIZE * 0.9, anchor="middle", slanted=True)
