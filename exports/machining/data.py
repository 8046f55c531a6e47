"""The hand-over as plain data for machines: lengths in mm, angles in degrees, machine coordinates of each setup."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planestock.exports.files.file_names import file_name
from planestock.exports.files.promised import promised, told
from planestock.exports.files.stamp import Stamp
from planestock.exports.machining.setups_schema import SetupsFound
from planestock.exports.wording.cautions import AT_THE_ROUTER
from planestock.exports.wording.machining import Figures, fate, why, zero
from planestock.models.machining.all_setups import PlanOfWork
from planestock.models.machining.corners import Corner
from planestock.models.machining.holding import Area, Holding
from planestock.models.machining.pockets import Pocket
from planestock.models.machining.setups import Cut, HandWork, PartPlan, Setup
from planestock.models.machining.tolerances import Tolerance
from planestock.params.outlines.pieces import Arc, Outline

Entry = dict[str, Any]

DECIMALS = 6
"""Decimals of a length: a nanometre."""

METRIC = Figures("mm")
"""Machines read millimetres."""


def setups_data(work: PlanOfWork, stamp: Stamp) -> Entry:
    """Return the whole hand-over, with the keys that `setups_schema` promises."""
    facts = {
        "planestock": stamp.version,
        "name": stamp.name,
        "digest": stamp.digest,
        "failing": list(stamp.failing),
        "units": "mm",
        "cautions": list(AT_THE_ROUTER),
        "cutter": {"diameter": _n(work.cutter.diameter), "reach": _n(work.cutter.reach), "corners": work.cutter.corners},
        "parts": [_part(plan, work) for plan in work.parts],
        "tolerances": [_tolerance(one) for one in work.tolerances],
        "checks": [
            {"id": row.id, "asked": row.asked, "value": row.value, "limit": row.limit, "unit": row.unit,
             "verdict": row.verdict, "change": row.change} for row in work.checks
        ],
    }  # fmt: skip
    return told(promised(SetupsFound, facts))


def _part(plan: PartPlan, work: PlanOfWork) -> Entry:
    return {
        "name": plan.name,
        "mirror_of": plan.mirror_of,
        "setups": [_setup(plan, setup, work) for setup in plan.setups],
        "hand_work": [_hand(one) for one in plan.hand],
    }


def _setup(plan: PartPlan, setup: Setup, work: PlanOfWork) -> Entry:
    name = file_name(f"{plan.name} {setup.number} {setup.position}")
    return {
        "number": setup.number,
        "position": setup.position,
        "file": f"{name}.step",
        "stock_file": f"{name}-stock.step",
        "zero": zero(plan, setup),
        "from_body": {"rows": [list(row) for row in setup.frame.rows], "origin": _point(setup.frame.origin)},
        "stock": {"low": _point(setup.stock.low), "high": _point(setup.stock.high)},
        "part": {"low": _point(setup.shape.low), "high": _point(setup.shape.high)},
        "cuts": [_cut(cut, work) for cut in setup.cuts],
        "corners": [_corner(one, plan) for one in _of(work, plan, setup)],
        "holding": _holding(work.holdings[plan.name, setup.number]),
    }


def _of(work: PlanOfWork, plan: PartPlan, setup: Setup) -> list[Corner]:
    return [one for one in work.corners if one.part == (plan.mirror_of or plan.name) and one.setup == setup.number]


def _cut(cut: Cut, work: PlanOfWork) -> Entry:
    return {
        "feature": cut.feature,
        "name": cut.name,
        "depth": _n(cut.depth),
        "beyond_reach": _n(max(0.0, cut.depth - work.cutter.reach)) if cut.diameter is None else 0.0,
        "diameter": None if cut.diameter is None else _n(cut.diameter),
        "places": [_point(place) for place in cut.places],
        "pockets": [_pocket(pocket) for pocket in cut.pockets],
    }


def _pocket(pocket: Pocket) -> Entry:
    return {
        "title": pocket.title,
        "depth": _n(pocket.depth),
        "through": pocket.through,
        "leaning_walls": pocket.sloped,
        "passage": None if pocket.passage is None else _n(pocket.passage),
        "reached": _n(pocket.reached),
        "outline": [_ring(ring) for ring in pocket.cut],
    }


def _corner(corner: Corner, plan: PartPlan) -> Entry:
    left, sign = corner.left, -1.0 if plan.mirror_of else 1.0
    return {
        "pocket": corner.pocket,
        "kind": left.kind,
        "place": _point((left.place[0], sign * left.place[1])),
        "angle": None if left.angle is None else _n(left.angle),
        "area": _n(left.area),
        "farthest": _n(left.farthest),
        "nearest": _n(left.nearest),
        "relieved": corner.relief is not None,
        "becomes": fate(corner, METRIC),
    }


def _holding(held: Holding) -> Entry:
    return {
        "clamps": [_area(area) for area in held.clamps],
        "jaws_up_to": None if held.jaws is None else _n(held.jaws),
        "jaws_along": [_point(run) for run in held.runs],
        "screws": [_area(area) for area in held.screws],
        "tabs_at_toe_and_heel": held.tabs,
    }


def _area(area: Area) -> list[float]:
    return [_n(area.left), _n(area.low), _n(area.right), _n(area.high)]


def _hand(work: HandWork) -> Entry:
    return {
        "feature": work.feature,
        "name": work.name,
        "reason": work.reason,
        "why": why(work),
        "depth": _n(work.depth),
        "diameter": None if work.diameter is None else _n(work.diameter),
        "lean": _n(work.lean),
    }


def _tolerance(one: Tolerance) -> Entry:
    return {
        "what": one.what,
        "nominal": _n(one.nominal),
        "unit": one.unit,
        "iso_2768_m": None if one.general is None else _n(one.general),
        "minus": _n(one.minus),
        "plus": _n(one.plus),
        "tighter": one.tighter,
        "asked_by": one.asked,
    }


def _ring(ring: Outline) -> list[Entry]:
    return [
        {"to": _point(piece.end), "centre": _point(piece.centre), "clockwise": piece.clockwise}
        if isinstance(piece, Arc)
        else {"to": _point(piece.end)}
        for piece in ring
    ]


def _point(values: Sequence[float]) -> list[float]:
    return [_n(value) for value in values]


def _n(value: float) -> float:
    return round(value, DECIMALS) + 0.0
