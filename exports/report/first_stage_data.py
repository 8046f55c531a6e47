"""The answer of the stage *thickness* as one object for machines, as `first_stage_schema` promises."""

from __future__ import annotations

from planestock.exports.files.promised import promised, told
from planestock.exports.files.stamp import overall, program_version
from planestock.exports.report.data import Entry, uncertainty_entry, window_entry
from planestock.exports.report.first_stage_schema import FirstStageFound
from planestock.exports.wording.cautions import CAUTIONS
from planestock.models.checks.rows import Row
from planestock.models.window.readings import limit_at
from planestock.models.window.thickness import Safe
from planestock.params.first_stage import FirstStage


def first_stage_data(given: FirstStage, safe: Safe, rows: tuple[Row, ...], said: frozenset[str]) -> Entry:
    """Return the answer as plain data. said: paths of what was given."""
    found = {
        "planestock": program_version(),
        "verdict": overall(rows),
        "readings": {
            path: {"written": one.written, "value": one.value, "limit": limit_at(given, path)}
            for path, one in given.readings.items()
        },
        "wood": {
            "told": any(path.startswith("wood.") for path in said),
            "values": given.wood.model_dump(mode="json"),
        },
        "window": window_entry(safe),
        "thickness": safe.safe_high if safe.sure else None,
        "allowances": safe.allowances,
        "wear_left": safe.safe_high - safe.safe_low if safe.sure else None,
        "uncertainty": uncertainty_entry(safe),
        "cautions": CAUTIONS,
        "checks": rows,
    }
    return told(promised(FirstStageFound, found))
