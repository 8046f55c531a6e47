"""The wooden body made a second time, by another kernel and from the layout's numbers alone.

manifold3d cuts polyhedra; every curve is replaced by chords first. Nothing here comes from the module that makes the solids:
outlines are taken from the layout's corners, and how far tools reach out of the wood is chosen anew.
"""

from __future__ import annotations

import math

import manifold3d
import numpy as np
from manifold3d import CrossSection, Manifold

from planestock.models.body.holes import Hole, clear_of_touching
from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Point, flattened

SAGITTA = 0.001
"""How far a chord may stray from its arc, mm: fifty times finer than the meshes that are compared with it."""

BEYOND = 3.0
"""How far tools reach into the air, mm; on purpose not what the program uses."""

INTO_THROAT = 0.2
"""How far the recess's tool reaches out of the bed, mm; the throat is wider than that everywhere."""


def rebuilt(at: Layout, sagitta: float = SAGITTA) -> dict[str, Manifold]:
    """Return the wooden parts by name, as polyhedra whose chords stray at most `sagitta` mm from the curves."""
    whole = _blank(at, sagitta) - Manifold.batch_boolean(_tools(at, sagitta), manifold3d.OpType.Add)
    lower, pad = _split(whole, (0, 0, 1), at.height - at.pad) if at.pad else (whole, None)
    slip, middle = _split(lower, (0, 0, 1), at.slip) if at.slip else (None, lower)
    left_and_strip, right = _split(middle, (0, 1, 0), at.strip / 2)
    left, strip = _split(left_and_strip, (0, 1, 0), -at.strip / 2) if at.strip else (left_and_strip, None)
    parts = {"right half": right, "left half": left, "centre strip": strip, "pad": pad, "slip": slip}
    return {name: part for name, part in parts.items() if part is not None}


def _split(solid: Manifold, normal: tuple[float, float, float], level: float) -> tuple[Manifold, Manifold]:
    """Return what lies below and above a plane."""
    above, below = solid.split_by_plane(normal, level)
    return below, above


def _chords(radius: float, turn: float, sagitta: float) -> int:
    """Return how many chords an arc needs so that none strays further than `sagitta`."""
    return max(2, math.ceil(turn / (2 * math.acos(1 - min(sagitta / radius, 1.0)))))


def _blank(at: Layout, sagitta: float) -> Manifold:
    """Return the blank. The plan is convex, so that each level of the broken edge hulls with the next."""
    plan = CrossSection([flattened(at.plan.whole_outline(), sagitta)])
    size = at.edge_size
    if size == 0:
        return plan.extrude(at.height)
    count = _chords(size, math.pi / 2, sagitta) if at.edge_kind == "round" else 1
    turns = [index * math.pi / 2 / count for index in range(count + 1)]
    levels = [(at.height - size + size * math.sin(turn), size * (1 - math.cos(turn))) for turn in turns]
    points = [_at_level(plan, inset, height) for height, inset in [(0.0, 0.0), *levels]]
    return Manifold.hull_points(np.concatenate(points))


def _at_level(plan: CrossSection, inset: float, height: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    section = plan.offset(-inset, manifold3d.JoinType.Miter, 4.0) if inset else plan
    (contour,) = section.to_polygons()
    return np.column_stack([contour, np.full(len(contour), height)]).astype(np.float64)


def _tools(at: Layout, sagitta: float) -> list[Manifold]:
    above = at.height + BEYOND
    tools = [_across(_throat(at, above), at.throat_half_width)]
    if at.recess is not None:
        tools.append(_across(_recess(at), at.recess_half_width))
    seat = CrossSection([flattened(at.seat, sagitta)])
    if at.let_in > 0:
        tools.append(seat.extrude(above - at.thickness).translate((0, 0, at.thickness)))
    if at.tail is not None:
        tail = _across(_tail(at, above, sagitta), 2 * at.plan.half_width)
        tools.append(tail if at.tail_full_width else tail ^ seat.extrude(2 * above))
    return [*tools, *(_drill(clear_of_touching(hole, at.strip / 2), sagitta) for hole in at.holes)]


def _across(side: list[Point], half_width: float) -> Manifold:
    """Return an outline of the side view (x, z) drawn out to both sides of the mid-plane."""
    prism = CrossSection([side], manifold3d.FillRule.NonZero).extrude(2 * half_width)
    turned = np.array([[1.0, 0, 0, 0], [0, 0, -1, half_width], [0, 1, 0, 0]])
    return prism.transform(turned)


def _throat(at: Layout, above: float) -> list[Point]:
    (fx, _), (bx, _) = at.mouth_front, at.bed_foot
    (wx, wz), (tx, tz) = at.wear_top, at.breast_top
    bed_top = bx + above / math.tan(math.radians(at.bed_angle))
    front_top = wx + (tx - wx) * (above - wz) / (tz - wz)
    return [(fx, 0.0), (fx, -BEYOND), (bx, -BEYOND), (bx, 0.0), (bed_top, above), (front_top, above), (wx, wz)]


def _recess(at: Layout) -> list[Point]:
    assert at.recess is not None
    low, low_floor, high_floor, high = at.recess
    nx, nz = at.out_of_the_bed
    lifted = [(x + INTO_THROAT * nx, z + INTO_THROAT * nz) for x, z in (high, low)]
    return [low_floor, high_floor, *lifted]


def _tail(at: Layout, above: float, sagitta: float) -> list[Point]:
    """Return what cove and tail take away; the cove is level at its foot, so that its angles follow from drop and radius."""
    assert at.tail is not None
    assert at.tail.centre is not None
    (cx, cz), (lx, lz), (hx, hz) = at.tail.centre, at.tail.cove_low, at.tail.cove_high
    radius = cz - lz
    turn = math.acos((cz - hz) / radius)
    count = _chords(radius, turn, sagitta)
    angles = [turn * (1 - index / count) for index in range(1, count)]
    arc = [(cx - radius * math.sin(angle), cz - radius * math.cos(angle)) for angle in angles]
    end = at.length + BEYOND
    return [(hx, hz), *arc, (lx, lz), (end, lz), (end, above), (hx, above)]


def _drill(hole: Hole, sagitta: float) -> Manifold:
    corners = _chords(hole.radius, math.tau, sagitta)
    direction = np.array(hole.direction)
    start = np.array(hole.start) - hole.overrun * direction
    side = np.cross(direction, (0.0, 1.0, 0.0) if abs(direction[1]) < 0.5 else (1.0, 0.0, 0.0))
    side /= np.linalg.norm(side)
    place = np.column_stack([side, np.cross(direction, side), direction, start])
    return Manifold.cylinder(hole.depth + hole.overrun, hole.radius, -1.0, corners).transform(place)
