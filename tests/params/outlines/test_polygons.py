"""Plane geometry against shapes whose measures are known in closed form."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.params.outlines.distances import point_to_segment, segment_to_polygon, segments_apart
from planestock.params.outlines.pieces import Arc, Line, Outline, Point, area, flattened, mirrored_across, stepped, unit
from planestock.params.outlines.polygons import inside, polygon, rounded

EXACT = 1e-9

SQUARE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
numbers = st.floats(-100, 100)
points = st.tuples(numbers, numbers)


def shoelace(corners: list[Point]) -> float:
    following = [*corners[1:], corners[0]]
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(corners, following, strict=True)) / 2


def closed(outline: Outline) -> bool:
    return all(piece.end == following.start for piece, following in zip(outline, [*outline[1:], outline[0]], strict=True))


# Arcs


def test_a_quarter_turn() -> None:
    arc = Arc((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), clockwise=False)
    assert arc.radius == 5
    assert arc.sweep == pytest.approx(math.pi / 2, abs=EXACT)
    assert arc.at(0.5) == pytest.approx((5 / math.sqrt(2), 5 / math.sqrt(2)), abs=EXACT)


def test_the_same_ends_the_other_way_round_are_three_quarters() -> None:
    arc = Arc((5.0, 0.0), (0.0, 5.0), (0.0, 0.0), clockwise=True)
    assert arc.sweep == pytest.approx(-3 * math.pi / 2, abs=EXACT)
    assert arc.at(1 / 3) == pytest.approx((0.0, -5.0), abs=EXACT)


@given(
    centre=points, radius=st.floats(0.5, 500), start=st.floats(0, 6.2), turn=st.floats(0.01, 6.2), clockwise=st.booleans()
)
def test_points_of_an_arc_lie_on_its_circle_and_reach_its_end(
    centre: Point, radius: float, start: float, turn: float, clockwise: bool
) -> None:
    def on_circle(angle: float) -> Point:
        return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))

    arc = Arc(on_circle(start), on_circle(start - turn if clockwise else start + turn), centre, clockwise)
    assert abs(arc.sweep) == pytest.approx(turn, abs=1e-9 * (1 + 500 / radius))
    assert arc.at(1.0) == pytest.approx(arc.end, abs=1e-8)
    assert all(math.dist(arc.at(share), centre) == pytest.approx(radius, abs=1e-8) for share in (0.1, 0.4, 0.9))


# Outlines


def test_a_polygon_drops_repeated_points() -> None:
    outline = polygon([(0, 0), (0, 0), (4, 0), (4, 3), (4, 3), (0, 0)])
    assert outline == (Line((0, 0), (4, 0)), Line((4, 0), (4, 3)), Line((4, 3), (0, 0)))
    assert area(outline) == 6


def test_the_area_of_a_full_circle_of_two_arcs() -> None:
    east, west = (7.0, 2.0), (1.0, 2.0)
    circle = (Arc(east, west, (4.0, 2.0), clockwise=False), Arc(west, east, (4.0, 2.0), clockwise=False))
    assert area(circle) == pytest.approx(9 * math.pi, abs=EXACT)


def test_a_hollow_side_takes_area_away() -> None:
    # A square of 10 with a half circle of radius 5 hollowed out of its right side.
    hollow = Arc((10.0, 0.0), (10.0, 10.0), (10.0, 5.0), clockwise=True)
    outline = (Line((0.0, 0.0), (10.0, 0.0)), hollow, Line((10.0, 10.0), (0.0, 10.0)), Line((0.0, 10.0), (0.0, 0.0)))
    assert area(outline) == pytest.approx(100 - 12.5 * math.pi, abs=EXACT)


@pytest.mark.parametrize("radius", [0.5, 2.0, 5.0])
def test_a_rounded_rectangle(radius: float) -> None:
    outline = rounded(SQUARE, radius)
    assert area(outline) == pytest.approx(100 - (4 - math.pi) * radius**2, abs=EXACT)
    assert closed(outline)


def test_a_rectangle_rounded_by_half_its_width_has_no_straight_ends() -> None:
    outline = rounded(((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (0.0, 10.0)), 5.0)
    assert [type(piece) for piece in outline].count(Line) == 2
    assert area(outline) == pytest.approx(200 + 25 * math.pi, abs=EXACT)
    assert closed(outline)


def test_a_rounded_corner_of_60_degrees() -> None:
    # Equilateral triangle of side a: each corner loses r² (√3 - π/3), from the kite less the sector of 120 degrees.
    side, radius = 20.0, 3.0
    outline = rounded(((0.0, 0.0), (side, 0.0), (side / 2, side * math.sqrt(3) / 2)), radius)
    expected = side**2 * math.sqrt(3) / 4 - 3 * radius**2 * (math.sqrt(3) - math.pi / 3)
    assert area(outline) == pytest.approx(expected, abs=EXACT)


def test_no_radius_leaves_corners_sharp() -> None:
    assert rounded(SQUARE, 0) == polygon(SQUARE)


def test_mirroring_keeps_area_and_sense() -> None:
    outline = rounded(((1.0, 1.0), (9.0, 2.0), (8.0, 7.0), (2.0, 6.0)), 1.0)
    image = mirrored_across(outline)
    assert area(image) == pytest.approx(area(outline), abs=EXACT)
    assert closed(image)
    assert {(x, -y) for x, y in flattened(image, 10.0)} >= {piece.end for piece in outline}
    assert mirrored_across(image) == outline


@given(radius=st.floats(0.5, 200), sagitta=st.sampled_from([0.5, 0.05, 0.002]))
def test_chords_stray_no_further_than_asked(radius: float, sagitta: float) -> None:
    arc = Arc((radius, 0.0), (-radius, 0.0), (0.0, 0.0), clockwise=False)
    chain = [*flattened([arc], sagitta), arc.end]
    middles = [math.hypot((x1 + x2) / 2, (y1 + y2) / 2) for (x1, y1), (x2, y2) in pairwise(chain)]
    assert radius - min(middles) <= max(sagitta, radius * (1 - math.cos(math.pi / 4))) * (1 + 1e-6)
    assert len(chain) == 3 or radius - min(middles) <= sagitta * (1 + 1e-6)


def test_the_flattened_outline_has_nearly_the_exact_area() -> None:
    outline = rounded(SQUARE, 3.0)
    # Each chord of sagitta s cuts off two thirds of s times its length: at most 2/3 · s · 2πr in all.
    assert 0 <= area(outline) - shoelace(flattened(outline, 0.01)) <= 2 / 3 * 0.01 * 2 * math.pi * 3


# Distances


def test_unit_and_along() -> None:
    assert unit((1.0, 1.0), (4.0, 5.0)) == (0.6, 0.8)
    assert stepped((1.0, 1.0), (0.6, 0.8), 10) == (7.0, 9.0)


@pytest.mark.parametrize(
    ("point", "distance"),
    [((5.0, 3.0), 3.0), ((-3.0, 4.0), 5.0), ((13.0, -4.0), 5.0), ((4.0, 0.0), 0.0)],
    ids=["beside", "before", "beyond", "on"],
)
def test_a_point_and_a_straight_piece(point: Point, distance: float) -> None:
    assert point_to_segment(point, (0.0, 0.0), (10.0, 0.0)) == pytest.approx(distance, abs=EXACT)


def test_a_piece_of_no_length_is_a_point() -> None:
    assert point_to_segment((3.0, 4.0), (0.0, 0.0), (0.0, 0.0)) == 5


@pytest.mark.parametrize(
    ("c", "d", "apart"),
    [
        ((5.0, -1.0), (5.0, 1.0), 0.0),
        ((0.0, 2.0), (10.0, 2.0), 2.0),
        ((13.0, 4.0), (20.0, 9.0), 5.0),
        ((10.0, 0.0), (12.0, 5.0), 0.0),
    ],
    ids=["crossing", "parallel", "end to end", "touching"],
)
def test_two_straight_pieces(c: Point, d: Point, apart: float) -> None:
    assert segments_apart((0.0, 0.0), (10.0, 0.0), c, d) == pytest.approx(apart, abs=EXACT)


@given(a=points, b=points, c=points, d=points)
def test_no_two_points_of_two_pieces_are_nearer_than_said(a: Point, b: Point, c: Point, d: Point) -> None:
    def at(start: Point, end: Point, share: float) -> Point:
        return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))

    shares = [index / 10 for index in range(11)]
    sampled = min(math.dist(at(a, b, s), at(c, d, t)) for s in shares for t in shares)
    apart = segments_apart(a, b, c, d)
    assert apart == segments_apart(c, d, a, b)
    assert apart <= sampled + EXACT


def test_inside_a_polygon() -> None:
    notched = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 4.0), (0.0, 10.0))
    assert inside((5.0, 2.0), notched)
    assert inside((1.0, 8.0), notched)
    assert not inside((5.0, 5.0), notched)
    assert not inside((-1.0, 5.0), notched)


@pytest.mark.parametrize(
    ("a", "b", "distance"),
    [
        ((12.0, 5.0), (15.0, 5.0), 2.0),
        ((5.0, 5.0), (20.0, 5.0), -5.0),
        ((-5.0, 5.0), (15.0, 5.0), 0.0),
        ((3.0, 4.0), (6.0, 4.0), -4.0),
    ],
    ids=["outside", "one end inside", "right through", "both inside"],
)
def test_a_piece_and_a_polygon(a: Point, b: Point, distance: float) -> None:
    assert segment_to_polygon(a, b, SQUARE) == pytest.approx(distance, abs=EXACT)
