"""Lines and arcs made of points: analytic truth first, then tangency and tolerance on drawn shapes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.models.body.casting_outline import grown
from planestock.params.outlines.along import directions
from planestock.params.outlines.crossings import crossings, cut_at
from planestock.params.outlines.path_text import read, written
from planestock.params.outlines.pieces import (
    Arc,
    Line,
    Outline,
    area,
    bounds,
    flattened,
    length,
    perimeter,
    shifted,
    through,
    walked_back,
)
from planestock.params.outlines.polygons import polygon, rounded
from planestock.params.problems import InputProblem
from planestock.params.traced.arcs_between import biarc, fillet
from planestock.params.traced.evening import plan_of
from planestock.params.traced.fitting import fitted
from planestock.params.traced.strokes import Chained, Floats, chained, sampled
from tests.support.traced_support import JACK, apart, dense, ends_meet, loop, polygon_of, waisted, worst_turn


def test_pieces_know_the_circle() -> None:
    half = Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), clockwise=False)
    whole: Outline = (half, Arc((-10.0, 0.0), (10.0, 0.0), (0.0, 0.0), clockwise=False))
    assert area(whole) == pytest.approx(100 * math.pi, abs=1e-9)
    assert perimeter(whole) == pytest.approx(20 * math.pi, abs=1e-9)
    box = bounds([half])
    assert (box.left, box.low, box.right, box.high) == pytest.approx((-10, 0, 10, 10), abs=1e-9)
    first, last = directions(half)
    assert first == pytest.approx((0, 1), abs=1e-12)
    assert last == pytest.approx((0, -1), abs=1e-12)
    assert area(walked_back(whole)) == pytest.approx(-100 * math.pi, abs=1e-9)
    quarter = through((10.0, 0.0), (0.0, 10.0), math.pi / 2)
    assert isinstance(quarter, Arc)
    assert quarter.centre == pytest.approx((0, 0), abs=1e-12)


def test_a_fillet_between_square_directions_is_a_quarter_circle() -> None:
    made = fillet((0.0, 0.0), (1.0, 0.0), (30.0, 20.0), (0.0, 1.0), 1.0)
    assert made is not None
    line, arc = made
    assert (line.start, line.end) == ((0.0, 0.0), (10.0, 0.0))
    assert isinstance(arc, Arc)
    assert arc.radius == pytest.approx(20, abs=1e-12)
    assert arc.centre == pytest.approx((10, 20), abs=1e-12)


def test_a_biarc_between_level_directions_is_two_like_arcs() -> None:
    made = biarc((0.0, 0.0), (1.0, 0.0), (20.0, 10.0), (1.0, 0.0), 1.0)
    assert made is not None
    one, other = made
    assert isinstance(one, Arc)
    assert isinstance(other, Arc)
    # Sagitta and chord of each half: R = (10² + 5²) / (2 · 5).
    assert (one.radius, other.radius) == pytest.approx((12.5, 12.5), abs=1e-9)
    assert one.end == pytest.approx((10, 5), abs=1e-9)
    assert (one.clockwise, other.clockwise) == (False, True)


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0])
def test_points_along_a_rounded_casting_give_back_its_four_lines_and_four_arcs(step: float) -> None:
    made = fitted(loop(dense(JACK, step)), 0.01, "test").pieces
    assert sorted(isinstance(piece, Arc) for piece in made) == [False] * 4 + [True] * 4
    assert [piece.radius for piece in made if isinstance(piece, Arc)] == pytest.approx([16] * 4, abs=1e-3)
    assert area(made) == pytest.approx(area(JACK), rel=1e-6)
    assert worst_turn(made) < 1e-4


def test_coordinates_rounded_to_a_thousandth_give_the_same_pieces() -> None:
    made = fitted(loop(np.round(dense(JACK, 0.1), 3).tolist()), 0.01, "test").pieces
    assert len(made) == 8
    assert apart(made, JACK) < 0.002


def test_a_circle_of_points_is_a_circle() -> None:
    angles = np.linspace(0, math.tau, 721)[:-1]
    made = fitted(loop([(40 * math.cos(a), 40 * math.sin(a)) for a in angles]), 0.01, "test").pieces
    assert len(made) == 2
    assert area(made) == pytest.approx(1600 * math.pi, rel=1e-8)


def test_an_ellipse_keeps_within_its_tolerance_with_few_pieces() -> None:
    def at(steps: Floats) -> Floats:
        return np.column_stack([90 * np.cos(math.tau * steps), 30 * np.sin(math.tau * steps)])

    def way(steps: Floats) -> Floats:
        return math.tau * np.column_stack([-90 * np.sin(math.tau * steps), 30 * np.cos(math.tau * steps)])

    chain = Chained((sampled(at, way, 0.0005, 20_000),), True, 0.0)
    truth = polygon([(float(x), float(y)) for x, y in at(np.linspace(0, 1, 4001)[:-1])])
    for tolerance, most in ((0.01, 60), (0.1, 30)):
        made = fitted(chain, tolerance, "test")
        assert made.strays <= tolerance
        assert apart(made.pieces, truth) < 1.1 * tolerance
        assert len(made.pieces) <= most
        assert worst_turn(made.pieces) < 1e-6
        assert area(made.pieces) == pytest.approx(90 * 30 * math.pi, rel=1e-3)


def test_corners_stay_corners() -> None:
    square = polygon([(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0)])
    assert fitted(loop(dense(square, 0.5)), 0.01, "test").pieces[0].start in [
        (0.0, 0.0),
        (50.0, 0.0),
        (50.0, 30.0),
        (0.0, 30.0),
    ]
    assert area(fitted(loop(dense(square, 0.5)), 0.01, "test").pieces) == pytest.approx(1500, abs=1e-6)
    bent = [(0.0, 0.0), (100.0, 0.0), (200.0, 5.0), (200.0, 60.0), (0.0, 60.0)]
    assert len(fitted(loop(bent), 0.01, "test").pieces) == 5


def test_exact_pieces_are_left_alone() -> None:
    made = fitted(chained([list(waisted())], 0.1, "test")[0], 0.01, "test")
    assert made.strays == 0.0
    assert apart(made.pieces, waisted()) < 1e-9
    assert area(made.pieces) == pytest.approx(area(waisted()), abs=1e-6)


def test_noise_of_a_fifth_of_the_tolerance_is_not_taken_for_shape() -> None:
    points = np.array(dense(waisted(), 0.2))
    noisy = points + np.random.default_rng(5).normal(0, 0.02, points.shape)
    made = fitted(loop(noisy.tolist()), 0.1, "test").pieces
    assert apart(made, waisted()) < 0.12
    assert len(made) < 60
    assert worst_turn(made) < 1e-4


def test_the_fit_does_not_hang_on_anything_but_its_input() -> None:
    assert fitted(loop(dense(waisted(), 0.3)), 0.01, "test") == fitted(loop(dense(waisted(), 0.3)), 0.01, "test")


def test_raggedness_beyond_all_shape_is_refused() -> None:
    saw = [(x, (x % 2) * 3.0) for x in range(600)] + [(600, 40), (0, 40)]
    with pytest.raises(InputProblem, match="too ragged"):
        fitted(loop(saw), 0.01, "test")


# ---- text -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("outline", [JACK, waisted()], ids=["rounded", "waisted"])
def test_path_data_reads_back_as_what_was_written(outline: Outline) -> None:
    text = written(outline, closed=True)
    back = read(text, "test")
    assert written(back, closed=True) == text
    assert apart(back, outline) < 2e-5
    assert ends_meet(back)
    assert area(back) == pytest.approx(area(outline), rel=1e-6)


def test_relative_and_terse_path_data_are_read() -> None:
    assert read("M0,0h10v5l-10-.0z", "test")[:2] == (Line((0.0, 0.0), (10.0, 0.0)), Line((10.0, 0.0), (10.0, 5.0)))
    (arc,) = read("m10 0a10 10 0 0 1-10 10", "test")
    assert isinstance(arc, Arc)
    assert arc.centre == pytest.approx((0, 0), abs=1e-9)
    (large,) = read("M10 0A10 10 0 1 1 0-10", "test")
    assert isinstance(large, Arc)
    assert large.sweep == pytest.approx(1.5 * math.pi)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("L 1 1", "begins with M"),
        ("M 0 0 L 1", "lacks numbers"),
        ("M 0 0 C 1 1 2 2 3 3", "no command that a set can carry"),
        ("M 0 0 L nan 1", "no command"),
        ("M 0 0 L 1 1 M 2 2 L 3 3", "second M"),
        ("M 0 0 L 5 5 Z L 3 3", "after the path was closed"),
        ("M 0 0 L 1e99 0", "more than 10000 mm"),
        ("M 0 0", "no line"),
        ("7", "after no command"),
        ("M 0 0 L 1 1 #", "neither"),
        ("M 0 0 A 3 4 0 0 1 9 9", "no arc of a circle"),
        ("M 0 0" + " L 1 1 L 2 2" * 300, "at most 400"),
        ("M" + " " * 70_000, "at most 60000"),
    ],
)
def test_other_path_data_is_refused_with_a_reason(text: str, message: str) -> None:
    with pytest.raises(InputProblem, match=message):
        read(text, "casting.outline")


@settings(max_examples=60)
@given(st.text(alphabet="MLHVAZmlhvaz0123456789.-+eE, ", max_size=60))
def test_no_path_data_does_worse_than_be_refused(text: str) -> None:
    try:
        pieces = read(text, "casting.outline")
    except InputProblem:
        return
    assert all(length(piece) > 0 for piece in pieces)
    assert read(written(pieces, closed=False), "casting.outline") is not None


# ---- evened and grown -------------------------------------------------------------------------------------------------


def plan(outline: Outline) -> Outline:
    return plan_of(written(outline, closed=True)).even


def test_a_grown_rectangle_has_the_area_of_steiners_formula() -> None:
    box = polygon([(-90.0, -30.0), (150.0, -30.0), (150.0, 30.0), (-90.0, 30.0)])
    made = grown(plan(box), 0.5)
    assert area(made) == pytest.approx(240 * 60 + 0.5 * 600 + math.pi * 0.25, abs=1e-6)
    assert perimeter(made) == pytest.approx(600 + math.pi, abs=1e-6)
    assert len(made) == 8


@pytest.mark.parametrize("by", [0.3, 2.0])
def test_a_grown_waist_is_what_shapely_grows(by: float) -> None:
    made = grown(plan(waisted()), by)
    buffered = polygon_of(waisted()).buffer(by, quad_segs=256)
    assert polygon_of(made).exterior.hausdorff_distance(buffered.exterior) < 0.002
    assert worst_turn(made) < 0.01
    assert ends_meet(made)


def test_hollow_corners_are_cut_back_where_the_outline_grows() -> None:
    cross = polygon([(-90, -20), (0, -20), (0, -30), (60, -30), (60, -20), (150, -20),
                     (150, 20), (60, 20), (60, 30), (0, 30), (0, 20), (-90, 20)])  # fmt: skip
    made = grown(plan(cross), 0.5)
    buffered = polygon_of(cross).buffer(0.5, quad_segs=256)
    assert area(made) == pytest.approx(buffered.area, abs=0.01)


def test_a_hollow_tighter_than_the_gap_is_grown_all_the_same() -> None:
    notch = rounded(((-90, -30), (150, -30), (150, 30), (-90, 30)), 10)
    dented = polygon_of(notch).difference(polygon_of(polygon([(20, 29.5), (21, 29.5), (21, 31), (20, 31)])))
    dented = dented.difference(polygon_of(polygon([(20, -31), (21, -31), (21, -29.5), (20, -29.5)])))
    outline = polygon([(float(x), float(y)) for x, y in list(dented.exterior.coords)[:-1][::-1]])
    outline = outline if area(outline) > 0 else walked_back(outline)
    made = grown(plan(fitted(loop([piece.start for piece in outline]), 0.01, "test").pieces), 0.6)
    buffered = dented.buffer(0.6, quad_segs=256)
    assert polygon_of(made).exterior.hausdorff_distance(buffered.exterior) < 0.03


@settings(max_examples=6)
@given(off=st.floats(0.05, 2.0), turn=st.floats(-1.0, 1.0))
def test_an_uneven_outline_is_evened_to_the_union_with_its_mirror_image(off: float, turn: float) -> None:
    angle = math.radians(turn)
    points = [(x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle) + off)
              for x, y in dense(waisted(), 0.8)]  # fmt: skip
    outline = fitted(loop(points), 0.01, "test").pieces
    traced = plan_of(written(outline, closed=True))
    union = polygon_of(outline).union(polygon_of(polygon([(x, -y) for x, y in flattened(outline, 0.0005)])))
    if traced.asymmetry >= 0.03:
        # Chords of both stray by 0.0005 mm over some 560 mm.
        assert polygon_of(traced.even).symmetric_difference(union).area < 1.5
    assert polygon_of(traced.even).buffer(0.03).contains(polygon_of(outline))
    other = polygon([(x, -y) for x, y in flattened(traced.even, 0.001)])
    assert polygon_of(traced.even).symmetric_difference(polygon_of(other)).area < 1.0
    assert ends_meet(traced.even)


def test_an_outline_moved_aside_by_a_third_is_reported_so() -> None:
    traced = plan_of(written(shifted(JACK, (0.0, 0.3)), closed=True))
    assert traced.asymmetry == pytest.approx(0.6, abs=0.01)
    assert traced.width == pytest.approx(bounds(JACK).height + 0.6, abs=1e-4)
    assert plan_of(written(JACK, closed=True)).asymmetry < 1e-4


# ---- crossings ------------------------------------------------------------------------------------------------------


def test_crossings_of_lines_and_circles_are_those_of_pythagoras() -> None:
    # 6, 8, 10: Euclid, Elements I.47; two circles of radius 10 whose centres lie 12 apart cross 8 above the middle
    level = Line((-20.0, 6.0), (20.0, 6.0))
    circle = Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), clockwise=False)
    assert sorted(crossings(level, circle)) == [pytest.approx((-8, 6)), pytest.approx((8, 6))]
    other = Arc((22.0, 0.0), (2.0, 0.0), (12.0, 0.0), clockwise=False)
    assert crossings(circle, other) == [pytest.approx((6, 8))]
    assert crossings(level, Line((0.0, 0.0), (0.0, 5.0))) == []
    parts = cut_at(circle, [(8.0, 6.0), (-8.0, 6.0)])
    assert [round(length(part), 6) for part in parts] == [round(10 * math.atan2(6, 8), 6),
        round(10 * (math.pi - 2 * math.atan2(6, 8)), 6), round(10 * math.atan2(6, 8), 6)]  # fmt: skip
