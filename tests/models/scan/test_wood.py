"""How deep a point lies in the wood: against the solids themselves, through an outside kernel's distances."""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from shapely import Point, Polygon

from planestock.models.design import design
from planestock.models.scan.places import gathered
from planestock.models.scan.wood_depth import depth, to_polygon
from planestock.params.files import changed, raw
from planestock.params.parsing import parameter_set
from tests.support.full_set import without

NO_HOLES = ("body.dowels={ count = 0 }", "frog.screws=[]", "casting.screws=[]", "body.edge_size=0")
"""Holes and broken edges are left out of depths; here the solids have none either."""


def test_depth_in_the_wood_is_the_kernels_distance_to_the_woods_surface() -> None:
    """Against BRepExtrema_DistShapeShape of OCCT, to the half's own faces, at random places of seat, cove, bed and
    recess."""
    made = design(parameter_set(changed(without(raw("jack"), "tote", "knob"), NO_HOLES)))
    half = next(part for part in made.assembly.wood if part.name == "right half")
    solid, at = half.shape.Solids()[0], made.layout
    generator = np.random.Generator(np.random.PCG64(8))
    low, high = (at.corner[0] - 95, 2.0, 5.0), (at.corner[0] + 155, 30.0, at.height + 1)
    points = generator.uniform(low, high, (60, 3))
    found, _ = depth(points, at)
    for point, deep in zip(points, found, strict=True):
        vertex = cq.Vertex.makeVertex(*point)
        inside = solid.isInside(cq.Vector(*point))
        assert inside == (deep > 0), point
        # The mating face at y = 0 is the half's, and no surface of the body's wood.
        away = min(BRepExtrema_DistShapeShape(vertex.wrapped, face.wrapped).Value() for face in half.shape.Faces()
                   if abs(face.Center().y) > 1e-6)  # fmt: skip
        if inside:
            assert deep == pytest.approx(away, abs=0.01)
        else:
            assert away >= -deep - 0.01, "outside, it is a distance that is never too large"


@given(
    st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=3, unique=True),
    st.floats(-12, 12),
    st.floats(-12, 12),
)
def test_distance_to_a_polygon_is_shapelys(corners: list[tuple[float, float]], x: float, y: float) -> None:
    triangle = Polygon(corners)
    if triangle.area < 1e-3:
        return
    away = triangle.exterior.distance(Point(x, y))
    expected = -away if triangle.contains(Point(x, y)) else away
    assert to_polygon(np.array([[x, y]]), np.array(corners))[0] == pytest.approx(expected, abs=1e-7)


def test_places_are_gathered_and_strays_left_out() -> None:
    generator = np.random.Generator(np.random.PCG64(1))
    one = generator.normal((0, 0, 0), 1.0, (200, 3))
    other = generator.normal((50, 0, 0), 1.0, (40, 3))
    stray = np.array([[100.0, 0.0, 0.0]])
    points = np.vstack((one, other, stray))
    amounts = np.concatenate((np.full(200, 0.3), np.full(40, 0.8), [9.0]))
    names = np.array(["seat"] * 200 + ["cove"] * 40 + ["nowhere"])
    found = gathered(points, amounts, names, 0.5)
    assert [(place.where, round(place.amount, 2)) for place in found] == [("cove", 0.8), ("seat", 0.3)]
    assert found[0].at[0] == pytest.approx(50.0, abs=0.6)
    assert found[1].area == pytest.approx(100.0, rel=0.1)
