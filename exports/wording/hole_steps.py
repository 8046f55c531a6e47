"""Steps of the order of work about holes: place, size, depth and lean of each, drilled alike where they are alike."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.wording.said import Said, angle
from planestock.models.bench.drill_table import Drilling, drillings, inch_bit, metric_bit
from planestock.models.design import Design

LEAST_LEAN = 0.05
"""A drill that leans less than this, degrees, is said to stand square: angles are said to 0.1°."""


def frog_screw_steps(made: Design) -> Iterator[str]:
    """Yield how the frog's screws are drilled: one sentence for each lean of the drill, nothing where there are none."""
    given, at, said = made.given, made.layout, Said(made.given.units)
    holes = [one for one in drillings(given, at) if one.face == "bed"]
    if holes:
        yield "Mark the frog's screws through its own holes, with the bed template as a check."
        for alike in _by_lean(holes):
            yield f"{_bed_drill(alike[0])}: {'; '.join(_hole_on_bed(one, said) for one in alike)}."
        if any(one.count == 1 for one in holes):
            yield "A hole on the middle lies on the joint: drill it with the halves clamped together, or after the glue-up."


def _by_lean(holes: list[Drilling]) -> list[list[Drilling]]:
    """Return holes in groups that the drill is set up for once: those whose leans are said alike."""
    groups: dict[str, list[Drilling]] = {}
    for one in holes:
        groups.setdefault(_bed_drill(one), []).append(one)
    return list(groups.values())


def _hole(one: Drilling, said: Said) -> str:
    pair = f", {said.length(one.across)} to either side" if one.count == 2 else ", on the middle"
    return f"Ø {said.bore(one.diameter)}, {said.length(one.depth)} deep{pair}"


def _hole_on_bed(one: Drilling, said: Said) -> str:
    along = one.along or 0.0
    return f"{_hole(one, said)}, {said.length(abs(along))} {'below' if along <= 0 else 'above'} the corner D along the bed"


def _bed_drill(one: Drilling) -> str:
    square = abs(one.lean) < LEAST_LEAN
    way = f"{angle(abs(one.lean))} from square to the bed, its point towards the {'sole' if one.lean > 0 else 'top'}"
    stands = "square to the bed" if square else way
    return f"Drill with the bit {stands}, which is {angle(abs(one.from_plumb))} from plumb with the body on its sole"


def top_hole_steps(made: Design) -> Iterator[str]:
    """Yield how the holes from the top are drilled: casting screws of one size together, then bolts and the toe screw."""
    given, at, said = made.given, made.layout, Said(made.given.units)
    holes = [one for one in drillings(given, at) if one.face == "top"]
    screws = [one for one in holes if one.kind == "casting screw"]
    for alike in _by_pilot(screws):
        one = alike[0]
        shank = (
            f", then Ø {said.bore(one.shank.diameter)} for the plain shank, {said.length(one.shank.depth)} deep"
            if one.shank
            else ""
        )
        where = "; ".join(
            f"{said.length(each.from_toe)} from the toe, "
            + (f"{said.length(each.across)} to either side" if each.count == 2 else "on the middle")
            for each in alike
        )
        yield (
            f"Casting screws, No. {one.gauge}: mark through the casting's own holes; they should lie {where}. Pilot "
            f"Ø {said.fine(one.diameter)} ({bits(one.diameter, said)} bit), {said.length(one.depth)} deep, plumb{shank}."
        )
    if screws:
        yield (
            "Turn the screws in, never drive them; rub the thread with wax, candle or tallow first, and cut the "
            "thread with a steel screw before a brass one goes in."
        )
    for one in holes:
        if one.kind != "casting screw":
            place = f"{said.length(one.from_toe)} from the toe, {_drill_way(one)}"
            yield f"{one.kind.capitalize()}: {_hole(one, said)}, {place}."


def _by_pilot(screws: list[Drilling]) -> list[list[Drilling]]:
    groups: dict[object, list[Drilling]] = {}
    for one in screws:
        groups.setdefault((one.gauge, one.diameter, one.depth, one.shank), []).append(one)
    return list(groups.values())


def bits(diameter: float, said: Said) -> str:
    """Return the bits that come nearest to a diameter: of both kinds for a set in mm, in inches by 1/64."""
    inch = inch_bit(diameter).name
    return inch if said.units == "in" else f"{metric_bit(diameter).name} or {inch}"


def _drill_way(one: Drilling) -> str:
    if abs(one.from_plumb) < LEAST_LEAN:
        return "plumb"
    return f"{angle(abs(one.from_plumb))} from plumb, point towards the {'heel' if one.from_plumb > 0 else 'toe'}"
