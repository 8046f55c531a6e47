"""The true edges of solids as lines for drawing, and the centres of round ones for measuring.

Lines run along the kernel's own edges, through the points where the mesh's facets meet them, so that line and facet never
part. Needs a meshed shape (planestock.models.solids.meshes.mesh).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cadquery as cq
import numpy as np
import numpy.typing as npt
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GeomAbs import GeomAbs_C0, GeomAbs_Circle
from OCP.Poly import Poly_PolygonOnTriangulation, Poly_Triangulation
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Face
from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape

Points = npt.NDArray[np.float64]

SMOOTH_ANGLE = 0.03
"""Radians between two faces below which their edge is a mere change of curvature, such as where a round begins: far above
the kernel's rounding, below any corner that is meant."""

LARGEST_CENTRED = 25.0
"""Radius in mm up to which a round edge's centre is worth measuring from: holes and corners, not a plan's long sweeps."""

SAME_CENTRE = 1e-4
"""Centres nearer than this are one, mm."""


@dataclass(frozen=True, eq=False)
class EdgeLines:
    """Edges of one part. sharp, smooth: polylines (n, 3) in mm, smooth where the faces meet without a corner; centres:
    (k, 3) of round edges."""

    sharp: tuple[Points, ...]
    smooth: tuple[Points, ...]
    centres: Points

    def mirrored(self) -> EdgeLines:
        """Return the lines mirrored across the mid-plane, exactly."""
        turn = np.array([1.0, -1.0, 1.0])
        return EdgeLines(
            tuple(one * turn for one in self.sharp), tuple(one * turn for one in self.smooth), self.centres * turn
        )


def edge_lines(shape: cq.Shape) -> EdgeLines:
    """Return the edges of a meshed shape; seams of round faces, which are no edges to the eye, are left out."""
    sharp: list[Points] = []
    smooth: list[Points] = []
    centres: list[tuple[float, float, float]] = []
    for edge, faces in _edges(shape):
        line = None if _is_seam(edge, faces) else _line(edge, faces[0])
        if line is None:
            continue
        (smooth if _is_smooth(edge, faces) else sharp).append(line)
        centres += _centre(edge)
    return EdgeLines(tuple(sharp), tuple(smooth), _distinct(centres))


def _edges(shape: cq.Shape) -> Iterator[tuple[TopoDS_Edge, list[TopoDS_Face]]]:
    found = TopTools_IndexedDataMapOfShapeListOfShape()
    TopExp.MapShapesAndAncestors_s(shape.wrapped, TopAbs_EDGE, TopAbs_FACE, found)
    for index in range(1, found.Extent() + 1):
        around = found.FindFromIndex(index)
        # An edge of a solid lies between two faces; walking the kernel's list from Python takes 0.2 ms an edge.
        ends = [around.First(), around.Last()] if around.Extent() > 1 else [around.First()]
        yield TopoDS.Edge_s(found.FindKey(index)), [TopoDS.Face_s(face) for face in ends]


def _is_seam(edge: TopoDS_Edge, faces: list[TopoDS_Face]) -> bool:
    return bool(BRep_Tool.Degenerated_s(edge) or BRep_Tool.IsClosed_s(edge, faces[0]))


def _is_smooth(edge: TopoDS_Edge, faces: list[TopoDS_Face]) -> bool:
    return len(faces) == 2 and BRepLib.ContinuityOfFaces_s(edge, faces[0], faces[1], SMOOTH_ANGLE) != GeomAbs_C0


def _line(edge: TopoDS_Edge, face: TopoDS_Face) -> Points | None:
    location = TopLoc_Location()
    triangulation: Poly_Triangulation | None = BRep_Tool.Triangulation_s(face, location)
    if triangulation is None:
        return None
    polygon: Poly_PolygonOnTriangulation | None = BRep_Tool.PolygonOnTriangulation_s(edge, triangulation, location)
    if polygon is None:
        return None
    nodes = [triangulation.Node(polygon.Node(index)) for index in range(1, polygon.NbNodes() + 1)]
    if not location.IsIdentity():
        turned = location.Transformation()
        nodes = [node.Transformed(turned) for node in nodes]
    return np.array([node.Coord() for node in nodes])


def _centre(edge: TopoDS_Edge) -> list[tuple[float, float, float]]:
    curve = BRepAdaptor_Curve(edge)
    if curve.GetType() != GeomAbs_Circle or curve.Circle().Radius() > LARGEST_CENTRED:
        return []
    place = curve.Circle().Location()
    return [(place.X(), place.Y(), place.Z())]


def _distinct(centres: list[tuple[float, float, float]]) -> Points:
    if not centres:
        return np.empty((0, 3))
    rows = np.array(centres)
    _, first = np.unique(np.round(rows / SAME_CENTRE).astype(np.int64), axis=0, return_index=True)
    return rows[np.sort(first)]
