"""A fit as plain data for machines: lengths in mm, angles in degrees, keys that stay as they are."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from planestock.exports.files.stamp import Stamp
from planestock.exports.scan.colours import bands, meaning
from planestock.exports.wording import fit as words

if TYPE_CHECKING:
    from planestock.models.scan.corrected import Corrected
    from planestock.models.scan.fit import Fitted

DECIMALS = 5
"""Decimals of a number: a hundredth of a micrometre; what a fit's last round still moves is far smaller."""


def as_data(fitted: Fitted, found: Corrected | None, stamp: Stamp, reach: float) -> dict[str, Any]:
    """Return a fit as JSON takes it. turn, shift: a point p of the scan, in mm, lies at turn p + shift in the body."""
    scan, fine = fitted.scan, fitted.fine
    more, less = meaning(fitted)
    told = {
        "planestock": stamp.version,
        "stamp": stamp.line,
        "set": {"name": stamp.name, "digest": stamp.digest},
        "scan": {
            "file": scan.name, "triangles": scan.triangles, "used": len(scan.faces), "reduced": scan.thinned,
            "without_area": scan.dropped, "mm_per_unit": scan.scale.millimetres, "unit": scan.scale.words,
        },
        "of": fitted.subject.of,
        "of_stated": fitted.told,
        "faces_found": fitted.seen,
        "noise": fine.noise,
        "scanner_limit": fitted.asked.scanner_limit,
        "placed": {"turn": fine.motion.turn.tolist(), "shift": (fine.motion.shift + fitted.subject.origin).tolist()},
        "outcome": words.outcome(fitted),
        "contradicted": words.contradicted(fitted),
        "residuals": [asdict(one) for one in fitted.before],
        "residuals_after": [asdict(one) for one in fitted.after],
        "datum": asdict(fitted.datum) if fitted.datum else None,
        "flatness": asdict(fitted.flat) if fitted.flat else None,
        "contacts": [asdict(one) for one in fitted.contacts],
        "gaps": [asdict(one) for one in fitted.gaps],
        "readings": [
            {**asdict(one), "line": one.line if one.found is not None else None} for one in fitted.proposed
        ],
        "casting_length": _pair(fitted.length),
        "edge_depth": _pair((fitted.edge[0], 2 * fitted.edge[1]) if fitted.edge else None),
        "edge_meant": fitted.edge_meant,
        "body": asdict(fitted.body) if fitted.body else None,
        "next": [*words.body_sentences(fitted)][1:] if fitted.body else [],
        "corrected": _corrected(fitted, found),
        "colours": {"positive": more, "negative": less, "bands": [asdict(one) for one in bands(reach)]},
    }  # fmt: skip
    plain: dict[str, Any] = _plain(told)
    return plain


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


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value
