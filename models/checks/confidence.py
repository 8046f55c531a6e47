"""Checks of how far the window can be trusted: two roads, its width, the thickness in it, and the old body beside it."""

from __future__ import annotations

from planestock.models.checks.rows import Row, at_least, at_most
from planestock.models.window.old_body import OldBodyEvidence
from planestock.models.window.readings import named
from planestock.models.window.thickness import Safe, Settled
from planestock.models.window.two_roads import Comparison


def confidence_checks(settled: Settled, old: OldBodyEvidence | None) -> tuple[Row, ...]:
    """Return the checks that rest on the budgets."""
    return (roads_agree(settled.comparison), wide_enough(settled), _safe(settled), _old(old))


def roads_agree(comparison: Comparison | None) -> Row:
    """Return the check of two roads against one another: E_n of ISO/IEC 17043, two results agree when their difference is
    within their joint expanded uncertainty."""
    error = comparison.worst_error if comparison else None
    suspects = comparison.explanations[0].suspects if comparison and comparison.explanations else ()
    again = f"measure {' or '.join(named(one.path) for one in suspects)} again" if suspects else ""
    return at_most("two-methods-agree", "Readings and bench method give one window (difference over its uncertainty)",
                   error, 1.0, again or "measure both roads again; one of them is misread", unit="")  # fmt: skip


def wide_enough(settled: Safe) -> Row:
    """Return the check of the window against the uncertainty of its ends."""
    taken = settled.low.expanded + settled.high.expanded
    retake = settled.retake
    again = f"measure {named(retake.path)} again" if retake else "measure with a finer tool"
    return at_least("window-wider-than-uncertainty", "The window is wider than its ends are uncertain",
                    settled.window.width, taken, f"{again}, or ask for less work.deepest_cut and withdraw")  # fmt: skip


def _safe(settled: Settled) -> Row:
    low, high, length = settled.safe_low, settled.safe_high, settled.given.lengths
    change = (
        f"choose body.thickness between {length.number(low)} and {length(high)}"
        if low <= high
        else 'no thickness is sure; try body.thickness = "from window" to see what would make room'
    )
    asked = "The thickness works whatever the readings' ±, the seasons and the cut do"
    return at_least("thickness-within-safe-window", asked, settled.safe_margin, 0.0, change, advisory=True)


def _old(old: OldBodyEvidence | None) -> Row:
    worst = old.worst if old else None
    which = f" ({worst.what})" if worst else ""
    return at_least("old-body-copy", f"A copy of the old body would work{which}", worst.margin if worst else None, 0.0,
                    "do not copy it; the metal decides the thickness", advisory=True)  # fmt: skip
