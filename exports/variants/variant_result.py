"""What a built variant came to, and the file it is kept in: only what is sound is ever taken for a result."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, FiniteFloat, ValidationError

from planestock.exports.files.plain_data import as_json
from planestock.exports.files.written_list import digest_of
from planestock.models.variants.sweep import OUTCOMES

LARGEST = 1_000_000
"""Bytes of a result's file; a true one has some two thousand."""


def _all_outcomes(outcomes: dict[str, float]) -> dict[str, float]:
    if set(outcomes) != set(OUTCOMES):
        raise ValueError("must have every outcome of a sweep and no other")
    return outcomes


Mass = Annotated[FiniteFloat, Field(gt=0)]
"""Grams."""


class Result(BaseModel):
    """Numbers of a built variant. outcomes: those of a sweep; failing: ids of failing checks; masses: of the parts, and mass
    of all of them, in g."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)

    outcomes: Annotated[dict[str, FiniteFloat], AfterValidator(_all_outcomes)]
    failing: list[str]
    masses: dict[str, Mass]
    mass: Mass


class _ResultFile(BaseModel):
    """A result as it is kept. planestock: version of the program; digest: of the set; seal: of the result itself."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)

    planestock: str
    digest: str
    changes: list[str]
    result: Result
    seal: str


def sound(found: Any) -> Result:
    """Return a child's answer as a result. Raises ValueError with the first thing that is wrong."""
    try:
        return Result.model_validate(found)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(map(str, first["loc"])) or "all of it"
        raise ValueError(f"its result is not sound: {place}: {first['msg']}") from error


def as_file(result: Result, digest: str, changes: tuple[str, ...], version: str) -> bytes:
    """Return a result as a file."""
    made = _ResultFile(planestock=version, digest=digest, changes=list(changes), result=result, seal=_seal(result))
    return as_json(made.model_dump()).encode()


def from_file(path: Path, digest: str, version: str) -> Result | None:
    """Return the result that this version of the program kept of the set with this digest, None where none is sound."""
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:
            return None
        kept = _ResultFile.model_validate_json(path.read_bytes())
    except (OSError, ValueError):
        return None
    fits = (kept.digest, kept.planestock, kept.seal) == (digest, version, _seal(kept.result))
    return kept.result if fits else None


def _seal(result: Result) -> str:
    return digest_of(json.dumps(result.model_dump(), sort_keys=True).encode())
