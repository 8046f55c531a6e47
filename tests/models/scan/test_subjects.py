"""The faces that scans are held against are those of the solids, and move as their readings do."""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepExtrema import BRepExtrema_DistShapeShape

from planestock.models.design import Design, design
from planestock.models.scan.body_subject import body
from planestock.models.scan.faces import Flat, Round
from planestock.models.scan.metal_subject import edge_depth, metal
from planestock.models.scan.subjects import EDGE, Subject
from planestock.params.files import load
from tests.support.full_set import full_design

ON = 1e-6
"""A point of a face lies on the solid within this, mm."""


def away_from(subject: Subject, name: str, shapes: list[cq.Shape]) -> float:
    """Largest distance of a face's middle points from the solids' surface, by the kernel."""
    face = subject.faces(subject.values)[name]
    points = face.grid(9.0) + subject.origin
    faces = [one for shape in shapes for one in shape.Faces()]
    return max(
        float(min(BRepExtrema_DistShapeShape(cq.Vertex.makeVertex(*point).wrapped, one.wrapped).Value() for one in faces))
        for point in points[:: max(1, len(points) // 5)]
    )


CASTING_FACES = (
    "seat",
    "cove",
    "tail",
    "left side",
    "right side",
    "front end",
    "rear end",
    "front left corner",
    "rear right corner",
)
FROG_FACES = ("foot back", "foot low end", "foot high end", "foot left side", "foot right side")
IRON_FACES = ("iron front", "bevel", "iron left side", "iron right side")


@pytest.mark.parametrize(
    ("names", "part"),
    [(CASTING_FACES, "casting"), (FROG_FACES, "frog"), (IRON_FACES, "iron")],
    ids=["casting", "frog", "iron"],
)
def test_the_metals_faces_are_those_of_its_solids(names: tuple[str, ...], part: str) -> None:
    made = full_design()
    subject, shapes = metal(made, "metal"), [one.shape for one in made.assembly.metal if one.name == part]
    for name in names:
        if name in ("seat", "left side", "right side"):
            continue
        assert away_from(subject, name, shapes) < ON, name


def test_the_seat_and_the_bed_are_planes_of_the_solids() -> None:
    made = full_design()
    subject = metal(made, "metal")
    faces = subject.faces(subject.values)
    casting = next(one.shape for one in made.assembly.metal if one.name == "casting")
    lows = {round(face.Center().z, 6) for face in casting.Faces() if abs(face.normalAt().z + 1) < 1e-9}
    assert round(made.layout.thickness, 6) in lows
    assert isinstance(faces["seat"], Flat)
    assert faces["seat"].distances(-subject.origin[None] * [0, 1, 0])[0] == pytest.approx(0.0)
    assert np.degrees(np.arccos(faces["bed"].normals(np.zeros((1, 3)))[0][2])) == pytest.approx(made.layout.bed_angle)


def test_the_bodys_faces_are_those_of_its_solids() -> None:
    made = full_design()
    subject, shapes = body(made, "new-body"), [one.shape for one in made.assembly.wood]
    assert min(face.Center().z for shape in shapes for face in shape.Faces()) == pytest.approx(0.0, abs=ON), "the sole"
    for name in ("tail", "cove", "left cheek", "right cheek", "toe", "heel", "wear"):
        assert away_from(subject, name, shapes) < ON, name


def test_the_edge_stands_as_deep_as_the_window_says() -> None:
    made = full_design()
    for depth in (made.settled.window.edge_low, made.settled.window.edge_high):
        assert edge_depth(metal(made, "metal", depth).values) == pytest.approx(depth)


@settings(max_examples=25)
@given(
    st.sampled_from(["casting.rear", "frog.bed_angle", "casting.cove_radius", "iron.thickness", EDGE]), st.floats(-0.4, 0.4)
)
def test_a_normal_is_the_gradient_of_the_distance(path: str, by: float) -> None:
    subject = metal(drawn(), "metal")
    step = 1e-5
    for face in subject.faces({**subject.values, path: subject.values[path] + by}).values():
        points = face.grid(25.0)
        normals = face.normals(points)
        for axis in range(3):
            ahead, behind = points.copy(), points.copy()
            ahead[:, axis] += step
            behind[:, axis] -= step
            slope = (face.distances(ahead) - face.distances(behind)) / (2 * step)
            assert slope == pytest.approx(normals[:, axis], abs=1e-5)
        assert face.distances(points) == pytest.approx(np.zeros(len(points)), abs=1e-9)
        assert face.within(points, 0.0).all()
        assert np.abs(face.places(points)).max() <= 1 + 1e-9


def drawn() -> Design:
    return design(load("jack"))


def test_a_traced_casting_is_held_against_what_was_traced() -> None:
    """The parametric outline given as a drawing must be the same walls, piece by piece, and hang on no reading."""
    front, rear, half = -92.0, 152.0, 28.0
    path = f"M {front} {-half} L {rear} {-half} L {rear} {half} L {front} {half} Z"
    traced = metal(design(load("jack", [f"casting.outline={path}"])), "casting")
    square = metal(design(load("jack", ["casting.front_width=56", "casting.corner_radius=0"])), "casting")
    assert not any(path.startswith(("casting.front", "casting.rear_width", "casting.corner")) for path in traced.free)
    points = np.concatenate(
        [face.grid(7.0) for name, face in square.faces(square.values).items() if "side" in name or "end" in name]
    )
    walls = [face for name, face in traced.faces(traced.values).items() if name.startswith("outline")]
    nearest = np.min([np.abs(face.distances(points)) for face in walls], axis=0)
    assert nearest.max() < 0.02


def test_round_faces_know_their_side() -> None:
    face = Round(np.zeros(3), np.array([0.0, 1.0, 0.0]), 10.0, np.array([0.0, 0.0, -1.0]), 0.5, (-5.0, 5.0))
    assert face.distances(np.array([[0.0, 0.0, -11.0], [0.0, 3.0, -9.0]])) == pytest.approx([1.0, -1.0])
    assert face.within(np.array([[0.0, 0.0, -10.0], [0.0, 6.0, -10.0], [9.0, 0.0, -4.0]]), 0.0).tolist() == [
        True,
        False,
        False,
    ]
    assert face.area == pytest.approx(2 * 0.5 * 10 * 10)
