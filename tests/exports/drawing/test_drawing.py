from __future__ import annotations

import itertools
import json
import math

import pytest
import typst
from hypothesis import example, given
from hypothesis import strategies as st

from planestock.exports.drawing.labels import Label, labelled
from planestock.exports.drawing.model import LAYERS, Round, Stroke, View, Words, around, bounds_of_item, clipped
from planestock.exports.drawing.pen import Level, Pen, running
from planestock.exports.drawing.side import inside_right
from planestock.exports.drawing.text import WIDTHS
from planestock.exports.drawing.views import template_views
from planestock.exports.files.pdf import FAMILY
from planestock.params.outlines.clipping import EDGE, clip_piece, kept, polygon_within
from planestock.params.outlines.pieces import Arc, Bounds, Line, Piece, area, flattened, mirrored_along
from planestock.params.outlines.polygons import chain
from tests.support.full_set import full_design
from tests.support.paper_support import SETS, shipped_design, shipped_views

HAIR = 1e-9


def view(name: str, which: str) -> View:
    return next(one for one in shipped_views(name) if one.name == which)


def covered(one: Words, other: Words) -> bool:
    first, second = bounds_of_item(one), bounds_of_item(other)
    return (
        min(first.right, second.right) - max(first.left, second.left) > HAIR
        and min(first.high, second.high) - max(first.low, second.low) > HAIR
    )


def length(pieces: list[Piece]) -> float:
    return sum(math.dist(p.start, p.end) if isinstance(p, Line) else p.radius * abs(p.sweep) for p in pieces)


@pytest.mark.parametrize("name", SETS)
def test_no_words_of_a_view_cover_others(name: str) -> None:
    for one in shipped_views(name):
        words = [item for item in one.items if isinstance(item, Words)]
        for index, first in enumerate(words):
            clash = [second.text for second in words[index + 1 :] if covered(first, second)]
            assert not clash, f"{one.name}: {first.text} over {clash}"


@pytest.mark.parametrize("name", SETS)
def test_outlines_are_closed_on_every_view_that_has_them(name: str) -> None:
    for which, layers in (
        ("inside-right-half", ("outline", "throat", "seat")),
        ("inside-left-half", ("outline", "throat", "seat")),
        ("top", ("outline", "throat")),
        ("sole", ("outline",)),
        ("bed", ("bed",)),
    ):
        shown = view(name, which)
        for layer in layers:
            outlines = [
                item for item in shown.items if isinstance(item, Stroke) and item.layer == layer and item.kind is None
            ]
            assert outlines[0].closed, f"{which}: {layer}"


@pytest.mark.parametrize("name", SETS)
def test_the_left_half_is_the_right_half_turned_over(name: str) -> None:
    right, left = (
        {piece for item in view(name, which).items if isinstance(item, Stroke) and item.layer not in ("dimensions", "text")
         for piece in item.pieces}
        for which in ("inside-right-half", "inside-left-half")
    )  # fmt: skip
    assert {piece for one in right for piece in mirrored_along((one,))} == left


def test_layout_points_stand_on_the_inside_face_exactly() -> None:
    at = shipped_design("jack").layout
    ends = {
        piece.start for item in view("jack", "inside-right-half").items if isinstance(item, Stroke) for piece in item.pieces
    }
    assert at.recess is not None
    assert at.tail is not None
    wanted = {at.mouth_front, at.bed_foot, at.wear_top, at.breast_top, at.throat[2], at.seat_front, at.tail.cove_high}
    assert wanted | {at.tail.cove_low, *at.recess} <= ends


def test_the_sole_shows_the_mouth_after_the_last_truing_and_no_bar_of_lines_between() -> None:
    made = shipped_design("jack")
    xs = {
        item.pieces[0].start[0] for item in view("jack", "sole").items if isinstance(item, Stroke) and item.kind == "narrow"
    }
    cot, tan = 1 / math.tan(math.radians(45)), math.tan(math.radians(made.given.throat.wear_lean.value))
    depth = made.given.work.truings * made.given.work.truing_depth.value
    foot, front = made.layout.bed_foot[0] + depth * cot, made.layout.mouth_front[0] - depth * tan
    for place in (foot, front):
        assert min(abs(x - place) for x in xs) < HAIR
    assert [x for x in xs if made.layout.bed_foot[0] + HAIR < x < foot - HAIR] == []


def test_a_strip_shows_as_glue_lines_and_a_body_without_one_has_none() -> None:
    assert not view("jack", "top").only("glue lines")
    ys = sorted(item.pieces[0].start[1] for item in view("fore", "top").only("glue lines") if isinstance(item, Stroke))
    assert ys == pytest.approx([-2.38125, 2.38125])


@pytest.mark.parametrize("name", SETS)
def test_the_exploded_view_names_every_part_and_has_no_dimensions(name: str) -> None:
    shown = view(name, "exploded")
    assert {item.text for item in shown.items if isinstance(item, Words)} == {
        part.name for part in shipped_design(name).assembly.parts
    }
    assert not shown.only("dimensions")
    assert shown.only("outline")
    assert shown.only("metal")


def test_line_widths_are_two_to_one_as_in_iso_128() -> None:
    stroke = Stroke("outline", chain((0, 0), (1, 0)))
    assert stroke.style.width / Stroke("dimensions", stroke.pieces).style.width == pytest.approx(2.0, abs=0.1)
    assert Stroke("mid-plane", stroke.pieces).style.dashes


def test_every_item_lies_on_a_known_layer() -> None:
    assert {item.layer for name in SETS for one in shipped_views(name) for item in one.items} <= set(LAYERS)


def test_widths_of_letters_are_those_of_the_font() -> None:
    # Outside reference: the font itself, as typst measures it; a pair less a single letter leaves out side effects.
    letters = "".join(WIDTHS.values())
    source = (
        f'#set text(font: ("{FAMILY}", "New Computer Modern", "DejaVu Sans Mono"), size: 100pt)\n'
        "#set text(kerning: false, ligatures: false)\n"
        "#for c in json(bytes(sys.inputs.data)).clusters() [#context [#metadata((c, "
        "(measure(text(c + c)).width - measure(text(c)).width) / 1pt)) <m>]]"
    )
    fonts = typst.Fonts(include_system_fonts=False)
    found = typst.query(source.encode(), "<m>", field="value", sys_inputs={"data": json.dumps(letters)}, font_paths=fonts)
    measured = {letter: width * 10 for letter, width in json.loads(found)}
    assert {letter: width for width, row in WIDTHS.items() for letter in row} == pytest.approx(measured, abs=0.51)


@given(st.floats(-180, 180), st.floats(5, 355), st.booleans(), st.floats(-40, 20), st.floats(-40, 20))
@example(120.0, 120.0, False, -20.0 + 1e-12, 0.0)
def test_the_parts_of_an_arc_in_windows_side_by_side_make_the_arc(
    start: float, sweep: float, clockwise: bool, left: float, low: float
) -> None:
    first, last = math.radians(start), math.radians(start + (-sweep if clockwise else sweep))
    arc = Arc(
        (20 * math.cos(first), 20 * math.sin(first)), (20 * math.cos(last), 20 * math.sin(last)), (0.0, 0.0), clockwise
    )
    edges = (-100.0, left, left + 17.0, 100.0), (-100.0, low, low + 13.0, 100.0)
    total = 0.0
    for a, b in zip(edges[0], edges[0][1:], strict=False):
        for c, d in zip(edges[1], edges[1][1:], strict=False):
            window = Bounds(a, c, b, d)
            parts = clip_piece(arc, window)
            assert all(window.grown(1e-6).holds(bounds_of_item(Stroke("text", (part,)))) for part in parts)
            total += length(parts)
    # Windows on both sides of a line that touches the circle both hold what lies within `EDGE` of it, 2 √(2 r EDGE) long.
    touching = any(abs(abs(side) - arc.radius) < 2 * EDGE for sides in edges for side in sides)
    assert total == pytest.approx(length([arc]), abs=2 * math.sqrt(2 * arc.radius * 2 * EDGE) if touching else 1e-6)


def test_a_line_is_cut_where_it_leaves_the_window() -> None:
    parts = clip_piece(Line((-5.0, 2.0), (15.0, 2.0)), Bounds(0.0, 0.0, 10.0, 4.0))
    assert parts == [Line((0.0, 2.0), (10.0, 2.0))]


def test_words_and_circles_at_a_window_s_edge() -> None:
    word, circle = Words("text", "bed", (9.0, 1.0), 3.0), Round("holes", (10.0, 2.0), 1.0)
    kept = clipped([word, circle], Bounds(0.0, 0.0, 10.0, 4.0))
    assert word not in kept, "half a word is no word"
    assert length([piece for item in kept if isinstance(item, Stroke) for piece in item.pieces]) == pytest.approx(math.pi)


def test_an_outline_cut_off_is_closed_again() -> None:
    circle = tuple(Arc(a, b, (0.0, 0.0), clockwise=False) for a, b in (((5.0, 0.0), (-5.0, 0.0)), ((-5.0, 0.0), (5.0, 0.0))))
    cut = kept([circle], "left", 0.0)[0]
    assert area(cut) == pytest.approx(math.pi * 25 / 2)
    assert all(math.dist(a.end, b.start) < 1e-6 for a, b in zip(cut, [*cut[1:], cut[0]], strict=True))


def test_a_polygon_in_a_window_keeps_the_area_they_share() -> None:
    found = polygon_within([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], Bounds(4.0, -3.0, 20.0, 6.0))
    assert area([Line(a, b) for a, b in zip(found, [*found[1:], found[0]], strict=True)]) == pytest.approx(36.0)


@given(st.lists(st.floats(0, 60), min_size=2, max_size=12))
def test_running_figures_keep_their_distance_and_their_order(places: list[float]) -> None:
    levels = [Level(place, 0.0, str(index), f"{place:.9f}") for index, place in enumerate(places)]
    words = [item for item in running(Pen(), "below", 0.0, levels) if isinstance(item, Words)]
    xs = [word.at[0] for word in words]
    assert all(b - a > Pen().size for a, b in itertools.pairwise(xs))
    figures = [float(word.text.rpartition(" ")[2]) for word in words]
    assert figures == sorted(figures)


def test_figures_that_read_the_same_are_one() -> None:
    levels = [Level(39.0, 0.0, "tail", "39.00"), Level(39.001, 0.0, "pad", "39.00")]
    words = [item.text for item in running(Pen(), "right", 0.0, levels) if isinstance(item, Words)]
    assert words == ["39.00 tail, pad"]


def test_labels_of_one_point_find_room_beside_one_another_and_off_lines() -> None:
    grid = [Stroke("outline", chain((x, -30.0), (x, 30.0))) for x in (-40.0, 40.0)]
    found = labelled(Pen(), grid, [Label(f"label number {n}", (0.0, 0.0)) for n in range(8)])
    words = [item for item in found if isinstance(item, Words)]
    assert len(words) == 8
    assert not any(covered(a, b) for index, a in enumerate(words) for b in words[index + 1 :])


def test_an_arc_reaches_beyond_its_ends() -> None:
    arc = Arc((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0), clockwise=False)
    assert around([Stroke("outline", (arc,))]) == Bounds(-1.0, 0.0, 1.0, 1.0)
    assert max(y for _, y in flattened([arc], 0.001)) <= 1.0


def test_the_strip_has_a_template_with_the_holes_that_go_into_it_and_no_others() -> None:
    made = shipped_design("fore")
    found = next(one for one in template_views(made) if one.name == "centre-strip")
    names = [item.text for item in found.items if isinstance(item, Words)]
    assert {"knob bolt", "tote bolt", "front piece", "rear piece", "bed", "breast", "wear", "mouth"} <= set(names)
    assert "casting screw" not in names
    circles = [item for item in found.items if isinstance(item, Round)]
    dowels = [hole for hole in made.layout.holes if hole.kind == "dowel"]
    assert sorted(item.centre for item in circles) == sorted((hole.start[0], hole.start[2]) for hole in dowels)
    blank = next(item for item in found.items if isinstance(item, Stroke) and item.layer == "outline")
    assert bounds_of_item(blank).height == pytest.approx(made.layout.height - made.layout.pad - made.layout.slip)
    assert "centre-strip" not in [one.name for one in template_views(shipped_design("jack"))]


def test_a_hair_of_a_hole_in_the_face_is_drawn_where_the_hole_is_and_not_as_a_bar() -> None:
    for width in (6.0, 6.02, 6.1, 9.0):
        made = full_design("body.centre_strip=6", f"knob.bolt_diameter={width}")
        (hole,) = (hole for hole in made.layout.holes if hole.kind == "knob bolt")
        strokes = [
            item for item in inside_right(made).items
            if isinstance(item, Stroke) and item.layer == "holes" and item.kind != "centre" and item.closed
            and abs(bounds_of_item(item).left + bounds_of_item(item).right - 2 * hole.start[0]) < HAIR
        ]  # fmt: skip
        (drawn,) = strokes
        wide = bounds_of_item(drawn).width
        assert wide >= 1.0
        assert wide == pytest.approx(hole.diameter if drawn.kind == "dashed" else 2 * math.sqrt(hole.radius**2 - 9))


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("which", ["top", "bed", "sole", "centre-strip"])
def test_no_label_is_crossed_by_a_line(name: str, which: str) -> None:
    made = shipped_design(name)
    for found in (one for one in template_views(made) if one.name == which):
        lines = [item for item in found.items if isinstance(item, Stroke) and item.layer != "mid-plane"]
        for words in (item for item in found.items if isinstance(item, Words) and item.layer == "text"):
            box = bounds_of_item(words)
            for line in lines:
                parts = [part for piece in line.pieces for part in clip_piece(piece, box)]
                assert not parts, f"{words.text!r} is crossed on {line.layer}"
