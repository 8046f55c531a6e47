"""The printer's bed: what fits on it, and pieces laid out on plates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.solids.parts import Vector
from planestock.params.lengths import Lengths
from planestock.params.wanted import Printer

Array = npt.NDArray[np.float64]

APART = 6.0
"""Room between pieces on a plate, mm, for a brim round each (common practice, no published source)."""

SPIN_STEP = 3
"""Degrees between the turns that are tried when a piece does not fit straight."""

SNUG = 1e-6
"""A piece may be this much over the printer's size, mm: rounding of turned coordinates."""


@dataclass(frozen=True)
class Bed:
    """Printable length, width and height, mm."""

    x: float
    y: float
    z: float


def bed_of(printer: Printer) -> Bed:
    """Return the bed of a printer as declared."""
    return Bed(printer.x.value, printer.y.value, printer.z.value)


def spin_that_fits(points: Array, bed: Bed) -> float | None:
    """Return the turn on the bed, degrees, with which points (n, 3) fit; straight ones first; None where none does."""
    if np.ptp(points[:, 2]) > bed.z + SNUG:
        return None
    outer = points[:, :2][hull_of(points[:, :2])]
    for spin in (0, 90, *range(SPIN_STEP, 180, SPIN_STEP)):
        cos, sin = math.cos(math.radians(spin)), math.sin(math.radians(spin))
        if np.ptp(outer @ (cos, -sin)) <= bed.x + SNUG and np.ptp(outer @ (sin, cos)) <= bed.y + SNUG:
            return float(spin)
    return None


def hull_of(points: Array) -> npt.NDArray[np.int64]:
    """Return the indices of points (n, 2) that bound the others."""
    from scipy.spatial import ConvexHull

    found: npt.NDArray[np.int64] = np.asarray(ConvexHull(points).vertices, dtype=np.int64)
    return found


def longest_on(down: Vector, wide: float, high: float, bed: Bed) -> float:
    """Return the longest box, `wide` in y and `high` in z, that lies on the bed on that side, mm; 0 where none does."""
    return _longest_flat(high, wide, bed) if abs(down[1]) > abs(down[2]) else _longest_flat(wide, high, bed)


def _longest_flat(across: float, up: float, bed: Bed) -> float:
    """Return the longest rectangle `across` wide on the bed, from L cos a + b sin a <= x, L sin a + b cos a <= y."""
    if up > bed.z:
        return 0.0
    spins = np.radians(np.arange(0, 91, SPIN_STEP))
    cos, sin = np.cos(spins), np.sin(spins)
    with np.errstate(divide="ignore"):
        along_x = np.where(
            cos > 1e-9, (bed.x - across * sin) / np.maximum(cos, 1e-12), np.where(across <= bed.x, np.inf, -1)
        )
        along_y = np.where(
            sin > 1e-9, (bed.y - across * cos) / np.maximum(sin, 1e-12), np.where(across <= bed.y, np.inf, -1)
        )
    return max(0.0, float(np.minimum(along_x, along_y).max()))


Places = list[tuple[int, tuple[float, float]]]
"""Pieces on one plate by their index, each with the place of its lowest corner."""


def plates(footprints: Sequence[tuple[float, float]], bed: Bed) -> list[Places]:
    """Return plates, each with the places of its pieces in rows across the bed; every footprint must fit by itself.

    Deep pieces come first, which keeps the rows full; equal ones keep their order.
    """
    order = sorted(range(len(footprints)), key=lambda index: (-footprints[index][1], -footprints[index][0], index))
    laid: list[_Plate] = []
    for index in order:
        plate = next((one for one in laid if one.take(index, footprints[index], bed)), None)
        if plate is None:
            laid.append(_Plate([], []))
            laid[-1].take(index, footprints[index], bed)
    return [plate.places for plate in laid]


@dataclass
class _Plate:
    """A plate while it is filled. rows: start, depth and used length of each."""

    places: Places
    rows: list[tuple[float, float, float]]

    def take(self, index: int, footprint: tuple[float, float], bed: Bed) -> bool:
        """Put a piece into the first row with room, or into a new row; tell whether there was any."""
        length, depth = footprint
        for number, (start, deep, used) in enumerate(self.rows):
            if depth <= deep + SNUG and used + length <= bed.x + SNUG:
                self.places.append((index, (used, start)))
                self.rows[number] = (start, deep, used + length + APART)
                return True
        start = sum(deep + APART for _, deep, _ in self.rows)
        if start + depth > bed.y + SNUG:
            return False
        self.places.append((index, (0.0, start)))
        self.rows.append((start, depth, length + APART))
        return True


def bed_words(bed: Bed, length: Lengths) -> str:
    """Return a bed's room in words: `220 × 220 mm, 250 mm high`, `8.7 × 8.7 in, 9.8 in high`."""
    decimals = 0 if length.units == "mm" else 1
    return f"{length.sizes(bed.x, bed.y, decimals=decimals)}, {length.sizes(bed.z, decimals=decimals)} high"


TRUE_TO = (0.2, 0.3)
"""How true a print is, mm (common practice, no published source)."""


def true_to(length: Lengths) -> str:
    """Return in words how true a print is."""
    best, worst = TRUE_TO
    return f"{length.short(best).removesuffix(f' {length.units}')} to {length.short(worst)}"
