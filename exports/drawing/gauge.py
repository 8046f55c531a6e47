"""The window gauge: thicknesses that work as a band, the chosen one on it, and what is kept free at both ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planestock.exports.files.markup import Markup, joined, tag, text

if TYPE_CHECKING:
    from planestock.models.window.thickness import Settled
    from planestock.models.window.uncertainty import Budget

WIDTH, HEIGHT = 460.0, 132.0
SIDE = 118.0
"""Room at both ends for the words that stand outside the band."""

BAND_TOP, BAND_HIGH = 52.0, 20.0
WHISKER = BAND_TOP + BAND_HIGH + 10.0
NARROWEST = 0.2
"""A window is drawn as if it were at least this wide, mm, so that a closed one still has a scale."""


def gauge(settled: Settled) -> Markup:
    """Return the gauge as an SVG element; its words and numbers are repeated in its description."""
    return tag(
        "svg",
        tag("title", text("Window of thicknesses")),
        tag("desc", text(in_words(settled))),
        *_drawn(settled, _Scale(settled)),
        class_="gauge",
        viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}",
        role="img",
    )


def in_words(settled: Settled) -> str:
    """Return what the gauge shows as a sentence."""
    window = settled.window
    length = settled.given.lengths
    told = (
        f"Thicknesses from {length(window.low)} (± {length.number(settled.low.expanded)}) to {length(window.high)} "
        f"(± {length.number(settled.high.expanded)}) work; the body is {length(settled.thickness)}"
    )
    if settled.safe_low > settled.safe_high:
        return f"{told}. No thickness is sure to work all year."
    sure = length.span(settled.safe_low, settled.safe_high)
    alone = "By the bench method alone sure" if settled.contradicted else "Sure"
    return f"{told}. {alone} to work all year, uncertainty and cutting allowed for: {sure}."


class _Scale:
    """Thickness in mm to a place on the gauge."""

    def __init__(self, settled: Settled) -> None:
        self.low = min(settled.window.low, settled.window.high, settled.thickness)
        self.high = max(settled.window.low, settled.window.high, settled.thickness, self.low + NARROWEST)

    def at(self, thickness: float) -> float:
        return SIDE + (thickness - self.low) / (self.high - self.low) * (WIDTH - 2 * SIDE)


def _drawn(settled: Settled, scale: _Scale) -> tuple[Markup, ...]:
    window = settled.window
    low, high = sorted((scale.at(window.low), scale.at(window.high)))
    rail = tag("line", class_="rail", x1=0.0, x2=WIDTH, y1=BAND_TOP + BAND_HIGH / 2, y2=BAND_TOP + BAND_HIGH / 2)
    pieces = [rail]
    if window.width > 0:
        pieces.append(tag("rect", class_="band", x=low, y=BAND_TOP, width=high - low, height=BAND_HIGH, opacity="0.45"))
        pieces += _safe(settled, scale)
    pieces += [_whisker(scale.at(budget.value), budget.expanded, scale) for budget in (settled.low, settled.high)]
    return (
        *pieces,
        _end(scale.at(window.low), "end", _spread(settled, settled.low), "edge just goes back"),
        _end(scale.at(window.high), "start", _spread(settled, settled.high), "edge just reaches"),
        _chosen(settled, scale),
    )


def _safe(settled: Settled, scale: _Scale) -> list[Markup]:
    if settled.safe_low >= settled.safe_high:
        return []
    start, end = scale.at(settled.safe_low), scale.at(settled.safe_high)
    return [tag("rect", class_="band", x=start, y=BAND_TOP, width=end - start, height=BAND_HIGH)]


def _whisker(middle: float, expanded: float, scale: _Scale) -> Markup:
    reach = scale.at(scale.low + expanded) - scale.at(scale.low)
    ends = (middle - reach, middle + reach)
    across = tag("line", class_="worn", x1=ends[0], x2=ends[1], y1=WHISKER, y2=WHISKER)
    ticks = [tag("line", class_="worn", x1=x, x2=x, y1=WHISKER - 4, y2=WHISKER + 4) for x in (*ends, middle)]
    return joined(across, *ticks)


def _spread(settled: Settled, end: Budget) -> str:
    length = settled.given.lengths
    return f"{length.number(end.value)} ± {length.number(end.expanded)}"


def _end(x: float, anchor: str, value: str, words: str) -> Markup:
    aside = -6.0 if anchor == "end" else 6.0
    return joined(
        tag("text", text(value), x=x + aside, y=WHISKER + 22, text_anchor=anchor),
        tag("text", text(words), class_="faint", x=x + aside, y=WHISKER + 37, text_anchor=anchor),
    )


def _chosen(settled: Settled, scale: _Scale) -> Markup:
    x = scale.at(settled.thickness)
    shown = min(max(x, 70.0), WIDTH - 70.0)
    line = tag("line", class_="chosen", x1=x, x2=x, y1=BAND_TOP - 6, y2=BAND_TOP + BAND_HIGH + 3)
    head = tag("path", class_="chosen", d=f"M{x:.2f} {BAND_TOP - 3:g} l-5 -9 h10 z")
    label = tag(
        "text",
        text(f"thickness {settled.given.lengths(settled.thickness)}"),
        class_="big",
        x=shown,
        y=30.0,
        text_anchor="middle",
    )
    return joined(line, head, label)
