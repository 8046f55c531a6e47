"""The report of a design as one object for machines: keys as `report_schema` promises, strict JSON, the same bytes each
time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from planestock.exports.files.stamp import overall, program_version
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.evidence import old_body_notes_of
from planestock.exports.wording.window_notes import window_notes
from planestock.models.checks.rows import Row
from planestock.models.window import reach
from planestock.models.window.budgets import widened_by
from planestock.models.window.readings import span_of, value_at
from planestock.models.window.two_roads import Comparison
from planestock.params.species import species

if TYPE_CHECKING:
    from planestock.models.body.layout import Layout
    from planestock.models.design import Design
    from planestock.models.window.thickness import Safe, Settled

Entry = dict[str, Any]
"""One object of the report."""

PARTS = ("right half", "left half", "centre strip", "pad", "slip")
"""Wooden parts that a body can have; the report has a mass for each, null where there is none."""


def rows_of(made: Design, *, solids: bool) -> tuple[Row, ...]:
    """Return the checks; those of the solids only where asked, as they build the solids. Raises KernelProblem."""
    return made.checks if solids else made.number_checks


def report(made: Design, *, solids: bool, extra_rows: tuple[Row, ...] = ()) -> Entry:
    """Return the report as plain data: lengths in mm, angles in degrees, masses in g, points as [x, z].

    solids: whether the solids are built and checked, and the parts' masses known; without them the masses are null.
    extra_rows: checks of what is asked for beside the usual files, told after the design's own.
    Raises KernelProblem when the solids cannot be built.
    """
    rows = (*rows_of(made, solids=solids), *extra_rows)
    given, settled = made.given, made.settled
    theta = given.frog.bed_angle.value
    from planestock.exports.files.promised import promised, told
    from planestock.exports.report.report_schema import Report

    found = {
        "planestock": program_version(),
        "set": {"name": given.name, "digest": given.digest, "values": given.model_dump(mode="json")},
        "verdict": overall(rows),
        "window": window_entry(settled),
        "thickness": settled.thickness,
        "thickness_chosen": settled.chosen,
        "allowances": settled.allowances,
        "reach": {"out": settled.window.out(settled.thickness), "in": settled.window.back(settled.thickness)},
        "wear_left": settled.wear_left,
        "wear_left_bare": settled.bare_wear_left,
        "layout": _layout(made.layout),
        "holes": made.layout.holes,
        "mouth": _mouth(made),
        "clearance_angle": reach.clearance_angle(theta, given.iron.bevel_angle.value),
        "uncertainty": _uncertainty(settled),
        "wood": _wood(made),
        "mass": _masses(made.masses if solids else {}),
        "sole_life": made.sole_life,
        "old_body": _old_body(made),
        "cautions": list(CAUTIONS),
        "solids_checked": solids,
        "checks": rows,
    }
    return told(promised(Report, found))


def _old_body(made: Design) -> Entry | None:
    if made.old_body is None:
        return None
    old = made.old_body
    return {
        "place": old.place,
        "standings": old.standings,
        "lost": old.lost,
        "thinner_than_new": old.thinner_than_new,
        "taper": old.taper,
        "hollow": old.hollow,
        "notes": old_body_notes_of(made),
        "is_trap": old.is_trap,
    }


def window_entry(safe: Safe) -> Entry:
    """Return the window, how sure it is, and what it rests on besides the readings."""
    window = safe.window
    return {
        "min": window.low,
        "max": window.high,
        "u_min": safe.low.expanded,
        "u_max": safe.high.expanded,
        "width": window.width,
        "safe_min": safe.safe_low,
        "safe_max": safe.safe_high,
        "road": window.road,
        "notes": list(window_notes(safe)),
        "assumed": [_assumed(safe, path) for path in safe.known.assumed],
    }


def _assumed(safe: Safe, path: str) -> Entry:
    """Return a reading that was not taken: what is assumed of it, and what that adds to the thin end of the window."""
    low, high = span_of(path)
    wider = widened_by(safe.known, path)
    value = value_at(safe.given, path)
    return {
        "path": path,
        "low": low,
        "high": high,
        "value": value,
        "adds_to_min": wider.value,
        "adds_to_safe_min": wider.safe,
    }


def _mouth(made: Design) -> Entry:
    given, budget = made.given, made.settled.mouth
    theta, lean = given.frog.bed_angle.value, given.throat.wear_lean.value
    return {
        "opening": given.throat.opening.value,
        "u_opening": budget.expanded,
        "growth_per_mm": float(reach.mouth_growth(theta, lean)),
        "closing_per_mm": float(reach.mouth_closing(theta)),
    }


def _uncertainty(settled: Settled) -> Entry:
    """Return how sure the window is, and the chance that the body works."""
    return {
        **uncertainty_entry(settled),
        "chance_works": settled.chance.works,
        "chance_all_year": settled.chance.all_year,
    }


def uncertainty_entry(safe: Safe) -> Entry:
    """Return the budgets of both ends, the reading to take again, and what two roads say."""
    again, both = safe.retake, safe.comparison
    return {
        "window_min": safe.low,
        "window_max": safe.high,
        "retake": again,
        "roads_agree": both.agree if both else None,
        "roads": _roads(both) if both else None,
    }


def _roads(both: Comparison) -> Entry:
    """Return both windows, how far apart their ends are (readings less bench), and what could explain it, in groups of
    readings that cannot be told apart."""
    ends = {"min": both.low, "max": both.high}
    return {
        "readings": {"min": both.readings.window.low, "max": both.readings.window.high},
        "bench": {"min": both.bench.window.low, "max": both.bench.window.high},
        "apart": {
            name: {"value": end.apart.value, "expanded": end.apart.expanded, "error": end.error}
            for name, end in ends.items()
        },
        "explanations": [{"probability": each.probability, "readings": each.suspects} for each in both.explanations],
    }


def _layout(at: Layout) -> Entry:
    tail = at.tail
    return {
        "edge": at.edge,
        "bed_foot": at.bed_foot,
        "corner": at.corner,
        "mouth_front": at.mouth_front,
        "wear_top": at.wear_top,
        "breast_top": at.breast_top,
        "seat_front": at.seat_front,
        "seat_rear": at.seat_rear,
        "recess": at.recess,
        "cove_high": tail.cove_high if tail else None,
        "cove_low": tail.cove_low if tail else None,
        "cove_centre": tail.centre if tail else None,
        "tail_rear": tail.rear if tail else None,
        "length": at.length,
        "height": at.height,
        "throat_half_width": at.throat_half_width,
        "recess_half_width": at.recess_half_width if at.recess else None,
    }


def _wood(made: Design) -> Entry:
    wood, through = made.given.wood, made.seasons
    thicknesses = [season.thickness for season in through.all]
    return {
        "species": species(wood.species).name,
        "cut": wood.cut,
        "thickness_change": max(thicknesses) - min(thicknesses),
        "thickness_per_percent": through.per_percent,
        "worked": through.worked,
        "dry": through.dry,
        "wet": through.wet,
        "glue_lines": through.glue_lines,
    }


def _masses(found: Mapping[str, float]) -> Entry:
    """Return the mass of each wooden part and of all together, g, at the moisture content of the shop."""
    named = {name.replace(" ", "_"): found.get(name) for name in PARTS}
    return {**named, "body": sum(found.values()) if found else None}
