"""Meshes of solids, read straight from the kernel's triangulation into numpy."""

from __future__ import annotations

import cadquery as cq
import numpy as np
import numpy.typing as npt
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopLoc import TopLoc_Location

from planestock.models.solids.kernel import KernelProblem
from planestock.models.solids.parts import Mesh

LINEAR_DEFLECTION = 0.05
"""Farthest a facet strays from the true surface, mm, absolute (the kernel's default is relative to the edge)."""

ANGULAR_DEFLECTION = 0.2
"""Largest angle between neighbouring facets of a curve, radians."""

SAME_POINT = 1e-6
"""Points of neighbouring faces nearer than this are one vertex, mm: above rounding, far below any feature."""


def mesh(shape: cq.Shape) -> Mesh:
    """Return the closed triangle mesh of a shape, facing outwards, vertices shared between faces. Raises KernelProblem."""
    BRepMesh_IncrementalMesh(shape.wrapped, LINEAR_DEFLECTION, False, ANGULAR_DEFLECTION, True)
    points: list[npt.NDArray[np.float64]] = []
    faces: list[npt.NDArray[np.int32]] = []
    offset = 0
    for face in shape.Faces():
        nodes, triangles = _triangulation(face)
        points.append(nodes)
        faces.append(triangles + offset)
        offset += len(nodes)
    return _welded(np.concatenate(points), np.concatenate(faces))


def _triangulation(face: cq.Face) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int32]]:
    location = TopLoc_Location()
    found = BRep_Tool.Triangulation_s(face.wrapped, location)
    if found is None:
        raise KernelProblem("meshing a face: the solid kernel gave up; change a value slightly (two cuts may just touch)")
    nodes = [found.Node(index) for index in range(1, found.NbNodes() + 1)]
    if not location.IsIdentity():
        transform = location.Transformation()
        nodes = [node.Transformed(transform) for node in nodes]
    triangles = np.array([found.Triangle(index).Get() for index in range(1, found.NbTriangles() + 1)], dtype=np.int32) - 1
    if face.wrapped.Orientation() == TopAbs_REVERSED:
        triangles = triangles[:, ::-1]
    return np.array([node.Coord() for node in nodes]), triangles.astype(np.int32)


def _welded(points: npt.NDArray[np.float64], faces: npt.NDArray[np.int32]) -> Mesh:
    """Merge points that coincide and drop triangles that lose their area; the order follows the coordinates."""
    keys = np.round(points / SAME_POINT).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    joined = inverse.reshape(-1)[faces]
    proper = (joined[:, 0] != joined[:, 1]) & (joined[:, 1] != joined[:, 2]) & (joined[:, 2] != joined[:, 0])
    return Mesh(points[first], joined[proper].astype(np.int32))
