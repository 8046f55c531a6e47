"""A fit as plain data for machines: lengths in mm, angles in degrees, keys as `fit_schema` promises."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from planestock.exports.files.promised import promised, told
from planestock.exports.files.stamp import Stamp
from planestock.exports.scan.colours import bands, meaning
from planestock.exports.scan.fit_schema import FitFound
from planestock.exports.wording import fit as words

if TYPE_CHECKING:
    from planestock.models.scan.corrected import Corrected
    from planestock.models.scan.fit import Fitted

DECIMALS = 5
"""Decimals of a number: a hundredth of a micrometre; what a fit's last round still moves is far smaller."""


def as_data(fitted: Fitted, found: Corrected | None, stamp: Stamp, reach: float) -> dict[str, Any]:
    """Return a fit as JSON takes it. turn, shift: a point p of the scan, in mm, lies at turn p + shift in the body.

    left_out: the table and flat pieces apart from the thing; middle and normal, towards the thing, are of the scan in mm.
    """
    scan, fine = fitted.scan, fitted.fine
    more, less = meaning(fitted)
    facts = {
        "planestock": stamp.version,
        "stamp": stamp.line,
        "set": {"name": stamp.name, "digest": stamp.digest},
        "scan": {
            "file": scan.name, "triangles": scan.triangles, "used": len(scan.faces), "reduced": scan.thinned,
            "without_area": scan.dropped, "mm_per_unit": scan.scale.millimetres, "unit": scan.scale.words,
        },
        "left_out": [
            {"what": one.what, "triangles": len(one.faces), "area": one.area, "noise": one.noise,
             "middle": one.middle.tolist(), "normal": one.normal.tolist()} for one in scan.left_out
        ],
        "of": fitted.subject.of,
        "of_stated": fitted.told,
        "faces_found": fitted.seen,
        "noise": fine.noise,
        "scanner_limit": fitted.asked.scanner_limit,
        "placed": {"turn": fine.motion.turn.tolist(), "shift": (fine.motion.shift + fitted.subject.origin).tolist()},
        "outcome": words.outcome(fitted),
        "contradicted": words.contradicted(fitted),
        "residuals": fitted.before,
        "residuals_after": fitted.after,
        "datum": fitted.datum,
        "flatness": fitted.flat,
        "contacts": fitted.contacts,
        "gaps": fitted.gaps,
        "readings": [
            {**asdict(one), "line": one.line if one.found is not None else None} for one in fitted.proposed
        ],
        "casting_length": _pair(fitted.length),
        "edge_depth": _pair((fitted.edge[0], 2 * fitted.edge[1]) if fitted.edge else None),
        "edge_meant": fitted.edge_meant,
        "body": fitted.body,
        "next": [*words.body_sentences(fitted)][1:] if fitted.body else [],
        "corrected": _corrected(fitted, found),
        "colours": {"positive": more, "negative": less, "bands": bands(reach)},
    }  # fmt: skip
    return told(promised(FitFound, facts), DECIMALS)


def _pair(found: tuple[float, float] | None) -> dict[str, float] | None:
    return None if found is None else {"found": found[0], "u": found[1]}


def _corrected(fitted: Fitted, found: Corrected | None) -> dict[str, Any] | None:
    if found is None:
        return None
    before = fitted.made.settled.window
    after = found.made.settled if found.made else None
    return {
        "changes": [one.change for one in found.taken],
        "left": [one.path for one in found.left],
        "problem": found.problem,
        "window_before": {"min": before.low, "max": before.high},
        "window_after": {"min": after.window.low, "max": after.window.high, "u_min": after.low.expanded,
                         "u_max": after.high.expanded} if after else None,
        "thickness_after": after.thickness if after else None,
    }  # fmt: skip
