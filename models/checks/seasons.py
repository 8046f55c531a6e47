"""Checks of the body through the year: thickness, iron's room, gaps around metal, mouth, glue lines."""

from __future__ import annotations

from planestock.models.body.seasons import Seasons
from planestock.models.checks.rows import Row, at_least, at_most
from planestock.models.checks.wood import LEAST_SIDE_CLEARANCE
from planestock.models.window import reach
from planestock.models.window.movement import GLUE_LINE_WARNING
from planestock.models.window.thickness import Settled
from planestock.params.parameter_set import ParameterSet

GIVE = 0.1
"""How far a pocket may shrink onto metal on each side, mm, before it fails the check and not only warns: over a casting
some 50 mm wide this stretches the wood by 0.4 %, and hardwood splits across the grain from about 0.7 %; from memory."""


def season_checks(given: ParameterSet, settled: Settled, through: Seasons) -> tuple[Row, ...]:
    """Return the checks of driest and dampest season."""
    return (_in_window(settled, through), *_driest(through), _mouth(given, through), _glue(through))


def _in_window(settled: Settled, through: Seasons) -> Row:
    window = settled.window
    thickest = max(season.thickness for season in through.all)
    thinnest = min(season.thickness for season in through.all)
    through_year = settled.given.lengths.span(thinnest, thickest)
    margin = min(window.high - thickest, thinnest - window.low)
    side = "smaller" if window.high - thickest < thinnest - window.low else "larger"
    return at_least("seasons-in-window", f"The body stays in the window all year ({through_year})",
                    margin, 0.0, f"make body.thickness {side}, or turn the growth rings (wood.cut)")  # fmt: skip


def _driest(through: Seasons) -> tuple[Row, Row]:
    season = through.driest
    at = f"at the driest, {season.moisture:.1f} % moisture"
    return (
        at_least("side-clearance-driest", f"The iron has room beside it {at}", season.side_clearance, LEAST_SIDE_CLEARANCE,
                 "raise throat.side_clearance"),
        at_least("seat-gap-driest", f"Casting and frog's foot are not pinched {at}", season.least_gap, -GIVE,
                 "raise body.seat_gap, or take wood that moves less across (wood.species, wood.cut)", warn_below=0.0),
    )  # fmt: skip


def _mouth(given: ParameterSet, through: Seasons) -> Row:
    cut = given.work.deepest_cut.value
    left = through.dampest.mouth - cut * float(reach.mouth_closing(given.frog.bed_angle.value))
    return at_least("mouth-dampest", "The mouth passes the deepest cut in the dampest season, too", left, cut,
                    "raise throat.opening, or take a finer cut then", advisory=True)  # fmt: skip


def _glue(through: Seasons) -> Row:
    worst = max(through.glue_lines, key=lambda line: line.worst, default=None)
    which = f" ({worst.between})" if worst else ""
    return at_most("glue-lines", f"Woods on both sides of a glue line move alike{which}", worst.worst if worst else None,
                   GLUE_LINE_WARNING, "take woods that move alike, a thinner lamination, or the body's own wood",
                   advisory=True)  # fmt: skip
