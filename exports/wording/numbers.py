"""The few numbers that tell a design, and how numbers are written for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planestock.params.lengths import DECIMALS, METRIC, Lengths, decimal
from planestock.params.reading import LengthUnit

if TYPE_CHECKING:
    from planestock.models.checks.rows import Row
    from planestock.models.design import Design

LEFT_BY_ARITHMETIC = 1e-12
"""What arithmetic leaves of nought; smaller than any tolerance that a check holds."""

NOTHING = {"mm³": 1e-6}
"""The same of values that the solid kernel makes, by unit: a millionth of a mm³ is a cube of a hundredth of a mm, which no
facet shows."""


@dataclass(frozen=True)
class KeyNumber:
    """One number with its name and a few words on what it is; all ready to be read."""

    name: str
    value: str
    words: str


def seen_in_words(design: Design) -> str:
    """Return one sentence that says what is drawn, for those who cannot see it."""
    at, given, settled = design.layout, design.given, design.settled
    window = settled.window
    length = given.lengths
    return (
        f"A transitional plane with a wooden body {length.rough(at.length)} long, {length.rough(given.body.width.value)} "
        f"wide and {length.rough(at.height)} high, bed at {given.frog.bed_angle.value:g}°; thickness "
        f"{length(settled.thickness)} in a window from {length.span(window.low, window.high)}; mouth "
        f"{length(given.throat.opening.value)}"
    )


def verdict_in_words(rows: tuple[Row, ...]) -> str:
    """Return one sentence that sums up the checks."""
    count = {word: sum(row.verdict == word for row in rows) for word in ("pass", "warn", "fail")}
    if count["fail"]:
        return f"{count['fail']} of {len(rows)} checks {'fails' if count['fail'] == 1 else 'fail'}: do not cut wood yet."
    if count["warn"]:
        return f"No check fails; {count['warn']} of {len(rows)} {'warns' if count['warn'] == 1 else 'warn'}."
    return f"All {len(rows)} checks pass."


def measured(value: float | None, unit: str, lengths: Lengths = METRIC, *, finer: int = 0) -> str:
    """Return a check's value or limit with its unit; a dash where there is nothing to measure.

    lengths: how the set has them; finer: decimals beyond the usual ones.
    """
    if value is None:
        return "–"
    if unit == "mm":
        places = DECIMALS[lengths.units] + finer
        return f"{lengths.number(value, places)} {lengths.units}"
    kept = 0.0 if abs(value) < NOTHING.get(unit, LEFT_BY_ARITHMETIC) else value
    if unit == "deg":
        return degrees(kept, 2 + finer)
    if unit == "mm³":
        return f"{decimal(kept, 2 + finer)} mm³" if lengths.units == "mm" else f"{decimal(kept / 25.4**3, 5 + finer)} in³"
    whole = unit == "" and kept == round(kept)
    return f"{kept:.0f}" if whole else f"{decimal(kept, 2 + finer)} {unit}".rstrip()


def millimetres(value: float, units: LengthUnit = "mm") -> str:
    """Return a length with its unit; for a set in inches these first and millimetres beside them: `1.819 in (46.20 mm)`."""
    return METRIC(value) if units == "mm" else f"{Lengths('in')(value)} ({METRIC(value)})"


def degrees(value: float, places: int = 2) -> str:
    """Return an angle with as many decimals as it has, `places` at most."""
    return f"{round(value, places) + 0.0:g}°".replace("-", "−")
