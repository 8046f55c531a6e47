"""Tolerances against ISO 2768-1 and the window; reliefs against plane geometry and the wood around them."""

from __future__ import annotations

import math

import pytest
import shapely

from planestock.models.design import Design, design
from planestock.models.machining import iso_2768
from planestock.models.machining.all_setups import PlanOfWork, plan_of_work
from planestock.models.machining.corners import Corner, relief_outline, slot
from planestock.models.machining.holding import CLAMP_MARGIN, LEAST_CLAMP
from planestock.models.machining.leftovers import leftovers
from planestock.models.machining.pockets import Pocket, anticlockwise
from planestock.models.machining.tolerances import allowed, tolerances
from planestock.params.files import load, shipped
from planestock.params.outlines.pieces import Arc, Line
from tests.support.full_set import full
from tests.support.machining_support import polygon_of

# ISO 2768-1:1989, class m, as printed in several agreeing copies (table 1; tables 2 and 3 for radii and angles).
TABLE = [(0.5, 0.1), (3, 0.1), (3.01, 0.1), (6, 0.1), (6.01, 0.2), (30, 0.2), (30.1, 0.3), (120, 0.3), (120.1, 0.5),
         (400, 0.5), (400.1, 0.8), (1000, 0.8), (1000.1, 1.2), (2000, 1.2), (2000.1, 2.0), (4000, 2.0)]  # fmt: skip
RADII = [(0.5, 0.2), (3, 0.2), (3.1, 0.5), (6, 0.5), (6.1, 1.0), (500, 1.0)]
ANGLES = [(5, 60), (10, 60), (10.1, 30), (50, 30), (50.1, 20), (120, 20), (120.1, 10), (400, 10), (400.1, 5)]


@pytest.mark.parametrize(("nominal", "tolerance"), TABLE)
def test_lengths_have_the_tolerance_of_iso_2768_m(nominal: float, tolerance: float) -> None:
    assert iso_2768.linear(nominal) == tolerance


@pytest.mark.parametrize("nominal", [0.0, 0.49, 4000.1])
def test_lengths_outside_the_table_have_none(nominal: float) -> None:
    assert iso_2768.linear(nominal) is None


@pytest.mark.parametrize(("nominal", "tolerance"), RADII)
def test_radii_have_the_tolerance_of_iso_2768_m(nominal: float, tolerance: float) -> None:
    assert iso_2768.radius(nominal) == tolerance


@pytest.mark.parametrize(("leg", "minutes"), ANGLES)
def test_angles_have_the_tolerance_of_their_shorter_leg(leg: float, minutes: float) -> None:
    assert iso_2768.angle(leg) == pytest.approx(minutes / 60)


def work_of(made: Design) -> PlanOfWork:
    return plan_of_work(made.given, made.settled, made.layout)


@pytest.mark.parametrize("name", shipped())
def test_seat_and_bed_angle_at_their_worst_together_keep_the_body_in_the_window(name: str) -> None:
    """The edge is turned about the corner D with the bed; both its ends of travel are computed anew from the turned bed."""
    made = design(load(name))
    given, settled, at = made.given, made.settled, made.layout
    seat, bed = tolerances(given, settled, at)[:2]
    back, out = allowed(given, settled)
    assert seat.tighter
    assert bed.tighter
    arm = at.corner[0] - at.edge[0]

    def raised(degrees: float) -> float:
        """How much a steeper bed lets the edge down: a turn about D by rigid rotation, to first order arm times angle."""
        drop, turn = settled.thickness, math.radians(degrees)
        return arm * math.sin(turn) + drop * (math.cos(turn) - 1)

    assert seat.plus + raised(bed.minus) <= back + 1e-9
    assert seat.minus + raised(bed.plus) <= out + 1e-9


def test_a_body_thinner_than_the_thickest_safe_one_leaves_more_room_above() -> None:
    thick = design(load("jack"))
    thin = design(load("jack", [f"body.thickness={thick.settled.thickness - 0.3:.4f}"]))
    widest = [tolerances(one.given, one.settled, one.layout)[0].plus for one in (thick, thin)]
    assert widest[1] > widest[0]
    assert widest[1] <= 0.3


def test_a_recess_that_is_not_as_deep_as_the_foot_is_thick_has_what_is_left_of_the_step() -> None:
    made = design(full("frog.recess_depth=5.04"))
    recess = next(one for one in tolerances(made.given, made.settled, made.layout) if one.asked == "flush")
    assert recess.plus == pytest.approx(0.06)
    assert recess.minus == pytest.approx(0.1)


# Reliefs


def square(radius: float, bearing: tuple[Line, ...] = ()) -> Pocket:
    room = polygon_ring(60, 40)
    return Pocket("room", (room,), (room,), 5.0, 40.0, False, radius, bearing)


def polygon_ring(length: float, width: float) -> tuple[Line, ...]:
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    return tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))


def end_of(outline: tuple[Line | Arc, ...]) -> tuple[float, float]:
    return next(piece for piece in outline if isinstance(piece, Arc)).centre


@pytest.mark.parametrize("radius", [3.0, 3.175, 6.0])
def test_a_relief_in_a_square_corner_lies_r_root_two_over_two_back_from_it(radius: float) -> None:
    pocket = square(radius)
    left = next(one for one in pocket.leftovers if one.place == (0, 0))
    outline = relief_outline(left, pocket, everywhere=False)
    assert outline is not None
    assert list(end_of(outline)) == pytest.approx([radius * math.sqrt(2) / 2] * 2)
    assert polygon_of(outline).buffer(5e-3).covers(polygon_of(left.outline))


def test_the_offset_of_a_relief_for_a_cutter_of_6_mm_is_2_1213_mm() -> None:
    pocket = square(3.0)
    outline = relief_outline(pocket.leftovers[0], pocket, everywhere=False)
    assert outline is not None
    x, y = end_of(outline)
    place = pocket.leftovers[0].place
    assert abs(x - place[0]) == pytest.approx(2.1213, abs=5e-5)
    assert abs(y - place[1]) == pytest.approx(2.1213, abs=5e-5)


def test_a_relief_beside_a_wall_that_metal_lies_on_bites_into_the_other_wall_only() -> None:
    floor = Line((0.0, 0.0), (60.0, 0.0))
    pocket = square(3.0, (floor,))
    left = next(one for one in pocket.leftovers if one.place == (0, 0))
    outline = relief_outline(left, pocket, everywhere=False)
    assert outline is not None
    shape = polygon_of(outline)
    assert shape.bounds[1] >= -1e-9
    assert shape.bounds[0] == pytest.approx(-3.0, abs=1e-3)
    assert shape.buffer(5e-3).covers(polygon_of(left.outline))
    everywhere = relief_outline(left, pocket, everywhere=True)
    assert everywhere is not None
    assert polygon_of(everywhere).bounds[1] == pytest.approx(-(3 - 3 * math.sqrt(2) / 2), abs=1e-3)


def test_a_corner_between_two_walls_that_metal_lies_on_is_not_relieved() -> None:
    pocket = square(3.0, (Line((0.0, 0.0), (60.0, 0.0)), Line((0.0, 40.0), (0.0, 0.0))))
    left = next(one for one in pocket.leftovers if one.place == (0, 0))
    assert relief_outline(left, pocket, everywhere=False) is None


def test_the_way_of_the_cutter_is_as_wide_as_the_cutter() -> None:
    ring = slot((0.0, 0.0), (10.0, 0.0), 3.0)
    assert polygon_of(ring).area == pytest.approx(60 + math.pi * 9, rel=1e-3)
    assert anticlockwise(ring) == ring
    assert polygon_of(slot((1.0, 1.0), (1.0, 1.0), 3.0)).area == pytest.approx(math.pi * 9, rel=1e-3)


SHARP_SEAT = ("casting.corner_radius=0", "casting.tail_drop=0", "casting.cove_radius=0", "shop.cutter.corners=relieved")
"""A seat with square corners, closed all round."""


def plan_reliefs(made: Design) -> list[Corner]:
    return [one for one in work_of(made).corners if one.pocket == "casting's seat" and one.relief is not None]


def test_relieved_seat_corners_leave_the_wall_that_the_set_asks_for() -> None:
    """Against shapely's distance from the relief to the body's outline."""
    made = design(full(*SHARP_SEAT))
    reliefs = plan_reliefs(made)
    assert len(reliefs) == 2
    outside = polygon_of(made.layout.plan.whole_outline()).exterior
    for corner in reliefs:
        assert corner.relief is not None
        shape = shapely.affinity.translate(polygon_of(corner.relief), 0.0, made.layout.plan.inner)
        assert shape.distance(outside) >= 0.5 * made.given.work.least_cheek.value - 1e-6


def test_a_relief_that_would_leave_too_thin_a_wall_is_left_for_the_chisel_and_says_so() -> None:
    corners = work_of(design(full(*SHARP_SEAT, "casting.front_width=66", "casting.rear_width=66", "body.toe_width=76",
                                  "body.heel_width=76", "work.least_cheek=8"))).corners  # fmt: skip
    seat = [one for one in corners if one.pocket == "casting's seat"]
    assert {one.why for one in seat} == {"little wood"}
    assert all(one.room is not None and one.room.beyond == "cheek" and one.room.short for one in seat)


def test_corners_are_left_for_the_chisel_unless_asked() -> None:
    assert {one.why for one in work_of(design(full())).corners} <= {"by choice", "not a corner"}


def test_a_relief_is_cut_from_wood_that_the_checks_of_the_set_still_hold() -> None:
    rows = {row.id: row for row in work_of(design(full(*SHARP_SEAT))).checks}
    assert rows["relief-cover"].verdict == "pass"
    assert rows["relief-cover"].margin is not None
    assert rows["relief-cover"].margin >= 0


# Work-holding


@pytest.mark.parametrize("name", shipped())
def test_no_cut_comes_nearer_to_a_clamp_than_its_margin(name: str) -> None:
    work = work_of(design(load(name)))
    seen = 0
    for plan in work.parts:
        for setup in plan.setups:
            areas = work.holdings[plan.name, setup.number].clamps
            cut = [polygon_of(ring) for one in setup.cuts for pocket in one.pockets if pocket.title != "cove"
                   for ring in pocket.cut]  # fmt: skip
            cut += [
                shapely.Point(place).buffer(one.diameter / 2) for one in setup.cuts if one.diameter for place in one.places
            ]
            for area in areas:
                seen += 1
                box = shapely.box(area.left, area.low, area.right, area.high)
                assert min(area.right - area.left, area.high - area.low) >= LEAST_CLAMP
                assert all(box.distance(shape) >= CLAMP_MARGIN - 1e-6 for shape in cut)
    assert seen


def test_leftovers_and_their_pocket_agree_on_how_much_is_reached() -> None:
    pocket = square(3.0)
    assert pocket.reached == pytest.approx(1 - 4 * 9 * (1 - math.pi / 4) / 2400)
    assert pocket.leftovers == leftovers(pocket.walls, 3.0)
