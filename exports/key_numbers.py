"""The few numbers that tell a design, and how numbers are written for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planestock.models.check_rows import Row
    from planestock.models.design import Design

SMALLEST_WRITTEN_OUT = 0.005
"""Values below this would read 0.00 with two decimals and are written with a power of ten."""


NOTHING = 1e-12
"""What arithmetic leaves of nought; smaller than any tolerance that a check holds."""

RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
"""Digits of a power."""


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
    return (
        f"A transitional plane with a wooden body {at.length:.0f} mm long, {given.body.width.value:.0f} mm wide and "
        f"{at.height:.0f} mm high, bed at {given.frog.bed_angle.value:g}°; thickness {settled.thickness:.2f} mm in a window "
        f"from {window.low:.2f} to {window.high:.2f} mm; mouth {given.throat.opening.value:.2f} mm"
    )


def verdict_in_words(rows: tuple[Row, ...]) -> str:
    """Return one sentence that sums up the checks."""
    count = {word: sum(row.verdict == word for row in rows) for word in ("pass", "warn", "fail")}
    if count["fail"]:
        return f"{count['fail']} of {len(rows)} checks fail: do not cut wood yet."
    if count["warn"]:
        return f"No check fails; {count['warn']} of {len(rows)} warn."
    return f"All {len(rows)} checks pass."


def measured(value: float | None, unit: str) -> str:
    """Return a check's value or limit with its unit; a dash where there is nothing to measure."""
    if value is None:
        return "–"
    signless = 0.0 if abs(value) < NOTHING else value
    if unit == "deg":
        return degrees(signless)
    whole = unit == "" and signless == round(signless)
    return f"{signless:.0f}" if whole else f"{_decimal(signless)} {unit}".rstrip()


def _decimal(value: float) -> str:
    """Return a number with two decimals; a smaller one than they show with a power of ten, as people write it."""
    if value == 0 or abs(value) >= SMALLEST_WRITTEN_OUT:
        return f"{value:.2f}".replace("-", "−")
    digits, power = f"{value:.0e}".split("e")
    return f"{digits} × 10{str(int(power)).translate(RAISED)}".replace("-", "−")


def millimetres(value: float, units: str = "mm") -> str:
    """Return a length with two decimals and its unit; for a set in inches these beside it: `46.20 mm (1.819 in)`."""
    metric = f"{value + 0.0:.2f} mm"
    return (f"{metric} ({value / 25.4 + 0.0:.3f} in)" if units == "in" else metric).replace("-", "−")


def degrees(value: float) -> str:
    """Return an angle with as many decimals as it has, two at most."""
    return f"{round(value, 2) + 0.0:g}°".replace("-", "−")
