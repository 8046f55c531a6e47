"""The parameter set: everything that was measured and is wanted, for one plane; and the catalogue of its fields."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field, ValidationError
from pydantic.fields import FieldInfo

from planestock.params.fields import Group, quantity_of
from planestock.params.lengths import Lengths
from planestock.params.metal import Adjuster, Bench, CapIron, Casting, Frog, Iron, Knob, Tote
from planestock.params.problems import Problem
from planestock.params.reading import LengthUnit, Reading
from planestock.params.wanted import Body, Instrument, OldBody, Shop, Throat, Wood, Work


class ParameterSet(Group):
    """One plane. Make it with `parameter_set`, which also holds it to the rules between fields."""

    name: str = Field(min_length=1, max_length=300, title="Name", description="Any name for this plane.")
    note: str = Field(default="", max_length=5000, title="Note", description="Anything worth remembering about it.")
    units: Literal["mm", "in"] = Field(
        default="mm", title="Units", description="Unit of lengths written without one: mm or in."
    )
    instrument: Instrument = Field(default=Instrument(), title="Instrument", description="± of readings that carry none.")
    iron: Iron = Field(title="Iron", description="The cutting iron.")
    cap_iron: CapIron = Field(title="Cap iron", description="The cap iron, screwed to the iron.")
    adjuster: Adjuster | None = Field(
        default=None,
        title="Adjuster",
        description="Travel of the adjuster; leave it out when only the bench method is used.",
    )
    bench: Bench | None = Field(
        default=None, title="Bench method", description="Metal bolted together without the wood; the better road."
    )
    frog: Frog = Field(title="Frog", description="The frog and its foot in the bed.")
    casting: Casting = Field(title="Casting", description="The casting screwed on top.")
    tote: Tote | None = Field(default=None, title="Tote", description="The handle; leave it out where there is none.")
    knob: Knob | None = Field(default=None, title="Knob", description="The front knob; leave it out where there is none.")
    old_body: OldBody | None = Field(default=None, title="Old body", description="What is left of the old body.")
    body: Body = Field(title="Body", description="The body to be made.")
    throat: Throat = Field(title="Throat", description="Mouth, wear and breast.")
    wood: Wood = Field(default=Wood(), title="Wood", description="Species and seasons.")
    work: Work = Field(default=Work(), title="Work", description="What the plane is to do.")
    shop: Shop = Field(default=Shop(), title="Shop", description="What the shop has.")

    @property
    def lengths(self) -> Lengths:
        """How lengths are written for who made this set: in its own unit."""
        return Lengths(self.units)

    def reading_at(self, path: str) -> Reading | None:
        """Return the reading at a dotted path (list items numbered from 0), None where it or its group was left out.

        Raises ValueError for a path that holds no reading: a mistake of the caller, not of the maker.
        """
        here: Any = self
        for name in path.split("."):
            if here is None:
                return None
            here = here[int(name)] if name.isdecimal() else getattr(here, name, NotImplemented)
        if here is not None and not isinstance(here, Reading):
            raise ValueError(f"{path} is not a reading")
        return here

    @property
    def digest(self) -> str:
        """Hexadecimal SHA-256 over all values as exact fractions; the same for the same set, however it was written."""
        text = json.dumps(_canonical(self), sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(text.encode()).hexdigest()


def _canonical(value: Any, *, measured: bool = False) -> Any:
    """Return a value as plain JSON with readings as exact fractions, whatever unit they were written in.

    A reading that is only wanted has no error until one is written: no ± and a ± of 0 are the same there. A reading that
    another one or an assumption stands for is left out where it was not written.
    """
    if isinstance(value, Reading):
        limit = value.limit if measured else value.limit or 0
        return [str(value.exact), str(limit), [str(one) for one in value.repeats]]
    if isinstance(value, Group):
        fields = type(value).model_fields
        return {
            name: _canonical(inner, measured=_is_measured(fields[name]))
            for name in fields
            if (inner := getattr(value, name)) is not None or not _is_stood_for(fields[name])
        }
    return [_canonical(one, measured=measured) for one in value] if isinstance(value, tuple) else value


def _is_measured(field: FieldInfo) -> bool:
    quantity = quantity_of(field)
    return quantity is not None and quantity.measured


def _is_stood_for(field: FieldInfo) -> bool:
    quantity = quantity_of(field)
    return quantity is not None and (quantity.same_as != "" or quantity.assumed is not None)


FEWEST_OF_THE_OTHER_UNIT = 5
"""Broken rules from which on numbers in the old unit are a likelier cause than as many slips of the pen."""


def _of_the_other_unit(raw: Mapping[str, Any], units: LengthUnit, problems: list[Problem]) -> list[Problem]:
    """Return one problem for a set whose unit was changed and whose bare numbers were not; none where that is no cause."""
    if len(problems) < FEWEST_OF_THE_OTHER_UNIT:
        return []
    other: LengthUnit = "mm" if units == "in" else "in"
    left = 0
    try:
        ParameterSet.model_validate(raw, context={"units": other})
    except ValidationError as error:
        left = error.error_count()
    if 4 * left > len(problems):
        return []
    names = {"mm": "millimetres", "in": "inches"}
    rule = f"the bare numbers are still in {names[other]}: as {names[units]} {len(problems)} of them do not fit their fields"
    remedy = f'write units = "{other}" again, or write each length with its unit, such as "41.2 mm" or "1-5/8 in"'
    return [Problem("units", f'"{units}"', rule, remedy)]
