"""Wood screws by gauge number, and the pilot holes they want.

Basic diameter: ASME B18.6.1, D = 0.060 + 0.013 N inch. Root diameters at mid-thread as tabulated in common screw charts; the
Wood Handbook (FPL-GTR-190, p. 8-10) gives about two-thirds of the shank for most sizes, which they agree with; the NDS
(table L3) uses larger root diameters, a convention not followed here. Pilot holes: 90 % of the root in hardwood, 70 % in
softwood (NDS commentary, the rule before its 1962 edition; the same in the Wood Handbook, p. 8-11, from memory).
"""

from __future__ import annotations

INCH = 25.4

ROOT_INCHES = {4: 0.075, 6: 0.094, 8: 0.112, 10: 0.130, 12: 0.148, 14: 0.165, 16: 0.184}
"""Root diameter at mid-thread by gauge, inch, as tabulated in common screw charts, no published source; about two thirds of
the shank, as the Wood Handbook (FPL-GTR-190, p. 8-10) has it on average."""

HARDWOOD_FROM = 0.5
"""Specific gravity (12 % moisture) from which a wood is drilled as hardwood: our own line between the two, no source has it.

The later rule of the NDS goes by gravity alone, and asks 90 % from 0.6 on; the tighter hole holds better where wood is soft
and the casting's screws are driven once, the wider one spares a hard, brittle wood."""

HARDWOOD_SHARE, SOFTWOOD_SHARE = 0.90, 0.70
"""Pilot as a share of the root diameter: NDS commentary, part XI, the rule before the 1962 edition, as quoted."""


def shank_diameter(gauge: int) -> float:
    """Return the basic diameter of a wood screw, mm (ASME B18.6.1). gauge: 4 to 16."""
    return INCH * (0.060 + 0.013 * gauge)


def root_diameter(gauge: int) -> float:
    """Return the root diameter at mid-thread, mm; odd gauges take the mean of their neighbours."""
    if gauge in ROOT_INCHES:
        return INCH * ROOT_INCHES[gauge]
    return INCH * (ROOT_INCHES[gauge - 1] + ROOT_INCHES[gauge + 1]) / 2


def pilot_diameter(gauge: int, specific_gravity: float) -> float:
    """Return the pilot hole for the thread, mm, for a wood of this specific gravity at 12 % moisture."""
    share = HARDWOOD_SHARE if specific_gravity >= HARDWOOD_FROM else SOFTWOOD_SHARE
    return share * root_diameter(gauge)
