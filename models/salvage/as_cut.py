"""Ways back for a body cut too thin, too thick or too wide at the mouth: what each does to places, mouth and wood.

The body was cut by its layout, but for another thickness T0, so that bed, mouth and throat belong to the old corner D.
The bed plane stays; a way moves either the seat plane along it or the sole. With δ = new thickness - T0 (mm, negative
when the body gets thinner), θ the bed angle and λ, β the leans of wear and breast:

- seat plane moved by δ (pad, shim, lowered seat): D slides along the bed, δ / sin θ up it, and with it frog, casting and
  tote; that is δ cot θ towards the heel. Sole and mouth stay.
- sole moved by δ (slip, planed sole): D and the metal stay; the edge on the sole moves by δ cot θ towards the toe. Where
  the old walls are simply followed, the mouth closes by δ (cot θ + tan λ).

Heights and places are millimetres in the body's own axes; a change of place is towards the heel and up where positive.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.body.layout import Layout
from planestock.models.window import reach
from planestock.models.window.sole_life import mouth_after
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet

WayName = Literal["pad", "slip", "shim", "lower the seat", "plane the sole", "mouth piece", "live with it"]

LEAST_SLIP = 3.0
"""Thinnest slip worth gluing, mm, truings still to come not counted; common practice, no published source."""

LEAST_UNDER_CUT = 2.0
"""Wood of a new pad left below seat and tail, mm, so that what is cut into it does not end in a veneer; common practice,
no published source."""

PIECE_STEP = {"mm": 0.5, "in": 0.508}
"""Pieces to glue on are asked for in steps of this, mm, by the set's unit: half a millimetre, or 0.02 in; the rest is planed
off the body first."""

MOST_SHIM = 1.0
"""Thickest shim, mm: a leaf of veneer or card; beyond it a pad is the sound way; common practice, no published source."""

HOLE_SLACK = 0.3
"""A hole that moves by no more than this, mm, is eased; one that moves further is plugged and bored again; common practice,
no published source."""

STEEPEST_WEAR = 30.0
"""Lean of the wear, degrees, that a slip is made thick enough for when its mouth must be narrower than the old walls
lead to; common practice, no published source."""

LEAST_CHANGE = 0.05
"""A body nearer to the thickness wanted than this, mm, is that thickness: less than a shaving or two; our own
choice."""

LEAST_WEAR = 2.0
"""Least height of the wear that a set may have (throat.wear_height), mm."""


@dataclass(frozen=True)
class AsCut:
    """The body as it was cut. given: the set as wanted; at: layout it was cut to; opening: of its mouth as found, mm.

    limit: ± of its measured thickness, mm; written: that thickness with its ± as a set takes it.
    """

    given: ParameterSet
    at: Layout
    opening: float
    limit: float
    written: str

    @property
    def length(self) -> Lengths:
        """How lengths are written for who made the set."""
        return self.given.lengths

    @property
    def step(self) -> float:
        """Step in which pieces to glue on are asked for, mm."""
        return PIECE_STEP[self.given.units]

    @property
    def thickness(self) -> float:
        """Seat plane to sole as measured, mm."""
        return self.at.thickness

    @property
    def cot(self) -> float:
        """Cotangent of the bed angle."""
        return 1.0 / math.tan(math.radians(self.at.bed_angle))

    @property
    def sin(self) -> float:
        """Sine of the bed angle."""
        return math.sin(math.radians(self.at.bed_angle))


@dataclass(frozen=True)
class Moves:
    """How places move, mm. corner_x, corner_z: the corner D in the wood; along_bed: frog, its foot and screws, up the bed.

    metal_x: casting, its screws, tote; edge_x: edge and bed foot on the sole; all towards the heel.
    """

    corner_x: float
    corner_z: float
    along_bed: float
    metal_x: float
    edge_x: float


@dataclass(frozen=True)
class Mouth:
    """The mouth after a way. followed: its opening if the old walls are only followed; pared_*: what is then taken off.

    opening: as it is to be made, mm; pared_wear, pared_breast: off the front wall, along the body; wear_height,
    wear_lean: of the wear afterwards, mm and degrees.
    """

    before: float
    followed: float
    opening: float
    pared_wear: float
    pared_breast: float
    wear_height: float
    wear_lean: float


@dataclass(frozen=True)
class Piece:
    """Wood (or shim) to be put on, mm. planed_off: what the body loses first where it goes; glue_area: mm²."""

    length: float
    width: float
    thickness: float
    planed_off: float
    glue_area: float

    @property
    def volume(self) -> float:
        """Volume of the piece as sawn, mm³."""
        return self.length * self.width * self.thickness


@dataclass(frozen=True)
class Plan:
    """What one way does. changes: `path=value` that turn the set into that of the salvaged body; None where no set says it.

    judged: the changes by which its numbers are checked; removed: wood cut or planed away, mm³, roughly; surfaces: what must
    be cut or trued again; holes: to plug and bore again; refused: why it cannot be, before any number.
    """

    name: WayName
    thickness: float
    moves: Moves
    mouth: Mouth
    piece: Piece | None
    removed: float
    surfaces: tuple[str, ...]
    holes: tuple[str, ...]
    judged: tuple[str, ...]
    changes: tuple[str, ...] | None
    refused: tuple[str, ...]


def seat_moves(cut: AsCut, delta: float) -> Moves:
    """Return the moves when the seat plane rises by `delta`: D slides up the bed."""
    along = delta * cut.cot
    return Moves(along, delta, delta / cut.sin, along, 0.0)


def sole_moves(cut: AsCut, delta: float) -> Moves:
    """Return the moves when the sole sinks by `delta`: only edge and bed foot move, towards the toe."""
    return Moves(0.0, 0.0, 0.0, 0.0, -delta * cut.cot)


STILL = Moves(0.0, 0.0, 0.0, 0.0, 0.0)
"""Nothing moves."""


def followed_opening(cut: AsCut, delta: float) -> float:
    """Return the mouth's opening on a sole lower by `delta` (higher where negative) when the old walls are only followed.

    Down: bed and wear are carried on. Up: along the wear to its top, then along the breast. Negative where the bed meets the
    wear before it reaches the sole.
    """
    given = cut.given
    if delta <= 0:
        return cut.opening - given.throat.opening.value + mouth_after(given, -delta)
    return cut.opening - delta * float(reach.mouth_growth(cut.at.bed_angle, given.throat.wear_lean.value))


def upwards(value: float, step: float) -> float:
    """Return the next multiple of `step` that is not less than the value, rounding errors forgiven."""
    return math.ceil(value / step - 1e-9) * step


def front_at(cut: AsCut, z: float) -> float:
    """Return where the front wall of the body as cut is at height z above its sole, mm from the toe; z may be below it."""
    throat = cut.given.throat
    wear, breast = (math.tan(math.radians(lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    in_wear = min(z, throat.wear_height.value)
    return cut.at.edge[0] - cut.opening - in_wear * wear - (z - in_wear) * breast


def thick_enough_to_narrow(cut: AsCut, too_wide: float) -> float:
    """Return how thick new wood ahead of the mouth must be to make it `too_wide` mm narrower with no steeper wear than is
    sound."""
    steeper = math.tan(math.radians(STEEPEST_WEAR)) - math.tan(math.radians(cut.given.throat.wear_lean.value))
    return too_wide / steeper if too_wide > 0 and steeper > 0 else 0.0


def narrowed_mouth(cut: AsCut, delta: float, thickness: float) -> Mouth:
    """Return the mouth as wide as is wanted, cut through new wood of that thickness on a sole lower by `delta`.

    The wear leans across the new wood, from the new mouth to the old front wall at its glue line, and only the old wear
    above it is pared away to the breast.
    """
    throat = cut.given.throat
    wear, breast = (math.tan(math.radians(lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    front = cut.at.edge[0] - delta * cut.cot - throat.opening.value
    lean = math.degrees(math.atan2(front - front_at(cut, thickness - delta), thickness))
    left = max(0.0, throat.wear_height.value + delta - thickness) * (breast - wear)
    return Mouth(cut.opening, followed_opening(cut, delta), throat.opening.value, 0.0, max(0.0, left), thickness, lean)


def has_rear_wall(at: Layout) -> bool:
    """Tell whether the casting's pocket ends in a wall at its rear, so that it cannot move without a cut and a gap."""
    return at.let_in > 0 and (at.tail is None or not at.tail_full_width)


def moved_holes(at: Layout, moves: Moves) -> tuple[str, ...]:
    """Return the holes that belong to the metal and move further than `HOLE_SLACK`, each by name."""
    return tuple(_moved_holes(at, moves))


def _moved_holes(at: Layout, moves: Moves) -> Iterator[str]:
    for hole in at.holes:
        shift = {"frog screw": moves.along_bed, "knob bolt": 0.0, "dowel": 0.0}.get(hole.kind, moves.metal_x)
        if abs(shift) > HOLE_SLACK:
            yield hole.name
