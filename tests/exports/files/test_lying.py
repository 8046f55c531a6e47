from __future__ import annotations

from dataclasses import replace

import cadquery
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files.lying import (
    Mating,
    laid_mesh,
    laid_shape,
    lowest_corner,
    moved_shape,
    settling,
    turning,
)
from tests.support.export_support import HALF_VOLUME, HALF_WIDTH, HEIGHT, LENGTH, mesh_of, part, parts, signed_volume

UNIT_VECTORS = (
    st.tuples(*[st.floats(-1, 1)] * 3)
    .filter(lambda vector: float(np.linalg.norm(vector)) > 0.1)
    .map(lambda vector: tuple(float(value) for value in np.array(vector) / np.linalg.norm(vector)))
)
BLOCK = np.array([(x, y, z) for x in (0.0, 50.0) for y in (0.0, 20.0) for z in (0.0, 30.0)])


@given(normal=UNIT_VECTORS, mating=st.sampled_from(["up", "down"]))
def test_turning_is_a_rotation_that_points_the_mating_face_as_asked(
    normal: tuple[float, float, float], mating: Mating
) -> None:
    turn = turning(normal, BLOCK, mating)
    np.testing.assert_allclose(turn @ turn.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-12)
    np.testing.assert_allclose(turn @ normal, (0, 0, 1 if mating == "up" else -1), atol=1e-12)


@pytest.mark.parametrize("normal", [(0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1), (1, 0, 0), (-1, 0, 0)])
@pytest.mark.parametrize("mating", ["up", "down"])
def test_turning_to_an_axis_is_exact_and_lays_the_longer_side_along_x(
    normal: tuple[float, float, float], mating: Mating
) -> None:
    turn = turning(normal, BLOCK, mating)
    assert set(np.unique(turn)) <= {-1.0, 0.0, 1.0}
    assert not np.signbit(turn[turn == 0]).any()
    assert np.linalg.det(turn) == 1.0
    size = np.ptp(BLOCK @ turn.T, axis=0)
    assert size[0] >= size[1]


def test_the_toe_stays_on_the_left_for_both_halves() -> None:
    for half in parts()[:2]:
        for mating in ("up", "down"):
            turn = turning(half.mating_normal, half.mesh.vertices, mating)
            np.testing.assert_array_equal(turn[0], (1, 0, 0))


def test_a_part_that_is_not_glued_keeps_its_top_up() -> None:
    tall = BLOCK * (1, 5, 1)
    np.testing.assert_array_equal(turning(None, BLOCK, "down"), np.eye(3))
    np.testing.assert_array_equal(turning(None, tall, "up"), [(0, 1, 0), (-1, 0, 0), (0, 0, 1)])


@pytest.mark.parametrize("normal", [(0, 0, 0), (0, 0, 1e-9), (float("nan"), 0, 0)])
def test_a_normal_without_direction_is_refused(normal: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="needs a direction"):
        turning(normal, BLOCK, "up")


def test_settling_turns_first_and_then_brings_the_corner_to_zero() -> None:
    turn = turning((0, 1, 0), BLOCK, "up")
    low = (BLOCK @ turn.T).min(axis=0)
    matrix = settling(turn, low)
    settled = BLOCK @ matrix[:3, :3].T + matrix[:3, 3]
    np.testing.assert_array_equal(settled.min(axis=0), 0)
    np.testing.assert_array_equal(settled.max(axis=0), (50, 30, 20))
    np.testing.assert_array_equal(matrix[3], (0, 0, 0, 1))


@pytest.mark.parametrize("mating", ["up", "down"])
def test_a_half_lies_with_its_mating_face_where_asked_as_mesh_and_as_solid(mating: Mating) -> None:
    for half in parts()[:2]:
        mesh, shape = laid_mesh(half, mating), laid_shape(half, mating)
        box = shape.BoundingBox()
        corners = [(box.xmin, box.ymin, box.zmin), (box.xmax, box.ymax, box.zmax)]
        np.testing.assert_allclose(corners, [(0, 0, 0), (LENGTH, HEIGHT, HALF_WIDTH)], atol=1e-6)
        np.testing.assert_allclose(mesh.vertices.min(axis=0), 0, atol=1e-12)
        np.testing.assert_allclose(mesh.vertices.max(axis=0), (LENGTH, HEIGHT, HALF_WIDTH), atol=1e-12)
        # Only the mating face is pierced by the slot; the level opposite holds the cheek, all but the hole.
        level = HALF_WIDTH if mating == "up" else 0.0
        mating_area = LENGTH * HEIGHT - 30 * 25 - np.pi * 4**2
        found = [face.Area() for face in shape.Faces() if abs(face.Center().z - level) < 1e-9]
        assert found == pytest.approx([mating_area], rel=1e-9)


def test_lying_changes_no_volume_and_turns_no_triangle_inside_out() -> None:
    for half in parts()[:2]:
        assert laid_shape(half, "up").Volume(1e-9) == pytest.approx(HALF_VOLUME, rel=1e-12)
        assert signed_volume(laid_mesh(half, "down")) == pytest.approx(signed_volume(half.mesh), rel=1e-12)


def test_a_placement_is_worked_into_the_geometry() -> None:
    placed = cadquery.Solid.makeBox(3, 2, 1).moved(cadquery.Location(cadquery.Vector(5, 6, 7), (0, 0, 1), 90))
    copy = moved_shape(placed, np.eye(4))
    assert copy.wrapped.Location().IsIdentity()
    assert copy.Center().toTuple() == pytest.approx(placed.Center().toTuple(), abs=1e-12)
    assert copy.isValid()


def test_the_lowest_corner_of_a_curved_face_is_where_the_curve_is_lowest() -> None:
    rod = cadquery.Solid.makeCylinder(10, 40, cadquery.Vector(1, 2, 3))
    np.testing.assert_array_equal(lowest_corner(rod), (-9, -8, 3))
    swelled = cadquery.Workplane().moveTo(0, 0).threePointArc((50, -9), (100, 0)).lineTo(100, 20).lineTo(0, 20)
    body = swelled.close().extrude(40).edges("<Z").fillet(2).val()
    assert isinstance(body, cadquery.Shape)
    np.testing.assert_array_equal(lowest_corner(body), (0, -9, 0))


def test_a_rod_lies_at_zero_to_the_curve_and_not_to_its_chords() -> None:
    upright = cadquery.Solid.makeCylinder(10, 40).rotate((0, 0, 0), (0, 0, 1), 7)
    rod = part("rod", upright, mating_normal=(0.0, 0.0, 1.0))
    rod = replace(rod, mesh=mesh_of(upright.copy(), 2.0, 1.0))
    assert rod.mesh.vertices[:, 1].min() > -9.99
    assert laid_shape(rod, "up").Center().toTuple() == pytest.approx((10, 10, 20), abs=1e-6)
