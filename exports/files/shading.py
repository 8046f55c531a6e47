"""Normals for drawing: curved faces smooth, edges hard."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from planestock.exports.files.stl import facet_normals
from planestock.models.solids.parts import Mesh

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.int64]

CREASE_ANGLE = 30.0
"""Degrees. Triangles that meet at less are shaded as one curved face: well above the 11.5° (0.2 rad) steps of
a meshed arc, well below the 45° of a chamfer."""
NORMAL_DECIMALS = 5
"""Corners of a vertex whose normals agree to this many decimals are one; nobody can see the difference."""


def split_vertices(mesh: Mesh) -> tuple[Array, Array, Indices]:
    """Return points (n, 3), unit normals (n, 3) and faces (m, 3) with vertices split along hard edges.

    A corner's normal is the mean of the triangles round its vertex that lean less than `CREASE_ANGLE` from
    its own, each weighed by its angle there, so the mean does not depend on how a face was cut into
    triangles. Triangles without area are left out: they show nothing and have no normal.
    """
    flat = facet_normals(mesh.vertices[mesh.faces])
    seen = flat.any(axis=1)
    faces, flat = mesh.faces[seen].astype(np.int64), flat[seen]
    vertex = faces.ravel()
    normals = _corner_normals(vertex, np.repeat(flat, 3, axis=0), _corner_angles(mesh.vertices[faces]).ravel())
    rounded = np.round(normals, NORMAL_DECIMALS) + 0.0
    keys, corner = np.unique(np.column_stack((vertex, rounded)), axis=0, return_inverse=True)
    directions = keys[:, 1:] / np.linalg.norm(keys[:, 1:], axis=1, keepdims=True)
    return mesh.vertices[keys[:, 0].astype(np.int64)], directions, corner.reshape(-1, 3).astype(np.int64)


def _corner_angles(corners: Array) -> Array:
    """Angles, (m, 3) in radians, at the corners of triangles (m, 3, 3)."""
    ahead = np.roll(corners, -1, axis=1) - corners
    behind = np.roll(corners, 1, axis=1) - corners
    across = np.linalg.norm(np.cross(ahead, behind), axis=2)
    angles: Array = np.arctan2(across, (ahead * behind).sum(axis=2))
    return angles


def _corner_normals(vertex: Indices, flat: Array, angle: Array) -> Array:
    """Unit normals, (c, 3), of corners given by vertex number (c,), triangle normal (c, 3) and angle (c,)."""
    this, other = _neighbours(vertex)
    near = (flat[this] * flat[other]).sum(axis=1) >= np.cos(np.radians(CREASE_ANGLE))
    this, other = this[near], other[near]
    total = np.zeros_like(flat)
    for axis in range(3):
        total[:, axis] = np.bincount(this, angle[other] * flat[other, axis], minlength=len(flat))
    total /= np.linalg.norm(total, axis=1, keepdims=True)
    return total


def _neighbours(vertex: Indices) -> tuple[Indices, Indices]:
    """All ordered pairs of corners at the same vertex, each corner with itself included."""
    order = np.argsort(vertex, kind="stable")
    counts = np.bincount(vertex)
    first = np.cumsum(counts) - counts
    size = counts[vertex[order]]
    this = np.repeat(order, size)
    step = np.arange(len(this)) - np.repeat(np.cumsum(size) - size, size)
    return this, order[np.repeat(first[vertex[order]], size) + step]
