"""What differs between variants: values of the sets, and the numbers that follow from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planestock.exports.app.evaluation import titled
from planestock.exports.app.fields import shown_default
from planestock.exports.app.states import Variant
from planestock.params.catalogue import catalogue, declared

Entry = dict[str, Any]


def differences(variants: Sequence[Variant]) -> Entry:
    """Return rows of values and rows of numbers that differ; each has one text for each variant, in their order."""
    return {
        "of": [variant.id for variant in variants],
        "values": [_row(path, titled(path), variants) for path in _paths(variants) if _differs(path, variants)],
        "numbers": _numbers(variants),
    }


def _paths(variants: Sequence[Variant]) -> list[str]:
    """Return every path that a variant has a value at, in the order of the bench."""
    order = {one.path.replace("[]", ""): index for index, one in enumerate(catalogue())}
    found = {path for variant in variants for path in variant.now.values}
    return sorted(found, key=lambda path: (order.get(_unnumbered(path), len(order)), path))


def _unnumbered(path: str) -> str:
    return ".".join("" if name.isdecimal() else name for name in path.split(".")).replace("..", ".")


def _differs(path: str, variants: Sequence[Variant]) -> bool:
    return len({_meant(path, variant) for variant in variants}) > 1


def _meant(path: str, variant: Variant) -> object:
    text = _text(path, variant)
    try:
        return float(text)
    except ValueError:
        return text


def _text(path: str, variant: Variant) -> str:
    """Return a value as it was typed, else what leaving it out means."""
    field = declared(path)
    default = None if field is None or field.is_required() else shown_default(field.default)
    return variant.now.values.get(path) or default or "–"


def _row(path: str, title: str, variants: Sequence[Variant]) -> Entry:
    return {"path": path, "title": title, "texts": [_text(path, variant) for variant in variants]}


def _numbers(variants: Sequence[Variant]) -> list[Entry]:
    """Return the key numbers that differ; a variant that has none yet shows a dash."""
    found = [{one["name"]: one["value"] for one in variant.good["key"]} if variant.good else {} for variant in variants]
    names = list(dict.fromkeys(name for one in found for name in one))
    rows = [{"title": name, "texts": [one.get(name, "–") for one in found]} for name in names]
    return [row for row in rows if len(set(row["texts"])) > 1]
