"""The exploded view: all parts drawn apart, hidden lines removed, made from the solids by the kernel's own projection."""

from __future__ import annotations

import math
from collections.abc import Iterator

import cadquery as cq
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

from planestock.exports.drawing import Item, Layer, Stroke, View, around, chain
from planestock.exports.drawing_labels import Label, labelled
from planestock.exports.drawing_pen import Pen
from planestock.models.design import Design
from planestock.models.kernel import naming
from planestock.models.parts import Part, Vector
from planestock.models.shapes import Outline, Point

SIGHT: Vector = (-0.52, -1.0, 0.62)
"""From the body towards the eye: from the toe's left, a little above."""

CURVE = 0.05
"""How far the chords of a curved edge may stray from it, mm: a third of the narrowest line at half size."""

TURN = 0.15
"""Largest turn between two chords, radians."""

PAGE_WIDTH = 165.0
"""Room on a page, mm."""


def exploded(made: Design) -> View:
    """Return the parts drawn apart, named, without dimensions. Needs the solids. Raises KernelProblem."""
    apart = [(part, part.shape.moved(cq.Location(cq.Vector(*_offset(made, part))))) for part in made.assembly.parts]
    with naming("exploded view", "build without the drawings"):
        groups = _visible(apart)
    items: list[Item] = [item for found in groups.values() for item in found]
    scale = min(1.0, PAGE_WIDTH / around(items).width)
    pen = Pen(scale)
    labels = [Label(name, _middle(found)) for name, found in groups.items() if found]
    return View("exploded", "Parts", tuple(labelled(pen, items, labels, around(items).grown(pen.paper(8.0)))), scale)


def _offset(made: Design, part: Part) -> Vector:
    at = made.layout
    side = at.plan.half_width * 1.1 + 12.0
    rise = at.height * 0.9 + 20.0
    (ux, uz), (nx, nz) = at.up_the_bed, at.out_of_the_bed
    far = {
        "right half": (0.0, side, 0.0),
        "left half": (0.0, -side, 0.0),
        "pad": (0.0, 0.0, 0.6 * rise),
        "slip": (0.0, 0.0, -0.7 * rise),
        "casting": (0.0, 0.0, 1.3 * rise),
        "frog": (60 * ux, 0.0, 1.9 * rise),
        "iron": (60 * ux + 60 * nx, 0.0, 1.9 * rise + 60 * nz),
        "cap iron": (60 * ux + 110 * nx, 0.0, 1.9 * rise + 110 * nz),
        "knob": (0.0, 0.0, 1.3 * rise),
        "tote": (0.0, 0.0, 2.0 * rise),
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


def _middle(items: list[Item]) -> Point:
    """Return the end of a line nearest to the middle of a part's picture: a leader to it points at the part."""
    box = around(items)
    centre = ((box.left + box.right) / 2, (box.low + box.high) / 2)
    ends = [piece.start for item in items if isinstance(item, Stroke) for piece in item.pieces]
    return min(ends, key=lambda end: math.dist(end, centre))


