"""What leaves as JSON, by the name under which people meet it, and the schema of each."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from planestock.params.problems import nearest, refuse

if TYPE_CHECKING:
    from planestock.exports.files.promised import Promised

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""The JSON schema standard that schemas are written in."""

OUTPUTS = {
    "report.json": "report.report_schema:Report",
    "check --json": "report.report_schema:Report",
    "build --json": "report.report_schema:BuiltReport",
    "thickness --json": "report.first_stage_schema:FirstStageFound",
    "compare --json": "variants.compare_schema:ComparisonFound",
    "fit.json": "scan.fit_schema:FitFound",
    "fit --json": "scan.fit_schema:FitWritten",
    "prints.json": "prints.prints_schema:PrintsFound",
    "salvage --json": "salvage.salvage_schema:SalvageFound",
    "setups.json": "machining.setups_schema:SetupsFound",
    "sweep --json": "variants.sweep_schema:SweepFound",
    "trace --json": "traced.trace_schema:TraceFound",
}
"""Module and model of each output; a module is read when its schema is asked for."""


def model_of(name: str) -> type[Promised]:
    """Return the model of an output by its name, such as "report.json". Raises InputProblem for an unknown name."""
    if name not in OUTPUTS:
        raise refuse("--of", name, "is nothing that leaves as JSON", f"{nearest(name, OUTPUTS)} Known: {', '.join(OUTPUTS)}")
    module, _, model = OUTPUTS[name].partition(":")
    found: type[Promised] = getattr(import_module(f"planestock.exports.{module}"), model)
    return found


def schema_of(name: str) -> dict[str, Any]:
    """Return the JSON schema of an output. Raises InputProblem for an unknown name."""
    return {"$schema": DIALECT, **model_of(name).model_json_schema(mode="serialization")}


def schema_of_sets() -> dict[str, Any]:
    """Return the JSON schema of parameter sets."""
    from planestock.params.parameter_set import ParameterSet

    return {"$schema": DIALECT, **ParameterSet.model_json_schema()}
