"""The order of work in sentences, made from the set: a body without a strip has no step about one.

Ways of working are common practice with no published source; figures come from the set and from the tables they belong to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from planestock.exports.wording.hole_steps import frog_screw_steps, top_hole_steps
from planestock.exports.wording.inch import thousandths
from planestock.exports.wording.joining_steps import (
    FRONT_FULL,
    dry_trial_steps,
    glue_up_steps,
    pad_steps,
    slip_steps,
    trial_steps,
)
from planestock.exports.wording.said import Said, angle, as_read, listed, many, number
from planestock.models.bench.chisels import ChiselFit, chisel_fit
from planestock.models.bench.cut_list import dowel_stock
from planestock.models.body.layout import Layout, Tail
from planestock.models.checks.wood import BED_STEP
from planestock.models.design import Design

PRACTICE = "Ways of working are common practice, no published source."
"""Said once, at the head of the order of work."""


@dataclass(frozen=True)
class Stage:
    """One stage of the work: a title and its steps, each one or a few sentences."""

    title: str
    steps: tuple[str, ...]


def order_of_work(made: Design) -> tuple[Stage, ...]:
    """Return the stages from rough wood to a plane that is ready to cut."""
    return tuple(Stage(title, steps) for title, write in _stages(made) if (steps := tuple(write(made))))


def _stages(made: Design) -> Iterator[tuple[str, Callable[[Design], Iterator[str]]]]:
    at = made.layout
    yield "Stock", _stock
    yield "Templates", _templates
    yield "Centre strip", _strip
    yield "Dowels", _dowels
    yield "Throat", _throat
    yield "Bed", _bed
    if at.pad or at.slip:
        if at.recess is not None:
            yield "Frog's recess", _recess
        yield "Dry trial", dry_trial_steps
        yield "Glue-up", glue_up_steps
        yield "Pad", pad_steps
        yield "Slip", slip_steps
    yield "Seat", _seat
    yield "Frog", _frog
    if at.pad or at.slip:
        yield "Trial before anything is final", trial_steps
    else:
        yield "Dry trial", dry_trial_steps
        yield "Glue-up", glue_up_steps
    yield "Holes from the top", top_hole_steps
    yield "Shaping", _shaping
    yield "Sole and mouth", _sole
    yield "Finish", _finish


def _stock(made: Design) -> Iterator[str]:
    at, said = made.layout, Said(made.given.units)
    rings = "upright" if made.given.wood.cut == "quarter" else "level"
    yield (
        f"Saw the pieces to their rough sizes, grain along the body, growth rings {rings} in its end. Let them lie "
        f"in the shop until they stop moving: the numbers hold at {number(made.seasons.worked.moisture)} % moisture "
        "content."
    )
    yield (
        "Lay the halves side by side as they grew, like an open book; the two faces now up become the inside faces. "
        "Mark toe, heel and sole on both. Let the grain run so that the sole is planed from toe to heel without "
        "tearing."
    )
    height = at.height - at.pad - at.slip
    yield (
        "Plane the inside faces first, straight and out of wind, until the halves close with no light between them. "
        f"Then plane the soles square to them, and the halves to {said.length(height)} high and "
        f"{said.length(at.length)} long. Leave the cheeks full: {said.length(at.plan.half_width - at.strip / 2)} "
        "thick or a little more."
    )


def _templates(_: Design) -> Iterator[str]:
    yield (
        "Print the templates at 100 % and check both bars on every sheet. Join the sheets on their crosses, cut "
        "them out, and stick them on with a thin coat of glue stick, which peels off again: inside faces now, toe "
        "and sole to the edges of the wood; top, sole and bed when their turn comes. Paper moves with damp: print, "
        "check and stick on one day."
    )


def _strip(made: Design) -> Iterator[str]:
    at, said = made.layout, Said(made.given.units)
    if not at.strip:
        return
    yield (
        f"Plane the strip to {said.length(at.strip)} and as high as the halves. It is flat on both sides or it "
        "shows: close it dry between the halves and look along both joints."
    )
    yield (
        "Stick the template of the centre strip on its left side, toe and sole to the edges of the wood. The throat parts "
        "it in two: mark both pieces with toe and sole before you saw, so that none is turned."
    )


def _dowels(made: Design) -> Iterator[str]:
    at, said = made.layout, Said(made.given.units)
    stock = dowel_stock(made.given, at)
    if stock is None:
        yield "This body has no dowels: keep the halves in line with battens clamped to the soles, here and at the glue-up."
        return
    depth = made.given.body.dowels.depth.value
    yield (
        f"Prick the dowel centres through the paper, right half and left half, and bore {many(stock.count, 'hole')} "
        f"in each, Ø {said.bore(stock.diameter)}, {said.length(depth)} deep, square to the face, with a stop on "
        "the bit."
    )
    through = " Bore the strip through at the same centres, clamped to a half." if at.strip else ""
    long = said.length(stock.length)
    yield f"Cut dowels {long} long and put the body together dry.{through} Soles and toes must be level by touch."


def _throat(made: Design) -> Iterator[str]:
    given, at, said = made.given, made.layout, Said(made.given.units)
    fit = chisel_fit(given, at)
    parts = "in each half and along both sides of the strip" if at.strip else "in each half"
    yield (
        "Knife the lines of mouth, wear, breast and bed on the inside faces through the template, and carry them "
        f"square across sole and top. Set a gauge to {said.length(fit.throat)} and run it from the inside face along "
        "both: this is how deep the throat goes into a half."
    )
    yield (
        f"Saw down to the gauge line {parts}, inside the lines: bed at {angle(at.bed_angle)} to the sole, breast "
        f"{angle(abs(given.throat.breast_lean.value))} and wear {angle(abs(given.throat.wear_lean.value))} from square. "
        "Chop out the waste from the inside face and pare to the lines, with a block of the same angle as a guide."
    )
    if at.strip:
        yield (
            "Saw the strip along bed, breast and wear on its template; its two pieces end flush with the walls of the "
            "halves. What lies above the line of the seat stays until the seat is cut."
        )
    yield from _chisels(fit, said, chisel_names(made))


def chisel_names(made: Design) -> dict[float, str]:
    """Return each chisel at hand as the set writes it, by its width in mm; a metric one in a set in inches has both."""
    units = made.given.units
    return {
        chisel.value: as_read(chisel) + (f" ({thousandths(chisel.value)})" if units == "in" != chisel.unit else "")
        for chisel in made.given.shop.chisels
    }


def _chisels(fit: ChiselFit, said: Said, names: dict[float, str]) -> Iterator[str]:
    """Say which chisels fit mouth and throat, and where a float or a file takes over."""
    slot, throat = said.length(fit.slot), said.length(fit.throat)
    if fit.narrowest is None:
        yield f"The set names no chisels. The mouth's slot is {slot} long and one half of the throat {throat} wide."
        return
    if fit.for_slot is None:
        yield (
            f"No chisel at hand enters the mouth: its slot is {slot} long. The narrowest, {names[fit.narrowest]}, "
            f"reaches down to {said.length(fit.reaches_down_to)} above the sole; below that use a float or a file "
            f"thinner than {slot}."
        )
    elif fit.too_wide:
        listing = listed([names[width] for width in fit.too_wide])
        verb = "no longer fits" if len(fit.too_wide) == 1 else "no longer fit"
        yield (
            f"The mouth's slot is {slot} long: of your chisels only those up to {names[fit.for_slot]} enter it; "
            f"{listing} {verb}. Finish the slot's ends, and the last of bed and wear, with a float or a file."
        )
    if fit.for_throat is not None:
        yield f"One half of the throat is {throat} wide: pare the bed with chisels up to {names[fit.for_throat]}."


def _bed(made: Design) -> Iterator[str]:
    at, said = made.layout, Said(made.given.units)
    yield (
        f"Pare the bed flat and to its line, {angle(at.bed_angle)} to the sole and square across. Find the high "
        "spots: blacken the flat back of the iron with a soft pencil or lamp soot, lay it on the bed, press and "
        "slide it a little, and pare only where it left black. It is done when black shows at the "
        "foot, at both sides and at the top at once."
    )
    yield (
        f"Stop before the line at the mouth: the front of the mouth stays {said.fine(FRONT_FULL)} inside it until the iron "
        "is in its place. Try both halves together, dry, before you go on: the iron must not rock across the joint."
    )


def _seat(made: Design) -> Iterator[str]:
    given, at, said = made.given, made.layout, Said(made.given.units)
    gap = given.body.seat_gap.value
    lay = "Lay" if at.pad or at.slip else "With the body together dry, lay"
    if at.let_in:
        yield (
            f"{lay} the casting on its lines and knife around it, or stick on the top template and knife that; it has "
            f"{said.fine(gap)} of room all round. Sink the seat {said.fine(at.let_in)} deep, level over its whole length; "
            f"test it with a straightedge from the sole: {said.fine(at.thickness)} everywhere."
        )
    else:
        yield (
            f"The casting rests on top. Plane the top level where it lies, {said.fine(at.thickness)} above the "
            "sole everywhere."
        )
    if at.tail is not None:
        yield _tail_step(made, said)
    yield (
        "Try the casting before the next cut. It must lie down without rocking and without a screw; a piece of thin "
        "paper under any corner must hold. Ease the seat where it rides, never the casting."
    )


def _tail_step(made: Design, said: Said) -> str:
    at, casting = made.layout, made.given.casting
    assert at.tail is not None
    reaches = "to the heel" if at.tail_full_width else "as far as the casting reaches"
    if at.tail.centre is None:
        return _traced_tail_step(at, at.tail, said, reaches)
    return (
        f"Cut the cove and the lowered tail: the cove begins {said.length(at.tail.cove_high[0])} from the toe, "
        f"radius {said.length(casting.cove_radius.value)}, and ends {said.length(at.tail.cove_low[0])} from it; "
        f"behind, the top lies {said.fine(casting.tail_drop.value)} below the seat {reaches}. A gouge or a file of "
        "that radius finishes it."
    )


def _traced_tail_step(at: Layout, tail: Tail, said: Said, reaches: str) -> str:
    level = tail.level_from[0] < tail.rear[0]
    behind = f"from {said.length(tail.level_from[0])} on it is level, " if level else "at the casting's rear end it lies "
    return (
        f"Cut the cove and the lowered tail as traced: the cove begins {said.length(tail.cove_high[0])} from the toe and "
        f"its foot is {said.length(tail.cove_low[0])} from it; {behind}{said.fine(at.thickness - tail.level)} below the "
        f"seat, and so on {reaches}. Knife it from the template of the inside face, pare to the line, and try it with the "
        "casting itself."
    )


def _frog(made: Design) -> Iterator[str]:
    at = made.layout
    if at.recess is not None and (at.pad or at.slip):
        beyond = at.pad and max(z for _, z in at.recess) > at.height - at.pad
        yield ("Carry the frog's recess on through the pad. " if beyond else "") + "Try the frog's foot in its recess again."
    elif at.recess is not None:
        yield from _recess(made)
    else:
        yield "Lay the frog's foot on the bed: its face and the bed are one plane; a straightedge across both shows it."
    yield from frog_screw_steps(made)


def _recess(made: Design) -> Iterator[str]:
    at, said = made.layout, Said(made.given.units)
    yield (
        f"Sink the frog's recess {said.fine(made.given.frog.recess_depth.value)} deep, square to the bed, "
        f"{said.length(at.recess_half_width)} to either side of the middle. Try the frog's foot in it: its face and the bed "
        f"are one plane to within {said.fine(BED_STEP)}; a straightedge across both shows which is high."
    )


def _shaping(made: Design) -> Iterator[str]:
    at, given, said = made.layout, made.given, Said(made.given.units)
    plan = at.plan
    if plan.toe.half_width < plan.half_width or plan.heel.half_width < plan.half_width:
        yield (
            f"Saw and plane the cheeks to the top template: {said.length(2 * plan.half_width)} beside the throat, "
            f"{said.length(2 * plan.toe.half_width)} at the toe, {said.length(2 * plan.heel.half_width)} at the "
            "heel, in fair curves."
        )
    else:
        yield f"Plane the cheeks to {said.length(2 * plan.half_width)}, parallel to the middle."
    corners = [
        f"{name} {said.length(end.corner_radius)}"
        for name, end in (("toe", plan.toe), ("heel", plan.heel))
        if end.corner_radius
    ]
    if corners:
        yield f"Round the corners seen from above: {listed(corners)} radius."
    if at.edge_size:
        word = "Round" if given.body.edge == "round" else "Chamfer"
        yield f"{word} the outer top edges, {said.length(at.edge_size)}; leave the sole's edges almost sharp."


def _sole(made: Design) -> Iterator[str]:
    given, said = made.given, Said(made.given.units)
    yield (
        "True the sole with everything mounted and tightened as in use, the iron drawn back: toe, both sides of the "
        "mouth and heel must touch a straightedge."
    )
    yield (
        f"Open the mouth last, from its front, with a float or a file: {said.fine(given.throat.opening.value)} from "
        "the edge, the edge level with the sole, parallel to it. Break the sole's edges by a stroke."
    )


def _finish(made: Design) -> Iterator[str]:
    yield (
        "Oil or wax, thin, inside faces of throat and bed left bare. Rags with linseed oil set themselves alight: "
        "spread them flat or drown them (see the cautions)."
    )
    yield (
        "Write the thickness you reached, the date and the first lines of the set's digest, "
        f"{made.given.digest[:12]}, inside the throat or under the casting."
    )
