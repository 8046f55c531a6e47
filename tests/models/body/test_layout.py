"""Places of the layout against cases computed by hand.

Beds of 45 degrees, leans of 45 degrees and an arc on the triangle 12-16-20 keep every place a short sum of roots.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.models.body.layout import SHOULDER, Layout, lay_out
from planestock.params.outlines.pieces import Point, area, flattened
from planestock.params.parameter_set import ParameterSet
from tests.support.full_set import full, plain

EXACT = 1e-9
"""Millimetres; what arithmetic on numbers of some hundred may lose, with room to spare."""

ROOT2, ROOT3 = math.sqrt(2), math.sqrt(3)

FOOT = 100 + 3 * ROOT2
"""Where the bed of `plain()` meets the sole: edge at 100, iron 3 thick, 3 / sin 45 behind it."""

CORNER = 150 + 3 * ROOT2
"""x of the corner D of `plain()`: 50 thick, 50 cot 45 behind the foot."""


def laid(*changes: str) -> Layout:
    """Layout of the plain block, 50 mm thick."""
    return lay_out(plain(*changes), 50)


def near(x: float, z: float) -> object:
    return pytest.approx((x, z), abs=EXACT)


# Side view


def test_the_bed_at_45_degrees() -> None:
    at = laid()
    assert at.edge == (100, 0)
    assert at.bed_foot == near(FOOT, 0)
    assert at.corner == near(CORNER, 50)
    assert at.up_the_bed == near(1 / ROOT2, 1 / ROOT2)
    assert at.out_of_the_bed == near(-1 / ROOT2, 1 / ROOT2)


def test_the_bed_at_60_degrees() -> None:
    # t / sin 60 = 4 · 2/√3 = 8/√3 behind the edge; D a further 60 cot 60 = 20√3 back.
    at = lay_out(plain("frog.bed_angle=60", "iron.thickness=4"), 60)
    assert at.bed_foot == near(100 + 8 / ROOT3, 0)
    assert at.corner == near(100 + 8 / ROOT3 + 20 * ROOT3, 60)


def test_places_on_the_bed() -> None:
    at = laid()
    assert at.on_the_bed(0) == at.corner
    assert at.on_the_bed(10 * ROOT2) == near(CORNER + 10, 60)
    assert at.on_the_bed(-10 * ROOT2, 2 * ROOT2) == near(CORNER - 10 - 2, 40 + 2)
    # All the way down the bed and out by the iron's thickness: the edge.
    assert at.on_the_bed(-(50 + 3 / ROOT2) * ROOT2, 3) == near(100, 0)


def test_the_front_wall() -> None:
    # Opening 2, wear upright to 8, then 45 degrees to the toe up to the top at 50.
    at = laid("throat.breast_lean=45")
    assert at.mouth_front == near(98, 0)
    assert at.wear_top == near(98, 8)
    assert at.breast_top == near(98 - 42, 50)


def test_the_front_wall_with_a_leaning_wear_and_a_let_in() -> None:
    # Wear and breast both 30 degrees from plumb: 6/√3 over the wear, 47/√3.
    at = laid("throat.wear_lean=30", "throat.wear_height=6", "throat.breast_lean=30", "casting.let_in=3")
    assert at.height == 53
    assert at.wear_top == near(98 - 6 / ROOT3, 6)
    assert at.breast_top == near(98 - 6 / ROOT3 - 47 / ROOT3, 53)


def test_a_wall_that_leans_to_the_heel() -> None:
    at = laid("throat.wear_lean=-10", "throat.breast_lean=0")
    assert at.wear_top == near(98 + 8 * math.tan(math.radians(10)), 8)
    assert at.breast_top == near(98 + 8 * math.tan(math.radians(10)), 50)


def test_the_throat_is_as_wide_as_the_wider_iron_and_its_clearance() -> None:
    assert laid("throat.side_clearance=1").throat_half_width == 26
    assert laid("cap_iron.width=50.5", "throat.side_clearance=0.5").throat_half_width == 25.75


def test_the_throats_area() -> None:
    # Right of the wall: bed foot FOOT + z at height z; left: 98 up to 8, then 98 - (z - 8); integrated over 50.
    corners = laid("throat.breast_lean=45").throat
    following = [*corners[1:], corners[0]]
    found = sum(x1 * z2 - x2 * z1 for (x1, z1), (x2, z2) in zip(corners, following, strict=True)) / 2
    assert found == pytest.approx(50 * FOOT + 1250 - 98 * 8 - (98 * 42 - 42**2 / 2), abs=1e-8)


def test_the_throats_tool_is_the_throat_with_its_walls_drawn_on() -> None:
    # 5 beyond sole and top: two upright pieces below of 2 + 3√2 by 5; above, both walls run on at 45 degrees.
    at = laid("throat.breast_lean=45")
    mouth, top = 2 + 3 * ROOT2, (CORNER - 56)
    expected = (50 * FOOT + 1250 - 98 * 8 - (98 * 42 - 42**2 / 2)) + 5 * mouth + 5 * (top + 5)
    assert area(at.throat_tool()) == pytest.approx(expected, abs=1e-8)


# Casting, cove and tail


def test_the_seat_follows_the_corner() -> None:
    at = laid("body.seat_gap=0.5")
    assert at.seat_front == near(CORNER - 90 - 0.5, 50)
    assert at.seat_rear == near(CORNER + 120 + 0.5, 50)
    assert area(at.casting) == pytest.approx(210 * 50, abs=1e-8)
    assert area(at.seat) == pytest.approx(211 * 51, abs=1e-8)


def test_the_seats_corners_stay_around_the_castings() -> None:
    at = laid("casting.corner_radius=10", "body.seat_gap=0.5")
    assert area(at.casting) == pytest.approx(210 * 50 - (4 - math.pi) * 100, abs=1e-8)
    assert area(at.seat) == pytest.approx(211 * 51 - (4 - math.pi) * 10.5**2, abs=1e-8)


def test_a_tapered_casting() -> None:
    at = laid("casting.rear_width=40", "body.seat_gap=0")
    assert area(at.casting) == pytest.approx(210 * 45, abs=1e-8)
    assert sorted({y for _, y in flattened(at.casting, 0.1)}) == [-25, -20, 20, 25]


def with_tail(*changes: str) -> Layout:
    """A cove of radius 20 and drop 8: it runs over √(20² - 12²) = 16; its flat tail is 60 long, to D + 120."""
    return laid("casting.cove_radius=20", "casting.tail_drop=8", "casting.tail_length=60", *changes)


def test_cove_and_tail() -> None:
    tail = with_tail().tail
    assert tail is not None
    assert tail.cove_low == near(CORNER + 60, 42)
    assert tail.cove_high == near(CORNER + 44, 50)
    assert tail.centre == near(CORNER + 60, 62)
    assert tail.rear == near(CORNER + 120, 42)
    assert with_tail().seat_rear[1] == pytest.approx(42, abs=EXACT)


def test_a_quarter_turn_cove_drops_by_its_radius() -> None:
    tail = laid("casting.cove_radius=8", "casting.tail_drop=8", "casting.tail_length=60").tail
    assert tail is not None
    assert tail.cove_high == near(CORNER + 52, 50)


def test_no_drop_no_tail() -> None:
    assert laid().tail is None
    assert laid().tail_tool() is None


def test_the_tails_tool() -> None:
    # Above the arc up to 55 (5 over the top), from D + 44 to 305: 16 · 13 less the area between 42 and the arc, then flat.
    # Under the arc, over 42: ∫ 20 - √(400 - s²) ds from 0 to 16 = 320 - (16 · 12 + 400 asin 0.8)/2.
    outline = with_tail().tail_tool()
    assert outline is not None
    expected = 16 * 13 - (320 - (192 + 400 * math.asin(0.8)) / 2) + 13 * (305 - CORNER - 60)
    assert area(outline) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("x", "height"),
    [
        (0, 50), (CORNER + 43.9, 50), (CORNER + 60 - 12, 62 - 16), (CORNER + 60, 42), (CORNER + 119, 42), (290, 42),
    ],
)  # fmt: skip
def test_the_top_of_the_wood_behind_a_tail(x: float, height: float) -> None:
    assert with_tail().top_at(x) == pytest.approx(height, abs=EXACT)


def test_the_top_of_the_wood_around_a_let_in_casting() -> None:
    at = with_tail("casting.let_in=3", "body.heel_top=full", "body.seat_gap=0.5")
    heights = {x: at.top_at(x) for x in (0.0, CORNER - 90.6, CORNER - 90.4, CORNER + 20, CORNER + 100, CORNER + 120.6)}
    assert list(heights.values()) == pytest.approx([53, 53, 50, 50, 42, 53], abs=EXACT)


def test_the_whole_heel_is_lowered_unless_it_rises_again() -> None:
    assert with_tail().top_at(CORNER + 125) == pytest.approx(42, abs=EXACT)
    assert with_tail("body.heel_top=full").top_at(CORNER + 125) == 50


# Recess and holes


def test_the_recess() -> None:
    # 40 and 8 down the bed, each 0.5 further for the gap, 4 deep square to the bed.
    at = laid("frog.recess_depth=4", "frog.foot_thickness=4", "body.seat_gap=0.5")
    assert at.recess is not None
    assert at.recess_half_width == 20.5
    low, low_floor, high_floor, high = at.recess
    assert low == near(CORNER - 40.5 / ROOT2, 50 - 40.5 / ROOT2)
    assert low_floor == near(CORNER - 40.5 / ROOT2 + 4 / ROOT2, 50 - 40.5 / ROOT2 - 4 / ROOT2)
    assert high_floor == near(CORNER - 7.5 / ROOT2 + 4 / ROOT2, 50 - 7.5 / ROOT2 - 4 / ROOT2)
    assert high == near(CORNER - 7.5 / ROOT2, 50 - 7.5 / ROOT2)


def test_frog_screws_go_square_into_the_bed_from_the_recess_floor() -> None:
    screws = "frog.screws=[{along=-20, across=12, diameter=4, depth=10}]"
    right, left = laid("frog.recess_depth=4", "frog.foot_thickness=4", screws).holes
    x, z = CORNER - 20 / ROOT2 + 4 / ROOT2, 50 - 20 / ROOT2 - 4 / ROOT2
    assert right.start == pytest.approx((x, 12, z), abs=EXACT)
    assert right.direction == pytest.approx((1 / ROOT2, 0, -1 / ROOT2), abs=EXACT)
    assert right.end == pytest.approx((x + 10 / ROOT2, 12, z - 10 / ROOT2), abs=EXACT)
    assert left.start == pytest.approx((x, -12, z), abs=EXACT)


def test_a_tilted_frog_screw_leans_to_the_sole() -> None:
    # A bed at 45 turned by 15: 30 degrees from plumb.
    (hole,) = laid("frog.screws=[{along=-20, across=0, diameter=4, depth=10, tilt=15}]").holes
    assert hole.direction == pytest.approx((0.5, 0, -ROOT3 / 2), abs=EXACT)


def test_casting_screws_go_down_from_the_wood_under_the_casting() -> None:
    screws = "casting.screws=[{x=-80, y=0, gauge=10, length=24}, {x=80, y=12, gauge=8, length=24}]"
    front, right, left = with_tail(screws, "casting.thickness=4").holes
    assert front.start == pytest.approx((CORNER - 80, 0, 50), abs=EXACT)
    assert right.start == pytest.approx((CORNER + 80, 12, 42), abs=EXACT)
    assert left.start == pytest.approx((CORNER + 80, -12, 42), abs=EXACT)
    assert {hole.direction for hole in (front, right, left)} == {(0, 0, -1)}
    assert {hole.depth for hole in (front, right, left)} == {20}
    # Roots of No. 10 and No. 8 at mid-thread, 0.130 and 0.112 in, as tabulated in common charts; nine tenths of them in
    # hardwood (NDS commentary, part XI, the rule before the 1962 edition, as quoted).
    assert front.diameter == pytest.approx(0.9 * 0.130 * 25.4, abs=EXACT)
    assert right.diameter == pytest.approx(0.9 * 0.112 * 25.4, abs=EXACT)
    # Wood Handbook (FPL-GTR-190, 2010), p. 8-10 (read): the root averages about two thirds of the shank; the shank of
    # ASME B18.6.1 is 0.060 + 0.013 N inch.
    for hole, gauge in ((front, 10), (right, 8)):
        assert hole.diameter / 0.9 == pytest.approx(2 / 3 * (0.060 + 0.013 * gauge) * 25.4, rel=0.03)


def test_the_totes_bolt_leans_and_its_toe_screw_is_plumb() -> None:
    tote = "tote={bolt_x=80, bolt_tilt=30, bolt_diameter=6, bolt_depth=20, toe_screw_x=70, toe_screw_depth=12}"
    bolt, toe = with_tail(tote).holes
    assert bolt.start == pytest.approx((CORNER + 80, 0, 42), abs=EXACT)
    assert bolt.end == pytest.approx((CORNER + 80 + 10, 0, 42 - 10 * ROOT3), abs=EXACT)
    assert toe.end == pytest.approx((CORNER + 70, 0, 30), abs=EXACT)


def test_the_knobs_bolt_is_measured_from_the_toe() -> None:
    (bolt,) = laid("knob={from_toe=33, bolt_diameter=7, bolt_depth=21}").holes
    assert bolt.start == (33, 0, 50)
    assert bolt.end == (33, 0, 29)


def test_dowels_go_equally_deep_into_both_halves_through_the_strip() -> None:
    at = laid("body.dowels={count=4, diameter=8, depth=14}", "body.centre_strip=5")
    assert len(at.holes) == 4
    for hole in at.holes:
        assert hole.start[1] == -16.5
        assert hole.end[1] == 16.5
        assert hole.direction == (0, 1, 0)


def test_half_the_dowels_go_ahead_of_the_mouth() -> None:
    places = [hole.start[0] for hole in laid("body.dowels.count=5").holes]
    assert sum(x < 100 for x in places) == 2
    assert sum(x > 100 for x in places) == 3


# Plan


def test_the_plan_is_parallel_beside_the_throat_and_beyond() -> None:
    at = laid("body.toe_width=60", "body.heel_width=50", "throat.breast_lean=45")
    assert at.plan.toe.shoulder == pytest.approx(56 - SHOULDER, abs=EXACT)
    assert at.plan.heel.shoulder == pytest.approx(CORNER + SHOULDER, abs=EXACT)
    assert (at.plan.half_width, at.plan.toe.half_width, at.plan.heel.half_width) == (35, 30, 25)


def test_ends_without_a_width_of_their_own_are_as_wide_as_the_body() -> None:
    at = laid()
    assert (at.plan.toe.half_width, at.plan.heel.half_width, at.plan.inner) == (35, 35, 0)
    assert laid("body.centre_strip=5").plan.inner == 2.5


# What must hold for any set


@given(thickness=st.floats(30, 80), bed=st.integers(35, 65), mouth=st.floats(80, 140))
def test_the_corner_lies_on_the_bed_and_the_edge_on_the_irons_flat_face(thickness: float, bed: int, mouth: float) -> None:
    given_set: ParameterSet = full(f"frog.bed_angle={bed}", f"body.toe_to_mouth='{mouth:.9f}'")
    at = lay_out(given_set, thickness)
    theta = math.radians(bed)

    def out_of_the_bed(point: Point) -> float:
        return (at.bed_foot[0] - point[0]) * math.sin(theta) + point[1] * math.cos(theta)

    assert out_of_the_bed(at.corner) == pytest.approx(0, abs=EXACT)
    assert out_of_the_bed(at.edge) == pytest.approx(3, abs=EXACT)
    assert at.corner[1] == thickness


@given(thickness=st.floats(40, 60), moved=st.floats(-20, 20))
def test_moving_the_mouth_moves_everything_on_the_metal_with_it(thickness: float, moved: float) -> None:
    here, there = (
        lay_out(full(f"body.toe_to_mouth='{place:.9f}'", "body.dowels.count=0", "body.length=500"), thickness)
        for place in (124.0, 124.0 + moved)
    )
    shift = there.corner[0] - here.corner[0]
    assert shift == pytest.approx(moved, abs=1e-8)
    for one, other in zip(here.holes, there.holes, strict=True):
        assert other.start[0] - one.start[0] == pytest.approx(0 if one.kind == "knob bolt" else shift, abs=1e-8)
    assert area(there.seat) == pytest.approx(area(here.seat), abs=1e-6)
    assert there.seat_front[0] - here.seat_front[0] == pytest.approx(shift, abs=1e-8)
