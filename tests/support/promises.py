"""Whether data is what an output promises: in the eyes of its model, of a second library with the printed schema, and key by
key."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema_rs import Draft202012Validator
from pydantic import ValidationError

from planestock.exports.files.promised import promised, told
from planestock.exports.schemas import model_of, schema_of


def require_promised(name: str, data: Any) -> None:
    """Fail unless data is what an output of this name promises, in pydantic's eyes and in those of a second library."""
    model_of(name).model_validate_json(json.dumps(data))
    assert [error.message for error in Draft202012Validator(schema_of(name)).iter_errors(data)] == []
    assert in_order(data, told(promised(model_of(name), data))), "keys in the order declared"


def in_order(one: Any, other: Any) -> bool:
    return json.dumps(one) == json.dumps(other)


def objects(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of every object in plain data, the first of each list standing for all."""
    if isinstance(data, dict):
        yield path
        for key, inner in data.items():
            yield from objects(inner, (*path, key))
    elif isinstance(data, list) and data:
        yield from objects(data[0], (*path, 0))


def at(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def require_every_key_counts(name: str, data: Any, free: tuple[str, ...] = ()) -> None:
    """Fail unless each key that is taken away, and each that is added, is noticed. free: keys of objects that are open."""
    model = model_of(name)
    for path in objects(data):
        if set(path) & set(free):
            continue
        for key in at(data, path):
            changed = copy.deepcopy(data)
            del at(changed, path)[key]
            with pytest.raises(ValidationError):
                model.model_validate(changed)
        changed = copy.deepcopy(data)
        at(changed, path)["another_key"] = 1
        with pytest.raises(ValidationError):
            model.model_validate(changed)
