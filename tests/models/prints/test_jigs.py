"""Jigs: on the body, where the layout has the holes and angles, touching and never cutting into anything."""

from __future__ import annotations

import math

import cadquery as cq
import numpy as np
import pytest
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp_Face
from OCP.gp import gp_Pnt, gp_Vec

from planestock.models.body.holes import Vector
from planestock.models.body.layout import Layout
from planestock.models.design import Design, design
from planestock.models.prints import dowel_guide, drill_guide, paring_blocks
from planestock.models.prints.jigs import BUSHING_WALL, Jig
from planestock.models.prints.meshing import SHARED_NOISE, solid
from planestock.models.prints.overhang import lie
from planestock.models.prints.print_groups import Missing
from planestock.models.prints.print_list import jigs_of, making_of
from planestock.models.solids.kernel import mirrored, volume
from planestock.models.solids.meshes import mesh
from planestock.models.solids.parts import Mesh
from planestock.params.files import load
from tests.support.full_set import full_design, plain_design
from tests.support.prints_support import (
    SAME_PLACE,
    assert_axes,
    assert_clear,
    assert_sound,
    cylinders,
    printed,
    same_axis,
)

SAME_DIRECTION = 1e-9
"""Directions of the kernel's planes are exact but for rounding."""


def made_jig(made: Design, name: str) -> Jig | Missing:
    """One jig alone; the program makes them all together."""
    at, shop, words = made.layout, made.given.shop, (made.given.name, "0123abcd")
    if name == drill_guide.NAME:
        return drill_guide.drill_guide(at, shop, words)
    if name == dowel_guide.NAME:
        return dowel_guide.dowel_guide(at, shop, words)
    return paring_blocks.paring_blocks(at, words)[name == paring_blocks.WEAR_NAME]


def jig_of(made: Design, name: str) -> Jig:
    found = made_jig(made, name)
    assert isinstance(found, Jig), found
    return found


def why_no(made: Design, name: str) -> str:
    found = made_jig(made, name)
    assert isinstance(found, Missing)
    return found.why


def planes(shape: cq.Shape) -> list[tuple[np.ndarray, np.ndarray]]:
    """A point on, and the outward unit normal of, each flat face of a solid."""
    found = []
    for face in shape.Faces():
        if face.geomType() == "PLANE":
            surface = BRepGProp_Face(face.wrapped)
            low_u, high_u, low_v, high_v = surface.Bounds()
            point, normal = gp_Pnt(), gp_Vec()
            surface.Normal((low_u + high_u) / 2, (low_v + high_v) / 2, point, normal)
            way = np.array(normal.Coord())
            found.append((np.array(point.Coord()), way / np.linalg.norm(way)))
    return found


def has_plane(shape: cq.Shape, through: tuple[float, float], normal: tuple[float, float]) -> bool:
    """Whether a solid has a flat face in the side view through a point with that outward normal."""
    through_3, way = np.array((through[0], 0.0, through[1])), np.array((normal[0], 0.0, normal[1]))
    return any(
        np.linalg.norm(found - way) < SAME_DIRECTION and abs((through_3 - point) @ found) < SAME_PLACE
        for point, found in planes(shape)
    )


def wood_of(made: Design) -> list[cq.Shape]:
    return [part.shape for part in made.assembly.wood]


def shared(made: Design, one: Jig, shift: Vector = (0.0, 0.0, 0.0), turn: np.ndarray | None = None) -> float:
    """Volume that a jig shares with the wood when it is moved."""
    points = one.piece.mesh.vertices
    moved = (points if turn is None else points @ turn[:3, :3].T + turn[:3, 3]) + np.array(shift)
    body = solid(Mesh(moved, one.piece.mesh.faces))
    return sum(max(0.0, float((body ^ solid(part.mesh)).volume())) for part in made.assembly.wood)


# The drill guide

TILTED = ("frog.screws.0.tilt=8", "frog.screws.1.tilt=-5")


@pytest.mark.parametrize("changes", [(), TILTED, ("frog.recess_depth=0", "frog.foot_thickness=0"), ("casting.let_in=0",)])
def test_the_bushings_axes_are_the_frog_screws_axes(changes: tuple[str, ...]) -> None:
    made = full_design(*changes)
    one = jig_of(made, drill_guide.NAME)
    screws = [hole for hole in made.layout.holes if hole.kind == "frog screw"]
    assert len(one.bushings) == len(screws) == 3
    assert_axes(one)
    assert_clear(made, one)
    assert_sound(one.piece.mesh, one.name)
    for bushing, (_, _, radius) in zip(one.bushings, cylinders(one), strict=True):
        assert radius == pytest.approx(bushing.diameter / 2 + made.given.shop.bushing_clearance.value)


def test_an_axis_off_by_a_hundredth_of_a_degree_or_of_a_millimetre_is_found() -> None:
    one = jig_of(full_design(), drill_guide.NAME)
    place, way, radius = next(bore for bore in cylinders(one) if same_axis(one.bushings[0], bore))
    assert not same_axis(one.bushings[0], (place + np.array((0, 0.01, 0)), way, radius))
    turned = way + np.array((0, math.radians(0.01), 0))
    assert not same_axis(one.bushings[0], (place, turned / np.linalg.norm(turned), radius))


def test_the_tilt_is_that_of_the_reading() -> None:
    made = full_design(*TILTED)
    one = jig_of(made, drill_guide.NAME)
    out = np.array((made.layout.out_of_the_bed[0], 0, made.layout.out_of_the_bed[1]))
    leans = {round(math.degrees(math.acos(abs(way @ out))), 9) for _, way, _ in cylinders(one)}
    assert leans == {8.0, 5.0}


def bed_plane(at: Layout, out: float) -> tuple[tuple[float, float], tuple[float, float]]:
    return at.on_the_bed(-20.0, out), (-at.out_of_the_bed[0], -at.out_of_the_bed[1])


@pytest.mark.parametrize(("changes", "floor"), [((), -5.0), (("frog.recess_depth=0", "frog.foot_thickness=0"), 0.0)])
def test_the_guide_rests_on_bed_or_recess_and_on_the_seat_at_once(changes: tuple[str, ...], floor: float) -> None:
    made = full_design(*changes)
    one, at = jig_of(made, drill_guide.NAME), made.layout
    assert one.piece.shape is not None
    assert has_plane(one.piece.shape, *bed_plane(at, floor))
    assert has_plane(one.piece.shape, (at.corner[0] + 10, at.thickness), (0.0, -1.0))
    for half in wood_of(made)[:2]:
        assert BRepExtrema_DistShapeShape(half.wrapped, one.piece.shape.wrapped).Value() < SAME_PLACE


def test_the_guide_sits_in_one_place_only() -> None:
    made = full_design()
    one, at = jig_of(made, drill_guide.NAME), made.layout
    (ux, uz), (nx, nz) = at.up_the_bed, at.out_of_the_bed
    room = made.given.shop.printer.clearance.value
    assert shared(made, one) < SHARED_NOISE
    # Down the bed, into it, and to either side beyond the clearance, it meets wood; the other way round it does not go in.
    assert shared(made, one, (-0.3 * ux, 0.0, -0.3 * uz)) > 10
    assert shared(made, one, (-0.1 * nx, 0.0, -0.1 * nz)) > 10
    assert shared(made, one, (0.0, 0.9 * room, 0.0)) < SHARED_NOISE
    for side in (1, -1):
        assert shared(made, one, (0.0, side * (room + 0.1), 0.0)) > 5
    middle = np.array([*at.on_the_bed(-26.0)])
    out = np.array((nx, 0.0, nz))
    turn = np.eye(4)
    turn[:3, :3] = 2 * np.outer(out, out) - np.eye(3)
    turn[:3, 3] = np.array((middle[0], 0, middle[1])) - turn[:3, :3] @ np.array((middle[0], 0, middle[1]))
    assert shared(made, one, turn=turn) > 100


def test_the_stop_collar_s_setting_gives_the_hole_s_depth() -> None:
    made = full_design(*TILTED)
    for bushing in jig_of(made, drill_guide.NAME).bushings:
        end = np.array(bushing.start) + bushing.length * np.array(bushing.direction)
        point = end - bushing.stop * np.array(bushing.direction)
        np.testing.assert_allclose(point, bushing.hole.end, atol=1e-9)


def test_bores_print_upright_on_the_face_that_bushings_go_in_from() -> None:
    made, found = printed("smoother")
    one = next(each for each in found.jigs if each.name == drill_guide.NAME)
    lying = lie(one.piece, making_of(made).bed, 45.0)
    assert lying is not None
    assert lying.down == pytest.approx((made.layout.out_of_the_bed[0], 0.0, made.layout.out_of_the_bed[1]))
    assert lying.support == 0


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        (("shop.bushing_diameter=5",), "no wall round a bit of 3.5 mm; raise shop.bushing_diameter"),
        (("shop.bushing_diameter=20",), "lower shop.bushing_diameter"),
        (("frog.screws.0.along=-44", "frog.screws.1.along=-44"), "recess's edge"),
        (("casting.rear=24", "casting.tail_length=0", "casting.tail_drop=10"), "too short for the guide's arm"),
        (("throat.breast_lean=-5", "frog.screws.0.along=-38", "frog.screws.1.along=-38"), "meet the breast"),
    ],
)
def test_where_no_guide_can_be_made_the_reason_is_said(changes: tuple[str, ...], reason: str) -> None:
    made = full_design(*changes)
    assert reason in why_no(made, drill_guide.NAME)


def test_a_set_without_frog_screws_or_dowels_has_no_such_jig() -> None:
    made = plain_design()
    assert why_no(made, drill_guide.NAME) == "the set has no frog screws"
    assert why_no(made, dowel_guide.NAME) == "the set has no dowels"


# The paring blocks


@pytest.mark.parametrize("changes", [(), ("frog.bed_angle=50", "body.thickness=from window")])
def test_the_bed_s_block_carries_the_bed_s_plane_on_and_lies_on_the_top(changes: tuple[str, ...]) -> None:
    made = full_design(*changes)
    at, shape = made.layout, jig_of(made, paring_blocks.BED_NAME).piece.shape
    assert shape is not None
    assert has_plane(shape, at.corner, at.out_of_the_bed)
    assert has_plane(shape, (0.0, at.height), (0.0, -1.0))
    assert_clear(made, jig_of(made, paring_blocks.BED_NAME))


@pytest.mark.parametrize(("lean", "changes"), [(4.0, ()), (-3.0, ("throat.wear_lean=-3",))])
def test_the_wear_s_block_carries_the_wear_s_plane_on_and_lies_on_the_sole(lean: float, changes: tuple[str, ...]) -> None:
    made = full_design(*changes)
    at, shape = made.layout, jig_of(made, paring_blocks.WEAR_NAME).piece.shape
    assert shape is not None
    turn = math.radians(lean)
    assert has_plane(shape, at.mouth_front, (math.cos(turn), math.sin(turn)))
    assert has_plane(shape, at.wear_top, (math.cos(turn), math.sin(turn)))
    assert has_plane(shape, (0.0, 0.0), (0.0, 1.0))
    assert_clear(made, jig_of(made, paring_blocks.WEAR_NAME))


def test_a_face_a_hundredth_of_a_degree_off_is_found() -> None:
    made = full_design()
    shape = jig_of(made, paring_blocks.BED_NAME).piece.shape
    assert shape is not None
    turn = math.radians(made.layout.bed_angle + 0.01)
    assert not has_plane(shape, made.layout.corner, (-math.sin(turn), math.cos(turn)))


def test_blocks_are_wide_enough_to_clamp_and_long_enough_to_guide() -> None:
    made = full_design()
    for name in (paring_blocks.BED_NAME, paring_blocks.WEAR_NAME):
        size = np.ptp(jig_of(made, name).piece.mesh.vertices, axis=0)
        assert size[1] >= 2 * made.layout.throat_half_width
        assert size[0] >= paring_blocks.LEAST_LENGTH


# The dowel guide


@pytest.mark.parametrize("changes", [(), ("body.centre_strip=6",), ("body.slip=6", "body.pad=12")])
def test_the_dowel_guide_fits_both_halves_turned_over_and_its_bores_are_the_dowels(changes: tuple[str, ...]) -> None:
    made = full_design(*changes)
    one = jig_of(made, dowel_guide.NAME)
    assert one.piece.shape is not None
    assert_axes(one)
    assert_clear(made, one)
    right, left = wood_of(made)[:2]
    turned_over = mirrored(one.piece.shape)
    for plate, half in ((one.piece.shape, right), (turned_over, left)):
        assert BRepExtrema_DistShapeShape(half.wrapped, plate.wrapped).Value() < SAME_PLACE
        assert (solid(mesh(plate)) ^ solid(mesh(half))).volume() < SHARED_NOISE


def test_turned_over_the_plate_is_its_own_mirror_image() -> None:
    made = full_design("body.centre_strip=6")
    one = jig_of(made, dowel_guide.NAME)
    assert one.piece.shape is not None
    thick, face = made.given.shop.bushing_length.value, made.layout.strip / 2
    twin = mirrored(one.piece.shape).translate(cq.Vector(0, 2 * face - thick, 0))
    assert volume(one.piece.shape.cut(twin)) < 1e-6
    assert volume(twin.cut(one.piece.shape)) < 1e-6


def test_the_plate_stands_on_sole_and_toe_and_lies_on_the_mating_face() -> None:
    made = full_design()
    shape = jig_of(made, dowel_guide.NAME).piece.shape
    assert shape is not None
    assert has_plane(shape, (0.0, made.layout.slip), (0.0, 1.0))
    assert has_plane(shape, (0.0, 20.0), (1.0, 0.0))
    assert any(abs(normal[1] - 1) < SAME_DIRECTION and abs(point[1]) < SAME_PLACE for point, normal in planes(shape))


def test_a_bushing_no_wider_than_the_dowel_is_said_to_be_too_thin() -> None:
    made = full_design(f"shop.dowel_bushing_diameter={8 + 2 * BUSHING_WALL - 0.5}")
    assert "raise shop.dowel_bushing_diameter" in why_no(made, dowel_guide.NAME)


def test_shipped_sets_have_every_jig() -> None:
    for name in ("jack", "jointer"):
        found = jigs_of(design(load(name)))
        assert len(found) == 4
        assert all(isinstance(one, Jig) for one in found), name
