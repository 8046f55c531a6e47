"""Which of the shop's chisels still fit the throat, and where a float or a file has to take over."""

from __future__ import annotations

from dataclasses import dataclass

from planestock.models.body.layout import Layout
from planestock.params.parameter_set import ParameterSet


@dataclass(frozen=True)
class ChiselFit:
    """slot: length of the mouth along the sole; throat: width of the throat in one half; mm.

    for_slot, for_throat: widest chisel at hand that is no wider, None where all are. narrowest: of all at hand, None where
    there are none. too_wide: chisels at hand that do not enter the slot. reaches_down_to: height above the sole at which the
    narrowest chisel no longer fits between front wall and bed; 0 where it reaches the sole.
    """

    slot: float
    throat: float
    for_slot: float | None
    for_throat: float | None
    narrowest: float | None
    too_wide: tuple[float, ...]
    reaches_down_to: float


def chisel_fit(given: ParameterSet, at: Layout) -> ChiselFit:
    """Return how the chisels at hand fit slot and throat."""
    chisels = sorted(chisel.value for chisel in given.shop.chisels)
    slot = at.bed_foot[0] - at.mouth_front[0]
    throat = at.throat_half_width - at.strip / 2
    return ChiselFit(
        slot=slot,
        throat=throat,
        for_slot=_widest(chisels, slot),
        for_throat=_widest(chisels, throat),
        narrowest=chisels[0] if chisels else None,
        too_wide=tuple(chisel for chisel in chisels if chisel > slot),
        reaches_down_to=gap_height(at, chisels[0]) if chisels else at.height,
    )


def _widest(chisels: list[float], room: float) -> float | None:
    return max((chisel for chisel in chisels if chisel <= room), default=None)


def gap_height(at: Layout, wanted: float) -> float:
    """Return the lowest height at which the throat is `wanted` mm long from front wall to bed; 0 where it is at the sole."""
    (fx, _), (wx, wz), (bx, bz) = at.mouth_front, at.wear_top, at.breast_top
    cotangent = at.up_the_bed[0] / at.up_the_bed[1]
    foot = at.bed_foot[0]
    if foot - fx >= wanted:
        return 0.0
    growth = cotangent + (fx - wx) / wz
    height = (wanted - (foot - fx)) / growth
    if height <= wz:
        return height
    at_wear = foot + wz * cotangent - wx
    return wz + (wanted - at_wear) / (cotangent + (wx - bx) / (bz - wz))
