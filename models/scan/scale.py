"""The unit of a scan: as stated, as the file says, or told by its size. One that is wrong by a usual factor is named, not
used."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from planestock.models.scan.motion import Array
from planestock.models.scan.subjects import widest
from planestock.params.problems import InputProblem, refuse

Unit = Literal["mm", "cm", "m", "in"]

UNITS: dict[Unit, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in each unit; an inch is 25.4 mm exactly."""

OF_3MF = {"micron": 1e-3, "millimeter": 1.0, "centimeter": 10.0, "inch": 25.4, "foot": 304.8, "meter": 1000.0}
"""Millimetres in the units of 3MF (core specification 1.4.0, 3.4)."""

USUAL = (25.4, 1000.0, 10.0, 2.54, 100.0, 39.37007874015748)
"""Factors that units are taken for one another by, the usual ones first: inch and mm, m and mm, cm and mm, inch and cm, m
and cm, m and inch."""

LIKELY = 1.5
"""A scan that a factor brings this near to the design's size has most likely that fault: some of it is missing, or there is
more."""

FITS = 1.8
"""Most that a scan may be larger or smaller than the design's thing, as a factor of its width from
corner to corner: handles, a piece of the bench, or a part that was not scanned. Below the smallest usual factor, 2.54,
whichever way."""


@dataclass(frozen=True)
class Scale:
    """Millimetres in one of the file's units, and how that is known. words: for people."""

    millimetres: float
    words: str


def scale_of(name: str, vertices: Array, expected: float, asked: tuple[Unit | None, float], stated: str | None) -> Scale:
    """Return the scale of a scan. name: of the file; expected: largest distance between two of the thing's points,
    mm; asked: unit that the user states
    and what they want it multiplied by beside; stated: the unit in the file.

    Raises InputProblem where the scan's size does not fit; it names a usual factor and the option that puts it right.
    """
    size = widest(vertices)
    unit, factor = asked
    if unit is not None:
        return _held(name, size, expected, Scale(UNITS[unit] * factor, f"{unit}, as stated{_times(factor)}"))
    if stated is not None:
        if stated not in OF_3MF:
            raise refuse(name, stated, f"the file's unit is none of {', '.join(OF_3MF)}", "state it: --unit mm")
        return _held(name, size, expected, Scale(OF_3MF[stated] * factor, f"{stated}, as the file says{_times(factor)}"))
    inferred = min(UNITS, key=lambda one: abs(math.log(size * UNITS[one] * factor / expected)))
    words = f"{inferred}, told by its size{_times(factor)}; state it with --unit if that is wrong"
    return _held(name, size, expected, Scale(UNITS[inferred] * factor, words))


def likely(size: float, expected: float, factor: float, stated: str | None) -> bool:
    """Tell whether a thing that is `size` wide in the file's numbers can be what the scan shows, in any unit there is: one
    that is stated wrongly is for `scale_of` to refuse."""
    units = [*UNITS.values(), *([OF_3MF[stated]] if stated in OF_3MF else [])]
    return any(1 / FITS <= size * one * factor / expected <= FITS for one in units)


def _times(factor: float) -> str:
    return "" if factor == 1.0 else f", times {factor:g}"


def _held(name: str, size: float, expected: float, scale: Scale) -> Scale:
    """Return a scale under which the size fits. Raises InputProblem else."""
    ratio = size * scale.millimetres / expected
    if 1 / FITS <= ratio <= FITS:
        return scale
    raise _misfit(name, size * scale.millimetres, expected, scale)


def _misfit(name: str, size: float, expected: float, scale: Scale) -> InputProblem:
    shown = f"{size:.4g} mm from corner to corner, its unit taken as {scale.words.split(',')[0]}"
    ways = [(factor, way) for factor in USUAL for way in (1, -1)]
    strays = [abs(math.log(size * factor**way / expected)) for factor, way in ways]
    likely = next((number for number, stray in enumerate(strays) if stray <= math.log(LIKELY)), strays.index(min(strays)))
    by, times = ways[likely]
    right = by**times
    if not 1 / FITS <= size * right / expected <= FITS:
        rule = f"the design's is {expected:.0f} mm, and no usual factor lies between"
        return refuse(name, shown, rule, "check that scan and set are of the same plane, and what --of says it shows")
    way = "small" if times > 0 else "large"
    rule = f"is wrong by a factor of {by:g}: {by:g} times too {way}, as the design's is {expected:.0f} mm"
    return refuse(name, shown, rule, _right_option(scale.millimetres * right))


def _right_option(millimetres: float) -> str:
    for unit, size in UNITS.items():
        if math.isclose(size, millimetres, rel_tol=1e-3):
            return f"give --unit {unit}"
    return f"give --unit mm --scale {millimetres:.6g}"
