from __future__ import annotations

import itertools
import math

import pdfplumber
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.drawing.model import Words, around, moved
from planestock.exports.drawing.views import template_views
from planestock.exports.paper.boards import EDGE, on_board
from planestock.exports.paper.tiles import MARGIN, OVERLAP, SIDE, Tile, tiled, windows
from planestock.models.body.layout import Layout
from planestock.params.outlines.pieces import Point
from tests.support.paper_support import PAPER_SYSTEMS, POINTS_PER_MM, SETS, opened, shipped_design, shipped_sheet

ALL_PAPERS = ("A4", "Letter", "A3", "Tabloid", "A1", "roll")
WITHIN = 0.05
"""How near a layout point must come back from the printed sheet, mm."""


def layout_points(at: Layout) -> dict[str, Point]:
    assert at.recess is not None
    assert at.tail is not None
    named = {
        "mouth front": at.mouth_front, "bed foot": at.bed_foot, "wear top": at.wear_top, "breast top": at.breast_top,
        "bed top": at.throat[2], "seat front": at.seat_front, "cove high": at.tail.cove_high, "cove low": at.tail.cove_low,
        "heel, top": (at.length, at.height), "toe, sole": (0.0, 0.0),
    }  # fmt: skip
    return named | {f"recess {index}": point for index, point in enumerate(at.recess)}


def vertices(page: pdfplumber.page.Page) -> list[Point]:
    """Return the ends of every line and curve on a page, mm from its upper left corner."""
    found: list[Point] = []
    for line in (*page.lines, *page.curves, *page.rects):
        found += [(x / POINTS_PER_MM, y / POINTS_PER_MM) for x, y in line["pts"]]
    return found


def on_page(tile: Tile, point: Point) -> Point:
    """Return where a point of the board lies on the tile's page, mm from its upper left corner."""
    return (MARGIN + SIDE + point[0] - tile.window.left, MARGIN + tile.window.high - point[1])


@pytest.mark.parametrize("view", ["inside-right-half", "inside-left-half"])
def test_layout_points_come_back_from_the_printed_sheets(view: str) -> None:
    made = shipped_design("jack")
    sheets = tiled(template_views(made), "A4")
    sign = 1 if view == "inside-right-half" else -1
    missing = layout_points(made.layout)
    with pdfplumber.open(opened(shipped_sheet("jack"))) as pdf:
        for tile, page in zip(sheets, pdf.pages[-len(sheets) :], strict=True):
            if view not in [one.view.name for one in tile.board.placed]:
                continue
            marks = vertices(page)
            for name, (x, z) in layout_points(made.layout).items():
                place = on_board(tile.board, view, (sign * x, z))
                inside = tile.window.left < place[0] < tile.window.right
                if inside:
                    off = min(math.dist(on_page(tile, place), mark) for mark in marks)
                    assert off < WITHIN, f"{name} is {off:.3f} mm off on sheet {tile.column + 1}"
                    missing.pop(name, None)
    assert len(layout_points(made.layout)) >= 10
    assert not missing


def test_crosses_that_join_two_sheets_lie_on_one_another() -> None:
    sheets = [tile for tile in tiled(template_views(shipped_design("jack")), "A4") if tile.columns == 2]
    for left, right in zip(sheets[::2], sheets[1::2], strict=True):
        letters = [
            {item.text: item.at for item in tile.items if isinstance(item, Words) and item.size == 2.5}
            for tile in (left, right)
        ]
        assert letters[0] == letters[1]
        assert set(letters[0]) == {"A", "B"}


@pytest.mark.parametrize("paper", ALL_PAPERS)
@pytest.mark.parametrize("name", SETS)
def test_every_text_of_a_board_is_whole_on_one_of_its_sheets(name: str, paper: str) -> None:
    sheets = tiled(template_views(shipped_design(name)), paper)
    for board in dict.fromkeys(tile.board for tile in sheets):
        wanted = {item for item in board.items if isinstance(item, Words)}
        shown = {item for tile in sheets if tile.board is board for item in tile.items}
        assert wanted <= shown


@pytest.mark.parametrize("paper", ALL_PAPERS)
def test_sheets_cover_their_board_and_fit_their_paper(paper: str) -> None:
    for tile in tiled(template_views(shipped_design("jointer")), paper):
        width, height = tile.page.room
        assert tile.window.width == pytest.approx(width)
        assert tile.window.height == pytest.approx(height)
        assert tile.board.box.left <= tile.window.left + 1e-6
        if tile.column == tile.columns - 1:
            assert tile.window.right >= tile.board.box.right - 1e-5
        if tile.row == tile.rows - 1:
            assert tile.window.low <= tile.board.box.low + 1e-5


def test_a_roll_is_one_sheet_as_long_as_the_body() -> None:
    sheets = tiled(template_views(shipped_design("jointer")), "roll")
    assert len(sheets) == 1
    assert sheets[0].page.width > shipped_design("jointer").layout.length
    assert sheets[0].page.height <= 610, "24 in"


@pytest.mark.parametrize(("paper", "most"), [("A4", 6), ("Letter", 7)])
def test_the_jack_takes_few_sheets_and_no_view_lies_on_another(paper: str, most: int) -> None:
    sheets = tiled(template_views(shipped_design("jack")), paper)
    assert len(sheets) <= most
    for board in dict.fromkeys(tile.board for tile in sheets):
        boxes = [around([moved(item, one.at) for item in one.view.items]) for one in board.placed]
        for one, other in itertools.combinations(boxes, 2):
            assert not (one.left < other.right and other.left < one.right and one.low < other.high and other.low < one.high)
    placed = [one.view.name for board in dict.fromkeys(tile.board for tile in sheets) for one in board.placed]
    assert sorted(placed) == sorted(view.name for view in template_views(shipped_design("jack")))


@pytest.mark.parametrize("paper", PAPER_SYSTEMS)
@pytest.mark.parametrize("name", SETS)
def test_the_mouth_is_never_parted_by_a_joint(name: str, paper: str) -> None:
    at = shipped_design(name).layout
    sheets = [
        tile
        for tile in tiled(template_views(shipped_design(name)), paper)
        if tile.board.placed[0].view.name == "inside-right-half"
    ]
    front, foot = (on_board(sheets[0].board, "inside-right-half", point)[0] for point in (at.mouth_front, at.bed_foot))
    assert any(tile.window.left <= front and foot <= tile.window.right for tile in sheets)


@given(st.floats(100, 2000), st.floats(120, 400), st.lists(st.tuples(st.floats(0, 1), st.floats(1, 60)), max_size=12))
def test_stretches_cover_overlap_and_part_nothing(span: float, room: float, shares: list[tuple[float, float]]) -> None:
    whole = [(share * span, min(span, share * span + long)) for share, long in shares]
    found = windows(0.0, span, room, whole)
    assert found[0][0] == 0.0
    assert found[-1][1] >= span - 1e-5
    assert all(b[0] <= a[1] - OVERLAP + 1e-9 for a, b in itertools.pairwise(found))
    assert all(any(a - 1e-9 <= first and last <= b + 1e-9 for a, b in found) for first, last in whole)


def test_a_text_in_the_way_of_every_joint_costs_a_sheet_rather_than_being_parted() -> None:
    # Two stretches of 258 cover 480 with 36 to spare: wherever they meet, a text from 215 to 265 would be parted.
    assert len(windows(0.0, 480.0, 258.0, [])) == 2
    found = windows(0.0, 480.0, 258.0, [(215.0, 265.0)])
    assert len(found) == 3
    assert any(start <= 215.0 and end >= 265.0 for start, end in found)


def test_a_view_that_fits_one_sheet_gets_no_crosses() -> None:
    single = next(tile for tile in tiled(template_views(shipped_design("jack")), "A1") if tile.columns == tile.rows == 1)
    assert not [item for item in single.items if isinstance(item, Words) and item.size == 2.5]
    assert single.board.box.width > 2 * EDGE
