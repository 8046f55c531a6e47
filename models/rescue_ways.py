"""Ways back for a body that was cut too thin or too thick: what each one does to thickness, places, mouth and wood.

The body was cut by its layout, but for another thickness T0, so that bed, mouth and throat belong to the old corner D. The bed
plane stays; a way moves either the seat plane along it or the sole. With δ = new thickness - T0 (mm, negative when the body
gets thinner), θ the bed angle and λ, β the leans of wear and breast:

- seat plane moved by δ (pad, shim, lowered seat): D slides along the bed, δ / sin θ up it, and with it frog, casting and tote;
  that is δ cot θ towards the heel. Sole and mouth stay.
- sole moved by δ (slip, planed sole): D and the metal stay; the edge on the sole moves by δ cot θ towards the toe. Where the
  old walls are simply followed, the mouth closes by δ (cot θ + tan λ).

Heights and places are millimetres in the body's own axes; a change of place is towards the heel and up where positive.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models import reach
from planestock.models.layout import Layout
from planestock.models.shapes import area
from planestock.models.sole_life import mouth_after
from planestock.params.parameter_set import ParameterSet

WayName = Literal["pad", "slip", "shim", "lower the seat", "plane the sole", "live with it"]

LEAST_SLIP = 3.0
"""Thinnest slip worth gluing, mm, truings still to come not counted; common practice, no published source."""

LEAST_UNDER_CUT = 2.0
"""Wood of a new pad left below seat and tail, mm, so that what is cut into it does not end in a veneer; common practice,
no published source."""

PIECE_STEP = 0.5
"""Pieces to glue on are asked for in steps of this, mm; the rest is planed off the body first."""

MOST_SHIM = 1.0
"""Thickest shim, mm: a leaf of veneer or card; beyond it a pad is the sound way; common practice, no published source."""

HOLE_SLACK = 0.3
"""A hole that moves by no more than this, mm, is eased; one that moves further is plugged and bored again; common practice,
no published source."""

STEEPEST_WEAR = 30.0
"""Lean of the wear, degrees, that a slip is made thick enough for when its mouth must be narrower than the old walls lead to;
common practice, no published source."""

LEAST_CHANGE = 0.05
"""A body nearer to the thickness wanted than this, mm, is that thickness: less than a shaving or two."""

LEAST_WEAR = 2.0
"""Least height of the wear that a set may have (throat.wear_height), mm."""


@dataclass(frozen=True)
class AsCut:
    """The body as it was cut. given: the set as wanted; at: layout it was cut to; opening: of its mouth as found, mm.

    limit: ± of its measured thickness, mm.
    """

    given: ParameterSet
    at: Layout
    opening: float
    limit: float

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

    opening: as it is to be made, mm; pared_wear, pared_breast: off the front wall, along the body; wear_height, wear_lean: of
    the wear afterwards, mm and degrees.
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
    """What one way does. changes: `path=value` that turn the set into that of the rescued body; None where no set says it.

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


def section_at(at: Layout, z: float) -> float:
    """Return the area of throat and frog recess in the plane at height z, mm²: what a glue line there loses."""
    (fx, _), (wx, wz), (bx, bz) = at.mouth_front, at.wear_top, at.breast_top
    front = fx + (wx - fx) * z / wz if z <= wz else wx + (bx - wx) * (z - wz) / (bz - wz)
    foot = at.bed_foot[0] + z / math.tan(math.radians(at.bed_angle))
    return max(0.0, foot - front) * 2 * at.throat_half_width + _recess_section(at, z)


def _recess_section(at: Layout, z: float) -> float:
    """Return the area of the recess behind the bed at height z; its outline is a rectangle that leans with the bed."""
    if at.recess is None:
        return 0.0
    corners = at.recess
    crossings = [
        x1 + (x2 - x1) * (z - z1) / (z2 - z1)
        for (x1, z1), (x2, z2) in zip(corners, [*corners[1:], corners[0]], strict=True)
        if (z1 > z) != (z2 > z)
    ]
    return (max(crossings) - min(crossings)) * 2 * at.recess_half_width if crossings else 0.0


def glue_area(at: Layout, z: float) -> float:
    """Return the area of a glue line through the whole body at height z, mm²: the plan less throat and recess.

    Holes that cross the line are not taken off.
    """
    return area(at.plan.whole_outline()) - section_at(at, z)


def upwards(value: float, step: float = PIECE_STEP) -> float:
    """Return the next multiple of `step` that is not less than the value, rounding errors forgiven."""
    return math.ceil(value / step - 1e-9) * step


def plans(cut: AsCut, target: float) -> tuple[Plan, ...]:
    """Return every way back to the thickness `target`, those that cannot do it with the reason."""
    return (pad(cut, target), slip(cut, target), shim(cut, target), lower_seat(cut, target), plane_sole(cut, target),
            live_with_it(cut))  # fmt: skip


def pad(cut: AsCut, target: float) -> Plan:
    """Return the pad: the top planed down past every cut of the casting, a new top glued on, all cut into it anew.

    The glue line lies at or below the old seat and the old lowered tail, so that all wood the new cuts need is there; an old
    pad that reaches below them is taken off at its glue line instead.
    """
    at, given = cut.at, cut.given
    delta = target - cut.thickness
    thickness = _pad_thickness(cut, delta)
    line = target + at.let_in - thickness
    piece = Piece(at.length, given.body.width.value, thickness, thickness - delta, glue_area(at, max(0.0, line)))
    changes = (*_thickness(target), f"body.pad={_mm(thickness)}", *_found_mouth(cut), *_knob(cut, delta))
    return Plan(
        "pad", target, seat_moves(cut, delta), _kept_mouth(cut), piece,
        area(at.plan.whole_outline()) * (thickness - delta),
        _present(("top", True), ("seat", True), ("cove and tail", at.tail is not None), ("throat through the pad", True),
                 ("frog recess", at.recess is not None), ("top edges", at.edge_size > 0)),
        moved_holes(at, seat_moves(cut, delta)), changes, changes, _too_thick_already(delta),
    )  # fmt: skip


def _pad_thickness(cut: AsCut, delta: float) -> float:
    at = cut.at
    drop = at.thickness - at.tail.cove_low[1] if at.tail else 0.0
    least = max(at.let_in + drop + max(delta, LEAST_UNDER_CUT), at.edge_size + LEAST_UNDER_CUT)
    if at.pad + delta >= least:
        return at.pad + delta
    return upwards(least)


def slip(cut: AsCut, target: float) -> Plan:
    """Return the slip: bed and mouth carried down through new wood; an old slip is taken off at its glue line.

    A body that is too thick, or whose mouth is too wide, is planed further than it need be, and gets a new mouth in the slip.
    """
    at = cut.at
    delta = target - cut.thickness
    thickness = _slip_thickness(cut, delta)
    moves = sole_moves(cut, delta)
    mouth = slip_mouth(cut, delta, thickness)
    width = cut.given.body.width.value
    piece = Piece(at.length, width, thickness, thickness - delta, glue_area(at, max(0.0, thickness - delta)))
    changes = (
        *_thickness(target),
        f"body.slip={_mm(thickness)}",
        f"body.toe_to_mouth={_mm(at.edge[0] + moves.edge_x)}",
        *_new_mouth(cut, mouth),
    )
    surfaces = ("sole", "bed and mouth through the slip", *(("front wall",) if mouth.pared_breast > 0 else ()))
    idle = abs(delta) < LEAST_CHANGE and cut.opening <= cut.given.throat.opening.value
    refused = ("neither the thickness nor the mouth asks for one",) if idle else ()
    return Plan("slip", target, moves, mouth, piece, area(at.plan.whole_outline()) * (thickness - delta), surfaces, (),
                changes, changes, refused)  # fmt: skip


def _slip_thickness(cut: AsCut, delta: float) -> float:
    """Return the slip's thickness: never planed away by the truings wanted, and room in it for a mouth that must narrow."""
    work, throat = cut.given.work, cut.given.throat
    least = LEAST_SLIP + work.truings * work.truing_depth.value
    too_wide = followed_opening(cut, delta) - throat.opening.value
    steeper = math.tan(math.radians(STEEPEST_WEAR)) - math.tan(math.radians(throat.wear_lean.value))
    if too_wide > 0 and steeper > 0:
        least = max(least, too_wide / steeper)
    kept = cut.at.slip + delta
    return kept if cut.at.slip > 0 and kept >= least else upwards(max(delta, least))


def slip_mouth(cut: AsCut, delta: float, thickness: float) -> Mouth:
    """Return the mouth cut through a slip, as wide as the set wants it.

    Where the old walls, followed, lead to a narrower one, the front wall is pared back; its wear keeps its height above the
    new sole, so that the breast loses more than the wear. Where they lead to a wider one, the wear leans across the slip, from
    the new mouth to the old front wall at the glue line, and only the old wear above it is pared away to the breast.
    """
    throat, at = cut.given.throat, cut.at
    followed, wanted = followed_opening(cut, delta), throat.opening.value
    wear, breast = (math.tan(math.radians(lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    old_wear_top = throat.wear_height.value + delta
    if followed <= wanted:
        pared = wanted - followed
        return Mouth(cut.opening, followed, wanted, pared, max(0.0, pared + delta * (breast - wear)),
                     throat.wear_height.value, throat.wear_lean.value)  # fmt: skip
    front = at.edge[0] - delta * cut.cot - wanted
    lean = math.degrees(math.atan2(front - front_at(cut, thickness - delta), thickness))
    left = max(0.0, old_wear_top - thickness) * (breast - wear)
    return Mouth(cut.opening, followed, wanted, 0.0, max(0.0, left), thickness, lean)


def front_at(cut: AsCut, z: float) -> float:
    """Return where the front wall of the body as cut is at height z above its sole, mm from the toe; z may be below it."""
    throat = cut.given.throat
    wear, breast = (math.tan(math.radians(lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    in_wear = min(z, throat.wear_height.value)
    return cut.at.edge[0] - cut.opening - in_wear * wear - (z - in_wear) * breast


def _new_mouth(cut: AsCut, mouth: Mouth) -> tuple[str, ...]:
    """Return the changes of wear height and lean that a mouth in the slip needs; its opening is the set's own."""
    if mouth.wear_height == cut.given.throat.wear_height.value:
        return ()
    return (f"throat.wear_height={_mm(mouth.wear_height)}", f"throat.wear_lean={_number(mouth.wear_lean)} deg")


def shim(cut: AsCut, target: float) -> Plan:
    """Return the shim: a loose leaf under the casting (and under its tail), which then stands prouder of the wood."""
    at = cut.at
    delta = target - cut.thickness
    moves = seat_moves(cut, delta)
    across = 2 * min(at.throat_half_width, cut.given.casting.front_width.value / 2)
    covered = area(at.casting) - max(0.0, at.corner[0] - at.breast_top[0]) * across
    casting = cut.given.casting
    widest = max(casting.front_width.value, casting.rear_width.value)
    piece = Piece(casting.rear.value - casting.front.value, widest, delta, 0.0, covered)
    refused = list(_too_thick_already(delta))
    if delta > MOST_SHIM:
        refused.append(f"{delta:.2f} mm is more than a loose leaf may be ({MOST_SHIM:g} mm); glue on a pad instead")
    surfaces = _present(("frog recess", at.recess is not None), ("rear end of the seat", has_rear_wall(at)))
    let_in = max(0.0, at.let_in - delta)
    judged = (*_thickness(target), f"casting.let_in={_mm(let_in)}", *_found_mouth(cut), *_knob(cut, delta))
    return Plan("shim", target, moves, _kept_mouth(cut), piece, 0.0, surfaces, moved_holes(at, moves), judged, None,
                tuple(refused))  # fmt: skip


def has_rear_wall(at: Layout) -> bool:
    """Tell whether the casting's pocket ends in a wall at its rear, so that it cannot move without a cut and a gap."""
    return at.let_in > 0 and (at.tail is None or not at.tail_full_width)


def lower_seat(cut: AsCut, target: float) -> Plan:
    """Return the lowered seat: top, seat, cove and tail go down together, D slides down the bed."""
    at = cut.at
    delta = target - cut.thickness
    moves = seat_moves(cut, delta)
    changes = (
        *_thickness(target),
        *((f"body.pad={_mm(at.pad + delta)}",) if at.pad > 0 else ()),
        *_found_mouth(cut),
        *_knob(cut, delta),
    )
    surfaces = _present(("top", True), ("seat", True), ("cove and tail", at.tail is not None),
                        ("frog recess", at.recess is not None), ("top edges", at.edge_size > 0))  # fmt: skip
    return Plan("lower the seat", target, moves, _kept_mouth(cut), None, area(at.plan.whole_outline()) * max(0.0, -delta),
                surfaces, moved_holes(at, moves), changes, changes, _too_thin_already(delta))  # fmt: skip


def plane_sole(cut: AsCut, target: float) -> Plan:
    """Return the planed sole: the edge's place moves towards the heel and the mouth opens, as at every truing."""
    at, throat = cut.at, cut.given.throat
    delta = target - cut.thickness
    moves = sole_moves(cut, delta)
    opening = followed_opening(cut, delta)
    wear = throat.wear_height.value + delta
    refused = list(_too_thin_already(delta))
    if not refused and wear < LEAST_WEAR:
        refused.append(f"only {max(0.0, wear):.1f} mm of the wear would be left; the breast would be the mouth's front")
    changes = (
        *_thickness(target),
        f"body.toe_to_mouth={_mm(at.edge[0] + moves.edge_x)}",
        f"throat.opening={_mm(opening)}",
        f"throat.wear_height={_mm(wear)}",
        *((f"body.slip={_mm(at.slip + delta)}",) if at.slip > 0 else ()),
    )
    mouth = Mouth(cut.opening, opening, opening, 0.0, 0.0, wear, throat.wear_lean.value)
    return Plan("plane the sole", target, moves, mouth, None, area(at.plan.whole_outline()) * max(0.0, -delta),
                ("sole",), (), changes, changes, tuple(refused))  # fmt: skip


def live_with_it(cut: AsCut) -> Plan:
    """Return the body as it is."""
    changes = (f"body.thickness={_number(cut.thickness)} ± {_mm(cut.limit)}", *_found_mouth(cut))
    return Plan("live with it", cut.thickness, STILL, _kept_mouth(cut), None, 0.0, (), (), changes, changes, ())


def moved_holes(at: Layout, moves: Moves) -> tuple[str, ...]:
    """Return the holes that belong to the metal and move further than `HOLE_SLACK`, each by name."""
    return tuple(_moved_holes(at, moves))


def _moved_holes(at: Layout, moves: Moves) -> Iterator[str]:
    for hole in at.holes:
        shift = {"frog screw": moves.along_bed, "knob bolt": 0.0, "dowel": 0.0}.get(hole.kind, moves.metal_x)
        if abs(shift) > HOLE_SLACK:
            yield hole.name


def _kept_mouth(cut: AsCut) -> Mouth:
    throat = cut.given.throat
    return Mouth(cut.opening, cut.opening, cut.opening, 0.0, 0.0, throat.wear_height.value, throat.wear_lean.value)


def _found_mouth(cut: AsCut) -> tuple[str, ...]:
    """Return the change that tells the set the mouth as it was found, where it differs from the one wanted."""
    return () if cut.opening == cut.given.throat.opening.value else (f"throat.opening={_mm(cut.opening)}",)


def _knob(cut: AsCut, delta: float) -> tuple[str, ...]:
    """Return the change of the knob's place where its bolt goes through the casting, with which it then moves."""
    knob, casting = cut.given.knob, cut.given.casting
    if knob is None:
        return ()
    front = cut.at.corner[0] + casting.front.value
    on_casting = front <= knob.from_toe.value <= cut.at.corner[0] + casting.rear.value
    return (f"knob.from_toe={_mm(knob.from_toe.value + delta * cut.cot)}",) if on_casting else ()


def _thickness(target: float) -> tuple[str, ...]:
    return (f"body.thickness={_mm(target)}",)


def _mm(value: float) -> str:
    """Return a length as a set takes it, to a thousandth of a millimetre."""
    return f"{_number(value)} mm"


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _present(*surfaces: tuple[str, bool]) -> tuple[str, ...]:
    return tuple(name for name, there in surfaces if there)


def _too_thick_already(delta: float) -> tuple[str, ...]:
    return ("the body is not too thin",) if delta < LEAST_CHANGE else ()


def _too_thin_already(delta: float) -> tuple[str, ...]:
    return ("the body is not too thick",) if delta > -LEAST_CHANGE else ()
