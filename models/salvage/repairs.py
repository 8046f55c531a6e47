"""Each repair as a plan: what it does to a body as it was cut, and the values that say so in a parameter set."""

from __future__ import annotations

import math

from planestock.models.bench.glue_up import glue_area
from planestock.models.salvage.as_cut import (
    LEAST_CHANGE,
    LEAST_SLIP,
    LEAST_UNDER_CUT,
    LEAST_WEAR,
    MOST_SHIM,
    STILL,
    AsCut,
    Mouth,
    Piece,
    Plan,
    followed_opening,
    has_rear_wall,
    moved_holes,
    narrowed_mouth,
    seat_moves,
    sole_moves,
    thick_enough_to_narrow,
    upwards,
)
from planestock.models.salvage.mouth_piece import mouth_piece
from planestock.params.outlines.pieces import area


def plans(cut: AsCut, target: float) -> tuple[Plan, ...]:
    """Return every repair to the thickness `target`, those that cannot do it with the reason."""
    return (pad(cut, target), slip(cut, target), shim(cut, target), lower_seat(cut, target), plane_sole(cut, target),
            mouth_piece(cut), live_with_it(cut))  # fmt: skip


def pad(cut: AsCut, target: float) -> Plan:
    """Return the pad: the top planed down past every cut of the casting, a new top glued on, all cut into it anew.

    The glue line lies at or below the old seat and the old lowered tail, so that all wood the new cuts need is there; an old
    pad that reaches below them is taken off at its glue line instead.
    """
    at, given = cut.at, cut.given
    delta = target - cut.thickness
    thickness, mouth = _pad_thickness(cut, delta), _kept_mouth(cut)
    line = target + at.let_in - thickness
    piece = Piece(at.length, given.body.width.value, thickness, thickness - delta, glue_area(at, max(0.0, line)))
    changes = (
        *_thickness(cut, target),
        f"body.pad={cut.length.written(thickness)}",
        *_opening(cut, mouth),
        *_knob(cut, delta),
    )
    return Plan(
        "pad", target, seat_moves(cut, delta), mouth, piece,
        area(at.plan.whole_outline()) * (thickness - delta),
        _present(("top", True), ("seat", True), ("cove and tail", at.tail is not None), ("throat through the pad", True),
                 ("frog recess", at.recess is not None), ("top edges", at.edge_size > 0), _front_wall(mouth)),
        moved_holes(at, seat_moves(cut, delta)), changes, changes, _too_thick_already(delta),
    )  # fmt: skip


def _pad_thickness(cut: AsCut, delta: float) -> float:
    at = cut.at
    drop = at.thickness - at.tail.lowest if at.tail else 0.0
    least = max(at.let_in + drop + max(delta, LEAST_UNDER_CUT), at.edge_size + LEAST_UNDER_CUT)
    if at.pad + delta >= least:
        return at.pad + delta
    return upwards(least, cut.step)


def slip(cut: AsCut, target: float) -> Plan:
    """Return the slip: bed and mouth carried down through new wood; an old slip is taken off at its glue line.

    A body that is too thick, or whose mouth is too wide, is planed further than it need be, and gets a new mouth in the
    slip.
    """
    at = cut.at
    delta = target - cut.thickness
    thickness = _slip_thickness(cut, delta)
    moves = sole_moves(cut, delta)
    mouth = slip_mouth(cut, delta, thickness)
    width = cut.given.body.width.value
    piece = Piece(at.length, width, thickness, thickness - delta, glue_area(at, max(0.0, thickness - delta)))
    changes = (
        *_thickness(cut, target),
        f"body.slip={cut.length.written(thickness)}",
        f"body.toe_to_mouth={cut.length.written(at.edge[0] + moves.edge_x)}",
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
    least = max(least, thick_enough_to_narrow(cut, followed_opening(cut, delta) - throat.opening.value))
    kept = cut.at.slip + delta
    return kept if cut.at.slip > 0 and kept >= least else upwards(max(delta, least), cut.step)


def slip_mouth(cut: AsCut, delta: float, thickness: float) -> Mouth:
    """Return the mouth cut through a slip, as wide as the set wants it.

    Where the old walls, followed, lead to a narrower one, the front wall is pared back; its wear keeps its height above
    the new sole, so that the breast loses more than the wear. Where they lead to a wider one, the wear
    leans across the slip (`narrowed_mouth`).
    """
    throat = cut.given.throat
    followed, wanted = followed_opening(cut, delta), throat.opening.value
    wear, breast = (math.tan(math.radians(lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    if followed > wanted:
        return narrowed_mouth(cut, delta, thickness)
    pared = wanted - followed
    return Mouth(cut.opening, followed, wanted, pared, max(0.0, pared + delta * (breast - wear)),
                 throat.wear_height.value, throat.wear_lean.value)  # fmt: skip


def _new_mouth(cut: AsCut, mouth: Mouth) -> tuple[str, ...]:
    """Return the changes of wear height and lean that a mouth in the slip needs; its opening is the set's own."""
    if mouth.wear_height == cut.given.throat.wear_height.value:
        return ()
    return (
        f"throat.wear_height={cut.length.written(mouth.wear_height)}",
        f"throat.wear_lean={_number(mouth.wear_lean)} deg",
    )


def shim(cut: AsCut, target: float) -> Plan:
    """Return the shim: a loose leaf under the casting (and under its tail), which then stands prouder of the wood."""
    at = cut.at
    delta = target - cut.thickness
    moves = seat_moves(cut, delta)
    across = min(2 * at.throat_half_width, at.casting_width if at.is_traced else cut.given.casting.front_width.value)
    covered = area(at.casting) - max(0.0, at.corner[0] - at.breast_top[0]) * across
    piece = Piece(at.casting_rear - at.casting_front, at.casting_width, delta, 0.0, covered)
    refused = list(_too_thick_already(delta))
    if delta > MOST_SHIM:
        refused.append(
            f"{cut.length(delta)} is more than a loose leaf may be ({cut.length.short(MOST_SHIM)}); glue on a pad instead"
        )
    mouth = _kept_mouth(cut)
    surfaces = _present(
        ("frog recess", at.recess is not None), ("rear end of the seat", has_rear_wall(at)), _front_wall(mouth)
    )
    let_in = max(0.0, at.let_in - delta)
    judged = (
        *_thickness(cut, target),
        f"casting.let_in={cut.length.written(let_in)}",
        *_opening(cut, mouth),
        *_knob(cut, delta),
    )
    return Plan("shim", target, moves, mouth, piece, 0.0, surfaces, moved_holes(at, moves), judged, None,
                tuple(refused))  # fmt: skip


def lower_seat(cut: AsCut, target: float) -> Plan:
    """Return the lowered seat: top, seat, cove and tail go down together, D slides down the bed."""
    at = cut.at
    delta = target - cut.thickness
    moves, mouth = seat_moves(cut, delta), _kept_mouth(cut)
    changes = (
        *_thickness(cut, target),
        *((f"body.pad={cut.length.written(at.pad + delta)}",) if at.pad > 0 else ()),
        *_opening(cut, mouth),
        *_knob(cut, delta),
    )
    surfaces = _present(("top", True), ("seat", True), ("cove and tail", at.tail is not None),
                        ("frog recess", at.recess is not None), ("top edges", at.edge_size > 0),
                        _front_wall(mouth))  # fmt: skip
    return Plan("lower the seat", target, moves, mouth, None, area(at.plan.whole_outline()) * max(0.0, -delta),
                surfaces, moved_holes(at, moves), changes, changes, _too_thin_already(delta))  # fmt: skip


def plane_sole(cut: AsCut, target: float) -> Plan:
    """Return the planed sole: the edge's place moves towards the heel and the mouth opens, as at every truing."""
    at, throat = cut.at, cut.given.throat
    delta = target - cut.thickness
    moves = sole_moves(cut, delta)
    wear = throat.wear_height.value + delta
    refused = list(_too_thin_already(delta))
    if not refused and wear < LEAST_WEAR:
        refused.append(f"only {cut.length(max(0.0, wear))} of the wear would be left; the breast would be the mouth's front")
    mouth = _old_mouth(cut, followed_opening(cut, delta), wear)
    changes = (
        *_thickness(cut, target),
        f"body.toe_to_mouth={cut.length.written(at.edge[0] + moves.edge_x)}",
        *_opening(cut, mouth),
        f"throat.wear_height={cut.length.written(wear)}",
        *((f"body.slip={cut.length.written(at.slip + delta)}",) if at.slip > 0 else ()),
    )
    return Plan("plane the sole", target, moves, mouth, None, area(at.plan.whole_outline()) * max(0.0, -delta),
                _present(("sole", True), _front_wall(mouth)), (), changes, changes, tuple(refused))  # fmt: skip


def live_with_it(cut: AsCut) -> Plan:
    """Return the body as it is, but for a mouth that is pared wider where it was found too narrow."""
    mouth = _kept_mouth(cut)
    changes = (f"body.thickness={cut.written}", *_opening(cut, mouth))
    return Plan(
        "live with it", cut.thickness, STILL, mouth, None, 0.0, _present(_front_wall(mouth)), (), changes, changes, ()
    )


def _kept_mouth(cut: AsCut) -> Mouth:
    """Return the mouth of a body whose sole stays; the front wall is pared where it was found narrower than is wanted."""
    return _old_mouth(cut, cut.opening, cut.given.throat.wear_height.value)


def _old_mouth(cut: AsCut, followed: float, wear_height: float) -> Mouth:
    """Return the mouth that the old walls lead to, the front wall pared back where that is narrower than is wanted."""
    throat = cut.given.throat
    pared = max(0.0, throat.opening.value - followed)
    return Mouth(cut.opening, followed, followed + pared, pared, pared, wear_height, throat.wear_lean.value)


def _opening(cut: AsCut, mouth: Mouth) -> tuple[str, ...]:
    """Return the change that tells the set a mouth wider than the one wanted; a narrower one is pared to it."""
    return (
        (f"throat.opening={cut.length.written(mouth.opening)}",)
        if mouth.pared_wear == 0 and mouth.opening != _wanted(cut)
        else ()
    )


def _wanted(cut: AsCut) -> float:
    return cut.given.throat.opening.value


def _front_wall(mouth: Mouth) -> tuple[str, bool]:
    """Return the front wall among the surfaces to be trued, with whether it is."""
    return ("front wall", mouth.pared_breast > 0)


def _knob(cut: AsCut, delta: float) -> tuple[str, ...]:
    """Return the change of the knob's place where its bolt goes through the casting, with which it then moves."""
    knob = cut.given.knob
    if knob is None:
        return ()
    on_casting = cut.at.casting_front <= knob.from_toe.value <= cut.at.casting_rear
    return (f"knob.from_toe={cut.length.written(knob.from_toe.value + delta * cut.cot)}",) if on_casting else ()


def _thickness(cut: AsCut, target: float) -> tuple[str, ...]:
    return (f"body.thickness={cut.length.written(target)}",)


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _present(*surfaces: tuple[str, bool]) -> tuple[str, ...]:
    return tuple(name for name, there in surfaces if there)


def _too_thick_already(delta: float) -> tuple[str, ...]:
    return ("the body is not too thin",) if delta < LEAST_CHANGE else ()


def _too_thin_already(delta: float) -> tuple[str, ...]:
    return ("the body is not too thick",) if delta > -LEAST_CHANGE else ()
