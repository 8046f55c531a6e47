"""How a piece lies on the printer's bed, and which of its faces then hang over.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.prints.bed import Bed, spin_that_fits
from planestock.models.prints.print_groups import Piece
from planestock.models.solids.parts import Mesh, Vector

Array = npt.NDArray[np.float64]

ANGLE_NOISE = 0.5
"""Degrees by which a face may pass the limit: a bed of 45.0 degrees is meant to print at a limit of 45, facets stray."""

ON_BED = 1e-3
"""Faces lower than this lie on the printer's bed, mm."""

SHORT, ARCHED = 6.0, 10.0
"""Widest overhangs that are left without support, mm: a flat ledge, and the roof of a round hole, which carries itself. They
come out rough but stay in place (common practice, no published source)."""

ARCH = 0.95
"""Below this length of the mean of its unit normals a patch is curved like the roof of a hole; 0.90 where it runs from 45 to
45 degrees, 1 where it is flat."""

LEAST_PATCH, LEAST_ACROSS = 0.5, 1.0
"""Smaller overhangs are crumbs of facets, mm²; narrower ones, mm, are carried by the line of plastic beside them, as the
edges of letters are."""

SHORT_WEIGHT, CONTACT_WEIGHT = 0.25, 0.02
"""How much a mm² of short overhang counts against a side, and a mm² of contact for it, where 1 mm² of support counts 1."""


@dataclass(frozen=True)
class Overhang:
    """One patch of faces that hang over. area: mm²; across: its narrowest width seen from above, mm; middle: where it is, in
    the piece's own coordinates; normal: mean direction it faces there."""

    area: float
    across: float
    middle: Vector
    normal: Vector

    @property
    def needs_support(self) -> bool:
        """Tell whether it is too wide to print in the air."""
        curved = math.hypot(*self.normal) < ARCH
        return self.across > (ARCHED if curved else SHORT)


@dataclass(frozen=True, eq=False)
class Lying:
    """A piece as it prints. down: its side on the bed; mesh: turned, lowest corner at zero; contact: on the bed, mm²."""

    piece: Piece
    down: Vector
    mesh: Mesh
    contact: float
    overhangs: tuple[Overhang, ...]

    @property
    def size(self) -> Vector:
        """Length along the printer's x and y, and height, mm."""
        x, y, z = (float(reach) for reach in np.ptp(self.mesh.vertices, axis=0))
        return (x, y, z)

    @property
    def support(self) -> float:
        """Area that needs support, mm²."""
        return sum(one.area for one in self.overhangs if one.needs_support)

    @property
    def short(self) -> float:
        """Area of short overhangs, mm²."""
        return sum(one.area for one in self.overhangs if not one.needs_support)


def lie(piece: Piece, bed: Bed, limit: float) -> Lying | None:
    """Return the piece on the first of its sides that needs no support, else on the one that needs least; None where it
    fits the bed on none.

    limit: degrees from plumb that a face may lean out.
    """
    found = [lying for down in piece.downs if (lying := lying_on(piece, down, bed, limit)) is not None]
    free = next((one for one in found if one.support == 0 and one.contact > 0), None)
    return free or min(found, key=_against, default=None)


def fits(piece: Piece, bed: Bed) -> bool:
    """Tell whether a piece fits the bed on any of its sides."""
    points = piece.mesh.vertices
    return any(spin_that_fits(points @ turn_down(down, points).T, bed) is not None for down in piece.downs)


def _against(lying: Lying) -> float:
    return round(lying.support + SHORT_WEIGHT * lying.short - CONTACT_WEIGHT * lying.contact, 1)


def lying_on(piece: Piece, down: Vector, bed: Bed, limit: float) -> Lying | None:
    """Return the piece on a side, turned flat so that it fits the bed; None where it does not."""
    flat = piece.mesh.vertices @ turn_down(down, piece.mesh.vertices).T
    spin = spin_that_fits(flat, bed)
    if spin is None:
        return None
    turn = _about_z(spin) @ turn_down(down, piece.mesh.vertices)
    points = piece.mesh.vertices @ turn.T
    mesh = Mesh(points - points.min(axis=0), piece.mesh.faces)
    return Lying(piece, down, mesh, contact_area(mesh), overhangs(mesh, limit, piece.mesh))


def turn_down(down: Vector, points: Array) -> Array:
    """Return the rotation, (3, 3), that brings `down` to the bed and the longest of the other axes to x."""
    up = -np.asarray(down) / np.linalg.norm(down)
    left = [axis - up * float(axis @ up) for axis in np.eye(3)]
    axes = [axis / np.linalg.norm(axis) for axis in left if np.linalg.norm(axis) > 0.5]
    along = max(axes, key=lambda axis: round(float(np.ptp(points @ axis)), 6))
    return np.array((along, np.cross(up, along), up)) + 0.0


def _about_z(degrees: float) -> Array:
    cos, sin = (round(f(math.radians(degrees)), 15) for f in (math.cos, math.sin))
    return np.array(((cos, -sin, 0.0), (sin, cos, 0.0), (0.0, 0.0, 1.0)))


def facing(mesh: Mesh) -> tuple[Array, Array]:
    """Return the triangles' unit normals (m, 3) and areas (m,), mm²; no direction where there is no area."""
    corners = mesh.vertices[mesh.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(cross, axis=1)
    normals = np.divide(cross, twice[:, None], out=np.zeros_like(cross), where=twice[:, None] > 0)
    return normals, twice / 2


def contact_area(mesh: Mesh) -> float:
    """Return the area that lies on the bed, mm²."""
    _, areas = facing(mesh)
    return float(areas[_on_bed(mesh)].sum())


def _on_bed(mesh: Mesh) -> npt.NDArray[np.bool_]:
    on: npt.NDArray[np.bool_] = (mesh.vertices[mesh.faces][:, :, 2] < mesh.vertices[:, 2].min() + ON_BED).all(axis=1)
    return on


def overhangs(lying: Mesh, limit: float, own: Mesh) -> tuple[Overhang, ...]:
    """Return the patches that lean out by more than `limit` degrees from plumb, the largest first.

    lying: the mesh as it prints; own: the same in the coordinates that places are told in.
    """
    normals, areas = facing(lying)
    steepest = -math.sin(math.radians(min(limit + ANGLE_NOISE, 90.0)))
    over = np.flatnonzero((normals[:, 2] < steepest) & ~_on_bed(lying))
    if not len(over):
        return ()
    own_normals, _ = facing(own)
    found = [_patch(over[label], areas, lying, own, own_normals) for label in _connected(lying.faces[over])]
    return tuple(
        sorted(
            (one for one in found if one.area >= LEAST_PATCH and one.across >= LEAST_ACROSS),
            key=lambda one: (-one.area, one.middle),
        )
    )


def _connected(faces: npt.NDArray[np.int32]) -> list[npt.NDArray[np.int64]]:
    """Return the rows of triangles that hang together by common corners."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    rows = np.repeat(np.arange(len(faces)), 3)
    corners, columns = np.unique(faces.ravel(), return_inverse=True)
    shared = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(len(faces), len(corners))).tocsr()
    count, labels = connected_components(shared @ shared.T, directed=False)
    return [np.flatnonzero(labels == label) for label in range(count)]


def _patch(rows: npt.NDArray[np.int64], areas: Array, lying: Mesh, own: Mesh, own_normals: Array) -> Overhang:
    area = float(areas[rows].sum())
    weights = areas[rows, None] / max(area, 1e-12)
    middle = (own.vertices[own.faces[rows]].mean(axis=1) * weights).sum(axis=0)
    normal = (own_normals[rows] * weights).sum(axis=0)
    points = lying.vertices[np.unique(lying.faces[rows]), :2]
    return Overhang(area, narrowest(points), _rounded(middle), _rounded(normal))


def _rounded(values: Array) -> Vector:
    x, y, z = (round(float(value), 6) + 0.0 for value in values)
    return (x, y, z)


def narrowest(points: Array) -> float:
    """Return the narrowest width of points (n, 2), tried every three degrees."""
    angles = np.radians(np.arange(0, 180, 3))
    return float(np.ptp(points @ np.array((np.cos(angles), np.sin(angles))), axis=0).min())
