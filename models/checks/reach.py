"""Checks of the edge: does it reach, withdraw, last, cut clear and let the shaving pass."""

from __future__ import annotations

from planestock.models.checks.rows import Row, at_least, at_most
from planestock.models.window import reach
from planestock.models.window.sole_life import mouth_after
from planestock.models.window.thickness import Settled
from planestock.params.lengths import counted
from planestock.params.parameter_set import ParameterSet

LEAST_CLEARANCE = 5.0
"""Clearance angle below which the bevel's heel rubs in use, degrees; common practice, no published source."""

USUAL_CLEARANCE = 10.0
"""Clearance angle below which springy wood touches the bevel, degrees: 10 to 12 are asked for, from memory."""


def reach_checks(given: ParameterSet, settled: Settled) -> tuple[Row, ...]:
    """Return the checks that need only readings and the thickness."""
    return (*_travel(given, settled), *_angles(given), *_mouth(given))


def _travel(given: ParameterSet, settled: Settled) -> tuple[Row, ...]:
    window, thickness = settled.window, settled.thickness
    wear = given.work.truing_depth.value * given.work.truings
    between = _where_it_is_safe(settled)
    return (
        window_open(window),
        at_least("edge-reaches-out", "The edge comes out far enough for the deepest cut",
                 window.out(thickness), window.deepest_cut,
                 f"make body.thickness smaller ({between}); a body already cut: plane the sole or lower the seat"),
        at_least("edge-withdraws", "The edge goes back into the mouth", window.back(thickness), window.withdraw,
                 f"make body.thickness larger ({between}); a body already cut: a pad on top or a slip on the sole"),
        at_least("wear-left", f"The sole can surely be planed {_times(given.work.truings)}", settled.wear_left, wear,
                 f"make body.thickness larger ({between}), or ask for fewer work.truings", advisory=True),
    )  # fmt: skip


def window_open(window: reach.Window) -> Row:
    """Return the check that there is a window at all."""
    change = "ask for less (work.deepest_cut, work.withdraw), change cap_iron.setback, or measure the travel again"
    return at_least("window-open", "The adjuster's travel can both cut and withdraw", window.width, 0.0, change)


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _where_it_is_safe(settled: Settled) -> str:
    if settled.safe_low > settled.safe_high:
        return "no thickness is safe with these readings"
    length = settled.given.lengths
    return f"between {length.number(settled.safe_low)} and {length(settled.safe_high)} is safe"


def _angles(given: ParameterSet) -> tuple[Row, ...]:
    angle = reach.clearance_angle(given.frog.bed_angle.value, given.iron.bevel_angle.value)
    return (
        at_least("clearance-angle", "The bevel clears the wood behind the edge", angle, LEAST_CLEARANCE,
                 "grind a smaller iron.bevel_angle", unit="deg", warn_below=USUAL_CLEARANCE),
    )  # fmt: skip


def _mouth(given: ParameterSet) -> tuple[Row, ...]:
    theta, opening = given.frog.bed_angle.value, given.throat.opening.value
    closed = given.work.deepest_cut.value * float(reach.mouth_closing(theta))
    worn = mouth_after(given, given.work.truings * given.work.truing_depth.value)
    widest = given.work.widest_mouth.value
    return (
        at_least("mouth-passes-cut", "The mouth stays open at the deepest cut", opening - closed,
                 given.work.deepest_cut.value,
                 "a shaving needs at least its own thickness: raise throat.opening or ask for a smaller deepest_cut"),
        at_most("mouth-now", "The mouth is fine enough for the work wanted", opening, widest,
                "lower throat.opening, or accept a wider work.widest_mouth"),
        at_most("mouth-after-truings", f"The mouth after {counted(given.work.truings, 'truing')}", worn, widest,
                "lower throat.opening or throat.wear_lean, or let in a mouth piece when it is due", advisory=True),
    )  # fmt: skip
