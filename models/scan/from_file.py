"""What a scan's file holds, before anything is made of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array

Faces = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class FromFile:
    """vertices: (n, 3), in the file's unit; faces: (m, 3) indices; unit: as the file states it, None where its format has
    none."""

    vertices: npt.NDArray[np.floating[Any]]
    faces: Faces
    unit: str | None


def joined(meshes: list[tuple[Array, Faces]]) -> tuple[Array, Faces]:
    """Return several meshes as one."""
    counts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    vertices = np.concatenate([vertices for vertices, _ in meshes])
    faces = np.concatenate([faces + count for (_, faces), count in zip(meshes, counts, strict=False)])
    return vertices, faces
