"""Places along lines and arcs, their crossings with upright and level lines, mirror images and windows."""

from __future__ import annotations

import math
from dataclasses import astuple

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planestock.params.outlines.along import direction, directions, part, point_at, share_of
from planestock.params.outlines.clipping import clip_piece, frame, kept, runs_within
from planestock.params.outlines.crossings import shares_at
from planestock.params.outlines.distances import distance
from planestock.params.outlines.pieces import (
    Arc,
    Bounds,
    Line,
    Piece,
    area,
    begun_at,
    bounds,
    circle,
    length,
    mirrored_across,
    mirrored_along,
    perimeter,
    walked_back,
)
from planestock.params.outlines.polygons import rounded

numbers = st.floats(-100, 100)


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    """Lines and arcs longer than a tenth of a millimetre, arcs less than a full turn."""
    start = (draw(numbers), draw(numbers))
    if draw(st.booleans()):
        end = (draw(numbers), draw(numbers))
        assume(math.dist(start, end) > 0.1)
        return Line(start, end)
    radius, first, clockwise = draw(st.floats(0.5, 100)), draw(st.floats(0, 6.2)), draw(st.booleans())
    last = first + draw(st.floats(0.2, 6.0)) * (-1 if clockwise else 1)
    ends = [(start[0] + radius * math.cos(turn), start[1] + radius * math.sin(turn)) for turn in (first, last)]
    return Arc(ends[0], ends[1], start, clockwise)


@given(pieces(), st.floats(0, 1))
def test_the_share_of_a_point_on_a_piece_is_where_it_was_taken(piece: Piece, share: float) -> None:
    place = point_at(piece, share)
    assert share_of(piece, place) == pytest.approx(share, abs=1e-7)
    assert distance(piece, place) == pytest.approx(0, abs=1e-7)


@given(pieces(), st.floats(0.05, 0.95))
def test_a_piece_is_its_two_parts(piece: Piece, share: float) -> None:
    first, last = part(piece, 0, share), part(piece, share, 1)
    assert (first.start, last.end) == (piece.start, piece.end)
    assert length(first) == pytest.approx(share * length(piece), abs=1e-7)
    assert length(first) + length(last) == pytest.approx(length(piece), abs=1e-7)


@given(pieces(), st.floats(0.01, 0.99))
def test_a_direction_is_the_way_to_the_next_point(piece: Piece, share: float) -> None:
    (x1, y1), (x2, y2) = point_at(piece, share - 1e-5), point_at(piece, share + 1e-5)
    far = math.hypot(x2 - x1, y2 - y1)
    assert direction(piece, share) == pytest.approx(((x2 - x1) / far, (y2 - y1) / far), abs=1e-5)
    for (x, y), back in zip(directions(piece), reversed(directions(walked_back((piece,))[0])), strict=True):
        assert back == pytest.approx((-x, -y), abs=1e-9)


@given(pieces(), st.sampled_from((0, 1)), numbers)
def test_a_level_is_crossed_where_the_piece_has_that_coordinate(piece: Piece, axis: int, level: float) -> None:
    for share in shares_at(piece, axis, level):
        if 0 <= share <= 1:
            assert point_at(piece, share)[axis] == pytest.approx(level, abs=1e-6)


def test_an_arc_that_touches_a_level_does_not_cross_it() -> None:
    half = Arc((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), clockwise=False)
    assert shares_at(half, 1, 5.0) == []
    assert [share for share in shares_at(half, 1, 2.5) if 0 <= share <= 1] == pytest.approx([1 / 6, 5 / 6])


def test_a_mirror_image_keeps_its_sense_its_size_and_the_other_coordinate() -> None:
    outline = rounded([(2.0, 1.0), (12.0, 1.0), (14.0, 8.0), (2.0, 6.0)], 0.8)
    across, along = mirrored_across(outline), mirrored_along(outline)
    box = bounds(outline)
    assert area(across) == pytest.approx(area(outline)) == pytest.approx(area(along))
    assert astuple(bounds(across)) == pytest.approx((box.left, -box.high, box.right, -box.low))
    assert astuple(bounds(along)) == pytest.approx((-box.right, box.low, -box.left, box.high))
    assert mirrored_across(across) == outline == mirrored_along(along)


def test_a_circle_in_a_window_keeps_the_arcs_inside() -> None:
    whole = circle((0.0, 0.0), 10.0)
    assert area(whole) == pytest.approx(100 * math.pi)
    # Two uprights at half the radius leave two arcs of a sixth of the circle, above and below.
    runs = runs_within(whole, Bounds(-5.0, -math.inf, 5.0, math.inf))
    assert sorted(perimeter(run) for run in runs) == pytest.approx([10 * math.pi / 3] * 2)
    assert clip_piece(whole[0], Bounds(-11, -11, 11, 11)) == [whole[0]]
    assert clip_piece(whole[0], Bounds(20, 20, 30, 30)) == []


def test_half_a_circle_is_kept_beside_a_line_through_its_middle() -> None:
    (half,) = kept([circle((3.0, 4.0), 10.0)], "left", 3.0)
    assert area(half) == pytest.approx(50 * math.pi)
    assert bounds(half).right == pytest.approx(3.0)


def test_a_closed_outline_may_begin_at_any_of_its_corners() -> None:
    outline = frame(0, 0, 4, 3)
    assert begun_at(outline, (4.0, 3.0)) == (*outline[2:], *outline[:2])
    assert begun_at(outline, (1.0, 1.0)) == outline


def test_bounds_meet_hold_and_have() -> None:
    one = Bounds(0, 0, 4, 3)
    assert one.meets(Bounds(3, 2, 9, 9))
    assert not one.meets(Bounds(4, 0, 9, 3)), "a border alone is no room shared"
    assert one.has((4, 3))
    assert not one.has((4.1, 3))
    assert one.grown(1).holds(one)
    assert not one.holds(one.grown(1))
