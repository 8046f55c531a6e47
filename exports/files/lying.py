"""How a part lies: mating face up for the cutter, down for the printer, long side along x, corner at zero."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from planestock.models.solids.parts import Mesh, Part, Vector

if TYPE_CHECKING:
    import cadquery

Array = npt.NDArray[np.float64]
Mating = Literal["up", "down"]

LEAST_NORMAL = 1e-6
"""A mating normal shorter than this has no usable direction; a unit vector is expected."""
LONGER_BY = 1e-6
"""Millimetres; axes nearer in length than this count as equal, so that rounding never turns a square part."""
CORNER_DECIMALS = 6
"""The kernel widens the box of a curved face by 1e-7 mm; rounded to a nanometre, zero is written as zero."""


def turning(normal: Vector | None, points: Array, mating: Mating) -> Array:
    """Return the rotation, (3, 3) with determinant +1, that turns a part's mating face up or down.

    normal: outward normal of the mating face in body coordinates; None leaves the part as it stands in the
    body. points: (n, 3) points of the part, mm; of the body's axes as seen in the mating face, the one along
    which they reach furthest becomes x and keeps its sense, so the toe stays on the left. For a normal along
    an axis the entries are exactly 0, 1 and -1. Raises ValueError on a normal without a direction.
    """
    up = _unit(np.array((0.0, 0.0, 1.0) if normal is None else normal, dtype=np.float64))
    if normal is not None and mating == "down":
        up = -up
    along = _longest_across(up, points)
    # Adding zero turns -0 into 0, which would otherwise travel into the files.
    return np.array((along, np.cross(up, along), up)) + 0.0


def _unit(vector: Array) -> Array:
    length = float(np.linalg.norm(vector))
    if not length > LEAST_NORMAL:
        raise ValueError(f"a mating normal needs a direction, not {tuple(vector)}")
    return vector / length


def _longest_across(up: Array, points: Array) -> Array:
    """Of the body's axes, laid into the plane across `up`, the one along which the points reach furthest."""
    # At most one axis lies so close to `up` that less than half of its length is left in the plane.
    flat = [axis for axis in np.eye(3) - np.outer(up, up) if np.linalg.norm(axis) > 0.5]
    directions = [axis / np.linalg.norm(axis) for axis in flat]
    reaches = [float(np.ptp(points @ direction)) for direction in directions]
    longest = max(reaches) - LONGER_BY
    return next(direction for direction, reach in zip(directions, reaches, strict=True) if reach > longest)


def settling(turn: Array, low: Array) -> Array:
    """Return the rigid transform, (4, 4), that turns by `turn` (3, 3), then brings corner `low` (3,) to zero."""
    matrix = np.eye(4)
    matrix[:3, :3] = turn
    matrix[:3, 3] = -low + 0.0
    return matrix


def laid_mesh(part: Part, mating: Mating) -> Mesh:
    """Return the part's mesh as it lies, lowest corner at (0, 0, 0); mm."""
    turn = turning(part.mating_normal, part.mesh.vertices, mating)
    return moved_mesh(part.mesh, settling(turn, (part.mesh.vertices @ turn.T).min(axis=0)))


def laid_shape(part: Part, mating: Mating) -> cadquery.Shape:
    """Return the part's solid as it lies, lowest corner at (0, 0, 0) to the kernel's bounding box; mm."""
    turn = turning(part.mating_normal, part.mesh.vertices, mating)
    turned = moved_shape(part.shape, settling(turn, np.zeros(3)))
    return moved_shape(part.shape, settling(turn, lowest_corner(turned)))


def moved_mesh(mesh: Mesh, matrix: Array) -> Mesh:
    """Return the mesh moved by a rigid (4, 4) transform; the faces are shared with the old mesh."""
    return Mesh(mesh.vertices @ matrix[:3, :3].T + matrix[:3, 3], mesh.faces)


def moved_shape(shape: cadquery.Shape, matrix: Array) -> cadquery.Shape:
    """Return a copy of the shape moved by a rigid (4, 4) transform.

    The geometry itself is moved, not a placement attached to it, so the copy's own placement is the identity.
    """
    import cadquery
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    move = gp_Trsf()
    move.SetValues(*(float(value) for value in matrix[:3].ravel()))
    move.Multiply(shape.wrapped.Location().Transformation())
    moved = BRepBuilderAPI_Transform(shape.wrapped.Located(TopLoc_Location()), move, True)
    return cadquery.Shape.cast(moved.Shape())


def lowest_corner(shape: cadquery.Shape) -> Array:
    """Return the (3,) lowest corner of the shape's bounding box, true to `CORNER_DECIMALS`; mm."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape.wrapped, box, False, False)
    box.SetGap(0.0)
    return np.round(np.array(box.Get()[:3]), CORNER_DECIMALS)
