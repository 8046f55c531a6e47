"""How pieces lie: faces that hang over, walls too thin, and what a slicer would need support for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from manifold3d import Manifold

from planestock.models.prints.bed import Bed
from planestock.models.prints.faces import face_name
from planestock.models.prints.filament import filament
from planestock.models.prints.meshing import block, joined, mesh_of, side_prism, without
from planestock.models.prints.overhang import Lying, lie, lying_on
from planestock.models.prints.print_groups import SIDES, Piece
from planestock.models.prints.thin_walls import thin_wall
from planestock.params.wanted import Shop
from tests.support.full_set import full_design

BED = Bed(220, 220, 250)
DOWN = (0.0, 0.0, -1.0)


def standing(body: Manifold, limit: float = 45.0) -> Lying:
    found = lying_on(Piece("piece", mesh_of(body)), DOWN, BED, limit)
    assert found is not None
    return found


def leaning(degrees: float) -> Manifold:
    """A block 30 mm high whose end face leans out by so many degrees from plumb; 40 mm wide."""
    return side_prism([(0, 0), (50, 0), (50 + 30 * math.tan(math.radians(degrees)), 30), (0, 30)], 0, 40)


def test_a_block_has_no_overhang_and_lies_on_all_of_its_underside() -> None:
    found = standing(block((5, 5, 5), (25, 35, 45)))
    assert found.overhangs == ()
    assert found.contact == pytest.approx(600)
    assert found.size == pytest.approx((30, 20, 40))


def test_a_shelf_hangs_over_with_its_area_place_and_direction() -> None:
    shelf = joined([block((0, 0, 0), (20, 40, 30)), block((20, 0, 20), (50, 40, 30))])
    (one,) = standing(shelf).overhangs
    assert one.area == pytest.approx(1200)
    assert one.across == pytest.approx(30, abs=0.1)
    assert one.middle == pytest.approx((35, 20, 20), abs=1e-6)
    assert one.normal == pytest.approx((0, 0, -1))
    assert one.needs_support


@pytest.mark.parametrize(
    ("lean", "limit", "over"), [(44, 45, 0), (45, 45, 0), (47, 45, 1), (47, 50, 0), (31, 30, 1), (29, 30, 0)]
)
def test_a_face_hangs_over_from_the_limit_on(lean: float, limit: float, over: int) -> None:
    found = standing(leaning(lean), limit).overhangs
    assert len(found) == over
    if over:
        assert found[0].area == pytest.approx(40 * 30 / math.cos(math.radians(lean)))


def test_a_narrow_ledge_and_the_roof_of_a_small_bore_print_without_support_and_a_wide_one_does_not() -> None:
    ledge = joined([block((0, 0, 0), (20, 40, 30)), block((20, 0, 25), (25, 40, 30))])
    assert standing(ledge).support == 0
    assert standing(ledge).short == pytest.approx(200)
    for diameter, needs in ((12, False), (20, True)):
        bore = Manifold.cylinder(90, diameter / 2, diameter / 2, 64).rotate((90, 0, 0)).translate((20, 60, 20))
        found = standing(without(block((0, 0, 0), (40, 40, 40)), [bore]))
        assert (found.support > 0) is needs, diameter


def test_the_side_without_support_is_chosen_and_else_the_one_that_needs_least() -> None:
    table = joined([block((0, 0, 30), (60, 60, 40)), block((25, 25, 0), (35, 35, 30))])
    found = lie(Piece("table", mesh_of(table), ((0.0, 0.0, -1.0), (0.0, 0.0, 1.0))), BED, 45)
    assert found is not None
    assert found.down == (0.0, 0.0, 1.0)
    assert found.support == 0
    both = joined([table, block((0, 0, -10), (60, 20, 0))])
    found = lie(Piece("both", mesh_of(both), ((0.0, 0.0, -1.0), (0.0, 0.0, 1.0))), BED, 45)
    assert found is not None
    assert found.down == (0.0, 0.0, 1.0)
    assert found.support == pytest.approx(1200 - 100, rel=0.1)


def test_a_piece_that_fits_no_way_round_is_none_and_one_that_fits_askew_is_turned() -> None:
    assert lie(Piece("bar", mesh_of(block((0, 0, 0), (320, 20, 20))), SIDES), BED, 45) is None
    found = lie(Piece("bar", mesh_of(block((0, 0, 0), (270, 20, 20))), SIDES), BED, 45)
    assert found is not None
    assert max(found.size) <= 220
    np.testing.assert_allclose(found.mesh.vertices.min(axis=0), 0, atol=1e-9)


def test_a_wall_thinner_than_two_lines_is_found_and_one_of_two_lines_is_not() -> None:
    base = block((0, 0, 0), (40, 40, 5))
    for thick, found in ((0.7, True), (0.8, False), (2.0, False)):
        fin = joined([base, block((10, 10, 5), (10 + thick, 30, 25))])
        assert (thin_wall(mesh_of(fin), 0.4) is not None) is found, thick
    thin = thin_wall(mesh_of(joined([base, block((10, 10, 5), (10.7, 30, 25))])), 0.4)
    assert thin is not None
    assert thin.area == pytest.approx(0.7 * 20, rel=0.05)
    assert 5 < thin.height < 25


def test_sharp_corners_are_no_thin_walls() -> None:
    wedge = side_prism([(0, 0), (40, 0), (40, 30)], 0, 30)
    assert thin_wall(mesh_of(wedge), 0.4) is None


def test_filament_of_a_cube_by_hand() -> None:
    # 50 mm: 125 cm³; skin 6 x 2500 mm² x 3 x 0.4 mm = 18 cm³; inside 107 cm³ at 15 %.
    found = filament(mesh_of(block((0, 0, 0), (50, 50, 50))), Shop())
    assert found.volume == pytest.approx(125_000)
    assert found.solid_mass == pytest.approx(155.0)
    assert found.printed_mass == pytest.approx(1.24 * (18 + 0.15 * 107))


def test_filament_of_a_thin_plate_is_never_more_than_solid() -> None:
    found = filament(mesh_of(block((0, 0, 0), (50, 50, 1))), Shop())
    assert found.printed_mass == pytest.approx(found.solid_mass)


def test_places_on_the_body_have_the_maker_s_names() -> None:
    at = full_design().layout
    x, z = at.on_the_bed(-4.0)
    assert face_name(at, (), (x, 0.0, z)) == "bed"
    x, z = at.on_the_bed(-25.0, -2.5)
    assert face_name(at, (), (x, at.recess_half_width, z)) == "wall of the frog's recess"
    assert face_name(at, (), (at.edge[0] + 12, at.throat_half_width, 20.0)) == "throat's cheek"
    assert (
        face_name(at, (), ((at.wear_top[0] + at.breast_top[0]) / 2, 0.0, (at.wear_top[1] + at.breast_top[1]) / 2))
        == "breast"
    )
    assert face_name(at, (), (40.0, 3.0, 40.0)) == "knob bolt hole"
    assert face_name(at, (), (20.0, 1.5, 20.0), 0.5) == "knob bolt hole"
    assert face_name(at, (), (200.0, 30.0, 0.0)) == "sole"
