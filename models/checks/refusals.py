"""Parameter rules that no solid kernel can see: a set that breaks one cannot become a body and is refused by name.

A body that can be built but should not be (thin cheeks, holes that break out, a thickness outside the window) is not refused
here: it is built, and fails a check.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

from planestock.models.body.dowels import nearest_to
from planestock.models.body.holes import Hole, clear_of_touching
from planestock.models.body.layout import Layout, Tail
from planestock.models.body.plan import End, corner_centre
from planestock.models.checks.hole_overlap import in_wood, takes_wood
from planestock.models.checks.wood import cove_and_tail, front_wall, thinnest_seat_wall, walls
from planestock.models.window.reach import ROUNDING
from planestock.params.outlines.distances import segment_to_polygon
from planestock.params.outlines.pieces import Arc
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import Problem
from planestock.params.reading import Reading

LEAST_BLOCK = 15.0
"""Length of wood that must remain ahead of the throat and behind the bed, mm, so that each end is a block at all; our own
choice."""

LEAST_WALL = 1.0
"""Thinnest wall the solids are built with, mm; thinner ones turn into slivers, and no one can plane them; our own
choice."""

LEAST_FEATURE = 0.05
"""Smallest size, mm, of anything that is not 0: nobody cuts finer, and the kernel makes slivers of it; our own
choice."""

TOUCHING = 0.01
"""A hole nearer than this to just touching a surface, mm, is not built: surfaces that touch along a line bound no solid."""

CLEAR = 0.1
"""How much wider or deeper a hole that just touches something is to be made, mm: clear of `TOUCHING`."""

USUAL_WEAR = 5.0
"""Height of a wear that serves, mm; common practice, no published source."""

STEEPEST_TAPER = 0.5
"""Most that an end may draw in, as a share of the length it draws in over: beyond it the arc meets the end face askew; our
own choice."""


@dataclass(frozen=True)
class Broken:
    """One broken rule before it is worded. value: mm, or a place (x, y); sizes: what each {} in rule and remedy is, mm."""

    path: str
    value: float | tuple[float, float]
    rule: str
    remedy: str
    sizes: tuple[float, ...] = ()

    def problem(self, given: ParameterSet) -> Problem:
        """Return the problem in words: the value as the set writes it, and beside the rule what follows from it."""
        length, written = given.lengths, _written(given, self.path)
        sizes = [length.short(size) for size in self.sizes]
        # Rule and remedy are worded together, so that the lengths stand in their order.
        rule, remedy = f"{self.rule}\n{self.remedy}".format(*sizes).split("\n")
        if isinstance(self.value, tuple):
            x, y = self.value
            return Problem(self.path, f"x {length.number(x)}, y {length(y)} from the toe and mid-plane", rule, remedy)
        if written is None:
            return Problem(self.path, length(self.value), rule, remedy)
        follows = "" if abs(written.value - self.value) < ROUNDING else f" ({length(self.value)})"
        return Problem(self.path, written.text, f"{rule}{follows}", remedy)


def _written(given: ParameterSet, path: str) -> Reading | None:
    """Return the reading at a path; None where the path names a group, or what a set leaves to the window."""
    try:
        return given.reading_at(path)
    except ValueError:
        return None


Rule = Iterator[Broken]


def refusals(layout: Layout, given: ParameterSet) -> list[Problem]:
    """Return every rule that this layout of a set breaks, once each, in words."""
    return list(dict.fromkeys(broken.problem(given) for broken in broken_rules(layout)))


def broken_rules(layout: Layout) -> list[Broken]:
    """Return every rule that this layout breaks; the solids are sound only where there is none."""
    plan = list(_plan(layout))
    found = [
        *_sizes(layout),
        *_throat(layout),
        *_levels(layout),
        *plan,
        *_edges(layout),
        *_casting(layout),
        *_recess(layout),
    ]
    if not plan:
        found += [*_pocket(layout), *(problem for hole in layout.holes for problem in _hole(hole, layout))]
        found += _holes_together(layout)
    return found


def _sizes(at: Layout) -> Rule:
    """Refuse sizes that are neither 0 nor large enough to be cut."""
    for path, size in _cut_sizes(at):
        if size < LEAST_FEATURE - ROUNDING:
            yield Broken(path, size, "is less than {}, but not 0", "make it 0 or larger", (LEAST_FEATURE,))
    for name, end in (("toe", at.plan.toe), ("heel", at.plan.heel)):
        drawn_in = 2 * (at.plan.half_width - end.half_width)
        if 0 < drawn_in < LEAST_FEATURE - ROUNDING:
            yield Broken(f"body.{name}_width", drawn_in, "draws the end in by less than {}",
                         "make it narrower, or as wide as the body", (LEAST_FEATURE,))  # fmt: skip
    if at.tail is not None and not at.tail_full_width:
        behind = at.seat_rear[0] - at.tail.level_from[0]
        if ROUNDING < behind < LEAST_FEATURE - ROUNDING:
            yield Broken("body.seat_gap", behind, "leaves a hair between the foot of the cove and the pocket's end",
                          "make it 0 or larger, or measure casting.tail_length again")  # fmt: skip
    if at.recess is not None and math.dist(at.recess[1], at.recess[2]) < LEAST_FEATURE - ROUNDING:
        yield Broken("frog.foot_high", math.dist(at.recess[1], at.recess[2]), "makes the frog's recess a mere scratch",
                      "measure foot_low and foot_high again")  # fmt: skip


def _cut_sizes(at: Layout) -> Iterator[tuple[str, float]]:
    """Yield the sizes that are not 0, by their fields."""
    corner = 0.0 if at.is_traced else next((piece.radius for piece in at.casting if isinstance(piece, Arc)), 0.0)
    sizes = [
        ("body.edge_size", at.edge_size),
        ("body.toe_radius", at.plan.toe.corner_radius),
        ("body.heel_radius", at.plan.heel.corner_radius),
        ("casting.let_in", at.let_in),
        ("casting.corner_radius", corner),
        ("casting.tail_length", at.tail.rear[0] - at.tail.level_from[0] if at.tail else 0.0),
    ]
    yield from ((path, size) for path, size in sizes if size > 0)
    if at.tail is not None:
        yield "casting.tail_drop", at.thickness - at.tail.lowest
    if at.recess is not None:
        yield "frog.recess_depth", math.dist(at.recess[0], at.recess[1])


def _throat(at: Layout) -> Rule:
    ahead = front_wall(at)
    if ahead < LEAST_BLOCK:
        yield Broken("body.toe_to_mouth", ahead, "leaves less than {} of wood between toe and throat",
                     "move the mouth back, or lower throat.breast_lean", (LEAST_BLOCK,))  # fmt: skip
    behind = at.length - at.throat[2][0]
    if behind < LEAST_BLOCK:
        yield Broken("body.length", behind, "leaves less than {} of wood behind the bed",
                     "make the body longer or move the mouth towards the toe", (LEAST_BLOCK,))  # fmt: skip
    if at.height - at.wear_top[1] < LEAST_WALL:
        yield Broken(
            "throat.wear_height", at.wear_top[1], "the wear is as high as the body", "lower it to {}", (USUAL_WEAR,)
        )
    cheek = at.plan.half_width - at.throat_half_width
    if cheek < LEAST_WALL:
        yield Broken("body.width", cheek, "leaves a cheek of less than {} beside the throat",
                     "make the body wider or lower throat.side_clearance", (LEAST_WALL,))  # fmt: skip
    if at.strip / 2 > at.throat_half_width - LEAST_WALL:
        yield Broken("body.centre_strip", at.strip, "is as wide as the throat", "make the strip thinner")


def _levels(at: Layout) -> Rule:
    floor = at.tail.lowest if at.tail else at.thickness
    if floor - at.slip < LEAST_WALL:
        yield Broken("casting.tail_drop", floor - at.slip, "the lowered tail comes down to the sole or the slip",
                      "measure casting.tail_drop again, or make the body thicker or the slip thinner")  # fmt: skip
    if at.pad and at.pad < at.let_in + LEAST_WALL:
        yield Broken(
            "body.pad", at.pad, "the casting's seat cuts through the pad", "make the pad thicker than casting.let_in"
        )
    film = _under_tail(at) if at.pad and at.tail else 0.0
    if ROUNDING < abs(film) < LEAST_FEATURE or ROUNDING < film < LEAST_WALL:
        yield Broken("body.pad", film, "ends just under or over the lowered tail",
                      "make it {} thicker, or just as thick as casting.let_in and tail_drop together",
                      (LEAST_WALL,))  # fmt: skip
    if at.height - at.pad - at.slip < LEAST_BLOCK:
        yield Broken("body.pad", at.pad + at.slip, "pad and slip leave less than {} for the halves",
                     "make them thinner", (LEAST_BLOCK,))  # fmt: skip
    if (at.pad and at.pad < LEAST_WALL) or (at.slip and at.slip < LEAST_WALL):
        yield Broken("body.slip" if at.slip else "body.pad", at.slip or at.pad, "is thinner than {}",
                     "make it thicker, or 0 for none", (LEAST_WALL,))  # fmt: skip
    if 0 < at.strip < LEAST_WALL:
        yield Broken("body.centre_strip", at.strip, "is thinner than {}", "make it thicker, or 0 for none", (LEAST_WALL,))


def _under_tail(at: Layout) -> float:
    """Return how much of the pad is left under the lowered tail; negative where the pad ends in the cove."""
    assert at.tail is not None
    return at.tail.level - (at.height - at.pad)


def _plan(at: Layout) -> Rule:
    yield from _end("toe", at.plan.toe, at)
    yield from _end("heel", at.plan.heel, at)


def _end(name: str, end: End, at: Layout) -> Rule:
    drawn_in, length = at.plan.half_width - end.half_width, abs(end.shoulder - end.x)
    if (end.shoulder - end.x) * (1 if name == "toe" else -1) < end.corner_radius + LEAST_WALL:
        yield Broken(f"body.{name}_radius", end.corner_radius, f"reaches the throat from the {name}", "make it smaller")
    elif drawn_in > STEEPEST_TAPER * length:
        yield Broken(f"body.{name}_width", 2 * end.half_width, "draws in more steeply than one in two", "make the end wider")
    else:
        flat = corner_centre(end, at.plan.half_width)[1] if end.corner_radius else end.half_width
        if flat < at.plan.inner + LEAST_WALL:
            yield Broken(f"body.{name}_radius", end.corner_radius, f"leaves no flat face at the {name}",
                          "make it smaller, or the strip thinner")  # fmt: skip


def _edges(at: Layout) -> Rule:
    size = at.edge_size
    top = (at.pad or at.height - at.slip) - LEAST_WALL
    if size > top:
        yield Broken("body.edge_size", size, "is larger than the wood it is cut in is thick", "at most {}", (top,))
    for name, end in (("toe", at.plan.toe), ("heel", at.plan.heel)):
        if 0 < end.corner_radius <= size:
            yield Broken("body.edge_size", size, f"is not smaller than body.{name}_radius = {{}}",
                          f"make it smaller, or body.{name}_radius 0 or larger", (end.corner_radius,))  # fmt: skip
    if size > at.plan.half_width - at.throat_half_width:
        yield Broken("body.edge_size", size, "takes away the whole top of the cheek", "make it smaller")


def _casting(at: Layout) -> Rule:
    if at.tail is None:
        return
    if at.tail.cove_high[0] - at.corner[0] < LEAST_WALL:
        yield Broken("casting.rear", at.tail.cove_high[0] - at.corner[0], "the cove begins before the bed ends",
                      "measure casting.rear, tail_length and cove_radius again")  # fmt: skip
    if at.length - at.tail.level_from[0] < LEAST_WALL:
        yield Broken("body.length", at.length, "the body ends before the foot of the cove", "make the body longer")


def _pocket(at: Layout) -> Rule:
    wall = thinnest_seat_wall(at)
    if wall is not None and wall < LEAST_WALL:
        yield Broken("body.width", wall, "leaves a wall of less than {} around the casting's pocket",
                     "make the body wider or longer, or casting.let_in 0 so that the casting rests on top",
                     (LEAST_WALL,))  # fmt: skip


def _recess(at: Layout) -> Rule:
    if at.recess is None:
        return
    if at.recess_half_width > at.throat_half_width:
        yield Broken("frog.width", 2 * at.recess_half_width, "the frog's foot is wider than the throat and cannot go in",
                      "raise throat.side_clearance or measure frog.width again")  # fmt: skip
    low = min(at.recess[0][1], at.recess[1][1])
    if low < LEAST_WALL:
        yield Broken(
            "frog.foot_low", low, "the frog's recess goes through the sole", "measure foot_low and recess_depth again"
        )
    if at.recess[1][1] > at.thickness - LEAST_WALL:
        yield Broken("frog.foot_low", at.recess[1][1], "the frog's recess lies above the wood",
                      "measure foot_low again: below the corner D it is negative")  # fmt: skip
    if at.recess[2][0] > at.length - LEAST_WALL:
        yield Broken("frog.foot_high", at.recess[2][0], "the frog's recess ends behind the heel", "measure foot_high again")
    if at.tail is not None and _recess_meets_tail(at):
        yield Broken("frog.recess_depth", at.recess[2][0], "the frog's recess breaks into the cove or the tail",
                      "measure frog.recess_depth, foot_high and casting.rear again")  # fmt: skip


def _recess_meets_tail(at: Layout) -> bool:
    assert at.recess is not None
    return any(segment_to_polygon(a, b, at.recess) < LEAST_WALL for a, b in pairwise(cove_and_tail(at)))


def _hole(hole: Hole, at: Layout) -> Rule:
    """Refuse a hole whose axis does not begin in wood, or that just touches a surface; one that breaks out fails a check."""
    if hole.kind == "dowel":
        return
    if not _begins_in_wood(hole, at):
        yield _misplaced(hole, "begins outside the wood or in the throat",
                         "measure its place again, from the corner D (the knob: from the toe)")  # fmt: skip
    elif at.pad and at.tail and abs(_under_tail(at)) < LEAST_FEATURE and _on_cove(hole, at.tail):
        yield _misplaced(hole, "begins on the cove, where the pad runs out to nothing",
                         "measure its place again, or make body.pad {} thicker or thinner", (LEAST_WALL,))  # fmt: skip
    elif touched := _touched(hole, at):
        yield _misplaced(hole, f"just touches the {touched}", "move the hole, or make it {} wider or deeper", (CLEAR,))


def _misplaced(hole: Hole, rule: str, remedy: str, sizes: tuple[float, ...] = ()) -> Broken:
    return Broken(hole.path, (hole.start[0], abs(hole.start[1])), f"the {hole.kind} {rule}", remedy, sizes)


def _begins_in_wood(hole: Hole, at: Layout) -> bool:
    (x, y, z), (dx, dy, dz) = hole.start, hole.direction
    probe = min(hole.depth / 2, hole.diameter)
    return in_wood((x + probe * dx, y + probe * dy, z + probe * dz), at)


def _holes_together(at: Layout) -> Rule:
    """Refuse holes that just touch each other as they are bored, and one that takes no wood which others have not taken."""
    bored = [clear_of_touching(hole, at.strip / 2) for hole in at.holes]
    met: dict[int, list[Hole]] = {}
    for (first, one), (second, other) in combinations(enumerate(bored), 2):
        gap = nearest_to(one, other)
        if abs(gap) < TOUCHING:
            yield _misplaced(one, f"just touches the {other.said}", "move one of them, or make it {} wider", (CLEAR,))
        if gap < 0:
            met.setdefault(first, []).append(other)
            met.setdefault(second, []).append(one)
    for place, others in sorted(met.items()):
        if not takes_wood(bored[place], others, at):
            names = " and the ".join(other.said for other in others)
            yield _misplaced(
                at.holes[place], f"lies inside the {names}", "measure the places again, or leave one of them out"
            )


def _on_cove(hole: Hole, tail: Tail) -> bool:
    reach = hole.radius + LEAST_WALL
    return tail.cove_high[0] - reach < hole.start[0] < tail.level_from[0] + reach


def _touched(hole: Hole, at: Layout) -> str | None:
    """Return the surface that a hole touches without breaking out of it; its flat bottom may touch the sole."""
    lowest = hole.end[2] - hole.radius * abs(hole.direction[0])
    left = [("sole", lowest), *((name, wood) for name, wood in walls(hole, at) if name != "sole")]
    return next((name for name, wood in left if abs(wood) < TOUCHING), None)
