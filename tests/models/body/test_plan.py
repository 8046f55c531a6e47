"""The plan: tangent arcs, corners and widths against the circle's own equations."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.models.body.plan import End, Plan, corner_centre, swell_radius
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, area, flattened

EXACT = 1e-9

LENGTH, HALF = 300.0, 35.0
TOE_SHOULDER, HEEL_SHOULDER = 60.0, 180.0


def plan(
    toe: float = HALF, heel: float = HALF, toe_corner: float = 0.0, heel_corner: float = 0.0, inner: float = 0.0
) -> Plan:
    return Plan(inner, HALF, End(0.0, TOE_SHOULDER, toe, toe_corner), End(LENGTH, HEEL_SHOULDER, heel, heel_corner))


def under_arc(radius: float, near: float, far: float) -> float:
    """∫ √(R² - s²) ds from near to far."""

    def whole(s: float) -> float:
        return (s * math.sqrt(max(0.0, radius**2 - s**2)) + radius**2 * math.asin(s / radius)) / 2

    return whole(far) - whole(near)


def end_area(length: float, drawn_in: float, corner: float) -> float:
    """Area between the mid-plane and one end's edge, from the shoulder to the end face, s measured from the shoulder.

    Swell: height HALF - R + √(R² - s²). Corner: its centre is `corner` from the end face and R - corner from the swell's
    centre, and the two arcs meet on the line through both centres.
    """
    if drawn_in == 0:
        return HALF * length - (1 - math.pi / 4) * corner**2
    swell = (length**2 + drawn_in**2) / (2 * drawn_in)
    if corner == 0:
        return (HALF - swell) * length + under_arc(swell, 0, length)
    across = math.sqrt((swell - corner) ** 2 - (length - corner) ** 2)
    meets = (length - corner) * swell / (swell - corner)
    swelled = (HALF - swell) * meets + under_arc(swell, 0, meets)
    rounded = (HALF - swell + across) * (length - meets) + under_arc(corner, meets - length + corner, corner)
    return swelled + rounded


def directions(piece: Piece) -> tuple[Point, Point]:
    """Unit vectors in which a piece sets out and arrives."""
    if isinstance(piece, Line):
        length = math.dist(piece.start, piece.end)
        way = ((piece.end[0] - piece.start[0]) / length, (piece.end[1] - piece.start[1]) / length)
        return way, way
    sign = -1.0 if piece.clockwise else 1.0
    turned = [(-sign * (y - piece.centre[1]), sign * (x - piece.centre[0])) for x, y in (piece.start, piece.end)]
    first, last = ((x / piece.radius, y / piece.radius) for x, y in turned)
    return first, last


def joints(outline: Outline) -> list[tuple[Point, Point, Point]]:
    """Where pieces meet, with the directions before and after."""
    return [(b.start, directions(a)[1], directions(b)[0]) for a, b in pairwise([*outline, outline[0]])]


def test_a_plan_without_shaping_is_a_rectangle() -> None:
    assert area(plan().whole_outline()) == pytest.approx(LENGTH * 2 * HALF, abs=EXACT)
    assert area(plan(inner=3.0).half_outline()) == pytest.approx(LENGTH * (HALF - 3), abs=EXACT)


@pytest.mark.parametrize("corner", [0.0, 4.0, 20.0])
@pytest.mark.parametrize("narrow", [35.0, 33.0, 25.0])
def test_the_plans_area_in_closed_form(narrow: float, corner: float) -> None:
    made = plan(toe=narrow, heel=narrow - 1, toe_corner=corner, heel_corner=corner / 2)
    parallel = HALF * (HEEL_SHOULDER - TOE_SHOULDER)
    toe = end_area(TOE_SHOULDER, HALF - narrow, corner)
    heel = end_area(LENGTH - HEEL_SHOULDER, HALF - narrow + 1, corner / 2)
    assert area(made.half_outline()) == pytest.approx(parallel + toe + heel, rel=1e-12)
    assert area(made.whole_outline()) == pytest.approx(2 * (parallel + toe + heel), rel=1e-12)


def test_a_strip_takes_its_width_off_each_half() -> None:
    whole, parted = plan(toe=30, heel=28, toe_corner=6), plan(toe=30, heel=28, toe_corner=6, inner=2.5)
    assert area(parted.half_outline()) == pytest.approx(area(whole.half_outline()) - 2.5 * LENGTH, abs=1e-8)
    assert parted.whole_outline() == whole.whole_outline()


def test_the_swell_in_numbers() -> None:
    # Drawn in by 5 over 60: R = (3600 + 25)/10 = 362.5; half-way, at 30: 35 - 362.5 + √(362.5² - 30²).
    made = plan(toe=30.0)
    assert swell_radius(made.toe, HALF) == 362.5
    assert made.half_width_at(30.0) == pytest.approx(35 - 362.5 + math.sqrt(362.5**2 - 900), abs=EXACT)
    assert made.half_width_at(0.0) == pytest.approx(30.0, abs=EXACT)
    assert made.half_width_at(60.0) == 35.0
    assert math.isinf(swell_radius(made.heel, HALF))


def test_a_corner_touches_the_end_face_and_the_swell() -> None:
    made = plan(toe=30.0, toe_corner=10.0)
    x, y = corner_centre(made.toe, HALF)
    assert x == 10.0
    assert math.dist((x, y), (60.0, 35 - 362.5)) == pytest.approx(362.5 - 10, abs=EXACT)
    assert made.half_width_at(0.0) == pytest.approx(y, abs=EXACT)


def test_there_is_no_width_beyond_the_ends() -> None:
    assert plan().half_width_at(-0.1) == 0.0
    assert plan().half_width_at(LENGTH + 0.1) == 0.0


@given(
    toe=st.floats(22, 34.9),
    heel=st.floats(22, 34.9),
    toe_corner=st.floats(1, 15),
    heel_corner=st.floats(1, 15),
    inner=st.floats(0, 5),
)
def test_outlines_close_and_every_joint_with_an_arc_is_tangent(
    toe: float, heel: float, toe_corner: float, heel_corner: float, inner: float
) -> None:
    made = plan(toe, heel, toe_corner, heel_corner, inner)
    for outline in (made.half_outline(), made.whole_outline()):
        assert area(outline) > 0
        assert all(a.end == b.start for a, b in pairwise([*outline, outline[0]]))
        arcs = [piece for piece in outline if isinstance(piece, Arc)]
        assert all(math.dist(arc.end, arc.centre) == pytest.approx(arc.radius, rel=1e-9) for arc in arcs)
        # Straight pieces meet at right angles on the mid-plane's side only; everything else runs on without a corner.
        turns = [one[0] * other[0] + one[1] * other[1] for at, one, other in joints(outline) if abs(at[1]) > inner + 1e-9]
        assert min(turns) == pytest.approx(1, abs=1e-6)


@given(toe=st.floats(22, 34.9), heel=st.floats(22, 34.9), corner=st.just(0.0) | st.floats(0.1, 15), share=st.floats(0, 1))
def test_the_width_at_x_is_where_the_outline_is(toe: float, heel: float, corner: float, share: float) -> None:
    made = plan(toe, heel, corner, corner)
    x = share * LENGTH
    corners = flattened(made.whole_outline(), 1e-4)
    crossings = [
        y1 + (y2 - y1) * (x - x1) / (x2 - x1)
        for (x1, y1), (x2, y2) in pairwise([*corners, corners[0]])
        if min(x1, x2) <= x <= max(x1, x2) and x1 != x2
    ]
    # Chords of sagitta 1e-4 stray by more than that along x where the corner meets the end face.
    steep = 0.05 if min(x, LENGTH - x) < 0.2 else 1e-3
    assert max(crossings, default=made.half_width_at(x)) == pytest.approx(made.half_width_at(x), abs=steep)
