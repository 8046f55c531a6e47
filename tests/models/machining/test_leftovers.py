"""What a round cutter leaves: against plane geometry first, then against an opening by shapely (GEOS)."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from planestock.models.machining.leftovers import leftovers
from planestock.params.outlines.clipping import frame, kept, region_area
from planestock.params.outlines.pieces import Arc, Line, Outline, walked_back
from planestock.params.outlines.polygons import polygon, rounded
from tests.support.machining_support import assert_same_leftovers, corner_of, left_by_shapely, polygon_of

EXACT = 1e-9
"""Relative error of closed forms: rounding of numbers of some ten mm."""


def corner_area(angle: float, radius: float) -> float:
    """Wood in a sharp corner between straight walls (plane geometry): kite of the two tangents less the cutter's sector."""
    half = math.radians(angle) / 2
    return radius**2 * (1 / math.tan(half) - (math.pi / 2 - half))


@pytest.mark.parametrize("radius", [0.5, 3.0, 6.35])
def test_a_square_corner_keeps_r_squared_times_one_less_a_quarter_of_pi(radius: float) -> None:
    found = leftovers([frame(0, 0, 80, 50)], radius)
    assert len(found) == 4
    for left in found:
        assert left.kind == "corner"
        assert left.angle == pytest.approx(90, rel=EXACT)
        assert left.area == pytest.approx(radius**2 * (1 - math.pi / 4), rel=EXACT)
        assert left.farthest == pytest.approx(radius, rel=EXACT)
        assert left.nearest == pytest.approx(radius * (math.sqrt(2) - 1), rel=EXACT)
    assert {left.place for left in found} == {(0, 0), (80, 0), (80, 50), (0, 50)}


@settings(max_examples=60)
@given(st.floats(12, 165), st.floats(0.5, 4), st.floats(0, 360))
def test_a_corner_of_any_angle_keeps_its_kite_less_its_sector(angle: float, radius: float, turn: float) -> None:
    found = leftovers([polygon(corner_of(angle, 150.0, turn))], radius)
    at_zero = min(found, key=lambda left: math.hypot(*left.place))
    assert at_zero.angle == pytest.approx(angle, abs=1e-6)
    assert at_zero.area == pytest.approx(corner_area(angle, radius), rel=1e-6)
    assert at_zero.farthest == pytest.approx(radius / math.tan(math.radians(angle) / 2), rel=1e-6)
    assert at_zero.nearest == pytest.approx(radius / math.sin(math.radians(angle) / 2) - radius, rel=1e-6, abs=1e-9)


def test_a_rounded_corner_tighter_than_the_cutter_keeps_the_difference_of_both() -> None:
    tight, radius = 2.0, 5.0
    found = leftovers([rounded([(0, 0), (60, 0), (60, 40), (0, 40)], tight)], radius)
    assert [left.kind for left in found] == ["curve"] * 4
    for left in found:
        assert left.area == pytest.approx((radius**2 - tight**2) * (1 - math.pi / 4), rel=EXACT)


@pytest.mark.parametrize("wide", [3.0, 3.0 + 1e-9, 8.0])
def test_a_rounded_corner_as_wide_as_the_cutter_or_wider_keeps_nothing(wide: float) -> None:
    assert leftovers([rounded([(0, 0), (60, 0), (60, 40), (0, 40)], wide)], 3.0) == ()


def test_a_neck_narrower_than_the_cutter_keeps_a_passage() -> None:
    """Two rooms joined by a neck 4 wide and 10 long; a cutter 10 wide dips into each end as far as its chord allows."""
    radius, wide, long = 5.0, 4.0, 10.0
    room = polygon([
        (0, 0), (40, 0), (40, 18), (40 + long, 18), (40 + long, 0), (90, 0), (90, 40), (40 + long, 40),
        (40 + long, 18 + wide), (40, 18 + wide), (40, 40), (0, 40),
    ])  # fmt: skip
    passages = [left for left in leftovers([room], radius) if left.kind == "passage"]
    segment = radius**2 * math.asin(wide / 2 / radius) - wide / 2 * math.sqrt(radius**2 - (wide / 2) ** 2)
    assert [left.area for left in passages] == [pytest.approx(wide * long - 2 * segment, rel=EXACT)]
    assert list(passages[0].place) == pytest.approx([45, 20])


def test_a_neck_so_short_that_the_cutter_meets_itself_from_both_ends_falls_in_two() -> None:
    """A wall 0.5 thick with a gap 4 wide; from each side a cutter 10 wide dips 0.417 into it, past the middle."""
    room = polygon([
        (0, 0), (40, 0), (40, 18), (40.5, 18), (40.5, 0), (90, 0), (90, 40), (40.5, 40), (40.5, 22), (40, 22), (40, 40),
        (0, 40),
    ])  # fmt: skip
    found = leftovers([room], 5.0)
    slivers = sorted((left for left in found if left.kind == "passage"), key=lambda left: left.place[1])
    assert [left.place[0] for left in slivers] == pytest.approx([40.25, 40.25])
    assert slivers[0].place[1] - 18 == pytest.approx(22 - slivers[1].place[1])
    assert slivers[0].area == pytest.approx(slivers[1].area)
    assert_same_leftovers(found, (room,), 5.0)
    assert left_by_shapely((room,), 5.0).intersection(
        Polygon([(39, 18), (42, 18), (42, 22), (39, 22)])
    ).area == pytest.approx(2 * slivers[0].area, rel=0.02)


def test_a_pocket_that_the_cutter_does_not_go_into_stays_whole() -> None:
    found = leftovers([frame(0, 0, 5, 60)], 3.0)
    assert [(left.kind, left.area) for left in found] == [("everything", 300.0)]


def test_a_slot_exactly_as_wide_as_the_cutter_keeps_its_corners_only() -> None:
    found = leftovers([frame(0, 0, 6, 60)], 3.0)
    assert sum(left.area for left in found) == pytest.approx(4 * 9 * (1 - math.pi / 4), rel=1e-6)


def test_wood_that_stands_free_has_nothing_left_around_it() -> None:
    assert leftovers([walked_back(frame(0, 0, 30, 20))], 3.0) == ()


def test_two_blocks_of_wood_close_together_keep_what_lies_between_them() -> None:
    blocks = [walked_back(frame(-50, 0, 0, 20)), walked_back(frame(4, 0, 50, 20))]
    found = leftovers(blocks, 5.0)
    assert_same_leftovers(found, tuple(blocks), 5.0)
    assert [left.kind for left in found] == ["passage"]


def test_an_island_in_a_pocket_narrows_the_way_around_it() -> None:
    rings = (frame(0, 0, 60, 40), walked_back(frame(20, 4, 40, 36)))
    assert_same_leftovers(leftovers(rings, 3.0), rings, 3.0)


def star(chance: random.Random) -> Outline | None:
    """Return a polygon of three to twelve corners around zero; None where it crosses itself or is hardly there."""
    turns = sorted(chance.uniform(0, math.tau) for _ in range(chance.randint(3, 12)))
    points = [(chance.uniform(8, 40) * math.cos(t), chance.uniform(8, 40) * math.sin(t)) for t in turns]
    shape = Polygon(points)
    return polygon(points) if shape.is_valid and shape.exterior.is_ccw and shape.area > 20 else None


@pytest.mark.parametrize("number", range(40))
def test_any_polygon_keeps_what_an_opening_by_shapely_leaves(number: int) -> None:
    chance = random.Random(number)
    ring = next(found for _ in range(99) if (found := star(chance)) is not None)
    radius = chance.uniform(0.5, 8)
    assert_same_leftovers(leftovers([ring], radius), (ring,), radius)


@pytest.mark.parametrize("number", range(20))
def test_any_outline_with_arcs_keeps_what_an_opening_by_shapely_leaves(number: int) -> None:
    """A rounded rectangle with bites out of it: hollow and bulging arcs of all sizes beside the cutter's own."""
    chance = random.Random(1000 + number)
    length, width, corner = chance.uniform(40, 90), chance.uniform(25, 60), chance.uniform(0.2, 10)
    ring = rounded([(0, 0), (length, 0), (length, width), (0, width)], corner)
    middle, size = chance.uniform(14, length - 14), chance.uniform(1, 6)
    start, end = (middle - size, width), (middle + size, width)
    bite = Arc(end, start, (middle, width), clockwise=chance.random() < 0.5)
    top = next(piece for piece in ring if isinstance(piece, Line) and piece.start[1] == piece.end[1] == width)
    index = ring.index(top)
    bitten = (*ring[:index], Line(top.start, end), bite, Line(start, top.end), *ring[index + 1 :])
    radius = chance.uniform(1, 8)
    assert_same_leftovers(leftovers([bitten], radius), (bitten,), radius)


@pytest.mark.long
def test_thousands_of_polygons_keep_what_an_opening_by_shapely_leaves() -> None:
    chance = random.Random(7)
    for _ in range(4000):
        ring, radius = star(chance), chance.uniform(0.5, 8)
        if ring is not None:
            assert_same_leftovers(leftovers([ring], radius), (ring,), radius)


def test_the_outside_check_notices_a_missing_corner() -> None:
    ring = frame(0, 0, 60, 40)
    with pytest.raises(AssertionError):
        assert_same_leftovers(leftovers([ring], 3.0)[1:], (ring,), 3.0)
    assert left_by_shapely((ring,), 3.0).area == pytest.approx(4 * 9 * (1 - math.pi / 4), rel=1e-3)


@settings(max_examples=50)
@given(st.integers(0, 10**6))
def test_a_region_cut_at_two_lines_is_what_shapely_cuts(number: int) -> None:
    chance = random.Random(number)
    ring = next(found for _ in range(99) if (found := star(chance)) is not None)
    left, low = chance.uniform(-25, 25), chance.uniform(-25, 25)
    wood = (frame(-60, -60, 60, 60), walked_back(ring))
    cut = kept(kept(wood, "right", left), "below", low)
    whole = Polygon([(-60, -60), (60, -60), (60, 60), (-60, 60)]).difference(polygon_of(ring))
    window = Polygon([(left, -99), (99, -99), (99, low), (left, low)])
    assert region_area(cut) == pytest.approx(whole.intersection(window).area, abs=1e-7)
