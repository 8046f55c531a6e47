"""What a scan can show, as faces that hang on readings: the metal, or a body.

A `Patch` is one face whose place follows from values by path (mm and degrees, the names of the parameter tree), so that a
fit can move it. Only true faces are here: of the metal those that its readings fix (underside, cove, tail, outline, bed,
foot, iron), not the stand-in's top and openings.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from planestock.models.scan.faces import Face, Mask
from planestock.models.scan.motion import Array

Of = Literal["metal", "casting", "old-body", "new-body"]
"""What a scan shows: casting, frog and iron bolted together; the casting alone; the old body; the new one."""

Values = Mapping[str, float]
"""Values by path, mm and degrees."""

EDGE = "iron edge"
"""Where the iron's edge stands, mm up the bed from the corner D: no reading, but what bench readings follow from."""

LOOKED_AT = 3.0
"""Distance between the points of the design that a scan is first laid on, mm; a few thousand on a plane's metal."""


@dataclass(frozen=True)
class Patch:
    """One true face. name: for data; words: for people; paths: the values that place it; place: makes the face of values, or
    None where they leave none. bears: wood and metal are meant to touch there; reach: how far a sample may lie from it to be
    taken for it, mm: less than half a plate's thickness, so that no plate is laid on its other side.
    """

    name: str
    words: str
    paths: tuple[str, ...]
    place: Callable[[Values], Face | None]
    bears: bool = False
    reach: float = math.inf


@dataclass(frozen=True, eq=False)
class Subject:
    """What a scan is held against. values: as the set has them; free: the paths that a fit may change; datum: the name of
    the flat face that everything is laid on; anchor: the patch without which the place along the plane is only a best fit,
    or None.

    origin: (3,), where the subject's origin lies in the body's coordinates; looked_at, facing: (n, 3), points that a real
    one has on these faces, and their normals; whole: the largest distance between two of them, mm, to tell units by.
    """

    of: Of
    patches: tuple[Patch, ...]
    values: Values
    free: tuple[str, ...]
    datum: str
    anchor: str | None
    origin: Array
    looked_at: Array
    facing: Array
    whole: float

    def faces(self, values: Values) -> dict[str, Face]:
        """Return the faces by name for values; those that the values leave none of are left out."""
        placed = {patch.name: patch.place(values) for patch in self.patches}
        return {name: face for name, face in placed.items() if face is not None}

    def patch(self, name: str) -> Patch:
        """Return a patch by name."""
        return next(patch for patch in self.patches if patch.name == name)


def always(face: Face | None) -> Callable[[Values], Face | None]:
    """Return a place for a patch that hangs on no value."""
    return lambda _: face


def looked_at(patches: tuple[Patch, ...], values: Values, exists: Callable[[str, Array], Mask]) -> tuple[Array, Array]:
    """Return points (n, 3) over all faces, `LOOKED_AT` apart, and their normals; `exists` (name of a patch, points) leaves
    some out."""
    kept, facing = [], []
    for patch in patches:
        face = patch.place(values)
        if face is not None:
            points = face.grid(LOOKED_AT)
            points = points[exists(patch.name, points)]
            kept.append(points)
            facing.append(face.normals(points))
    return np.concatenate(kept), np.concatenate(facing)


WALKS = 6
"""Walks from a point to the farthest one; two find the ends of a long thing."""


def widest(points: Array) -> float:
    """Return the largest distance between two points: the same whichever way they lie, which a box around them is not.

    Found by walking from the middle to the farthest point, and on to the farthest from there until it grows no more.
    """
    here, best = points.mean(axis=0), 0.0
    for _ in range(WALKS):
        apart = np.linalg.norm(points - here, axis=1)
        here, found = points[apart.argmax()], float(apart.max())
        if found <= best:
            break
        best = found
    return best
