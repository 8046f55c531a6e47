"""Small invented sets for tests, with round numbers, independent of the shipped ones; and a few ways to use them."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

from planestock.models.checks.rows import Row
from planestock.models.design import Design, design
from planestock.params.fields import Group
from planestock.params.files import changed
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.reading import Reading
from planestock.params.wanted import FROM_WINDOW

Values = dict[str, Any]

PLAIN: Values = {
    "name": "Block with a throat",
    "instrument": {"length": "0.05 mm", "angle": "0.1 deg"},
    "iron": {"width": 50, "thickness": 3, "length": 180, "bevel_angle": 25},
    "cap_iron": {
        "width": 50, "slot_to_edge": 96, "setback": 1, "thickness": 3, "hump_height": 7, "hump_distance": 18,
    },
    "adjuster": {"pin_low": 20, "pin_high": 28, "play": "0 ± 0 mm"},
    "frog": {"bed_angle": 45, "width": 40, "foot_low": -40, "foot_high": -8, "recess_depth": 0, "foot_thickness": 0},
    "casting": {
        "front": -90, "rear": 120, "front_width": 50, "rear_width": 50, "corner_radius": 0, "thickness": 4, "let_in": 0,
        "cove_radius": 0, "tail_drop": 0,
    },
    "body": {
        "length": 300, "width": 70, "toe_to_mouth": 100, "thickness": 50, "edge_size": 0, "toe_radius": 0,
        "heel_radius": 0, "dowels": {"count": 0},
    },
    "throat": {"opening": 2, "wear_height": 8, "wear_lean": 0, "breast_lean": 20, "side_clearance": 1},
    "work": {"deepest_cut": "0.8", "withdraw": "0.3"},
}  # fmt: skip
"""A plain block with a throat in it and nothing else: no let-in, tail, recess, holes or dowels; square corners."""

FULL: Values = {
    "name": "Everything at once",
    "instrument": {"length": "0.05 mm", "angle": "0.1 deg"},
    "iron": {"width": 50, "thickness": 3, "length": 180, "bevel_angle": 25},
    "cap_iron": {
        "width": 50, "slot_to_edge": 96, "setback": 1, "thickness": 3, "hump_height": 7, "hump_distance": 18,
    },
    "adjuster": {"pin_low": 20, "pin_high": 28, "play": "0 ± 0 mm"},
    "frog": {
        "bed_angle": 45, "width": 44, "foot_low": -45, "foot_high": -8, "recess_depth": 5, "foot_thickness": 5,
        "screws": [
            {"along": -18, "across": 13, "diameter": 3.5, "depth": 16},
            {"along": -36, "across": 0, "diameter": 3.5, "depth": 12, "tilt": 4},
        ],
    },
    "casting": {
        "front": -95, "rear": 160, "front_width": 54, "rear_width": 48, "corner_radius": 12, "thickness": 4, "let_in": 4,
        "cove_radius": 20, "tail_drop": 10, "tail_length": 76,
        "screws": [
            {"x": -86, "y": 15, "gauge": 9, "length": 24},
            {"x": 64, "y": 16, "gauge": 10, "length": 26},
        ],
    },
    "tote": {
        "bolt_x": 126, "bolt_tilt": 10, "bolt_diameter": 6, "bolt_depth": 24, "toe_screw_x": 96, "toe_screw_depth": 16,
    },
    "knob": {"from_toe": 40, "bolt_diameter": 6, "bolt_depth": 28},
    "body": {
        "length": 400, "width": 76, "toe_width": 66, "heel_width": 64, "toe_to_mouth": 124, "thickness": 50.5,
        "edge": "round", "edge_size": 3, "toe_radius": 8, "heel_radius": 12, "seat_gap": 0.6,
        "dowels": {"count": 4, "diameter": 8, "depth": 14},
    },
    "throat": {"opening": 2, "wear_height": 8, "wear_lean": 4, "breast_lean": 24, "side_clearance": 1},
    "work": {"deepest_cut": "0.8", "withdraw": "0.3"},
}  # fmt: skip
"""A set with every kind of feature on which every check passes."""


def plain(*changes: str) -> ParameterSet:
    """Return the block with a throat, with `path=value` changes laid over it."""
    return parameter_set(changed(PLAIN, changes))


def full(*changes: str) -> ParameterSet:
    """Return the set with every feature, with `path=value` changes laid over it."""
    return parameter_set(changed(FULL, changes))


def without(values: Values, *groups: str) -> Values:
    """Return a copy of raw values that lacks these top-level groups."""
    return {name: copy.deepcopy(value) for name, value in values.items() if name not in groups}


@cache
def full_design(*changes: str) -> Design:
    """Return the design of `full(*changes)`; the same object each time, so that its solids are built once."""
    return design(full(*changes))


@cache
def plain_design(*changes: str) -> Design:
    """Return the design of `plain(*changes)`; the same object each time, so that its solids are built once."""
    return design(plain(*changes))


def row(made: Design, name: str) -> Row:
    """Return one check of a design by its id; solids are built only when the numbers do not have it."""
    for rows in (made.number_checks, made.solid_checks):
        for one in rows:
            if one.id == name:
                return one
    raise LookupError(name)


def plain_values(given: ParameterSet) -> Values:
    """Return a set as plain numbers of mm and degrees, words and counts; what was not given is left out."""
    values = _plain(given)
    assert isinstance(values, dict)
    values["units"] = "mm"
    values["body"].setdefault("thickness", FROM_WINDOW)
    return values


def _plain(value: Any) -> Any:
    if isinstance(value, Reading):
        return value.value
    if isinstance(value, Group):
        fields = {name: getattr(value, name) for name in type(value).model_fields}
        return {name: _plain(inner) for name, inner in fields.items() if inner is not None}
    return [_plain(one) for one in value] if isinstance(value, tuple) else value
