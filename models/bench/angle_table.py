"""Angles for saw, chisel guide and drill, each with its complement and as a slope that a bevel gauge is set by."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.bench.drill_table import drillings
from planestock.models.body.layout import Layout
from planestock.params.parameter_set import ParameterSet

Use = Literal["saw and chisel guide", "drill", "grindstone"]

SLOPE_BASE = 100.0
"""The longer leg of a slope, mm: as long as a rule that is at hand."""


@dataclass(frozen=True)
class Slope:
    """One angle. from_sole: acute, degrees; leans: the way its upper end leans for a cut, its lower end for a drill.

    rise, run: legs of the slope, mm, the longer one `SLOPE_BASE`.
    """

    name: str
    use: Use
    from_sole: float
    leans: Literal["toe", "heel", ""]

    @property
    def from_plumb(self) -> float:
        """The complement: from a square stood on the sole, degrees."""
        return 90.0 - self.from_sole

    @property
    def rise(self) -> float:
        """Height of the slope, mm."""
        return SLOPE_BASE * min(1.0, _tangent(self.from_sole))

    @property
    def run(self) -> float:
        """Length of the slope along the sole, mm."""
        return SLOPE_BASE * min(1.0, _tangent(self.from_plumb))


def _tangent(angle: float) -> float:
    return math.tan(math.radians(min(angle, 89.999999))) if angle > 0 else 0.0


def slopes(given: ParameterSet, at: Layout) -> tuple[Slope, ...]:
    """Return every angle that is sawn, pared, drilled or ground; a hole square to its face is not among them."""
    throat = given.throat
    cuts = (
        Slope("bed", "saw and chisel guide", at.bed_angle, "heel"),
        _leaning("wear", throat.wear_lean.value),
        _leaning("breast", throat.breast_lean.value),
    )
    bevel = Slope("iron's bevel, to its flat face", "grindstone", given.iron.bevel_angle.value, "")
    return (*cuts, *_drills(given, at), bevel)


def _leaning(name: str, lean: float) -> Slope:
    return Slope(name, "saw and chisel guide", 90.0 - abs(lean), "toe" if lean > 0 else "heel" if lean < 0 else "")


def _drills(given: ParameterSet, at: Layout) -> Iterator[Slope]:
    seen: set[tuple[str, float]] = set()
    for one in drillings(given, at):
        key = (one.kind, round(one.from_plumb, 6))
        if one.from_plumb == 0 or key in seen:
            continue
        seen.add(key)
        yield Slope(one.kind, "drill", 90.0 - abs(one.from_plumb), "heel" if one.from_plumb > 0 else "toe")
