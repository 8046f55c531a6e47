"""How numbers, checks and places are worded for people: the same on screen, in the report and on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from planestock.exports.wording.inch import on_the_rule
from planestock.exports.wording.numbers import KeyNumber, degrees, measured, millimetres, verdict_in_words
from planestock.models.checks.rows import Row, Verdict
from planestock.models.window import reach
from planestock.models.window.reach import ROUNDING
from planestock.params.lengths import METRIC, Lengths, counted
from planestock.params.reading import LengthUnit

if TYPE_CHECKING:
    from planestock.models.body.holes import Hole
    from planestock.models.body.layout import Layout
    from planestock.models.design import Design
    from planestock.models.window.thickness import Safe

MOST_FINER = 4
"""Decimals that are added at most to tell a value from the level that it misses."""


@dataclass(frozen=True)
class RowText:
    """A check's numbers in words. limit: the level that the value is held to, with ≥ or ≤; margin: to that level.

    found: all of it as a phrase: `3.71 mm, asked ≥ 4.00 mm: 0.29 mm too little; it fails below 3.00 mm`.
    """

    value: str
    limit: str
    margin: str
    found: str


def row_text(row: Row, lengths: Lengths) -> RowText:
    """Return a check's numbers in words: with as many decimals as it takes to see that a level is missed, and which."""
    finer = 0
    if row.verdict != "pass" and row.value is not None:
        value, missed = row.value, row.missed
        finer = next((more for more in range(MOST_FINER) if measured(value, row.unit, lengths, finer=more)
                      != measured(missed, row.unit, lengths, finer=more)), MOST_FINER)  # fmt: skip

    def told(number: float | None) -> str:
        return measured(number, row.unit, lengths, finer=finer)

    limit = f"{'≥' if row.at_least else '≤'} {told(row.missed)}"
    found = f"{told(row.value)}, asked {limit}"
    if row.verdict != "pass" and row.shown_margin is not None:
        found += f": {told(abs(row.shown_margin))} {'too little' if row.at_least else 'too much'}"
    if row.missed != row.limit:
        found += f"; it fails {'below' if row.at_least else 'above'} {told(row.limit)}"
    return RowText(told(row.value), limit, told(row.shown_margin), found)


ORDER: dict[Verdict, int] = {"fail": 0, "warn": 1, "pass": 2}
"""What needs attention stands first."""


def by_urgency(rows: Iterable[Row]) -> list[Row]:
    """Return failures, then warnings, then passes, each in their own order."""
    return sorted(rows, key=lambda row: ORDER[row.verdict])


def folded(rows: Sequence[Row], where: str) -> str:
    """Return the passes as a count, and where they are listed: `48 checks pass (--all shows them).`; empty without any."""
    count = sum(row.verdict == "pass" for row in rows)
    if count == 0:
        return ""
    return f"{count} {'check passes' if count == 1 else 'checks pass'} ({where})."


def has_failing(rows: Iterable[Row]) -> bool:
    """Tell whether a check fails."""
    return any(row.verdict == "fail" for row in rows)


def to_act_on(made: Design, *, failing: bool) -> str:
    """Return the one sentence to act on: what to cut, where it stands on the rule, and the thicknesses that are sure.

    failing: whether a check fails.
    """
    settled, length = made.settled, made.given.lengths
    cut, low, high = settled.thickness, settled.safe_low, settled.safe_high
    sure = low <= high
    band = f"{length.span(low, high)} thick, seat plane to sole, is sure to work all year"
    if failing:
        if settled.contradicted:
            alone = f"by the bench method alone {band}" if sure else "by the bench method alone no thickness is sure to work"
            return f"Do not cut yet, readings and bench method contradict each other; {alone}."
        if not sure:
            return NOTHING_SURE
        within = settled.safe_margin >= -ROUNDING
        what = "a check fails" if within else f"{length(cut)} thick does not surely work"
        return f"Do not cut yet, {what}; {band}."
    mark = mark_on_the_rule(cut, made.given.units)
    if settled.safe_margin >= -ROUNDING:
        return cut_sentence(settled, cut)
    if sure:
        return f"{length(cut)} thick ({mark}) is not sure to work; {band}."
    return f"{length(cut)} thick ({mark}) is not sure to work, and with these readings no thickness is."


NOTHING_SURE = "Do not cut yet: with these readings no thickness is sure to work."


def cut_sentence(safe: Safe, cut: float) -> str:
    """Say to cut a thickness that is sure, where it stands on the rule, and which thicknesses are sure."""
    length = safe.given.lengths
    mark, band = mark_on_the_rule(cut, length.units), length.span(safe.safe_low, safe.safe_high)
    return f"Cut the body {length(cut)} thick from seat plane to sole ({mark}); {band} is sure to work all year."


def mark_on_the_rule(length: float, units: LengthUnit) -> str:
    """Return where a length stands on a rule: `1-55/64 in shy on the rule`, `47 mm full on the rule`."""
    if units == "in":
        return f"{on_the_rule(length).said} on the rule"
    mark = round(2 * length) / 2
    beside = "" if abs(length - mark) < HALF_A_LINE else " full" if length > mark else " shy"
    return f"{mark:g} mm{beside} on the rule"


HALF_A_LINE = 0.1
"""A length nearer than this to a half millimetre on the rule, mm, is on its mark: about as much as a line is wide; our own
choice."""


def outcome(rows: Sequence[Row], *, solids: bool) -> str:
    """Return the checks' outcome as one sentence."""
    return verdict_in_words(tuple(rows)) + ("" if solids else " The solids were not built or checked.")


def first_numbers(made: Design) -> tuple[KeyNumber, ...]:
    """Return what a maker asks first, each with a remark that puts it in its place; inches have millimetres beside them."""
    given, settled, length = made.given, made.settled, made.given.lengths
    window, thickness = settled.window, settled.thickness
    theta = given.frog.bed_angle.value
    growth = float(reach.mouth_growth(theta, given.throat.wear_lean.value))
    clearance = float(reach.clearance_angle(theta, given.iron.bevel_angle.value))
    chosen = "largest that is safe" if settled.chosen else "as the set asks"
    out, back = window.out(thickness), window.back(thickness)

    def both(value: float) -> str:
        return millimetres(value, given.units)

    return (
        KeyNumber("Thickness", both(thickness), f"seat plane to sole; {chosen}"),
        window_number(settled),
        KeyNumber("Edge out", both(abs(out)), f"{_side(out >= 0)} the sole; {length(window.deepest_cut)} asked"),
        KeyNumber("Edge back", both(abs(back)), f"{_side(back < 0)} the sole; {length(window.withdraw)} asked"),
        KeyNumber(
            "Wear left", both(settled.wear_left), f"for sure; {counted(made.sole_life.truings, 'truing')} with this mouth"
        ),
        KeyNumber("Mouth", both(given.throat.opening.value), _growth_remark(growth, length)),
        KeyNumber("Clearance", degrees(clearance), "behind the bevel"),
        KeyNumber("Body", _body(made.layout, length), _body_remark(made.layout, length)),
    )


def _side(below: bool) -> str:
    return "below" if below else "above"


def window_number(safe: Safe) -> KeyNumber:
    """Return the window as a key number, with the ± of its ends and the road."""
    length = safe.given.lengths
    return KeyNumber("Window", _window(safe, length), _window_remark(safe, length))


def _window(settled: Safe, length: Lengths) -> str:
    low, high = settled.window.low, settled.window.high
    metric = f" ({METRIC.span(low, high)})" if length.units == "in" else ""
    return f"{length.span(low, high)}{metric}"


def _window_remark(settled: Safe, length: Lengths) -> str:
    road = {"readings": "by the readings", "bench": "by the bench method"}[settled.window.road]
    return f"± {length.number(settled.low.expanded)}, ± {length(settled.high.expanded)}; {road}"


def _growth_remark(growth: float, length: Lengths) -> str:
    """Return how fast the mouth opens; a slope is the same number in either unit."""
    if length.units == "mm":
        return f"opens {growth:.2f} mm for each mm off the sole"
    return f"opens {growth / 10:.3f} in for each 0.1 in off the sole"


def _body(at: Layout, length: Lengths) -> str:
    if length.units == "mm":
        return f"{at.length:.1f} mm long"
    return f"{length.number(at.length, 2)} in long ({at.length:.1f} mm)"


def _body_remark(at: Layout, length: Lengths) -> str:
    wide, high = 2 * at.plan.half_width, at.height
    if length.units == "mm":
        return f"{wide:.1f} mm wide, {high:.1f} mm high"
    return f"{length.number(wide, 2)} in wide, {length.number(high, 2)} in high ({wide:.1f} × {high:.1f} mm)"


def places(at: Layout) -> tuple[tuple[str, tuple[float, float]], ...]:
    """Return the points of the side view by name: (x from the toe, z above the sole), mm."""
    tail, recess = at.tail, at.recess
    found = [
        ("iron's edge on the sole", at.edge),
        ("mouth, front", at.mouth_front),
        ("wear, top", at.wear_top),
        ("breast, top", at.breast_top),
        ("bed, foot on the sole", at.bed_foot),
        ("corner D (bed meets seat)", at.corner),
        ("seat, front end", at.seat_front),
        ("seat, rear end", at.seat_rear),
    ]
    if recess:
        names = ("low end on the bed", "low end, floor", "high end, floor", "high end on the bed")
        found += [(f"recess, {name}", point) for name, point in zip(names, recess, strict=True)]
    if tail:
        found += [("cove, top", tail.cove_high), ("cove, foot", tail.cove_low)]
    if tail and tail.centre:
        found.append(("cove, centre of the arc", tail.centre))
    return tuple(found)


def hole_lines(holes: Iterable[Hole], lengths: Lengths) -> tuple[tuple[str, ...], ...]:
    """Return holes as texts: kind, x, y, z of the start, way, diameter, depth. A pair left and right is one line.

    Millimetres to a tenth, inches to a thousandth.
    """
    return tuple(_hole_line(list(same), lengths) for _, same in groupby(holes, _mirror_key))


def _mirror_key(hole: Hole) -> tuple[str, float, float, float]:
    x, y, z = hole.start
    return (hole.path, round(x, 6), round(abs(y), 6), round(z, 6))


def _hole_line(same: list[Hole], lengths: Lengths) -> tuple[str, ...]:
    def told(value: float) -> str:
        return lengths.number(value, 1 if lengths.units == "mm" else None)

    hole = same[0]
    x, y, z = hole.start
    across = f"± {told(abs(y))}" if len(same) > 1 else told(y)
    return (
        hole.kind,
        told(x),
        across,
        told(z),
        way(hole),
        lengths.number(hole.diameter),
        told(hole.depth),
    )


def way(hole: Hole) -> str:
    """Return which way a hole goes, as it is set at the drill press: its lean from plumb in the side view."""
    dx, dy, dz = hole.direction
    if abs(dy) > 0.5:
        return "across"
    lean = math.degrees(math.atan2(dx, -dz))
    if abs(lean) < 0.05:
        return "plumb"
    return f"{abs(lean):.1f}° to the {'heel' if lean > 0 else 'toe'}"
