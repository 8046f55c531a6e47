"""A repair as the maker does it: steps in order, how places move, what must be trued again, why it ranks where it
does."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.models.salvage.as_cut import AsCut, Mouth, Moves, Piece, Plan, has_rear_wall
from planestock.models.salvage.judging import Salvage, Way, weights
from planestock.models.salvage.mouth_piece import piece_steps
from planestock.params.lengths import Lengths

TOO_LONG = 5.0
"""What a piece to glue on is left over on every side, mm, until the glue is dry; common practice, no published source."""

USABLE_SETBACK = (0.2, 3.0)
"""Setbacks, mm, at which a cap iron still serves; common practice, no published source."""


def steps(found: Salvage, way: Way) -> tuple[str, ...]:
    """Return the steps of a repair in order, as sentences; none for one that is not feasible."""
    if not way.feasible:
        return ()
    plan, cut = way.plan, found.cut
    makers = {"pad": _pad, "slip": _slip, "shim": _shim, "lower the seat": _lower_seat, "plane the sole": _plane_sole,
              "mouth piece": piece_steps}  # fmt: skip
    maker = makers.get(plan.name)
    told = tuple(maker(cut, plan)) if maker else tuple(_live(found, way))
    return told if plan.name in ("slip", "mouth piece") else (*told, *_pared(plan, cut.length))


def _pared(plan: Plan, length: Lengths) -> Iterator[str]:
    """Yield how a mouth that was found too narrow is opened, where the repair leaves the front wall alone otherwise."""
    if plan.mouth.pared_wear > 0:
        yield (
            f"Pare the front wall back by {length(plan.mouth.pared_wear)} from sole to top, so that the mouth is "
            f"{length(plan.mouth.opening)} wide."
        )


def _pad(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    piece = _piece(plan)
    yield "Take off casting, frog, tote and knob."
    yield (
        f"Plane {length(piece.planed_off)} off the top, flat and out of twist: it must come below the old seat"
        f"{' and the lowered tail' if cut.at.tail else ''}."
    )
    yield from _plugging(plan)
    yield _glued(piece, "on top", "growth rings as in the body", length)
    yield from _throat_through_pad(plan, length)
    yield (
        f"Cut the seat{' with cove and tail' if cut.at.tail else ''} anew so that seat plane to sole is "
        f"{length(plan.thickness)}, checked at toe, mouth and heel; its place is "
        f"{_shifted(plan.moves.metal_x, length)} the old one."
    )
    yield from _frog(cut, plan)
    yield from _bored(cut, plan)
    yield from _broken_edges(cut)


def _slip(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    piece, mouth = _piece(plan), plan.mouth
    old = ", down to the old slip's glue line" if cut.at.slip > 0 and piece.planed_off == cut.at.slip else ""
    yield "Take off the metal."
    yield f"Plane {length(piece.planed_off)} off the sole{old}, flat and out of twist."
    yield _glued(piece, "on the sole", "growth rings as in the body, its best face down", length)
    yield (
        f"Plane the slip until seat plane to sole is {length(plan.thickness)} at toe, mouth and heel; flush it at cheeks "
        "and ends."
    )
    yield (
        f"Carry the bed down through the slip, the old bed as the guide: the edge now meets the sole "
        f"{length(cut.at.edge[0] + plan.moves.edge_x)} from the toe, {_shifted(plan.moves.edge_x, length)} before."
    )
    yield from _front_wall(cut, mouth)
    yield "Put the metal back, draw the edge back into the mouth, and true the sole with the iron under tension."


def _front_wall(cut: AsCut, mouth: Mouth) -> Iterator[str]:
    length = cut.length
    yield f"Cut the mouth {length(mouth.opening)} wide, from the edge to its front, along the sole."
    if mouth.wear_height != cut.given.throat.wear_height.value:
        yield (
            f"Let its front wall lean {mouth.wear_lean:.1f}° through the slip, up to the old front wall at the glue "
            "line, so that no ledge is left there."
        )
        if mouth.pared_breast > 0:
            deep = length(mouth.pared_breast)
            yield f"Above the slip pare the old wear back to the line of the breast, {deep} at its top."
    elif mouth.pared_wear > 0:
        yield (
            f"Pare the front wall back to meet it: {length(mouth.pared_wear)} off the wear, "
            f"{length(mouth.pared_breast)} off the breast. (Only followed down, the old walls would "
            f"leave {_opening(mouth.followed, length)}.)"
        )


def _opening(followed: float, length: Lengths) -> str:
    return f"a mouth of {length(followed)}" if followed > 0 else "no mouth at all: they meet above the new sole"


def _shim(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    piece = _piece(plan)
    yield "Take off casting, frog and tote."
    yield (
        f"Cut a leaf {length(piece.thickness)} thick (veneer or hard card) to the casting's outline, the throat left free"
        f"{', and one like it for the lowered tail' if cut.at.tail else ''}."
    )
    yield (
        f"Lay it in the seat. The casting then stands {length(piece.thickness)} prouder, and must go "
        f"{_shifted(plan.moves.metal_x, length)} before to keep the frog's face in the plane of the bed."
    )
    if "rear end of the seat" in plan.surfaces:
        yield (
            f"Pare the rear end of the seat back by {length(plan.moves.metal_x)} (its gap comes off that); as much is "
            "open at its front end."
        )
    yield from _frog(cut, plan)
    yield from _plugging(plan)
    yield from _bored(cut, plan)


def _lower_seat(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    down = cut.thickness - plan.thickness
    yield "Take off casting, frog, tote and knob."
    yield f"Plane {length(down)} off the top, so that the casting stays let in as deep as before."
    yield (
        f"Lower the seat{', the cove and the tail' if cut.at.tail else ''} by as much, until seat plane to sole is "
        f"{length(plan.thickness)} at toe, mouth and heel; its place is {_shifted(plan.moves.metal_x, length)} the old one."
    )
    if has_rear_wall(cut.at):
        yield f"A gap {length(abs(plan.moves.metal_x))} wide is left behind the casting; fill it with a strip glued in."
    yield from _frog(cut, plan)
    yield from _plugging(plan)
    yield from _bored(cut, plan)
    yield from _broken_edges(cut)


def _plane_sole(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    yield (
        f"Draw the edge back and plane {length(cut.thickness - plan.thickness)} off the sole, until seat plane to sole is "
        f"{length(plan.thickness)} at toe, mouth and heel."
    )
    yield (
        f"The mouth opens from {length.span(plan.mouth.before, plan.mouth.followed)}, and "
        f"{length(plan.mouth.wear_height)} of the wear is left; the edge meets the sole "
        f"{_shifted(plan.moves.edge_x, length)} before."
    )


def _live(found: Salvage, way: Way) -> Iterator[str]:
    margins, work, length = way.margins, found.given.work, found.given.lengths
    assert margins is not None, "a feasible repair has margins"
    if margins.sure_out >= 0 and margins.sure_back >= 0:
        truings = int(margins.sure_back / work.truing_depth.value)
        often = "once" if truings == 1 else f"{truings} times"
        yield (
            f"Leave it: it is sure to work, and its sole can be trued {often} by {length.short(work.truing_depth.value)}."
        )
        return
    end = "reaching the deepest cut" if margins.sure_out < margins.sure_back else "drawing the edge back"
    yield f"Leave it and try it with the iron in: {end} is likely, but not sure with these readings and seasons."
    yield from _setback(found, margins.sure_out, margins.sure_back)


def _setback(found: Salvage, sure_out: float, sure_back: float) -> Iterator[str]:
    """Yield the cap iron's setback that would make the body sure: the edge moves by sin θ for each mm of it."""
    length = found.given.lengths
    needed = -sure_out if sure_out < 0 else sure_back
    setback = found.given.cap_iron.setback.value + needed / found.cut.sin
    low, high = USABLE_SETBACK
    if low <= setback <= high and (sure_out if needed < 0 else sure_back) >= abs(needed):
        yield f"With the cap iron set {length(setback)} back from the edge it would be sure."


def _plugging(plan: Plan) -> Iterator[str]:
    if len(plan.holes) == 1:
        yield "Plug the hole that moves, with a peg across the grain of the wall it is in."
    elif plan.holes:
        yield f"Plug the {len(plan.holes)} holes that move, with pegs across the grain of the wall they are in."


def _bored(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    if plan.holes:
        yield (
            f"Bore them again from the casting and the frog: {_shifted(plan.moves.metal_x, length)} before along the body, "
            f"{length(abs(plan.moves.along_bed))} {'up' if plan.moves.along_bed > 0 else 'down'} the bed."
        )
    elif cut.at.holes and plan.moves.along_bed:
        yield f"Ease the screw holes by {length(abs(plan.moves.along_bed))}; they hardly move."


def _frog(cut: AsCut, plan: Plan) -> Iterator[str]:
    length = cut.length
    if cut.at.recess is None:
        return
    up = plan.moves.along_bed > 0
    yield (
        f"Lengthen the frog's recess {length(abs(plan.moves.along_bed))} {'up' if up else 'down'} the bed, and fill as "
        f"much at its {'lower' if up else 'upper'} end."
    )


def _throat_through_pad(plan: Plan, length: Lengths) -> Iterator[str]:
    yield "Carry bed, breast and throat sides up through the pad, the old walls as the guide; the mouth is not touched."
    yield f"The bed now ends {length(abs(plan.moves.along_bed))} further up, at the new corner."


def _broken_edges(cut: AsCut) -> Iterator[str]:
    if cut.at.edge_size > 0:
        yield "Break the top edges again."


def _glued(piece: Piece, where: str, rings: str, length: Lengths) -> str:
    along, across, thick = piece.length + 2 * TOO_LONG, piece.width + 2 * TOO_LONG, piece.thickness + 1.0
    places = 0 if length.units == "mm" else 1
    sizes = f"{length.number(along, places)} × {length.number(across, places)} × {length.sizes(thick, decimals=places + 1)}"
    return (
        f"Glue a piece {sizes} {where}, grain along the body, {rings}; glue "
        f"{length.area(piece.glue_area)}, kept out of the throat. Finished it is {length(piece.thickness)} thick."
    )


def _piece(plan: Plan) -> Piece:
    assert plan.piece is not None, f"{plan.name} has a piece"
    return plan.piece


def _shifted(by: float, length: Lengths) -> str:
    """Return a shift along the body in words that go before "before" or "the old one"."""
    if abs(by) < 0.005:
        return "the same as"
    return f"{length(abs(by))} nearer the {'heel' if by > 0 else 'toe'} than"


def movements(plan: Plan) -> tuple[tuple[str, float], ...]:
    """Return how places move, mm: towards the heel, up, and up the bed positive."""
    moves: Moves = plan.moves
    return (
        ("corner D, along the body", moves.corner_x),
        ("corner D, up", moves.corner_z),
        ("casting, its screws and tote, along the body", moves.metal_x),
        ("frog, its foot and screws, up the bed", moves.along_bed),
        ("edge on the sole, along the body", moves.edge_x),
    )


def standing(found: Salvage) -> str:
    """Return where the body stands as it is, in one sentence."""
    length = found.given.lengths
    window, cut, safe = found.wanted.settled.window, found.cut.thickness, found.wanted.settled
    if cut > window.high:
        return f"Too thick by {length(cut - window.high)}: the edge cannot come out to the deepest cut."
    if cut < window.low:
        return f"Too thin by {length(window.low - cut)}: the edge cannot be drawn back as far as is wanted."
    if cut > safe.safe_high:
        return f"Inside the window, but {length(cut - safe.safe_high)} thicker than is sure with these readings and seasons."
    if cut < safe.safe_low:
        return f"Inside the window, but {length(safe.safe_low - cut)} thinner than is sure with these readings and seasons."
    if not found.way("live with it").feasible:
        return "The thickness is sure to reach and withdraw, but the body fails a check that the one wanted passes."
    return f"Good: sure to work, with {length(cut - safe.safe_low)} of wear left."


def why_first(found: Salvage) -> str:
    """Return why the recommended repair is recommended, or why there is none."""
    best = found.recommended
    if best is None:
        return "No repair is sound for this body; see what stands against each, or make a new one."
    assert best.points is not None, "a feasible repair has points"
    others = [way for way in found.ways[1:] if way.feasible]
    cheap = ", ".join(f"{name} {value:.1f}" for name, value in best.points.parts) or "nothing to do"
    first = f"{best.plan.name.capitalize()} costs {best.points.total:.1f} points ({cheap})"
    if not others:
        return f"{first}; it is the only repair that works."
    following = others[0]
    assert following.points is not None, "a feasible repair has points"
    dear = ", ".join(f"{name} {value:.1f}" for name, value in following.points.parts)
    return f"{first}; next comes {following.plan.name} with {following.points.total:.1f} ({dear})."


def weights_in_words() -> str:
    """Return what the points weigh, and whose weights they are, in one sentence."""
    told = weights()
    return (
        f"Points weigh effort by our own choice, no published source: {told['glue_up']:g} a glue-up, {told['surface']:g} a "
        f"surface, {told['hole']:g} a hole, {told['litre']:g} a litre of wood, {told['loose']:g} a loose leaf, up to "
        f"{told['doubt']:g} for an end of the window in doubt, {told['wear']:g} when no truing is left, "
        f"{told['mouth']:g} for a mouth twice as wide."
    )
