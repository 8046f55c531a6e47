"""The worksheet: every field once, pictures that point at the right place, a form that prints and reads well."""

from __future__ import annotations

import io
import itertools
import math
import re
import tomllib
from collections import Counter
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, cast

import numpy as np
import pdfplumber
import pypdf
import pypdfium2
import pytest
import typer
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from planestock.exports.commands.worksheet import worksheet
from planestock.exports.drawing.dimensions import (
    CENTRE,
    HIDDEN,
    MARK_RADIUS,
    SOFT,
    WIDE,
    Drawn,
    Mark,
    Picture,
    Pointer,
    Stroke,
    legible,
)
from planestock.exports.files.pdf import STAND_IN, settable
from planestock.exports.worksheet.body_drawings import SKETCHED_ADDITION
from planestock.exports.worksheet.form import PICTURES, numbers, picture, pictures, worksheet_data, worksheet_pdf
from planestock.exports.worksheet.rows import DECIDING, declarations, default_of, number, rows, value_at
from planestock.exports.worksheet.sections import COVER, EXAMPLE, SECTIONS, paths_by_part
from planestock.exports.worksheet.shape import general_shape, shape_of
from planestock.models.window.thickness import settle
from planestock.params.catalogue import catalogue
from planestock.params.files import load, shipped
from planestock.params.outlines.distances import point_to_segment
from planestock.params.outlines.pieces import Point
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.reading import Reading
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import FULL, full, plain, without
from tests.support.worksheet_features import Expected, expected

PATH_SIZE = 6.5
"""Points; the paths beside the boxes are the only type of this size."""

SMALLEST_TYPE = 6.0
"""Points; the form is read at arm's length, and nothing on it may be smaller."""

LEADER_ERROR = 0.5
"""Millimetres on paper that a leader may end away from what it names."""

OVERLAP = 0.6
"""Points by which two boxes of text may overlap: they are as high as the type's ascenders, the letters are not."""

POINTS = 72 / 25.4
"""Points to a millimetre (ISO 32000-1, 8.3.2.3)."""

VERSION = "0.0.0"


@cache
def form(name: str | None, paper: Any = "A4") -> bytes:
    return worksheet_pdf(None if name is None else load(name), VERSION, paper)


@cache
def words(name: str | None, paper: Any) -> tuple[tuple[dict[str, Any], ...], ...]:
    """Words of each page with their boxes and type, in points from the upper left corner."""
    with pdfplumber.open(io.BytesIO(form(name, paper))) as pdf:
        return tuple(tuple(page.extract_words(extra_attrs=["fontname", "size"])) for page in pdf.pages)


def text_of(pdf: bytes) -> str:
    return "\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))


def is_path(word: dict[str, Any]) -> bool:
    return "Mono" in word["fontname"] and math.isclose(word["size"], PATH_SIZE, abs_tol=0.01)


def paths_on(name: str | None, paper: str) -> Counter[str]:
    return Counter(word["text"] for page in words(name, paper) for word in page if is_path(word))


def test_every_field_stands_on_the_empty_form_exactly_once() -> None:
    found = paths_on(None, "A4")
    assert {path: found[path] for path in declarations()} == dict.fromkeys(declarations(), 1)
    lines = {path for path in found if path not in declarations()}
    assert {re.sub(r"\.\d+\.", "[].", path) for path in lines} == {path for path in declarations() if "[]" in path}
    assert set(found.values()) == {1}


def test_a_new_field_that_no_section_asks_for_still_gets_its_place() -> None:
    fewer = tuple(section for section in SECTIONS if section.title != "Tote and knob")
    found = [path for paths in paths_by_part(fewer).values() for path in paths]
    assert sorted([*found, *COVER]) == sorted(declarations())


def test_a_box_has_the_value_of_the_path_beside_it() -> None:
    """Every reading of the jack is looked up on the page: inside the box, right below its path."""
    given, seen = load("jack"), 0
    for page in words("jack", "Letter"):
        for path in filter(is_path, page):
            value = None if "[]" in path["text"] else value_at(given, path["text"])
            if isinstance(value, Reading):
                inside = [word["text"] for word in page if _in_box(word, path)]
                assert inside, path["text"]
                assert Fraction(inside[0].replace("−", "-")) == value.exact / (1 if value.unit != "in" else Fraction(127, 5))
                seen += 1
    assert seen > 80


def _in_box(word: dict[str, Any], path: dict[str, Any]) -> bool:
    below, right = word["top"] - path["bottom"], word["x0"] - path["x0"]
    return not is_path(word) and 0 < below < 6 * POINTS and -2 < right < 3 * POINTS


@pytest.mark.parametrize(("name", "paper"), [(None, "A4"), ("jack", "Letter")])
def test_no_type_is_smaller_than_can_be_read(name: str | None, paper: str) -> None:
    assert min(word["size"] for page in words(name, paper) for word in page) >= SMALLEST_TYPE


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", [None, *shipped()])
def test_texts_neither_overlap_nor_leave_the_page(name: str | None, paper: str) -> None:
    for page in pypdfium2.PdfDocument(form(name, paper)):
        text = page.get_textpage()
        boxes = [text.get_rect(index) for index in range(text.count_rects())]
        width, height = page.get_size()
        for left, bottom, right, top in boxes:
            assert left > 12 * POINTS and bottom > 5 * POINTS and right < width - 12 * POINTS and top < height - 5 * POINTS  # noqa: PT018
        for a, b in itertools.combinations(boxes, 2):
            across = min(a[2], b[2]) - max(a[0], b[0])
            down = min(a[3], b[3]) - max(a[1], b[1])
            assert min(across, down) < OVERLAP, text.get_text_bounded(*a) + " / " + text.get_text_bounded(*b)


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 210, 297), ("Letter", 215.9, 279.4)])
def test_pages_have_the_size_of_their_paper_and_the_form_its_twelve_pages(paper: Any, width: float, height: float) -> None:
    """ISO 216 for A4, ANSI/ASME Y14.1 size A for Letter."""
    for name in (None, *shipped()):
        pages = pypdf.PdfReader(io.BytesIO(form(name, paper))).pages
        assert len(pages) == 12
        for page in pages:
            assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(
                [width * POINTS, height * POINTS], abs=0.01
            )


def test_fonts_are_embedded_and_the_document_says_whose_it_is() -> None:
    reader = pypdf.PdfReader(io.BytesIO(form("jack")))
    fonts = {font for page in reader.pages for font in cast(Any, page["/Resources"])["/Font"].values()}
    descriptors = [font.get_object()["/DescendantFonts"][0]["/FontDescriptor"] for font in fonts]
    assert len(descriptors) >= 3
    assert all({"/FontFile2", "/FontFile3"} & set(each) for each in descriptors)
    assert reader.metadata is not None
    assert reader.metadata.title == "Invented jack - worksheet"
    assert load("jack").digest in str(reader.metadata.get("/Keywords"))


def test_the_same_set_gives_the_same_small_file() -> None:
    for name in (None, "fore"):
        again = worksheet_pdf(None if name is None else load(name), VERSION)
        assert again == form(name)
        assert len(again) < 2_000_000


HOSTILE = '<b>&amp; #panic("no") "quoted" $x^2$ @label \\ {"a": [1]} `raw` *bold* _it_ // #end'


def test_a_name_is_only_ever_text() -> None:
    pdf = worksheet_pdf(full(f"name={HOSTILE}", "note=#import <x> $ @"), VERSION)
    text = " ".join(text_of(pdf).split())
    assert HOSTILE in text
    assert "#import <x> $ @" in text
    assert pypdf.PdfReader(io.BytesIO(pdf)).metadata.title == f"{HOSTILE} - worksheet"  # type: ignore[union-attr]


@pytest.mark.parametrize("name", ["🪵 木 plane", "W" * 300, "long name " * 30, "a\u202eb\x07\u200b", "é́́́"])
def test_no_name_runs_off_the_page_or_stops_the_form(name: str) -> None:
    given = parameter_set({**FULL, "name": name})
    pdf = pypdfium2.PdfDocument(worksheet_pdf(given, VERSION))
    assert len(pdf) == 12
    text = pdf[0].get_textpage()
    assert max(text.get_rect(index)[2] for index in range(text.count_rects())) < pdf[0].get_width() - 17 * POINTS
    assert (f"{STAND_IN} stands for" in text.get_text_range()) == (STAND_IN in settable(name))


def test_a_form_that_overflows_goes_on_to_another_page() -> None:
    screws = [{"along": -8 - 2 * index, "across": 5, "diameter": 1.5, "depth": 9} for index in range(12)]
    pdf = worksheet_pdf(parameter_set({**FULL, "frog": {**FULL["frog"], "screws": screws}}), VERSION)
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 13
    assert "frog.screws.11.depth" in text_of(pdf)


# Pictures


def pointers(name: str, given: ParameterSet | None) -> dict[str, Pointer]:
    return {each.path: each for each in picture(name, shape_of(given)).drawn.pointers}


def misses(view: Expected, found: dict[str, Pointer]) -> dict[str, float]:
    """How far each field's ends lie, mm on paper, from one scaled and moved image of the features they name."""
    rows, values, names = [], [], []
    cos, sin = math.cos(math.radians(view.turn)), math.sin(math.radians(view.turn))
    for path, places in view.ends.items():
        ends = [(x * cos - y * sin, x * sin + y * cos) for x, y in found[path].ends[: len(places)]]
        for place, end in _matched(places, ends):
            for axis, (wanted, got) in enumerate(zip(place, (end[0], end[1]), strict=True)):
                if wanted is not None:
                    rows.append([wanted if axis == 0 else -wanted, float(axis == 0), float(axis == 1)])
                    values.append(got)
                    names.append(path)
    solution = np.linalg.lstsq(np.array(rows), np.array(values), rcond=None)[0]
    assert solution[0] > 0.1
    off = np.abs(np.array(rows) @ solution - np.array(values))
    return {path: float(max(o for o, n in zip(off, names, strict=True) if n == path)) for path in view.ends}


def _matched(places: list[Any], ends: list[Point]) -> list[tuple[Any, Point]]:
    """Pair the places with the ends, both in the order of the first coordinate in which the places differ."""
    if len(places) < 2:
        return list(zip(places, ends, strict=True))
    axis = next(axis for axis, pair in enumerate(zip(*places, strict=True)) if None not in pair and pair[0] != pair[1])
    return list(zip(sorted(places, key=lambda p: p[axis]), sorted(ends, key=lambda p: _up(p)[axis]), strict=True))


def _up(end: Point) -> Point:
    """Turn a point of the paper so that its second coordinate grows upwards, as in the part."""
    return (end[0], -end[1])


@pytest.mark.parametrize("name", ["jack", "fore", "full"])
def test_each_leader_ends_on_the_feature_it_names(name: str) -> None:
    """The ends are held against plane trigonometry on the readings, one scale and place for each view."""
    given = full() if name == "full" else load(name)
    for view in expected(given):
        off = misses(view, pointers(view.picture, given))
        assert {path: miss for path, miss in off.items() if miss > LEADER_ERROR / 10} == {}, view.picture


SKETCHED = {"casting.front_width", "casting.rear_width", "body.toe_width", "body.heel_width"}
"""Widths before the corners round off: their ends lie where the sides would meet, off the outline."""


@pytest.mark.parametrize("name", [None, *shipped(), "full", "plain"])
def test_each_leader_ends_on_a_line_of_the_part(name: str | None) -> None:
    given = {None: None, "full": full(), "plain": plain()}.get(name, load(name) if name in shipped() else None)
    for seen in pictures(shape_of(given)).values():
        for pointer in seen.drawn.pointers:
            ends = pointer.ends[:1] if pointer.path.endswith(("angle", "tilt", "lean")) else pointer.ends
            if pointer.path not in SKETCHED | DOTTED:
                assert max(_to_part(end, seen) for end in ends) < LEADER_ERROR, pointer.path


DOTTED = {"old_body.sole_patch", "old_body.top_patch", "body.pad", "body.slip", "body.centre_strip"}
"""Leaders that end with a dot inside a layer."""


@pytest.mark.parametrize("name", ["fore", "jointer", "full"])
def test_a_leader_to_a_layer_ends_inside_it(name: str) -> None:
    """Fore: strip and pad; jointer: slip; full: none of them, they are sketched. Heights by the thickness drawn beside."""
    given = full("old_body.sole_patch=5", "old_body.top_patch=4") if name == "full" else load(name)
    at, old, new = shape_of(given).at, pointers("old body", given), pointers("body", given)
    (_, seat), (_, sole) = old["old_body.thickness_heel"].ends
    scale = (sole - seat) / at.thickness
    patches = given.old_body
    sole_patch = patches.sole_patch.value if patches and patches.sole_patch else SKETCHED_ADDITION
    top_patch = patches.top_patch.value if patches and patches.top_patch else SKETCHED_ADDITION
    assert 0 < sole - old["old_body.sole_patch"].ends[0][1] < sole_patch * scale
    assert 0 < old["old_body.top_patch"].ends[0][1] - seat < top_patch * scale
    (_, seat), (x, sole) = sorted(new["body.thickness"].ends, key=lambda end: end[1])
    scale = (sole - seat) / at.thickness
    assert 0 < sole - new["body.slip"].ends[0][1] < max(at.slip, 0.09 * at.height) * scale
    assert 0 < (new["body.pad"].ends[0][1] - sole) / scale + at.height < max(at.pad, 0.09 * at.height)
    assert x - new["body.centre_strip"].ends[0][0] == pytest.approx(at.plan.half_width * scale, abs=LEADER_ERROR)


def _to_part(end: Point, seen: Picture) -> float:
    return min(_distance(end, stroke) for stroke in seen.drawn.strokes if _is_part(stroke))


def _is_part(stroke: Stroke) -> bool:
    """Lines of parts and of datums; not those of dimensions, leaders, arrow heads and numbered circles."""
    return stroke.pen in (WIDE, HIDDEN, SOFT, CENTRE) or (stroke.fill is not None and 200 < stroke.fill < 255)


def _distance(end: Point, stroke: Stroke) -> float:
    points = [*stroke.points, stroke.points[0]] if stroke.closed else list(stroke.points)
    return min(point_to_segment(end, start, stop) for start, stop in itertools.pairwise(points))


@pytest.mark.parametrize("name", list(shipped()))
def test_angles_are_drawn_as_they_were_read(name: str) -> None:
    given = load(name)
    found = {**pointers("iron", given), **pointers("frog", given), **pointers("throat", given)}
    for path in ("iron.bevel_angle", "frog.bed_angle", "throat.wear_lean", "throat.breast_lean"):
        (x, y), *tips = found[path].ends
        first, second = (math.degrees(math.atan2(y - tip[1], tip[0] - x)) for tip in tips)
        seen = general_shape().given if path.startswith("iron") and given.cap_iron.slot_to_edge is None else given
        assert second - first == pytest.approx(value_at(seen, path).value, abs=0.01)


def test_the_printed_page_has_each_number_and_leader_where_the_picture_has_it() -> None:
    """Read back by pdfplumber: vector points and texts of the page with the iron."""
    given = load("jack")
    seen, numbered = picture("iron", shape_of(given)), numbers(pictures(shape_of(given)))
    with pdfplumber.open(io.BytesIO(form("jack", "Letter"))) as pdf:
        page = pdf.pages[1]
        points = np.array([p for each in (*page.lines, *page.curves, *page.rects) for p in each["pts"]]) / POINTS
    texts = [word for word in words("jack", "Letter")[1] if word["size"] == pytest.approx(9) and word["text"].isdecimal()]
    centres = {
        text["text"]: ((text["x0"] + text["x1"]) / 2 / POINTS, (text["top"] + text["bottom"]) / 2 / POINTS)
        for text in sorted(texts, key=lambda text: text["x0"] < 30 * POINTS)[: len(seen.drawn.marks)]
    }
    shifts = np.array([np.subtract(centres[str(numbered[mark.path])], mark.at) for mark in seen.drawn.marks])
    assert np.ptp(shifts, axis=0).max() < LEADER_ERROR
    shift = shifts.mean(axis=0)
    for pointer in seen.drawn.pointers:
        for end in pointer.ends:
            assert np.linalg.norm(points - (np.array(end) + shift), axis=1).min() < LEADER_ERROR, pointer.path


@pytest.mark.parametrize("name", [None, *shipped(), "full", "plain"])
def test_numbers_in_a_picture_are_clear_of_one_another_and_each_has_its_row(name: str | None) -> None:
    given = {None: None, "full": full(), "plain": plain()}.get(name, load(name) if name in shipped() else None)
    drawing = pictures(shape_of(given))
    numbered = numbers(drawing)
    pointed = [mark.path for each in drawing.values() for mark in each.drawn.marks]
    assert all(map(legible, drawing.values()))
    assert sorted(numbered) == sorted(pointed)
    assert list(numbered.values()) == list(range(1, len(pointed) + 1))


def test_a_picture_in_which_numbers_cover_one_another_gives_way_to_the_general_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def crowded(apart: float, left: float) -> Picture:
        marks = (Mark("iron.width", (left, 20.0)), Mark("iron.length", (left + apart, 20.0)))
        return Picture("iron", 60.0, 40.0, Drawn(marks=marks), "")

    gap = 2 * MARK_RADIUS
    assert legible(crowded(gap + 0.01, 20))
    assert not legible(crowded(gap - 0.01, 20))
    assert not legible(crowded(gap + 0.01, MARK_RADIUS - 0.01))
    general = picture("bench", general_shape())
    monkeypatch.setitem(PICTURES, "bench", (lambda seen: crowded(1, 20) if seen.own else general, lambda _: True))
    assert picture("bench", shape_of(full())) is general


def test_every_measured_length_and_angle_is_pointed_at() -> None:
    """Those that say in which state others were taken are measured where the picture points at the ones in use."""
    quantities = {each.path: each.quantity for each in catalogue() if each.quantity is not None}
    measured = {path for path, quantity in quantities.items() if quantity.measured and not quantity.same_as}
    assert measured <= set(numbers(pictures(general_shape())))


def test_a_plane_that_lacks_a_part_gets_the_general_picture_of_it_and_says_so() -> None:
    own = {name: each.own for name, each in pictures(shape_of(plain())).items()}
    assert {name for name in own if not own[name]} == {"frog", "casting side", "casting plan", "casting screw", "handles"}
    text = text_of(worksheet_pdf(plain(), VERSION))
    assert text.count("General shape") == 5
    assert text.count("Drawn from this set") == len(PICTURES) - 5


def test_a_set_that_cannot_become_a_body_still_prints() -> None:
    given = full("body.toe_to_mouth=31")
    assert shape_of(given) is general_shape()
    assert "31" in text_of(worksheet_pdf(given, VERSION))


@settings(max_examples=25)
@drawn(drawn_sets(starting_sets()))
def test_pictures_can_be_drawn_of_any_plane(values: dict[str, Any]) -> None:
    try:
        seen = shape_of(parameter_set(values))
    except InputProblem:
        return
    for each in pictures(seen).values():
        for mark in each.drawn.marks:
            assert all(math.isfinite(each) and each >= MARK_RADIUS for each in mark.at)


# Values


def test_the_deciding_readings_are_those_that_move_the_window() -> None:
    adjuster = {**FULL["adjuster"], "play": 0}
    raw = {**FULL, "adjuster": adjuster, "bench": {"edge_low": 55.0, "edge_high": 49.0}}
    base = [road.window for road in settle(parameter_set(raw)).roads]
    for each in catalogue():
        if each.quantity is not None and each.quantity.measured and "[]" not in each.path:
            group, name = each.path.split(".")
            if raw.get(group, {}).get(name) is not None:
                changed = parameter_set({**raw, group: {**raw[group], name: raw[group][name] + 0.01}})
                moved = [road.window for road in settle(changed).roads] != base
                assert moved == (each.path in DECIDING), each.path


def test_a_default_on_the_form_is_what_a_set_takes_that_leaves_it_out() -> None:
    needed = without(FULL, "tote", "knob", "work")
    needed["body"] = {name: needed["body"][name] for name in ("length", "width", "toe_to_mouth")}
    needed["throat"] = {"opening": 2}
    given = parameter_set({**needed, "name": "Least"})
    for path, declared in declarations().items():
        if not declared.field.is_required() and path.startswith(("body.", "throat.", "wood.", "work.", "shop.")):
            assert default_of(path) == value_at(given, path), path
    assert default_of("tote.toe_screw_depth") == Reading(Fraction(15), Fraction(0))


@drawn(st.fractions(-500, 500), st.sampled_from(["mm", "in", "deg"]))
def test_a_number_reads_back_as_its_value(value: Fraction, unit: str) -> None:
    text = number(value, unit).replace("−", "-")
    whole, _, part = text.lstrip("-").partition("-")
    back = (Fraction(whole) + Fraction(part or 0)) * (-1 if text.startswith("-") else 1)
    assert abs(back - value) <= Fraction(1, 2000 if unit != "in" else 20000)


@pytest.mark.parametrize(
    ("value", "unit", "limit", "text"),
    [
        (Fraction(92), "mm", Fraction(1, 20), "92.00"),
        (Fraction(51), "mm", None, "51"),
        (Fraction(-15, 8), "in", None, "−1-7/8"),
        (Fraction(8, 16), "in", None, "1/2"),
        (Fraction(1, 127), "in", None, "0.0079"),
        (Fraction(-1, 10**6), "mm", None, "0"),
        (Fraction(600), "mm", None, "600"),
    ],
)
def test_numbers_are_written_as_on_the_tool(value: Fraction, unit: str, limit: Fraction | None, text: str) -> None:
    assert number(value, unit, limit) == text


def cells(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Every box of a form by its path."""
    parts = [part for section in data["sections"] for part in section["parts"]]
    found = [row for part in parts for row in part.get("rows", [])]
    found += [cell for part in parts for line in part.get("lines", []) for cell in line["cells"]]
    return {row["path"]: row for row in (*data["cover"]["rows"], *found)}


def test_repeats_fill_the_compartments_and_a_missing_limit_is_the_instruments() -> None:
    boxes = cells(worksheet_data(load("smoother"), VERSION))
    slot = boxes["cap_iron.slot_to_edge"]
    assert (slot["values"], slot["limit"]) == (["82.12", "82.06", "82.10"], "0.05")
    assert boxes["cap_iron.width"]["limit"] == "(0.1)"
    assert boxes["frog.screws.0.tilt"]["values"] == ["0"]


def test_units_turn_every_length_and_no_angle() -> None:
    inches = cells(worksheet_data(load("jack"), VERSION, "A4", "in"))
    assert (inches["casting.screws.0.length"]["values"], inches["casting.screws.0.length"]["unit"]) == (["1"], "in")
    assert inches["iron.length"]["values"] == ["7.4016"]
    assert inches["frog.bed_angle"]["values"] == ["45.0"]
    assert inches["iron.width"]["with"] == "caliper, to 0.004 in"
    assert cells(worksheet_data(None, VERSION, "A4", "in"))["body.edge_size"]["empty"] == "0.1181 in"
    assert cells(worksheet_data(load("fore"), VERSION, "A4", "mm"))["iron.width"]["values"] == ["60.325"]


def test_the_example_to_type_in_is_a_valid_piece_of_a_set() -> None:
    example = tomllib.loads(EXAMPLE)
    laid = {name: {**FULL[name], **values} if isinstance(values, dict) else values for name, values in example.items()}
    made = parameter_set({**FULL, **laid})
    assert made.iron.width.value == 51
    assert made.iron.thickness.limit == Fraction(1, 50)
    assert made.cap_iron.slot_to_edge is not None
    assert len(made.cap_iron.slot_to_edge.repeats) == 3
    assert [screw.along.value for screw in made.frog.screws] == [-16]
    assert made.body.thickness is None


# Command


def run(*arguments: str) -> tuple[int, str]:
    app = typer.Typer()
    app.command()(worksheet)
    result = CliRunner().invoke(app, [*arguments])
    return result.exit_code, result.output


def test_the_command_writes_the_form_and_says_where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run() == (0, "Wrote worksheet.pdf\n")
    assert run("fore", "--set", "name=My plane", "--set", "shop.paper=Letter") == (0, "Wrote My-plane-worksheet.pdf\n")
    assert run("--paper", "Letter", "--units", "in", "-o", "deep/form.pdf") == (0, "Wrote deep/form.pdf\n")
    widths = {path.name: round(pypdf.PdfReader(path).pages[0].mediabox.width) for path in tmp_path.rglob("*.pdf")}
    assert widths == {"worksheet.pdf": 595, "My-plane-worksheet.pdf": 612, "form.pdf": 612}
    assert run("--paper", "A5")[0] == 2


def test_a_change_without_a_set_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputProblem, match="name a SET"):
        worksheet(changes=["throat.opening=1"])
    assert list(tmp_path.iterdir()) == []


def test_what_a_set_leaves_to_its_default_is_in_the_sets_unit_and_what_it_writes_as_it_is_written() -> None:
    given = load("fore", ["work.truing_depth=0.4 mm"])
    found = {each["path"]: each for each in rows(["work.cutting_tolerance", "body.slip", "work.truing_depth"], given, None)}
    assert [(each["values"], each["unit"]) for each in found.values()] == [
        (["0.0079"], "in"),
        (["0"], "in"),
        (["0.4"], "mm"),
    ]
    (metric,) = rows(["work.cutting_tolerance"], load("jack"), None)
    assert metric["unit"] == "mm"
