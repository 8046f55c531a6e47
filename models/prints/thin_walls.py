"""Walls too thin to print: what vanishes when every layer is drawn with two lines of plastic.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np

from planestock.models.prints.meshing import solid
from planestock.models.solids.parts import Mesh

LAYERS = 24
"""Layers that are looked at, spread evenly over the height."""

LINES = 2
"""Fewest lines of plastic in a wall: 0.8 mm with a 0.4 mm nozzle (common practice, no published source)."""

LEAST_AREA = 2.0
"""Smaller thin places are the tips of sharp edges, mm² in a layer."""

SHARPEST_KEPT = 4.0
"""How far, in wall halves, an acute corner may reach beyond what is drawn and still count as its tip, not as a wall."""


@dataclass(frozen=True)
class ThinWall:
    """The thinnest layer found. height: above the printer's bed, mm; area: thinner than two lines, mm²."""

    height: float
    area: float


def thin_wall(lying: Mesh, nozzle: float) -> ThinWall | None:
    """Return the layer with most wall thinner than `LINES` nozzle widths; None where there is none worth telling."""
    body, top = solid(lying), float(lying.vertices[:, 2].max())
    found = [ThinWall(float(height), _thin_area(body, float(height), LINES * nozzle))
             for height in np.linspace(0, top, LAYERS + 2)[1:-1] + 1e-4]  # fmt: skip
    worst = max(found, key=lambda one: one.area)
    return worst if worst.area >= LEAST_AREA else None


def _thin_area(body: manifold3d.Manifold, height: float, width: float) -> float:
    """Return the area of a layer that is lost when it is drawn in by half a wall and out again, with sharp corners."""
    layer = body.slice(height)
    half = width / 2 * (1 - 1e-6)
    drawn = layer.offset(-half, manifold3d.JoinType.Miter, SHARPEST_KEPT).offset(
        half, manifold3d.JoinType.Miter, SHARPEST_KEPT
    )
    lost = layer - drawn
    return sum(float(one.area()) for one in lost.decompose() if one.area() > width**2)
