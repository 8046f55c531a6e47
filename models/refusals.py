"""Parameter rules that no solid kernel can see: a set that breaks one cannot become a body and is refused by name.

A body that can be built but should not be (thin cheeks, holes that break out, a thickness outside the window) is not refused
here: it is built, and fails a check.
"""

from __future__ import annotations

from collections.abc import Iterator

from planestock.models.holes import Hole
from planestock.models.layout import Layout
from planestock.models.plan import End, corner_centre, swell_radius
from planestock.models.shapes import Point, inside
from planestock.params.problems import Problem, shown

LEAST_BLOCK = 15.0
"""Length of wood that must remain ahead of the throat and behind the bed, mm, so that each end is a block at all."""

LEAST_WALL = 1.0
"""Thinnest wall the solids are built with, mm; thinner ones turn into slivers, and no one can plane them."""

STEEPEST_TAPER = 0.5
"""Most that an end may draw in, as a share of the length it draws in over: beyond it the arc meets the end face askew."""

Rule = Iterator[Problem]


def refusals(layout: Layout) -> list[Problem]:
    """Return every rule that this layout breaks; the solids are sound only where there is none."""
    return [
        *_throat(layout),
        *_levels(layout),
        *_plan(layout),
        *_edges(layout),
        *_casting(layout),
        *_recess(layout),
        *(problem for hole in layout.holes for problem in _hole(hole, layout)),
    ]


def _broken(path: str, value: float, rule: str, remedy: str) -> Problem:
    return Problem(path, f"{value:.4g} mm", rule, remedy)


def _throat(at: Layout) -> Rule:
    ahead = min(at.mouth_front[0], at.wear_top[0], at.breast_top[0])
    if ahead < LEAST_BLOCK:
        yield _broken("body.toe_to_mouth", ahead, f"leaves less than {LEAST_BLOCK:g} mm of wood between toe and throat",
                      "move the mouth back, or lower throat.breast_lean")  # fmt: skip
    behind = at.length - at.throat[2][0]
    if behind < LEAST_BLOCK:
        yield _broken("body.length", behind, f"leaves less than {LEAST_BLOCK:g} mm of wood behind the bed",
                      "make the body longer or move the mouth towards the toe")  # fmt: skip
    if at.height - at.wear_top[1] < LEAST_WALL:
        yield _broken(
            "throat.wear_height", at.wear_top[1], "the wear is as high as the body", "lower it to a few millimetres"
        )
    cheek = at.plan.half_width - at.throat_half_width
    if cheek < LEAST_WALL:
        yield _broken("body.width", cheek, f"leaves a cheek of less than {LEAST_WALL:g} mm beside the throat",
                      "make the body wider or lower throat.side_clearance")  # fmt: skip
    if at.strip / 2 > at.throat_half_width - LEAST_WALL:
        yield _broken("body.centre_strip", at.strip, "is as wide as the throat", "make the strip thinner")


def _levels(at: Layout) -> Rule:
    floor = at.tail.cove_low[1] if at.tail else at.thickness
    if floor - at.slip < LEAST_WALL:
        yield _broken("casting.tail_drop", floor - at.slip, "the lowered tail comes down to the sole or the slip",
                      "measure casting.tail_drop again, or make the body thicker or the slip thinner")  # fmt: skip
    if at.pad and at.pad < at.let_in + LEAST_WALL:
        yield _broken(
            "body.pad", at.pad, "the casting's seat cuts through the pad", "make the pad thicker than casting.let_in"
        )
    if at.height - at.pad - at.slip < LEAST_BLOCK:
        yield _broken("body.pad", at.pad + at.slip, f"pad and slip leave less than {LEAST_BLOCK:g} mm for the halves",
                      "make them thinner")  # fmt: skip
    if (at.pad and at.pad < LEAST_WALL) or (at.slip and at.slip < LEAST_WALL):
        yield _broken("body.slip" if at.slip else "body.pad", at.slip or at.pad, f"is thinner than {LEAST_WALL:g} mm",
                      "make it thicker, or 0 for none")  # fmt: skip
    if 0 < at.strip < LEAST_WALL:
        yield _broken("body.centre_strip", at.strip, f"is thinner than {LEAST_WALL:g} mm", "make it thicker, or 0 for none")


def _plan(at: Layout) -> Rule:
    yield from _end("toe", at.plan.toe, at)
    yield from _end("heel", at.plan.heel, at)


def _end(name: str, end: End, at: Layout) -> Rule:
    drawn_in, length = at.plan.half_width - end.half_width, abs(end.shoulder - end.x)
    if (end.shoulder - end.x) * (1 if name == "toe" else -1) < end.corner_radius + LEAST_WALL:
        yield _broken(f"body.{name}_radius", end.corner_radius, f"reaches the throat from the {name}", "make it smaller")
    elif drawn_in > STEEPEST_TAPER * length:
        yield _broken(
            f"body.{name}_width", 2 * end.half_width, "draws in more steeply than one in two", "make the end wider"
        )
    elif end.corner_radius and end.corner_radius > swell_radius(end, at.plan.half_width) - LEAST_WALL:
        yield _broken(f"body.{name}_radius", end.corner_radius, "is larger than the curve it rounds off", "make it smaller")
    else:
        flat = corner_centre(end, at.plan.half_width)[1] if end.corner_radius else end.half_width
        if flat < at.plan.inner + LEAST_WALL:
            yield _broken(f"body.{name}_radius", end.corner_radius, f"leaves no flat face at the {name}",
                          "make it smaller, or the strip thinner")  # fmt: skip


def _edges(at: Layout) -> Rule:
    size = at.edge_size
    top = (at.pad or at.height - at.slip) - LEAST_WALL
    if size > top:
        yield _broken("body.edge_size", size, "is larger than the wood it is cut in is thick", f"at most {top:.3g} mm")
    for name, end in (("toe", at.plan.toe), ("heel", at.plan.heel)):
        if 0 < end.corner_radius <= size:
            yield _broken("body.edge_size", size, f"is not smaller than body.{name}_radius = {end.corner_radius:g} mm",
                          f"make it smaller, or body.{name}_radius 0 or larger")  # fmt: skip
    if size > at.plan.half_width - at.throat_half_width:
        yield _broken("body.edge_size", size, "takes away the whole top of the cheek", "make it smaller")


def _casting(at: Layout) -> Rule:
    if at.tail is None:
        return
    if at.tail.cove_high[0] - at.corner[0] < LEAST_WALL:
        yield _broken("casting.rear", at.tail.cove_high[0] - at.corner[0], "the cove begins before the bed ends",
                      "measure casting.rear, tail_length and cove_radius again")  # fmt: skip
    if at.length - at.tail.cove_low[0] < LEAST_WALL:
        yield _broken("body.length", at.length, "the body ends before the foot of the cove", "make the body longer")


def _recess(at: Layout) -> Rule:
    if at.recess is None:
        return
    if at.recess_half_width > at.throat_half_width:
        yield _broken("frog.width", 2 * at.recess_half_width, "the frog's foot is wider than the throat and cannot go in",
                      "raise throat.side_clearance or measure frog.width again")  # fmt: skip
    low = min(at.recess[0][1], at.recess[1][1])
    if low < LEAST_WALL:
        yield _broken(
            "frog.foot_low", low, "the frog's recess goes through the sole", "measure foot_low and recess_depth again"
        )
    if at.recess[2][0] > at.length - LEAST_WALL:
        yield _broken("frog.foot_high", at.recess[2][0], "the frog's recess ends behind the heel", "measure foot_high again")
    if at.tail is not None and _recess_meets_tail(at.recess, at):
        yield _broken("frog.recess_depth", at.recess[2][0], "the frog's recess breaks into the cove or the tail",
                      "measure frog.recess_depth, foot_high and casting.rear again")  # fmt: skip


def _recess_meets_tail(recess: tuple[Point, ...], at: Layout) -> bool:
    low, high = recess[1], recess[2]
    shares = [share / 8 for share in range(9)]
    points = [(low[0] + s * (high[0] - low[0]), low[1] + s * (high[1] - low[1])) for s in shares]
    return any(z > at.top_at(x) - LEAST_WALL for x, z in points if x > at.corner[0] and z < at.thickness + LEAST_WALL)


def _hole(hole: Hole, at: Layout) -> Rule:
    """Refuse a hole whose first part is not in wood: it would cut nothing, or only a sliver."""
    (x, y, z), (dx, dy, dz) = hole.start, hole.direction
    probe = min(hole.depth / 2, hole.diameter)
    x, y, z = x + probe * dx, y + probe * dy, z + probe * dz
    inner = abs(y) - hole.radius
    solid = 0 < x < at.length and abs(y) + hole.radius < at.plan.half_width_at(x) and 0 < z <= at.top_at(x)
    if hole.kind != "dowel" and (not solid or (inner < at.throat_half_width and inside((x, z), at.throat))):
        yield Problem(hole.path, shown(f"x {hole.start[0]:.1f}, y {abs(hole.start[1]):.1f} mm from the toe and mid-plane"),
                      f"the {hole.kind} begins outside the wood or in the throat",
                      "measure its place again, from the corner D (the knob: from the toe)")  # fmt: skip
