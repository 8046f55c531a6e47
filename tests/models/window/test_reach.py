"""Reach and window against cases computed by hand: at 45 and 60 degrees sines and cosines are roots."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.models.body.layout import lay_out
from planestock.models.body.metal_outlines import iron_outline, iron_place
from planestock.models.window import reach
from planestock.models.window.reach import Window
from planestock.models.window.thickness import settle
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from tests.support.full_set import PLAIN, plain, plain_values, without

EXACT = 1e-9
"""Millimetres; what arithmetic on numbers of some hundred may lose, with room to spare."""

ROOT2, ROOT3 = math.sqrt(2), math.sqrt(3)


def with_bench(low: float, high: float) -> ParameterSet:
    values = without(PLAIN, "adjuster")
    values["bench"] = {"edge_low": low, "edge_high": high}
    return parameter_set(values)


# The chain of readings


def test_the_edge_below_the_seat_at_45_degrees() -> None:
    # c + b - a = 96 + 1 - 20 = 77 down the bed; (77 - 3)/√2 = 74/√2 below the seat.
    assert reach.edge_below_seat(96, 1, 20, 45, 3) == pytest.approx(74 / ROOT2, abs=EXACT)


def test_the_edge_below_the_seat_at_60_degrees() -> None:
    # c + b - a = 80 + 2 - 12 = 70; 70 · √3/2 - 4 · 1/2 = 35√3 - 2.
    assert reach.edge_below_seat(80, 2, 12, 60, 4) == pytest.approx(35 * ROOT3 - 2, abs=EXACT)


def test_a_pin_below_the_corner_lowers_the_edge() -> None:
    # a = -10: c + b - a = 40 + 1 + 10 = 51; (51 - 2)/√2.
    assert reach.edge_below_seat(40, 1, -10, 45, 2) == pytest.approx(49 / ROOT2, abs=EXACT)


def test_the_window_from_the_chain_of_readings() -> None:
    window = settle(plain()).window
    # a_low = 20: 74/√2 less the deepest cut 0.8; a_high = 28: (69 - 3)/√2 = 66/√2 and the withdrawal 0.3.
    assert window.edge_low == pytest.approx(74 / ROOT2, abs=EXACT)
    assert window.edge_high == pytest.approx(66 / ROOT2, abs=EXACT)
    assert window.high == pytest.approx(74 / ROOT2 - 0.8, abs=EXACT)
    assert window.low == pytest.approx(66 / ROOT2 + 0.3, abs=EXACT)
    assert window.width == pytest.approx(8 / ROOT2 - 1.1, abs=EXACT)
    assert window.road == "readings"


def test_the_window_at_60_degrees() -> None:
    given_set = plain(
        "frog.bed_angle=60", "cap_iron.slot_to_edge=80", "cap_iron.setback=2", "iron.thickness=4",
        "adjuster.pin_low=12", "adjuster.pin_high=20", "work.deepest_cut=1", "work.withdraw=0.5",
    )  # fmt: skip
    window = settle(given_set).window
    assert window.high == pytest.approx(35 * ROOT3 - 2 - 1, abs=EXACT)
    assert window.low == pytest.approx(31 * ROOT3 - 2 + 0.5, abs=EXACT)


def test_inches_and_millimetres_give_one_window() -> None:
    inches = plain("cap_iron.slot_to_edge='3-3/4 in'", "adjuster.pin_low='3/4 in'")
    metric = plain("cap_iron.slot_to_edge=95.25", "adjuster.pin_low=19.05")
    assert settle(inches).window == settle(metric).window


def test_protrusion_at_a_thickness() -> None:
    window = Window(edge_low=52.0, edge_high=46.0, deepest_cut=0.5, withdraw=0.25, road="readings")
    assert (window.out(50.0), window.back(50.0)) == (2.0, 4.0)
    assert (window.low, window.high, window.width) == (46.25, 51.5, 5.25)
    assert window.wear_left(50.0) == 3.75


def test_a_travel_too_short_for_both_gives_a_negative_width() -> None:
    # Travel of 1 mm at 45 degrees moves the edge by 1/√2 = 0.707, less than 0.8 + 0.3.
    window = settle(plain("adjuster.pin_high=21")).window
    assert window.width == pytest.approx(1 / ROOT2 - 1.1, abs=EXACT)


def test_many_readings_at_once_give_the_same_numbers_as_one_by_one() -> None:
    pins, angles = np.array([18.0, 20.0, 22.0]), np.array([[44.0], [46.0]])
    together = reach.edge_below_seat(96.0, 1.0, pins, angles, 3.0)
    assert together.shape == (2, 3)
    for row, angle in enumerate((44.0, 46.0)):
        for column, pin in enumerate((18.0, 20.0, 22.0)):
            assert together[row, column] == pytest.approx(reach.edge_below_seat(96.0, 1.0, pin, angle, 3.0), abs=EXACT)


# The bench method


def test_the_window_from_the_bench_method() -> None:
    window = settle(with_bench(52.4, 46.1)).window
    assert window.high == pytest.approx(52.4 - 0.8, abs=EXACT)
    assert window.low == pytest.approx(46.1 + 0.3, abs=EXACT)
    assert window.road == "bench"


def test_either_road_alone_is_taken() -> None:
    assert settle(with_bench(52.4, 46.1)).window.road == "bench"
    assert settle(plain()).window.road == "readings"


@given(
    bed=st.floats(35, 65),
    slot=st.floats(60, 150),
    setback=st.floats(0, 6),
    low=st.floats(-20, 20),
    travel=st.floats(0.5, 15),
)
def test_both_roads_agree_on_metal_that_is_as_measured(
    bed: float, slot: float, setback: float, low: float, travel: float
) -> None:
    # The bench depth found by walking: down the bed from D, then square off the bed by the iron's thickness.
    def depth(pin: float) -> float:
        theta = math.radians(bed)
        down = slot + setback - pin
        return down * math.sin(theta) - 3.0 * math.sin(math.pi / 2 - theta)

    values = without(PLAIN)
    values["frog"]["bed_angle"] = f"{bed:.12f}"
    values["cap_iron"] |= {"slot_to_edge": f"{slot:.12f}", "setback": f"{setback:.12f}"}
    values["adjuster"] = {"pin_low": f"{low:.12f}", "pin_high": f"{low + travel:.12f}", "play": 0}
    chain = settle(parameter_set(values)).window
    assert chain.edge_low == pytest.approx(depth(low), abs=EXACT)
    assert chain.edge_high == pytest.approx(depth(low + travel), abs=EXACT)


# The thickness that is settled on


def test_a_given_thickness_is_kept() -> None:
    settled = settle(plain("body.thickness=47.5"))
    assert (settled.thickness, settled.chosen) == (47.5, False)


@pytest.mark.parametrize("tolerance", [0, 0.2, 1.0])
def test_a_thickness_from_the_window_lies_in_it_and_leaves_the_cutting_tolerance(tolerance: float) -> None:
    settled = settle(plain("body.thickness=from window", f"work.cutting_tolerance={tolerance}"))
    assert settled.chosen
    assert settled.window.low <= settled.thickness <= settled.window.high - tolerance + EXACT


# Mouth and clearance


def test_the_bed_meets_the_sole_behind_the_edge() -> None:
    # t / sin θ: 3√2 at 45 degrees, 4/(√3/2) = 8/√3 at 60.
    assert reach.edge_from_bed_foot(3, 45) == pytest.approx(3 * ROOT2, abs=EXACT)
    assert reach.edge_from_bed_foot(4, 60) == pytest.approx(8 / ROOT3, abs=EXACT)


def test_truing_opens_the_mouth() -> None:
    # cot 45 = 1 with an upright wear; cot 60 + tan 30 = 2/√3; a wear that leans to the heel closes it: cot 45 - tan 10.
    assert reach.mouth_growth(45, 0) == pytest.approx(1, abs=EXACT)
    assert reach.mouth_growth(60, 30) == pytest.approx(2 / ROOT3, abs=EXACT)
    assert reach.mouth_growth(45, -10) == pytest.approx(1 - math.tan(math.radians(10)), abs=EXACT)


def test_the_mouth_grows_as_the_layout_says_when_the_sole_is_planed() -> None:
    given_set = plain("throat.wear_lean=12", "frog.bed_angle=52")
    at = lay_out(given_set, 50)
    planed = 3.0
    (fx, _), (wx, wz) = at.mouth_front, at.wear_top
    wall = fx + (wx - fx) * planed / wz
    flat_of_the_iron = at.edge[0] + planed / math.tan(math.radians(52))
    growth = (flat_of_the_iron - wall) - (at.edge[0] - at.mouth_front[0])
    assert planed * reach.mouth_growth(52, 12) == pytest.approx(growth, abs=EXACT)


def test_an_edge_set_proud_closes_the_mouth() -> None:
    # The edge slides down the bed: 1 mm below the sole it is cot θ nearer to the toe, 1/√3 at 60 degrees.
    assert reach.mouth_closing(60) == pytest.approx(1 / ROOT3, abs=EXACT)
    given_set = plain("frog.bed_angle=60")
    at = lay_out(given_set, 50)
    proud = iron_outline(given_set, at, iron_place(given_set, at, 1.0))[0].start
    assert proud == pytest.approx((at.edge[0] - 1 / ROOT3, -1.0), abs=EXACT)


def test_the_clearance_angle_is_bed_less_bevel() -> None:
    assert reach.clearance_angle(45, 25) == 20


# The window against the metal in place


@pytest.mark.parametrize("bed", [35, 45, 50.5, 60, 65])
@pytest.mark.parametrize("end", ["pin_low", "pin_high"])
def test_the_iron_drawn_at_the_end_of_the_travel_has_its_slot_at_the_pin(bed: float, end: str) -> None:
    # From the window to the drawn iron and back: edge + setback + slot distance up the bed must be the pin.
    given_set = plain(f"frog.bed_angle={bed}", "body.thickness=55")
    settled = settle(given_set)
    at = lay_out(given_set, settled.thickness)
    proud = settled.window.out(55) if end == "pin_low" else -settled.window.back(55)
    place = iron_place(given_set, at, proud)
    pin = plain_values(given_set)["adjuster"][end]
    assert place.along + 1 + 96 == pytest.approx(pin, abs=EXACT)
