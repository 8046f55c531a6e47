"""JSON that is a promise: models that declare every key which leaves, so that a rename inside changes no key outside.

A key is declared once, in a model. What is told is read into that model, from a mapping or from the fact's own attributes,
and only then written: a key that is missing, new or of another kind is an error and never a file.
"""

from __future__ import annotations

from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, WithJsonSchema

from planestock.exports.files.plain_data import DECIMALS, plain

Number = Annotated[int | float, WithJsonSchema({"type": "number"})]
"""A number, written as it comes: a whole one without a point. Lengths in mm, angles in degrees, masses in g."""

Point = tuple[Number, Number]
"""x and z in the side view, or x and y in plan, mm."""

Place = tuple[Number, Number, Number]
"""x, y and z, mm; or a direction of length 1."""


class Promised(BaseModel):
    """What all objects that leave as JSON have in common: no key beside the declared ones, in the order declared."""

    model_config = ConfigDict(extra="forbid", frozen=True, from_attributes=True, populate_by_name=True)


def key(name: str) -> Any:
    """Return the declaration of a key that is no name in Python, such as "in" or "window.min"."""
    return Field(validation_alias=name, serialization_alias=name)


class PromiseBroken(RuntimeError):
    """Facts do not give what is promised outside; the message names the keys."""


Kind = TypeVar("Kind", bound=Promised)


def promised(model: type[Kind], facts: Any) -> Kind:
    """Return facts as the declared output. Raises PromiseBroken where they do not give it: a fault of the program."""
    try:
        return model.model_validate(facts)
    except ValidationError as error:
        keys = ", ".join(".".join(map(str, one["loc"])) for one in error.errors())
        raise PromiseBroken(f"{model.__name__} does not come out as it is promised: {keys}") from error


def told(output: Promised, decimals: int = DECIMALS) -> dict[str, Any]:
    """Return an output as plain data for JSON, keys in the order declared, floats rounded to so many decimals."""
    data: dict[str, Any] = plain(output.model_dump(by_alias=True), decimals)
    return data
