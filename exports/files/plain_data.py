"""Plain data for JSON: rounded so that the last bit of a float never shows, tuples as lists, nothing that is no number."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

DECIMALS = 9
"""Decimals of a number: a millionth of a micrometre, short of where the last bit of a float wanders."""


def plain(value: Any, decimals: int = DECIMALS) -> Any:
    """Return a value made of mappings, sequences, numbers and texts as JSON takes it; what is not finite becomes null."""
    if isinstance(value, float):
        return round(value, decimals) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): plain(inner, decimals) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner, decimals) for inner in value]
    return value


def as_json(value: Mapping[str, Any], *, ascii_only: bool = False) -> str:
    """Return plain data as strict JSON text, keys in the order given, ended by a line break."""
    return json.dumps(value, indent=2, ensure_ascii=ascii_only, allow_nan=False) + "\n"
