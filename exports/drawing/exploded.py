"""The exploded view: all parts drawn apart, hidden lines removed, made from the solids by the kernel's own projection."""

from __future__ import annotations

import math
from collections.abc import Iterator

import cadquery as cq
import numpy as np
import numpy.typing as npt
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_TangentialDeflection
from OCP.GeomAbs import GeomAbs_CurveType
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import Item, Layer, Stroke, View, around
from planestock.exports.drawing.pen import Pen
from planestock.models.design import Design
from planestock.models.solids.kernel import naming
from planestock.models.solids.parts import Part, Vector
from planestock.params.outlines.pieces import Outline, Point
from planestock.params.outlines.polygons import chain

SIGHT: Vector = (-0.52, -1.0, 0.62)
"""From the body towards the eye: from the toe's left, a little above."""

CURVE = 0.05
"""How far the chords of a curved edge may stray from it, mm: a third of the narrowest line at half size."""

TURN = 0.15
"""Largest turn between two chords, radians."""

ROOM = (165.0, 62.0)
"""Room on a page, along and up, mm on paper."""


def exploded(made: Design) -> View:
    """Return the parts drawn apart, named, without dimensions. Needs the solids. Raises KernelProblem."""
    apart = [(part, part.shape.moved(cq.Location(cq.Vector(*_offset(made, part))))) for part in made.assembly.parts]
    with naming("exploded view", "build without the drawings"):
        groups = _visible(apart)
    items: list[Item] = [item for found in groups.values() for item in found]
    box = around(items)
    scale = min(1.0, ROOM[0] / box.width, ROOM[1] / box.height)
    pen = Pen(scale)
    labels = [Label(name, _clearest(name, groups)) for name, found in groups.items() if found]
    return View("exploded", "Parts", tuple(labelled(pen, items, labels, box.grown(pen.paper(8.0)))), scale)


def _offset(made: Design, part: Part) -> Vector:
    at = made.layout
    side = at.plan.half_width * 1.1 + 12.0
    rise = at.height * 0.9 + 20.0
    over = 0.7 * rise if at.pad else 0.0
    (ux, _), (nx, nz) = at.up_the_bed, at.out_of_the_bed
    far = {
        "right half": (0.0, side, 0.0),
        "left half": (0.0, -side, 0.0),
        "pad": (0.0, 0.0, 1.1 * rise),
        "slip": (0.0, 0.0, -0.7 * rise),
        "casting": (0.0, 0.0, over + 1.3 * rise),
        "frog": (30.0 * ux, 0.0, over + 1.9 * rise),
        "iron": (60.0 * ux + 110.0 * nx, 0.0, over + 1.9 * rise + 110.0 * nz),
        "cap iron": (60.0 * ux + 170.0 * nx, 0.0, over + 1.9 * rise + 170.0 * nz),
        "knob": (-20.0, 0.0, over + 1.3 * rise),
        "tote": (90.0, 0.0, over + 1.5 * rise),
    }
    return far.get(part.name, (0.0, 0.0, 0.0))


def _visible(apart: list[tuple[Part, cq.Shape]]) -> dict[str, list[Item]]:
    """Return the visible edges of each part, projected; second axis up."""
    algorithm = HLRBRep_Algo()
    for _, shape in apart:
        algorithm.Add(shape.wrapped)
    algorithm.Projector(HLRAlgo_Projector(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*SIGHT), gp_Dir(*_rightward()))))
    algorithm.Update()
    algorithm.Hide()
    found = HLRBRep_HLRToShape(algorithm)
    result: dict[str, list[Item]] = {}
    for part, shape in apart:
        edges = (found.VCompound(shape.wrapped), found.OutLineVCompound(shape.wrapped))
        layer: Layer = "outline" if part.kind == "wood" else "metal"
        kind = "wide" if part.kind == "wood" else "narrow"
        result[part.name] = [Stroke(layer, line, kind) for each in edges if each is not None for line in _lines(each)]  # type: ignore[arg-type]
    return result


def _rightward() -> Vector:
    """Return the direction that is drawn to the right: square to the line of sight, level."""
    x, y, _ = SIGHT
    length = math.hypot(x, y)
    return (-y / length, x / length, 0.0)


def _lines(compound: TopoDS_Shape) -> Iterator[Outline]:
    BRepLib.BuildCurves3d_s(compound)
    explorer = TopExp_Explorer(compound, TopAbs_ShapeEnum.TopAbs_EDGE)
    while explorer.More():
        curve = BRepAdaptor_Curve(TopoDS.Edge_s(explorer.Current()))
        line = chain(*_points(curve))
        if line:
            yield line
        explorer.Next()


def _points(curve: BRepAdaptor_Curve) -> list[Point]:
    if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line:
        ends = (curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter()))
        return [(end.X(), end.Y()) for end in ends]
    chords = GCPnts_TangentialDeflection(curve, TURN, CURVE)
    return [(chords.Value(i).X(), chords.Value(i).Y()) for i in range(1, chords.NbPoints() + 1)]


def _clearest(name: str, groups: dict[str, list[Item]]) -> Point:
    """Return the point of a part's lines that is farthest from every other part's: a leader to it cannot mislead."""
    own = _ends(groups[name])
    others = np.vstack([_ends(items) for other, items in groups.items() if other != name])
    apart = np.linalg.norm(own[:, None] - others[None], axis=2).min(axis=1)
    x, y = own[int(np.argmax(apart))]
    return (float(x), float(y))


def _ends(items: list[Item]) -> npt.NDArray[np.float64]:
    return np.array([item.pieces[0].start for item in items if isinstance(item, Stroke)]).reshape(-1, 2)
