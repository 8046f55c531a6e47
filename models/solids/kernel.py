"""The few operations on solids that planestock needs, each wrapped so that a kernel's failure names the feature.

Measured on OCCT 7.9: all tools of a body in one cut; never overlapping tools as one compound; never glue on a cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import cadquery as cq
from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
from OCP.GProp import GProp_GProps
from OCP.TopTools import TopTools_ListOfShape

from planestock.models.body.holes import Hole, Vector
from planestock.params.outlines.pieces import Arc, Outline, Point

Place = Callable[[Point], cq.Vector]

VOLUME_ACCURACY = 1e-9
"""Relative accuracy asked of volume integration; the default is off by 1e-8 on arcs."""


class KernelProblem(RuntimeError):
    """The solid kernel could not make a feature; the message names it, its numbers and a remedy."""


@contextmanager
def naming(feature: str, remedy: str) -> Iterator[None]:
    """Turn a kernel failure inside the block into a KernelProblem that names the feature and what to try."""
    try:
        yield
    except KernelProblem:
        raise
    except Exception as error:  # the kernel's exceptions share no base class of their own
        reason = (str(error).strip() or type(error).__name__).splitlines()[0]
        raise KernelProblem(f"{feature}: the solid kernel failed ({reason}); {remedy}") from error


@dataclass(frozen=True)
class Tool:
    """A solid that is cut from the wood. feature: field or feature it belongs to."""

    feature: str
    solid: cq.Shape


def side_prism(outline: Outline, half_width: float) -> cq.Solid:
    """Return the outline of the side view (x, z) extruded to both sides of the mid-plane."""
    face = _face(outline, lambda point: cq.Vector(point[0], half_width, point[1]))
    return cq.Solid.extrudeLinear(face, cq.Vector(0, -2 * half_width, 0))


def plan_prism(outline: Outline, low: float, high: float) -> cq.Solid:
    """Return the outline of the plan (x, y) extruded from z = low to z = high."""
    face = _face(outline, lambda point: cq.Vector(point[0], point[1], low))
    return cq.Solid.extrudeLinear(face, cq.Vector(0, 0, high - low))


def drill(hole: Hole) -> cq.Shape:
    """Return the hole as a cylinder that begins `overrun` before the wood's surface."""
    direction = cq.Vector(*hole.direction)
    start = cq.Vector(*hole.start) - direction * hole.overrun
    return cq.Solid.makeCylinder(hole.radius, hole.depth + hole.overrun, start, direction)


def _face(outline: Outline, place: Place) -> cq.Face:
    edges = [
        cq.Edge.makeThreePointArc(place(piece.start), place(piece.at(0.5)), place(piece.end))
        if isinstance(piece, Arc)
        else cq.Edge.makeLine(place(piece.start), place(piece.end))
        for piece in outline
    ]
    return cq.Face.makeFromWires(cq.Wire.assembleEdges(edges))


def cut(blank: cq.Shape, tools: Sequence[Tool]) -> tuple[cq.Shape, frozenset[str]]:
    """Cut all tools from the blank in one operation; return the result and the features that really removed wood."""
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(_shapes([blank]))
    operation.SetTools(_shapes([tool.solid for tool in tools]))
    operation.SetRunParallel(False)
    operation.Build()
    if not operation.IsDone():
        features = ", ".join(tool.feature for tool in tools)
        raise KernelProblem(f"cutting {features}: the solid kernel gave up; change a value slightly, two cuts may touch")
    working = frozenset(tool.feature for tool in tools if _leaves_a_face(operation, tool.solid))
    return cq.Shape.cast(operation.Shape()), working


def _leaves_a_face(operation: BRepAlgoAPI_Cut, solid: cq.Shape) -> bool:
    return any(not operation.IsDeleted(face.wrapped) for face in solid.Faces())


@dataclass(frozen=True)
class Box:
    """Bounding box, a little generous on curved shapes; exact on flat ones up to the kernel's tolerance of 1e-7 mm."""

    low: Vector
    high: Vector

    def meets(self, other: Box) -> bool:
        """Tell whether two boxes share space."""
        return all(a < d and c < b for a, b, c, d in zip(self.low, self.high, other.low, other.high, strict=True))


def box(shape: cq.Shape) -> Box:
    """Return the bounding box; CadQuery's own asks for the optimal one, which takes 17 ms a shape instead of 0.1."""
    found = Bnd_Box()
    BRepBndLib.Add_s(shape.wrapped, found, False)
    x1, y1, z1, x2, y2, z2 = found.Get()
    return Box((x1, y1, z1), (x2, y2, z2))


def _shapes(shapes: Iterable[cq.Shape]) -> TopTools_ListOfShape:
    listed = TopTools_ListOfShape()
    for shape in shapes:
        listed.Append(shape.wrapped)
    return listed


def mirrored(shape: cq.Shape) -> cq.Shape:
    """Return the shape mirrored across the mid-plane, exactly."""
    mirror = gp_Trsf()
    mirror.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0)))
    return cq.Shape.cast(BRepBuilderAPI_Transform(shape.wrapped, mirror, True).Shape())


def volume(shape: cq.Shape) -> float:
    """Return the volume in mm³, integrated to `VOLUME_ACCURACY`."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape.wrapped, properties, VOLUME_ACCURACY, False, False)
    return float(properties.Mass())


def centroid(shape: cq.Shape) -> tuple[float, float, float]:
    """Return the centre of volume."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape.wrapped, properties, VOLUME_ACCURACY, False, False)
    point = properties.CentreOfMass()
    return (point.X(), point.Y(), point.Z())
