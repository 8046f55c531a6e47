"""Meshes as solid bodies for cutting and joining: prisms and blocks by numbers, and the way there and back.

Booleans of meshes (manifold3d) cannot fail on cuts that touch, and pieces to print are meshes in the end. Faces that must be
round to be measured (bores for bushings) are made by the solid kernel instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import manifold3d
import numpy as np
import numpy.typing as npt
from manifold3d import CrossSection, Manifold

from planestock.models.solids.meshes import LINEAR_DEFLECTION, SAME_POINT
from planestock.models.solids.parts import Mesh, Vector
from planestock.params.outlines.pieces import Outline, Point, flattened

Array = npt.NDArray[np.float64]

TIDY = 1e-5
"""Edges shorter than this are taken out after cuts, mm: files hold a millionth, where two corners must not become one."""

SHARED_NOISE = 1.0
"""Shared volume that touching facets of two meshes can show without sharing in truth, mm³."""


def solid(mesh: Mesh) -> Manifold:
    """Return a closed mesh as a body to cut and join."""
    return Manifold(manifold3d.Mesh64(mesh.vertices.astype(np.float64), mesh.faces.astype(np.uint64)))


def mesh_of(body: Manifold) -> Mesh:
    """Return the body's closed mesh, tidied, its vertices in an order that only their places decide."""
    raw = body.simplify(TIDY).to_mesh64()
    points, faces = _welded(
        np.asarray(raw.vert_properties, dtype=np.float64)[:, :3], np.asarray(raw.tri_verts, dtype=np.int64)
    )
    order = np.lexsort(points.T[::-1])
    place = np.empty(len(points), dtype=np.int64)
    place[order] = np.arange(len(points))
    turned = _from_lowest(place[faces])
    return Mesh(points[order], turned[np.lexsort(turned.T[::-1])].astype(np.int32))


def _welded(points: Array, faces: npt.NDArray[np.int64]) -> tuple[Array, npt.NDArray[np.int64]]:
    """Make corners that lie nearer than `SAME_POINT` one, where the mesh stays closed: readers of files do the same."""
    _, first, inverse = np.unique(np.round(points / SAME_POINT), axis=0, return_index=True, return_inverse=True)
    if len(first) == len(points):
        return points, faces
    joint = inverse.reshape(-1)[faces]
    joint = joint[(joint != np.roll(joint, 1, axis=1)).all(axis=1)]
    return (points[first], joint) if _closed(joint) else (points, faces)


def _closed(faces: npt.NDArray[np.int64]) -> bool:
    """Tell whether every edge is used once in each direction."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    count = int(faces.max()) + 1
    forth = np.sort(start * count + end)
    return bool((np.diff(forth) > 0).all()) and np.array_equal(forth, np.sort(end * count + start))


def _from_lowest(faces: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Begin each triangle with its lowest vertex, its sense kept."""
    start = faces.argmin(axis=1)
    rows = np.arange(len(faces))
    return np.stack([faces[rows, (start + step) % 3] for step in range(3)], axis=1)


def block(low: Vector, high: Vector) -> Manifold:
    """Return a box from corner to corner."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return Manifold.cube(size).translate(low)


def upright(contours: Sequence[Sequence[Point]], low: float, high: float) -> Manifold:
    """Return outlines in plan (x, y) as a prism from z = low to z = high; holes run clockwise."""
    return CrossSection([np.asarray(one) for one in contours]).extrude(high - low).translate((0, 0, low))


def side_prism(points: Sequence[Point], low: float, high: float) -> Manifold:
    """Return a polygon of the side view (x, z), either way round, as a prism from y = low to y = high."""
    section = CrossSection([np.asarray(anticlockwise(points))])
    standing = section.extrude(high - low)
    return standing.transform(np.array([[1.0, 0, 0, 0], [0, 0, -1, high], [0, 1, 0, 0]]))


def end_prism(points: Sequence[Point], low: float, high: float) -> Manifold:
    """Return a polygon seen from an end (y, z), either way round, as a prism from x = low to x = high."""
    section = CrossSection([np.asarray(anticlockwise(points))])
    return section.extrude(high - low).transform(np.array([[0.0, 0, 1, low], [1, 0, 0, 0], [0, 1, 0, 0]]))


def flat(outline: Outline) -> list[Point]:
    """Return an outline's corners, arcs as chords that stray no further than the meshes of solids do."""
    return flattened(outline, LINEAR_DEFLECTION)


def joined(bodies: Iterable[Manifold]) -> Manifold:
    """Return all bodies as one."""
    return Manifold.batch_boolean(list(bodies), manifold3d.OpType.Add)


def without(body: Manifold, tools: Iterable[Manifold]) -> Manifold:
    """Return a body with tools cut from it."""
    return Manifold.batch_boolean([body, *tools], manifold3d.OpType.Subtract)


def turned(body: Manifold, turn: Array, shift: Array | None = None) -> Manifold:
    """Return a body turned by a (3, 3) rotation, then moved by (3,) mm."""
    return body.transform(np.column_stack((turn, np.zeros(3) if shift is None else shift)))


def anticlockwise(points: Sequence[Point]) -> list[Point]:
    """Return a polygon's corners so that they run anticlockwise."""
    ring = np.asarray(points)
    x, y = ring.T
    twice = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    return list(points) if twice > 0 else list(reversed(points))
