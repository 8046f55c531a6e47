from __future__ import annotations

import math

import pytest

from planestock.models.bench.angle_table import slopes
from planestock.models.bench.chisels import chisel_fit, gap_height
from planestock.models.bench.cut_list import BOARD_FOOT, cut_list, dowel_stock
from planestock.models.bench.drill_table import drillings, inch_bit, metric_bit
from planestock.models.bench.glue_up import glue_area, mating_area
from planestock.models.bench.marks import marks, mouth_wear, widths
from planestock.models.body.side_section import front_block, rear_block
from planestock.params.outlines.pieces import area
from tests.support.full_set import full_design, plain_design


def test_the_two_blocks_of_a_plain_body_have_the_area_that_trigonometry_gives() -> None:
    # Length 300, thickness 50, edge at 100, bed 45°, iron 3 thick, mouth 2, wear 8 high and plumb, breast 20°.
    at = plain_design().layout
    front = 98 * 50 - (50 - 8) ** 2 * math.tan(math.radians(20)) / 2
    rear = (300 - 100 - 3 / math.sin(math.radians(45))) * 50 - 50 * 50 / 2
    assert area(front_block(at)) == pytest.approx(front, abs=1e-9)
    assert area(rear_block(at)) == pytest.approx(rear, abs=1e-9)


@pytest.mark.parametrize(
    "made", [plain_design(), full_design(), full_design("casting.let_in=0"), full_design("body.heel_top=full")]
)
def test_blocks_are_closed_and_turn_anticlockwise(made: object) -> None:
    at = made.layout  # type: ignore[attr-defined]
    for block in (front_block(at), rear_block(at)):
        assert all(one.end == other.start for one, other in zip(block, [*block[1:], block[0]], strict=True))
        assert area(block) > 0


def test_the_area_that_is_glued_is_that_of_the_two_blocks() -> None:
    # Two ways to one number: integration along the body, and the exact area of the outlines.
    for at in (plain_design().layout, full_design().layout):
        assert mating_area(at) == pytest.approx(area(front_block(at)) + area(rear_block(at)), rel=2e-3)


def test_pad_and_slip_are_glued_on_the_plan_less_the_throat() -> None:
    at = plain_design().layout
    assert glue_area(at, at.height) == pytest.approx(300 * 70 - 52 * (at.throat[2][0] - at.breast_top[0]), rel=1e-3)


def test_marks_lie_on_the_layout() -> None:
    at = full_design().layout
    found = {(mark.face, mark.name): (mark.from_toe, mark.up) for mark in marks(at)}
    assert found["sole", "mouth, front"] == at.mouth_front
    assert found["sole", "bed, foot"] == at.bed_foot
    assert found["inside face", "corner D, bed meets seat"] == at.corner
    assert at.tail is not None
    assert found["inside face", "cove, upper end"] == at.tail.cove_high
    x, z = found["inside face", "breast at the seat"]
    assert z == at.thickness
    assert at.front_at(z) == pytest.approx(x)


def test_widths_of_what_a_body_does_not_have_are_left_out() -> None:
    made = plain_design()
    assert {width.name for width in widths(made.given, made.layout)} == {"body", "throat"}


def test_the_mouth_opens_by_cot_bed_plus_tan_wear_for_each_mm() -> None:
    # By trigonometry a truing of d opens the mouth by d (cot θ + tan wear_lean); here 45° and 4°.
    made = full_design("work.truings=3", "work.truing_depth=0.5")
    worn = mouth_wear(made.given, made.layout)
    growth = 1.0 + math.tan(math.radians(4))
    assert [one.opening for one in worn] == pytest.approx([2 + n * 0.5 * growth for n in range(4)])


def test_above_the_wear_the_mouth_opens_by_the_breast() -> None:
    at = full_design().layout
    step = at.front_at(9.0) - at.front_at(10.0)
    assert step == pytest.approx(math.tan(math.radians(24)))


def test_a_hole_off_the_middle_is_one_line_for_its_pair() -> None:
    made = full_design()
    found = drillings(made.given, made.layout)
    frog = [one for one in found if one.kind == "frog screw"]
    assert sorted((one.count, one.across) for one in frog) == [(1, 0.0), (2, 13.0)]
    assert sorted(one.along for one in frog if one.along is not None) == pytest.approx([-36.0, -18.0])


def test_lean_of_a_hole_in_the_bed_is_its_tilt_and_plumb_is_told_from_the_sole() -> None:
    made = full_design()
    found = {one.path: one for one in drillings(made.given, made.layout) if one.face == "bed"}
    assert found["frog.screws.0"].lean == pytest.approx(0.0)
    assert found["frog.screws.0"].from_plumb == pytest.approx(45.0)
    assert found["frog.screws.1"].lean == pytest.approx(4.0)
    assert found["frog.screws.1"].from_plumb == pytest.approx(41.0)


def test_depth_of_a_dowel_is_that_in_each_half() -> None:
    made = full_design("body.centre_strip=5")
    depths = [one.depth for one in drillings(made.given, made.layout) if one.kind == "dowel"]
    assert depths == pytest.approx([14.0] * 4)
    stock = dowel_stock(made.given, made.layout)
    assert stock is not None
    assert stock.length == pytest.approx(14 + 5 + 14 - 2)


def test_a_casting_screw_brings_its_pilot_and_the_hole_for_its_shank() -> None:
    made = full_design()
    screw = next(one for one in drillings(made.given, made.layout) if one.path == "casting.screws.1")
    # No. 10 of ASME B18.6.1: shank 0.060 + 0.013 × 10 = 0.190 in. Root 0.130 in as tabulated in common charts, 90 % of it in
    # hardwood and 70 % in softwood (NDS commentary, part XI, the rule before the 1962 edition, as quoted).
    assert screw.diameter == pytest.approx(0.9 * 0.130 * 25.4)
    soft = full_design("wood.species=basswood")
    pilot = next(one for one in drillings(soft.given, soft.layout) if one.path == "casting.screws.1")
    assert pilot.diameter == pytest.approx(0.7 * 0.130 * 25.4)
    # Wood Handbook (FPL-GTR-190, 2010), p. 8-10 (read): the root averages about two thirds of the shank.
    assert screw.diameter / 0.9 == pytest.approx(2 / 3 * 0.190 * 25.4, rel=0.03)
    assert screw.shank is not None
    assert screw.shank.diameter == pytest.approx(0.190 * 25.4)
    assert screw.shank.depth == pytest.approx(26 / 3 - 4)


@pytest.mark.parametrize(
    ("diameter", "metric", "inch"),
    [(2.97, "3.0 mm", "7/64 in"), (8.0, "8.0 mm", "5/16 in"), (25.4, "25.4 mm", "1 in"), (28.0, "28.0 mm", "1-7/64 in")],
)
def test_the_nearest_bits_are_found(diameter: float, metric: str, inch: str) -> None:
    assert metric_bit(diameter).name == metric
    assert inch_bit(diameter).name == inch
    assert inch_bit(diameter).over == pytest.approx(float(inch_bit(diameter).size) - diameter)
    assert abs(inch_bit(diameter).over) <= 25.4 / 128 + 1e-12


def test_slopes_give_angle_complement_and_legs_of_one_triangle() -> None:
    made = full_design()
    for one in slopes(made.given, made.layout):
        assert one.from_sole + one.from_plumb == 90
        assert max(one.rise, one.run) == pytest.approx(100)
        assert math.degrees(math.atan2(one.rise, one.run)) == pytest.approx(one.from_sole)


def test_pieces_are_as_large_as_the_body_and_no_larger() -> None:
    made = full_design("body.centre_strip=5", "body.pad=14")
    pieces = {piece.name: piece for piece in cut_list(made.given, made.layout, {"pad": 123.0})}
    half, strip, pad = (pieces[name].finished for name in ("half", "centre strip", "pad"))
    assert 2 * half.thickness + strip.thickness == pytest.approx(made.layout.plan.half_width * 2)
    assert half.width + pad.thickness == pytest.approx(made.layout.height)
    assert pieces["pad"].mass == 123.0
    assert pieces["half"].mass is None
    assert "slip" not in pieces


def test_a_board_foot_is_a_foot_by_a_foot_by_an_inch() -> None:
    assert pytest.approx(2.359737216e6) == BOARD_FOOT


def test_chisels_are_judged_by_the_mouth_and_by_half_the_throat() -> None:
    made = plain_design("shop.chisels=[3, 6, 12, 25]")
    fit = chisel_fit(made.given, made.layout)
    assert fit.slot == pytest.approx(2 + 3 / math.sin(math.radians(45)))
    assert fit.throat == pytest.approx(26)
    assert (fit.for_slot, fit.for_throat, fit.too_wide) == (6.0, 25.0, (12.0, 25.0))


def test_where_no_chisel_enters_the_mouth_the_height_is_told_that_it_reaches() -> None:
    made = plain_design("shop.chisels=[10, 20]")
    fit = chisel_fit(made.given, made.layout)
    assert fit.for_slot is None
    # Wear plumb for 8 mm: the throat grows by cot 45° = 1 mm for each mm of height.
    assert fit.reaches_down_to == pytest.approx(10 - fit.slot)


def test_above_the_wear_the_throat_grows_by_bed_and_breast() -> None:
    at = plain_design().layout
    height = gap_height(at, 30.0)
    assert height > 8
    assert at.bed_foot[0] + height - at.front_at(height) == pytest.approx(30.0)
