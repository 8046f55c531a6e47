"""Checks of the stage *thickness*: what can be told of the window before anything else of the plane was measured."""

from __future__ import annotations

from planestock.models.checks.confidence import roads_agree, wide_enough
from planestock.models.checks.reach import window_open
from planestock.models.checks.rows import Row, at_least
from planestock.models.window.thickness import Safe


def first_stage_checks(safe: Safe) -> tuple[Row, ...]:
    """Return the checks that need only the readings of the stage, and the one that some thickness is sure."""
    return (window_open(safe.window), roads_agree(safe.comparison), wide_enough(safe), _sure(safe))


def _sure(safe: Safe) -> Row:
    room = safe.no_room
    asked = "A thickness is sure whatever the readings' ±, the seasons and the cut do"
    change = "" if room is None else room.remedy
    return at_least("thickness-sure", asked, safe.safe_high - safe.safe_low, 0.0, change)
