"""The parts of a design: named solids of wood and of reference metal, each with its mesh."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    import cadquery

Vector = tuple[float, float, float]
Kind = Literal["wood", "metal"]


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed triangle mesh in millimetres.

    vertices: (n, 3) float64, shared between triangles. faces: (m, 3) int32, counter-clockwise seen from outside.
    """

    vertices: npt.NDArray[np.float64]
    faces: npt.NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Part:
    """One part in body coordinates: x from toe to heel, y across (right half positive), z up from the sole; mm."""

    name: str
    kind: Kind
    material: str
    colour: tuple[float, float, float, float]
    """Red, green, blue, opacity; sRGB, 0 to 1. Reference metal is drawn half transparent."""
    shape: cadquery.Shape
    mesh: Mesh
    mating_normal: Vector | None
    """Outward normal of the flat face that is glued (wood only); decides how the part lies for machining and printing."""
