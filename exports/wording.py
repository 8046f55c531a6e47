"""How numbers, checks and places are worded for people: the same on screen, in the report and on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from planestock.exports.inch import INCH
from planestock.exports.key_numbers import KeyNumber, degrees, measured, millimetres, verdict_in_words
from planestock.models import reach
from planestock.models.check_rows import Row

if TYPE_CHECKING:
    from planestock.models.design import Design
    from planestock.models.holes import Hole
    from planestock.models.layout import Layout
    from planestock.models.thickness import Settled

MINUS = "−"
"""The true minus sign: as wide as a plus and never broken from its number."""


def limit(row: Row) -> str:
    """Return what a row's value is held to."""
    return f"{'≥' if row.at_least else '≤'} {measured(row.limit, row.unit)}"


def outcome(rows: Sequence[Row], *, solids: bool) -> str:
    """Return the checks' outcome as one sentence."""
    return verdict_in_words(tuple(rows)) + ("" if solids else " The solids were not built or checked.")


def first_numbers(made: Design) -> tuple[KeyNumber, ...]:
    """Return what a maker asks first, each with a remark that puts it in its place."""
    given, settled = made.given, made.settled
    window, thickness = settled.window, settled.thickness
    theta = given.frog.bed_angle.value
    growth = float(reach.mouth_growth(theta, given.throat.wear_lean.value))
    clearance = float(reach.clearance_angle(theta, given.iron.bevel_angle.value))
    chosen = "largest that is safe" if settled.chosen else "as the set asks"

    def length(value: float) -> str:
        return millimetres(value, given.units)

    return (
        KeyNumber("Thickness", length(thickness), f"seat plane to sole; {chosen}"),
        KeyNumber("Window", f"{window.low:.2f} to {millimetres(window.high)}", _window_remark(settled, given.units)),
        KeyNumber("Edge out", length(window.out(thickness)), f"below the sole; {millimetres(window.deepest_cut)} asked"),
        KeyNumber("Edge back", length(window.back(thickness)), f"above the sole; {millimetres(window.withdraw)} asked"),
        KeyNumber("Wear left", length(settled.wear_left), f"for sure; {made.sole_life.truings} truings with this mouth"),
        KeyNumber("Mouth", length(given.throat.opening.value), f"opens {growth:.2f} mm for each mm off the sole"),
        KeyNumber("Clearance", degrees(clearance), "behind the bevel"),
        KeyNumber("Body", f"{made.layout.length:.1f} mm long", _body_remark(made.layout, given.units)),
    )


def _window_remark(settled: Settled, units: str) -> str:
    low, high = settled.window.low, settled.window.high
    inches = f"{low / INCH:.3f} to {high / INCH:.3f} in; " if units == "in" else ""
    road = {"readings": "by the readings", "bench": "by the bench method"}[settled.window.road]
    return f"{inches}± {settled.low.expanded:.2f}, ± {settled.high.expanded:.2f} mm; {road}"


def _body_remark(at: Layout, units: str) -> str:
    sizes = (at.length, 2 * at.plan.half_width, at.height)
    inches = f" ({' × '.join(f'{size / INCH:.2f}' for size in sizes)} in)" if units == "in" else ""
    return f"{sizes[1]:.1f} mm wide, {sizes[2]:.1f} mm high{inches}"


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


def hole_lines(holes: Iterable[Hole]) -> tuple[tuple[str, ...], ...]:
    """Return holes as texts: kind, x, y, z of the start, way, diameter, depth. A pair left and right is one line."""
    return tuple(_hole_line(list(same)) for _, same in groupby(holes, _mirror_key))


def _mirror_key(hole: Hole) -> tuple[str, float, float, float]:
    x, y, z = hole.start
    return (hole.path, round(x, 6), round(abs(y), 6), round(z, 6))


def _hole_line(same: list[Hole]) -> tuple[str, ...]:
    hole = same[0]
    x, y, z = hole.start
    across = f"± {abs(y):.1f}" if len(same) > 1 else f"{y + 0.0:.1f}".replace("-", MINUS)
    return (hole.kind, f"{x:.1f}", across, f"{z:.1f}", way(hole), f"{hole.diameter:.1f}", f"{hole.depth:.1f}")


def way(hole: Hole) -> str:
    """Return which way a hole goes, as it is set at the drill press: its lean from plumb in the side view."""
    dx, dy, dz = hole.direction
    if abs(dy) > 0.5:
        return "across"
    lean = math.degrees(math.atan2(dx, -dz))
    if abs(lean) < 0.05:
        return "plumb"
    return f"{abs(lean):.1f}° to the {'heel' if lean > 0 else 'toe'}"
