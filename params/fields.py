"""How a parameter is declared: `Annotated[Reading, Length(20, 110)] = Field(title=…, description=how to measure it)`.

`Length` and `Angle` carry unit, bounds and whether the value is measured (then the set's instrument gives the ± that is not
written). Form, schema, worksheet and messages are all made from these declarations.
"""

from __future__ import annotations

import types
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, ClassVar, Union, get_args, get_origin

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    field_validator,
)
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from planestock.params.reading import Dimension, LengthUnit, Reading, parse
from planestock.params.tools import Tool


class Group(BaseModel):
    """A frozen group of parameters; a field that is not declared is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @field_validator("*", mode="before")
    @classmethod
    def _no_truth_value(cls, raw: Any) -> Any:
        """Refuse true and false: pydantic would take them for the counts 1 and 0."""
        if isinstance(raw, bool):
            raise PydanticCustomError(
                "reading", "{rule}; {remedy}", {"rule": "is a truth value, and no field holds one", "remedy": ""}
            )
        return raw


@dataclass(frozen=True)
class Quantity:
    """Bounds of one reading, in millimetres or degrees, both included.

    measured: read off something that exists; its ± then belongs to the uncertainty budget, its tool's where none is written.
    tool: what it is measured with. same_as: path of the reading that stands for this one where none is written; for a
    measured one, which says in which state others were taken, as that was before any change made to the set. assumed: span
    that is assumed where none is written, each value in it as likely.
    """

    low: float
    high: float
    measured: bool = False
    tool: Tool = "caliper"
    same_as: str = ""
    assumed: tuple[float, float] | None = None

    dimension: ClassVar[Dimension] = "length"
    unit: ClassVar[str] = "mm"

    def check(self, raw: object, info: core_schema.ValidationInfo) -> Reading:
        """Parse a raw value and hold it to the bounds; bare lengths take `units` of the validation context."""
        reading = parse(raw, self.dimension, (info.context or {}).get("units", "mm"))
        values = (reading.exact, *reading.repeats)
        if not all(Fraction(str(self.low)) <= value <= Fraction(str(self.high)) for value in values):
            raise PydanticCustomError(
                "reading", "{rule}; {remedy}", {"rule": self.rule(reading.unit), "remedy": self._minus_asked(reading)}
            )
        return reading

    def _minus_asked(self, reading: Reading) -> str:
        """Return the question for a minus that was forgotten, empty where none would mend it."""
        negative = -reading.exact
        forgotten = reading.exact > 0 and Fraction(str(self.low)) <= negative <= Fraction(str(self.high))
        return f"did you mean {replace(reading, exact=negative, repeats=()).text}?" if forgotten else ""

    def rule(self, unit: str = "mm") -> str:
        """Return the bounds in words, for a reading written in `unit`."""
        scale, shown = (25.4, "in") if unit == "in" else (1.0, self.unit)
        return f"must lie between {self.low / scale:.4g} and {self.high / scale:.4g} {shown}".replace("-", "−")

    def left_out(self, units: LengthUnit = "mm") -> str:
        """Return in words what stands where nothing is written; empty where that is nothing."""
        if self.same_as:
            return f"as {self.same_as}"
        if self.assumed is None:
            return ""
        low, high = self.assumed
        if units == "in" and self.dimension == "length":
            return f"{low / 25.4:.2g} to {high / 25.4:.2g} in assumed"
        return f"{low:g} to {high:g} {self.unit} assumed"

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Tell pydantic to validate with `check` and to write a reading as it reads back."""
        return core_schema.with_info_plain_validator_function(
            self.check, serialization=core_schema.plain_serializer_function_ser_schema(lambda reading: reading.written)
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Describe the reading: number, text or list, with unit and bounds beside it."""
        one: list[JsonSchemaValue] = [{"type": "number"}, {"type": "string", "maxLength": 64}]
        repeats = {"type": "array", "items": {"anyOf": one}, "minItems": 2, "maxItems": 100}
        return {
            "anyOf": [*one, repeats],
            "x-dimension": self.dimension,
            "x-unit": self.unit,
            "x-minimum": self.low,
            "x-maximum": self.high,
            "x-measured": self.measured,
            "x-tool": self.tool,
            **({"x-same-as": self.same_as} if self.same_as else {}),
            **({"x-assumed": list(self.assumed)} if self.assumed else {}),
        }


@dataclass(frozen=True)
class Length(Quantity):
    """A length; bounds in millimetres."""


@dataclass(frozen=True)
class Angle(Quantity):
    """An angle; bounds in degrees."""

    tool: Tool = "protractor"

    dimension: ClassVar[Dimension] = "angle"
    unit: ClassVar[str] = "deg"


def group_of(annotation: Any) -> tuple[type[Group] | None, bool]:
    """Return the group of parameters that a field's annotation holds, if any, and whether it is a list of them."""
    if isinstance(annotation, type) and issubclass(annotation, Group):
        return annotation, False
    many = get_origin(annotation) is tuple
    if many or get_origin(annotation) in (Union, types.UnionType):
        for part in get_args(annotation):
            inner, _ = group_of(part)
            if inner is not None:
                return inner, many
    return None, False


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Return the bounds of the reading a field holds, wherever its annotation carries them."""
    return _quantity_in([*field.metadata, field.annotation])


def _quantity_in(parts: list[Any]) -> Quantity | None:
    for part in parts:
        if isinstance(part, Quantity):
            return part
        found = _quantity_in([*getattr(part, "__metadata__", ()), *get_args(part)])
        if found is not None:
            return found
    return None
