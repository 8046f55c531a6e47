"""The body as anyone would first write it with CadQuery's Workplane: one feature after the other, then sawn apart.

The reference that the program's own construction is measured against; it makes the same body, from the same layout.
"""

from __future__ import annotations

import cadquery as cq

from planestock.models.body.holes import Hole
from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Arc, Outline

BEYOND = 5.0
"""How far each cut reaches out of the wood, mm."""

DEFLECTION, ANGLE = 0.05, 0.2
"""What the program meshes with, mm and radians."""

Triangles = tuple[list[cq.Vector], list[tuple[int, int, int]]]


def parts_and_meshes(at: Layout) -> tuple[list[cq.Shape], list[Triangles]]:
    """Return right half, left half and, where there is one, the strip, with their meshes."""
    shapes = sawn_apart(body(at), at)
    return shapes, [shape.tessellate(DEFLECTION, ANGLE) for shape in shapes]


def body(at: Layout) -> cq.Workplane:
    """Return the whole body."""
    made = drawn(cq.Workplane("XY"), at.plan.whole_outline()).extrude(at.height)
    if at.edge_size:
        top = made.faces(">Z").edges()
        made = top.fillet(at.edge_size) if at.edge_kind == "round" else top.chamfer(at.edge_size)
    made = made.cut(across(at.throat_tool(), at.throat_half_width))
    if at.recess is not None:
        made = made.cut(recess(at))
    if at.let_in:
        seat = drawn(cq.Workplane("XY").workplane(offset=at.thickness), at.seat)
        made = made.cut(seat.extrude(at.let_in + BEYOND))
    tail = at.tail_tool()
    if tail is not None:
        made = made.cut(across(tail, at.plan.half_width + BEYOND))
    for hole in at.holes:
        made = made.cut(drilled(hole))
    return made


def sawn_apart(whole: cq.Workplane, at: Layout) -> list[cq.Shape]:
    """Return the parts between the planes of the mating faces."""
    half, wide = at.strip / 2, at.plan.half_width + BEYOND
    spans = [(half, wide), (-wide, -half), *([(-half, half)] if half else [])]
    return [whole.intersect(slab(low, high, at)).combine().val() for low, high in spans]  # type: ignore[misc]


def slab(low: float, high: float, at: Layout) -> cq.Workplane:
    """Return a block wider than the body between two planes across."""
    size = (at.length + 2 * BEYOND, high - low, at.height + 2 * BEYOND)
    return cq.Workplane("XY").box(*size, centered=False).translate((-BEYOND, low, -BEYOND))


def drawn(plane: cq.Workplane, outline: Outline) -> cq.Workplane:
    """Draw an outline on a plane and close it."""
    made = plane.moveTo(*outline[0].start)
    for piece in outline:
        made = made.threePointArc(piece.at(0.5), piece.end) if isinstance(piece, Arc) else made.lineTo(*piece.end)
    return made.close()


def across(outline: Outline, half_width: float) -> cq.Workplane:
    """Draw an outline in the side view and extrude it to both sides."""
    return drawn(cq.Workplane("XZ"), outline).extrude(half_width, both=True)


def recess(at: Layout) -> cq.Workplane:
    """Return the frog's recess, half a millimetre out of the bed."""
    assert at.recess is not None
    nx, nz = at.out_of_the_bed
    low, low_floor, high_floor, high = at.recess
    corners = [(low[0] + nx / 2, low[1] + nz / 2), low_floor, high_floor, (high[0] + nx / 2, high[1] + nz / 2)]
    return cq.Workplane("XZ").polyline(corners).close().extrude(at.recess_half_width, both=True)


def drilled(hole: Hole) -> cq.Workplane:
    """Return one hole."""
    direction = cq.Vector(*hole.direction)
    plane = cq.Plane(cq.Vector(*hole.start) - direction * hole.overrun, normal=direction)
    return cq.Workplane(plane).circle(hole.radius).extrude(hole.depth + hole.overrun)
