"""The answer of the stage *thickness* as one object for machines, with the keys of the report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from planestock.exports.files.plain_data import plain
from planestock.exports.files.stamp import overall, program_version
from planestock.exports.report.data import Entry, uncertainty_entry, window_entry
from planestock.exports.wording.cautions import CAUTIONS
from planestock.models.checks.rows import Row
from planestock.models.window.readings import limit_at
from planestock.models.window.thickness import Safe
from planestock.params.first_stage import FirstStage


def first_stage_data(given: FirstStage, safe: Safe, rows: Sequence[Row], told: frozenset[str]) -> Entry:
    """Return the answer as plain data: lengths in mm, angles in degrees. thickness: null where none is sure."""
    found = {
        "planestock": program_version(),
        "verdict": overall(tuple(rows)),
        "readings": {
            path: {"written": one.written, "value": one.value, "limit": limit_at(given, path)}
            for path, one in given.readings.items()
        },
        "wood": {**given.wood.model_dump(mode="json"), "told": any(path.startswith("wood") for path in told)},
        "window": window_entry(safe),
        "thickness": safe.safe_high if safe.sure else None,
        "allowances": asdict(safe.allowances),
        "wear_left": safe.safe_high - safe.safe_low if safe.sure else None,
        "uncertainty": uncertainty_entry(safe),
        "cautions": list(CAUTIONS),
        "checks": [{**asdict(row), "margin": row.margin} for row in rows],
    }
    data: Entry = plain(found)
    return data
