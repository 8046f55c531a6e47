"""The pieces of wood to buy and saw: finished and rough sizes, volume, and the mass of each finished part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planestock.models.body.layout import Layout
from planestock.params.parameter_set import ParameterSet
from planestock.params.species import species

LENGTH_ALLOWANCE = 25.0
"""Added to a rough length, mm, for square ends and checks; common practice, no published source."""

WIDTH_ALLOWANCE = 6.0
"""Added to a rough width, mm, for planing straight after it has moved; common practice, no published source."""

THICKNESS_ALLOWANCE = 4.0
"""Added to a rough thickness, mm, likewise; common practice, no published source."""

DOWEL_SHORT = 2.0
"""A dowel is shorter than its two holes by this, mm, for glue; from memory, 1.5 to 2 mm."""

LITRE = 1e6
"""mm³ in a litre."""

BOARD_FOOT = 144 * 25.4**3
"""mm³ in a board foot: 144 cubic inches."""


@dataclass(frozen=True)
class Size:
    """Length along the grain, width (the larger of the other two) and thickness, mm."""

    length: float
    width: float
    thickness: float

    @property
    def volume(self) -> float:
        """Volume, mm³."""
        return self.length * self.width * self.thickness


@dataclass(frozen=True)
class Piece:
    """One kind of piece. finished, rough: sizes of one; mass: of one finished part, grams, None where it is not known.

    upright: whether the width of the piece stands upright in the body (halves, strip) or lies level (pad, slip).
    """

    name: str
    count: int
    material: str
    finished: Size
    rough: Size
    upright: bool
    mass: float | None

    @property
    def litres(self) -> float:
        """Rough volume of all of them, litres."""
        return self.count * self.rough.volume / LITRE

    @property
    def board_feet(self) -> float:
        """Rough volume of all of them, board feet."""
        return self.count * self.rough.volume / BOARD_FOOT


@dataclass(frozen=True)
class DowelStock:
    """Dowels to cut: how many, diameter and length of each, mm."""

    count: int
    diameter: float
    length: float


def cut_list(given: ParameterSet, at: Layout, masses: Mapping[str, float]) -> tuple[Piece, ...]:
    """Return the pieces. masses: of the finished parts by name, grams, as far as they are known."""
    return tuple(_pieces(given, at, masses))


def _pieces(given: ParameterSet, at: Layout, masses: Mapping[str, float]) -> Iterator[Piece]:
    upright, whole = at.height - at.pad - at.slip, 2 * at.plan.half_width
    wood = given.wood
    rows = (
        ("half", "right half", 2, wood.species, upright, at.plan.half_width - at.strip / 2, True),
        ("centre strip", "centre strip", 1, wood.strip_species or wood.species, upright, at.strip, True),
        ("pad", "pad", 1, wood.pad_species or wood.species, whole, at.pad, False),
        ("slip", "slip", 1, wood.slip_species or wood.species, whole, at.slip, False),
    )
    for name, part, count, kind, width, thickness, stands in rows:
        if thickness > 0:
            finished = Size(at.length, width, thickness)
            yield Piece(name, count, species(kind).name, finished, _rough(finished), stands, masses.get(part))


def _rough(finished: Size) -> Size:
    return Size(
        finished.length + LENGTH_ALLOWANCE, finished.width + WIDTH_ALLOWANCE, finished.thickness + THICKNESS_ALLOWANCE
    )


def dowel_stock(given: ParameterSet, at: Layout) -> DowelStock | None:
    """Return the dowels to cut, None where there are none."""
    dowels = [hole for hole in at.holes if hole.kind == "dowel"]
    if not dowels:
        return None
    return DowelStock(len(dowels), given.body.dowels.diameter.value, dowels[0].depth - DOWEL_SHORT)
