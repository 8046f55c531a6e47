"""The repairs of a body as data for machines: mm, mm², mm³, keys as `salvage_schema` promises."""

from __future__ import annotations

from typing import Any

from planestock.exports.files.promised import promised, told
from planestock.exports.salvage.salvage_schema import SalvageFound
from planestock.exports.wording.cautions import AT_THE_BENCH
from planestock.exports.wording.salvage import standing, steps, why_first
from planestock.exports.wording.window_notes import window_notes
from planestock.models.salvage.judging import Margins, Salvage, Way, weights

Entry = dict[str, Any]


def as_data(found: Salvage) -> Entry:
    """Return what was found as plain data."""
    window = found.wanted.settled.window
    facts = {
        "set": {"name": found.given.name, "digest": found.given.digest},
        "cut": {"thickness": found.cut.thickness, "limit": found.cut.limit, "mouth": found.cut.opening},
        "window": {"min": window.low, "max": window.high, "notes": window_notes(found.wanted.settled)},
        "target": found.target,
        "standing": standing(found),
        "margins": _margins(found.margins),
        "recommended": found.recommended.plan.name if found.recommended else None,
        "why": why_first(found),
        "weights": {"points": weights(), "source": "our own choice"},
        "cautions": AT_THE_BENCH,
        "ways": [_repair(found, way) for way in found.ways],
    }
    return told(promised(SalvageFound, facts))


def _repair(found: Salvage, way: Way) -> Entry:
    plan = way.plan
    return {
        "name": plan.name,
        "feasible": way.feasible,
        "reasons": way.reasons,
        "points": way.points,
        "thickness": plan.thickness,
        "piece": plan.piece,
        "removed": plan.removed,
        "moves": plan.moves,
        "mouth": plan.mouth,
        "surfaces": plan.surfaces,
        "holes": plan.holes,
        "margins": _margins(way.margins),
        "failing": way.failing,
        "changes": plan.changes,
        "steps": steps(found, way),
    }


def _margins(margins: Margins | None) -> dict[str, float] | None:
    if margins is None:
        return None
    return {"out": margins.out.value, "u_out": margins.out.expanded, "back": margins.back.value,
            "u_back": margins.back.expanded, "sure_out": margins.sure_out, "sure_back": margins.sure_back}  # fmt: skip
