"""A scan made sane: broken numbers refused, triangles without area dropped, points shared, very many triangles thinned
out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planestock.models.scan.from_file import Faces, FromFile
from planestock.models.scan.motion import Array
from planestock.models.scan.scan_file import AS_MESH
from planestock.params.problems import refuse

MOST_TRIANGLES = 2_000_000
"""Triangles that a scan is used with as it is; more are thinned out."""

THINNED_TO = 1_000_000
"""Triangles that a thinned-out scan has at most: some 0.3 mm long on a plane's metal, finer than any face needs."""

FEWEST_TRIANGLES = 20
"""Fewer triangles show no plane: a box has twelve."""

LARGEST_NUMBER = 1e7
"""Largest coordinate, in the file's unit: ten kilometres in mm."""

NO_AREA = 1e-12
"""Share of the square of a scan's size below which a triangle has no area."""


@dataclass(frozen=True, eq=False)
class Mesh:
    """A sane scan, in the file's unit. triangles: how many the file had; dropped: those without area; thinned: whether it
    was."""

    vertices: Array
    faces: Faces
    triangles: int
    dropped: int
    thinned: bool


def cleaned(name: str, found: FromFile) -> Mesh:
    """Return a scan that can be used. name: of the file, for messages. Raises InputProblem where it is no sane mesh."""
    vertices, faces = found.vertices, found.faces
    triangles = len(faces)
    if triangles == 0 or len(vertices) == 0:
        raise refuse(name, "no triangles", "a scan is a mesh, not points alone", AS_MESH)
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise refuse(name, f"a triangle with corner {int(faces.max())}", f"there are {len(vertices)} points", AS_MESH)
    bad = len(vertices) - int(np.count_nonzero((np.abs(vertices) < LARGEST_NUMBER).all(axis=1)))
    if bad:
        remedy = "repair the mesh in the scanner's program (delete what is not a number)"
        raise refuse(name, f"{bad} of {len(vertices)} points", "coordinates are finite numbers of a sane size", remedy)
    vertices, faces = _shared(found)
    del found
    kept = faces[_areas(vertices, faces) > NO_AREA * max(_size(vertices), 1e-30) ** 2]
    if len(kept) < FEWEST_TRIANGLES:
        rule = f"a scan has {FEWEST_TRIANGLES} triangles with area at least"
        raise refuse(name, f"{len(kept)} of {triangles} triangles", rule, AS_MESH)
    thinned = triangles > MOST_TRIANGLES
    if thinned:
        vertices, kept = thinned_out(vertices, kept, THINNED_TO)
    return Mesh(vertices, kept, triangles, triangles - len(faces) if thinned else triangles - len(kept), thinned)


def _size(vertices: Array) -> float:
    return float(np.linalg.norm(vertices.max(axis=0) - vertices.min(axis=0)))


def _areas(vertices: Array, faces: Faces) -> Array:
    """Return twice the area of each triangle."""
    first = vertices[faces[:, 0]]
    crossed = np.cross(vertices[faces[:, 1]] - first, vertices[faces[:, 2]] - first)
    areas: Array = np.linalg.norm(crossed, axis=1)
    return areas


def _shared(found: FromFile) -> tuple[Array, Faces]:
    """Return the mesh with equal points made one (STL repeats them for every triangle) and unused ones gone.

    Equal means equal as 32-bit numbers, which is how scans are written.
    """
    vertices, faces = found.vertices, found.faces
    first, inverse = told_apart(vertices)
    moved = inverse[faces]
    used, numbers = np.unique(moved, return_inverse=True)
    proper = numbers.reshape(-1, 3).astype(np.int64)
    distinct = (proper[:, 0] != proper[:, 1]) & (proper[:, 1] != proper[:, 2]) & (proper[:, 2] != proper[:, 0])
    return vertices[first[used]].astype(float), proper[distinct]


def told_apart(points: npt.NDArray[np.floating]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Return where each different point stands first, and the number of every point's own among these.

    Points are alike when their 32-bit coordinates are equal. The same as `np.unique(…, axis=0)`, six times as fast on
    millions of points: two 32-bit numbers fill one of 64 bits, which sorts at once; the pair's number and the third fill
    another.
    """
    # Adding zero turns a minus zero into zero.
    bits = (np.ascontiguousarray(points, dtype=np.float32) + np.float32(0)).view(np.uint32).astype(np.uint64)
    half = np.uint64(32)
    _, pair = np.unique((bits[:, 0] << half) | bits[:, 1], return_inverse=True)
    whole = (pair.astype(np.uint64) << half) | bits[:, 2]
    _, first, inverse = np.unique(whole, return_index=True, return_inverse=True)
    return first, inverse


def thinned_out(vertices: Array, faces: Faces, most: int) -> tuple[Array, Faces]:
    """Return the mesh with at most `most` triangles: points in one cell of a grid become their mean, which also evens out
    noise."""
    if len(faces) <= most:
        return vertices, faces
    area = float(_areas(vertices, faces).sum()) / 2
    cell = max(np.sqrt(2 * area / most), _size(vertices) * 1e-6)
    while True:
        fewer, triangles = _clustered(vertices, faces, cell)
        if len(triangles) <= most:
            return fewer, triangles
        cell *= 1.25


def _clustered(vertices: Array, faces: Faces, cell: float) -> tuple[Array, Faces]:
    steps = np.floor((vertices - vertices.min(axis=0)) / cell).astype(np.int64)
    wide = steps.max(axis=0) + 1
    key = (steps[:, 0] * wide[1] + steps[:, 1]) * wide[2] + steps[:, 2]
    _, inverse = np.unique(key, return_inverse=True)
    counts = np.bincount(inverse)
    means = np.column_stack([np.bincount(inverse, vertices[:, k]) / counts for k in range(3)])
    moved = inverse[faces]
    proper = (moved[:, 0] != moved[:, 1]) & (moved[:, 1] != moved[:, 2]) & (moved[:, 2] != moved[:, 0])
    moved = moved[proper]
    ordered = np.sort(moved, axis=1)
    key = (ordered[:, 0] * len(means) + ordered[:, 1]) * len(means) + ordered[:, 2]
    # Thin plates give the same triangle twice; the count can pass 64 bits only beyond two million points.
    _, first = np.unique(key, return_index=True)
    return means, moved[np.sort(first)]
