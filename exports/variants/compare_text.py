"""A comparison in words and figures: rows for tables on screen and page, and plain data for machines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from planestock.exports.wording.numbers import measured
from planestock.exports.wording.window_notes import window_notes
from planestock.models.variants.compare import Comparison, Difference, Outcome, Variant
from planestock.params.lengths import METRIC, Lengths

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
"""Short names of variants in tables; there are more of them than a comparison has variants."""


NOTHING = "–"
"""Stands where a variant has no value."""

SLOPES = ("mouth.growth_per_mm",)
"""Outcomes that are so much of a length for each of a length: one number in every unit."""


@dataclass(frozen=True)
class Cell:
    """One row of a table: its title, one value for each variant, and a note beside each, empty where there is none.

    path: of the field, empty for what follows.
    """

    title: str
    path: str
    values: tuple[str, ...]
    notes: tuple[str, ...]
    differs: bool


def letter(index: int) -> str:
    """Return a variant's short name."""
    return LETTERS[index]


def input_rows(found: Comparison) -> list[Cell]:
    """Return a row for each field that differs."""
    return [_input(one) for one in found.differences]


def _input(one: Difference) -> Cell:
    return Cell(one.title, one.path, one.texts, ("",) * len(one.texts), True)


def outcome_rows(found: Comparison) -> list[Cell]:
    """Return a row for each outcome that any variant has."""
    return [_outcome(one, found.lengths) for one in found.outcomes if any(value is not None for value in one.values)]


def _outcome(one: Outcome, length: Lengths) -> Cell:
    spreads: Sequence[float | None] = one.spread or (None,) * len(one.values)
    shown = METRIC if one.key in SLOPES else length
    values = tuple(_value(value, spread, one.unit, shown) for value, spread in zip(one.values, spreads, strict=True))
    unit = {"mm": f", {length.units}", "deg": ", °", "g": ", g"}.get(one.unit, "")
    return Cell(f"{_title(one.title, length)}{unit}", "", values, one.notes or ("",) * len(values), _differ(values))


def _title(title: str, length: Lengths) -> str:
    """Return an outcome's title; a slope is told by the unit that it is read in."""
    return title.replace("per mm off", f"per {length.units} off")


def _differ(values: Sequence[str]) -> bool:
    """Tell whether values differ as they are shown; a variant that has none is no difference."""
    return len({value for value in values if value != NOTHING}) > 1


def _value(value: float | None, spread: float | None, unit: str, length: Lengths) -> str:
    if value is None:
        return NOTHING
    if unit == "g":
        return f"{value:.0f}"
    number = length.number(value) if unit == "mm" else measured(value, "")
    return number if spread is None else f"{number} ± {length.number(spread)}"


def window_lines(found: Comparison) -> list[str]:
    """Return what the windows rest on, each sentence once, with the letters of the variants that it holds for."""
    holds: dict[str, list[str]] = {}
    for index, variant in enumerate(found.variants):
        for note in notes_of(variant):
            holds.setdefault(note, []).append(letter(index))
    return [f"{', '.join(letters)}: {note}" for note, letters in holds.items()]


def notes_of(variant: Variant) -> tuple[str, ...]:
    """Return what a variant's window rests on besides readings as they were written, in sentences."""
    return () if variant.made is None else window_notes(variant.made.settled)


def as_data(found: Comparison) -> dict[str, Any]:
    """Return the comparison as plain data: lengths in mm, angles in degrees, masses in g."""
    from planestock.exports.files.promised import promised, told
    from planestock.exports.variants.compare_schema import ComparisonFound

    facts = {
        "variants": [
            {
                "label": variant.label,
                "name": variant.given.name,
                "digest": variant.given.digest,
                "problem": variant.problem or None,
                "solids_checked": variant.solids and variant.made is not None,
                "failing": variant.failing,
                "window_notes": notes_of(variant),
                "warning": tuple(row.id for row in variant.rows if row.verdict == "warn"),
            }
            for variant in found.variants
        ],
        "differences": [{"path": one.path, "title": one.title, "values": one.texts} for one in found.differences],
        "outcomes": {one.key: one for one in found.outcomes},
    }
    return told(promised(ComparisonFound, facts))
