"""Volumes of simple bodies in closed form, and what must hold of every body's solids and meshes.

The simple bodies are blocks of 300 x 70, 50 from seat to sole, with a throat whose walls stand at 45 degrees.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from planestock.models.body.layout import lay_out
from planestock.models.design import Design
from planestock.models.solids.kernel import KernelProblem, centroid, cut, drill, volume
from planestock.models.solids.wood import WoodSolids, cutting_tools, whole_blank, wood
from planestock.params.outlines.pieces import area
from tests.support.full_set import full, full_design, plain

EXACT = 1e-9
"""Share of a volume; the accuracy asked of the kernel's integration."""

MESH_ERROR = 0.002
"""Share of a volume that facets may add or take."""

STAND_IN_ERROR = 0.01
"""The same for the metal's stand-ins; the knob is small and round all over."""

ROOT2 = math.sqrt(2)
LENGTH, WIDTH, THICKNESS, THROAT_WIDTH = 300.0, 70.0, 50.0, 52.0
CORNER = 150 + 3 * ROOT2
"""x of the corner D: edge at 100, bed foot 3√2 behind it, 50 up a bed of 45 degrees."""

LAMINATED = ("body.centre_strip=6", "body.pad=18", "body.slip=5", "body.edge=chamfer")
VARIANTS = {
    "two halves": (),
    "strip": ("body.centre_strip=6",),
    "strip, pad and slip": LAMINATED,
    "bolts as wide as the strip": ("body.centre_strip=6", "tote.bolt_diameter=6", "knob.bolt_diameter=6"),
    "resting on top": ("casting.let_in=0",),
    "rising again behind the casting": ("body.heel_top=full", "body.pad=8"),
    "sharp edges": ("body.edge_size=0", "body.toe_radius=0"),
}


def block(*changes: str) -> WoodSolids:
    """Solids of the plain block with its breast at 45 degrees."""
    return wood(lay_out(plain("throat.breast_lean=45", *changes), THICKNESS))


def total(solids: WoodSolids) -> float:
    return sum(volume(shape) for shape in solids.all())


def throat_area(low: float, high: float) -> float:
    """Area of the throat in the side view between two heights.

    Bed at 100 + 3√2 + z; wear upright at 98 up to 8, from there 98 - (z - 8).
    """

    def bed(z: float) -> float:
        return (100 + 3 * ROOT2) * z + z**2 / 2

    def wall(z: float) -> float:
        return 98 * z - max(0.0, z - 8) ** 2 / 2

    return bed(high) - wall(high) - bed(low) + wall(low)


PLAIN_VOLUME = LENGTH * WIDTH * THICKNESS - THROAT_WIDTH * throat_area(0, THICKNESS)


# Closed forms


def test_a_block_with_a_throat() -> None:
    assert total(block()) == pytest.approx(PLAIN_VOLUME, rel=EXACT)


def test_the_wider_of_iron_and_cap_iron_makes_the_throat_wide() -> None:
    wider = PLAIN_VOLUME - (56 - THROAT_WIDTH) * throat_area(0, THICKNESS)
    assert total(block("cap_iron.width=52", "throat.side_clearance=2")) == pytest.approx(wider, rel=EXACT)


def test_cove_and_lowered_tail() -> None:
    # Radius 20, drop 8: the cove runs over 16, from D + 44 to D + 60; ∫ √(400 - s²) - 12 ds goes over it, behind it 8.
    cove = (16 * 12 + 400 * math.asin(0.8)) / 2 - 12 * 16
    away = WIDTH * (cove + 8 * (LENGTH - CORNER - 60))
    solids = block("casting.cove_radius=20", "casting.tail_drop=8", "casting.tail_length=60")
    assert total(solids) == pytest.approx(PLAIN_VOLUME - away, rel=EXACT)


def test_a_tail_that_rises_again_behind_the_casting() -> None:
    # A pocket with a cove for its front, 50 wide and 1 for the gaps, to D + 120.5.
    cove = (16 * 12 + 400 * math.asin(0.8)) / 2 - 12 * 16
    solids = block(
        "casting.cove_radius=20", "casting.tail_drop=8", "casting.tail_length=60", "body.heel_top=full", "body.seat_gap=0.5"
    )
    assert total(solids) == pytest.approx(PLAIN_VOLUME - 51 * (cove + 8 * 60.5), rel=EXACT)


def test_a_centre_strip() -> None:
    solids = block("body.centre_strip=6")
    assert solids.strip is not None
    assert volume(solids.strip) == pytest.approx(6 * (LENGTH * THICKNESS - throat_area(0, THICKNESS)), rel=EXACT)
    half = 32 * LENGTH * THICKNESS - 23 * throat_area(0, THICKNESS)
    assert [volume(solids.right), volume(solids.left)] == pytest.approx([half, half], rel=EXACT)
    assert len(solids.strip.Solids()) == 2


def test_pad_and_slip() -> None:
    solids = block("body.pad=15.5", "body.slip=5")
    assert solids.pad is not None
    assert solids.slip is not None
    layers = {(0.0, 5.0): volume(solids.slip), (34.5, 50.0): volume(solids.pad), (5.0, 34.5): 2 * volume(solids.right)}
    for (low, high), found in layers.items():
        assert found == pytest.approx(LENGTH * WIDTH * (high - low) - THROAT_WIDTH * throat_area(low, high), rel=EXACT)


def test_rounded_corners() -> None:
    solids = block("body.toe_radius=9", "body.heel_radius=14")
    away = (2 - math.pi / 2) * (9**2 + 14**2) * THICKNESS
    assert total(solids) == pytest.approx(PLAIN_VOLUME - away, rel=EXACT)


def test_a_swelled_plan() -> None:
    # Toe drawn in by 5 over 46 (breast at 56 less 10): R = (46² + 5²)/10. The segment left beside the arc is
    # ∫ R - √(R² - s²) ds from 0 to 46.
    radius, length = (46**2 + 25) / 10, 46.0
    beside = radius * length - (length * math.sqrt(radius**2 - length**2) + radius**2 * math.asin(length / radius)) / 2
    assert total(block("body.toe_width=60")) == pytest.approx(PLAIN_VOLUME - 2 * beside * THICKNESS, rel=EXACT)


def test_a_swelled_plan_with_rounded_corners_is_its_plans_area_high() -> None:
    given_set = plain("throat.breast_lean=45", "body.toe_width=60", "body.heel_width=56", "body.toe_radius=7")
    at = lay_out(given_set, THICKNESS)
    expected = area(at.plan.whole_outline()) * THICKNESS - THROAT_WIDTH * throat_area(0, THICKNESS)
    assert total(wood(at)) == pytest.approx(expected, rel=EXACT)


def test_a_let_in_casting() -> None:
    # A pocket of 231 x 61 with corners of 10.5, 4 deep; where the throat passes it, it is gone already.
    solids = block(
        "casting.let_in=4",
        "casting.front_width=60",
        "casting.rear_width=60",
        "casting.corner_radius=10",
        "body.seat_gap=0.5",
        "casting.front=-110",
    )
    pocket = 231 * 61 - (4 - math.pi) * 10.5**2
    shared = THROAT_WIDTH * throat_area(50, 54)
    expected = LENGTH * WIDTH * 54 - THROAT_WIDTH * throat_area(0, 54) - 4 * pocket + shared
    assert total(solids) == pytest.approx(expected, rel=EXACT)


def test_a_frog_recess() -> None:
    # 41 wide, from 40.5 to 7.5 down the bed, 4 deep: all of it in wood.
    solids = block("frog.recess_depth=4", "frog.foot_thickness=4", "body.seat_gap=0.5")
    assert total(solids) == pytest.approx(PLAIN_VOLUME - 41 * 33 * 4, rel=EXACT)


def test_holes_square_to_their_surface_take_their_cylinders() -> None:
    solids = block(
        "knob={from_toe=30, bolt_diameter=7, bolt_depth=21}",
        "frog.screws=[{along=-20, across=12, diameter=4, depth=10}]",
        "body.dowels={count=4, diameter=8, depth=14}",
    )
    away = math.pi * (3.5**2 * 21 + 2 * 2**2 * 10 + 4 * 4**2 * 28)
    assert total(solids) == pytest.approx(PLAIN_VOLUME - away, rel=EXACT)


def test_a_leaning_hole_takes_as_much_as_an_upright_one() -> None:
    # Its depth is along its middle: what the slanted surface adds on one side it takes on the other.
    solids = block("tote={bolt_x=80, bolt_tilt=15, bolt_diameter=6, bolt_depth=25}")
    assert total(solids) == pytest.approx(PLAIN_VOLUME - math.pi * 9 * 25, rel=EXACT)


def test_dowel_holes_go_through_the_strip() -> None:
    bare, drilled = block("body.centre_strip=6"), block("body.centre_strip=6", "body.dowels={count=4, diameter=8, depth=14}")
    assert bare.strip is not None
    assert drilled.strip is not None
    assert volume(bare.strip) - volume(drilled.strip) == pytest.approx(4 * math.pi * 16 * 6, rel=1e-7)
    assert volume(bare.right) - volume(drilled.right) == pytest.approx(4 * math.pi * 16 * 14, rel=1e-7)


@pytest.mark.parametrize("size", [1.0, 4.0])
@pytest.mark.parametrize("strip", [0, 6])
@pytest.mark.parametrize("kind", ["chamfer", "round"])
def test_broken_edges(kind: str, strip: int, size: float) -> None:
    """At depth d the block is drawn in by i(d) all round: 2 (L + W) ∫i - 4 ∫i² of wood goes.

    Chamfer of leg e: ∫i = e²/2, ∫i² = e³/3. Round of radius r: ∫i = r² (1 - π/4), ∫i² = r³ (5/3 - π/2).
    """
    first = size**2 / 2 if kind == "chamfer" else size**2 * (1 - math.pi / 4)
    second = size**3 / 3 if kind == "chamfer" else size**3 * (5 / 3 - math.pi / 2)
    solids = block(f"body.edge={kind}", f"body.edge_size={size}", f"body.centre_strip={strip}")
    assert total(solids) == pytest.approx(PLAIN_VOLUME - 2 * (LENGTH + WIDTH) * first + 4 * second, rel=EXACT)


# What holds of every body


@pytest.fixture(params=VARIANTS.values(), ids=list(VARIANTS))
def made(request: pytest.FixtureRequest) -> Design:
    return full_design(*request.param)


def test_the_parts_are_together_the_whole_body(made: Design) -> None:
    whole, _ = cut(whole_blank(made.layout), cutting_tools(made.layout))
    assert total(made.assembly.solids) == pytest.approx(volume(whole), rel=EXACT)


def test_the_halves_are_mirror_images(made: Design) -> None:
    solids = made.assembly.solids
    assert volume(solids.left) == pytest.approx(volume(solids.right), rel=EXACT)
    x, y, z = centroid(solids.right)
    assert centroid(solids.left) == pytest.approx((x, -y, z), rel=EXACT)
    assert y > 0


def test_the_halves_meshes_are_mirrored_to_the_last_bit(made: Design) -> None:
    right, left = made.assembly.part("right half").mesh, made.assembly.part("left half").mesh
    assert np.array_equal(left.vertices, right.vertices * (1.0, -1.0, 1.0))
    assert np.array_equal(left.faces, right.faces[:, ::-1])


def test_meshes_are_closed_and_have_the_volume_of_their_solids(made: Design) -> None:
    for part in made.assembly.parts:
        mesh = trimesh.Trimesh(part.mesh.vertices, part.mesh.faces, process=False)
        assert mesh.is_watertight, part.name
        assert mesh.is_winding_consistent, part.name
        allowed = MESH_ERROR if part.kind == "wood" else STAND_IN_ERROR
        assert mesh.volume == pytest.approx(volume(part.shape), rel=allowed), part.name


def test_every_solid_is_valid_and_in_one_piece(made: Design) -> None:
    for part in made.assembly.wood:
        assert part.shape.isValid(), part.name
        assert len(part.shape.Solids()) == (2 if part.name == "centre strip" else 1), part.name


def test_each_part_lies_where_it_belongs(made: Design) -> None:
    at = made.layout
    low, high = at.slip, at.height - at.pad
    sides = {
        "right half": ((0, at.strip / 2, low), (at.length, at.plan.half_width, high)),
        "left half": ((0, -at.plan.half_width, low), (at.length, -at.strip / 2, high)),
        "centre strip": ((0, -at.strip / 2, low), (at.length, at.strip / 2, high)),
        "pad": ((0, -at.plan.half_width, high), (at.length, at.plan.half_width, at.height)),
        "slip": ((0, -at.plan.half_width, 0), (at.length, at.plan.half_width, low)),
    }
    for part in made.assembly.wood:
        corners = np.array([part.mesh.vertices.min(axis=0), part.mesh.vertices.max(axis=0)])
        assert corners == pytest.approx(np.array(sides[part.name]), abs=1e-6), part.name


def test_metal_is_in_its_place_and_shares_no_space_with_wood(made: Design) -> None:
    assert [row.id for row in made.solid_checks if row.verdict != "pass"] == []
    iron = made.assembly.part("iron").mesh.vertices
    assert iron[:, 2].min() == pytest.approx(-made.settled.window.out(made.layout.thickness), abs=1e-9)
    casting = made.assembly.part("casting").mesh.vertices
    assert casting[:, 2].min() == pytest.approx(made.layout.thickness - 10, abs=1e-6)


def test_the_same_set_gives_the_same_mesh_to_the_last_bit() -> None:
    one, other = (lay_out(full(*LAMINATED), 49.5) for _ in range(2))
    from planestock.models.solids.meshes import mesh

    for first, second in zip(wood(one).all(), wood(other).all(), strict=True):
        first_mesh, second_mesh = mesh(first), mesh(second)
        assert first_mesh.vertices.tobytes() == second_mesh.vertices.tobytes()
        assert first_mesh.faces.tobytes() == second_mesh.faces.tobytes()


# What the kernel cannot make


def test_a_tool_that_misses_the_wood_is_named() -> None:
    from dataclasses import replace

    at = lay_out(full(), 49.5)
    lost = replace(at.holes[-1], start=(200.0, -10.0, 300.0))
    with pytest.raises(KernelProblem, match=r"body\.dowels.*removes no wood"):
        wood(replace(at, holes=(*at.holes[:-1], lost)))


def test_a_kernel_failure_names_the_feature_its_size_and_a_remedy() -> None:
    from dataclasses import replace

    at = replace(lay_out(full(), 49.5), edge_size=60.0)
    with pytest.raises(KernelProblem, match=r"top edge \(round of 60 mm\).*make body.edge_size smaller"):
        wood(at)


def test_a_drilled_hole_is_a_cylinder_from_before_its_start_to_its_end() -> None:
    hole = lay_out(full(), 49.5).holes[0]
    assert volume(drill(hole)) == pytest.approx(math.pi * hole.radius**2 * (hole.depth + hole.overrun), rel=EXACT)
