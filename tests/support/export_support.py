"""Small invented parts for the tests of the file writers: two mirrored halves, a strip between them, a metal
plate."""

from __future__ import annotations

from functools import cache

import cadquery
import numpy as np

from planestock.exports.files.stamp import Stamp
from planestock.models.solids.parts import Kind, Mesh, Part, Vector

LENGTH, HALF_WIDTH, HEIGHT, STRIP = 120.0, 24.0, 40.0, 6.0
SLOT = (30.0, 10.0, 25.0)
HOLE_RADIUS, HOLE_X, HOLE_Z = 4.0, 90.0, 20.0
BEECH, MAPLE, STEEL = (0.80, 0.60, 0.40, 1.0), (0.90, 0.80, 0.65, 1.0), (0.45, 0.47, 0.50, 0.4)

HALF_VOLUME = LENGTH * HALF_WIDTH * HEIGHT - float(np.prod(SLOT)) - np.pi * HOLE_RADIUS**2 * HALF_WIDTH
STRIP_VOLUME = LENGTH * STRIP * HEIGHT
PLATE_VOLUME = 60.0 * 40.0 * 5.0

STAMP = Stamp("Invented try plane", "0123456789abcdef0123456789abcdef", "0.1.0")
WILD_NAME = 'Bob\'s "beech" \\ Hörnchen 木 🪵 <&> \x07\tend'
PLAIN_WILD_NAME = 'Bob\'s "beech" \\ Hörnchen 木 🪵 <&> end'


@cache
def parts() -> tuple[Part, ...]:
    """Left half, right half, strip, and a plate of reference metal above them."""
    right = _right_half()
    left = right.mirror("XZ")
    strip = cadquery.Solid.makeBox(LENGTH, STRIP, HEIGHT, cadquery.Vector(0, -STRIP / 2, 0))
    plate = cadquery.Solid.makeBox(60, 40, 5).moved(cadquery.Location(cadquery.Vector(20, -20, HEIGHT)))
    return (
        part("left half", left, "beech", BEECH, (0.0, 1.0, 0.0)),
        part("right half", right, "beech", BEECH, (0.0, -1.0, 0.0)),
        part("centre strip", strip, "maple", MAPLE, (0.0, 1.0, 0.0)),
        part("casting", plate, "grey iron", STEEL, None, "metal"),
    )


def part(
    name: str,
    shape: cadquery.Shape,
    material: str = "beech",
    colour: tuple[float, float, float, float] = BEECH,
    mating_normal: Vector | None = None,
    kind: Kind = "wood",
) -> Part:
    """Make a part of a shape, with its mesh."""
    return Part(name, kind, material, colour, shape, mesh_of(shape), mating_normal)


def mesh_of(shape: cadquery.Shape, deflection: float = 0.01, angle: float = 0.2) -> Mesh:
    """Mesh a shape and merge the vertices that its faces share."""
    points, triangles = shape.tessellate(deflection, angle)
    rows = np.array([point.toTuple() for point in points])
    _, first, inverse = np.unique(np.round(rows, 6), axis=0, return_index=True, return_inverse=True)
    return Mesh(rows[first], inverse.ravel()[np.array(triangles)].astype(np.int32))


def box_mesh(x: float = 3.0, y: float = 2.0, z: float = 1.0) -> Mesh:
    """Mesh a box of 8 vertices and 12 triangles with one corner at the origin."""
    return mesh_of(cadquery.Solid.makeBox(x, y, z))


def signed_volume(mesh: Mesh) -> float:
    """Volume by the divergence theorem; positive when the triangles are turned outward."""
    a, b, c = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    return float((a * np.cross(b, c)).sum() / 6)


def _right_half() -> cadquery.Shape:
    blank = cadquery.Solid.makeBox(LENGTH, HALF_WIDTH, HEIGHT, cadquery.Vector(0, STRIP / 2, 0))
    slot = cadquery.Solid.makeBox(*SLOT, cadquery.Vector(40, STRIP / 2, HEIGHT - SLOT[2]))
    hole = cadquery.Solid.makeCylinder(
        HOLE_RADIUS, HALF_WIDTH, cadquery.Vector(HOLE_X, STRIP / 2, HOLE_Z), cadquery.Vector(0, 1, 0)
    )
    return blank.cut(slot, hole)
