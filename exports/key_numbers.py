"""The few numbers that tell a design, and how numbers are written for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planestock.models import reach

if TYPE_CHECKING:
    from planestock.models.check_rows import Row
    from planestock.models.design import Design

SMALLEST_WRITTEN_OUT = 0.005
"""Values below this would read 0.00 with two decimals and are written with a power of ten."""


@dataclass(frozen=True)
class KeyNumber:
    """One number with its name and a few words on what it is; all ready to be read."""

    name: str
    value: str
    words: str


def key_numbers(design: Design) -> tuple[KeyNumber, ...]:
    """Return the numbers a maker looks for first, from the thickness to the clearance angle."""
    given, at, settled = design.given, design.layout, design.settled
    window, thickness = settled.window, settled.thickness
    theta = given.frog.bed_angle.value
    growth = float(reach.mouth_growth(theta, given.throat.wear_lean.value))
    clearance = float(reach.clearance_angle(theta, given.iron.bevel_angle.value))
    return (
        KeyNumber("Thickness", millimetres(thickness), f"seat plane to sole, {'chosen from the window' if settled.chosen else 'as given'}"),
        KeyNumber("Window", f"{window.low:.2f} to {millimetres(window.high)}", "thicknesses that work"),
        KeyNumber("Edge comes out", millimetres(window.out(thickness)), "below the sole, adjuster all the way out"),
        KeyNumber("Edge goes back", millimetres(window.back(thickness)), "above the sole, adjuster all the way back"),
        KeyNumber("Wear left", millimetres(window.wear_left(thickness)), "may be planed off the sole"),
        KeyNumber("Mouth", millimetres(given.throat.opening.value), f"grows {growth:.2f} mm for each mm planed off the sole"),
        KeyNumber("Bed", degrees(theta), f"clearance behind the edge {degrees(clearance)}"),
        KeyNumber("Body", f"{_plain(at.length)} × {_plain(given.body.width.value)} × {_plain(at.height)} mm",
                  f"long, wide and high, of {given.wood.species}"),
    )  # fmt: skip


def seen_in_words(design: Design) -> str:
    """Return one sentence that says what is drawn, for those who cannot see it."""
    at, window, thickness = design.layout, design.settled.window, design.settled.thickness
    return (
        f"A transitional plane with a wooden body {at.length:.0f} mm long, {design.given.body.width.value:.0f} mm wide and "
        f"{at.height:.0f} mm high, bed at {design.given.frog.bed_angle.value:g}°; thickness {thickness:.2f} mm in a window from "
        f"{window.low:.2f} to {window.high:.2f} mm; mouth {design.given.throat.opening.value:.2f} mm"
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
    signless = 0.0 if abs(value) < 1e-9 else value
    number = f"{signless:.2f}" if signless == 0 or abs(signless) >= SMALLEST_WRITTEN_OUT else f"{signless:.1g}"
    if unit == "":
        return f"{signless:.0f}" if signless == round(signless) else number
    return degrees(signless) if unit == "deg" else f"{number} {unit}"


def millimetres(value: float) -> str:
    """Return a length with two decimals and its unit."""
    return f"{value + 0.0:.2f} mm".replace("-", "−")


def degrees(value: float) -> str:
    """Return an angle with as many decimals as it has, two at most."""
    return f"{round(value, 2) + 0.0:g}°".replace("-", "−")


def _plain(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}"
