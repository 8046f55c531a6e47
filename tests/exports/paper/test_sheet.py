from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from typing import Any

import pdfplumber
import pypdf
import pytest

from planestock.exports.files.pdf import STAND_IN, breakable, settable
from planestock.exports.paper.paper_files import SHOP_SHEET, paper_files
from planestock.exports.paper.sheet import shop_sheet
from planestock.exports.paper.sheet_tables import layout_table
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.order_of_work import Stage, order_of_work
from planestock.models.design import Design, design
from planestock.params.files import load
from tests.exports.wording.test_inch import value_of
from tests.support.full_set import full_design, plain_design
from tests.support.paper_support import (
    PAPER_SYSTEMS,
    POINTS_PER_MM,
    SETS,
    all_text,
    opened,
    pages,
    shipped_design,
    shipped_sheet,
    shipped_views,
    stamp,
    template_count,
    texts,
    type_sizes,
)

MILLIMETRE_SIZES = {
    # ISO 216 and ANSI/ASME Y14.1 (A and B), upright, mm.
    "A4": (210.0, 297.0), "A3": (297.0, 420.0), "A1": (594.0, 841.0), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8),
}  # fmt: skip
READ_ON = {"A4": "A4", "A3": "A4", "A1": "A4", "Letter": "Letter", "Tabloid": "Letter"}
BAR = 283.4646
"""100 mm in points of 1/72 in (ISO 32000-1, 8.3.2.3)."""

SMALLEST = 6.0
"""Smallest type allowed, points."""

TOUCH = 1.5
"""Boxes of texts may share this much both ways, points: kerning sets italics a point into one another."""

ELSEWHERE = """
import hashlib, json
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.paper.paper_files import paper_files
from planestock.exports.files.stamp import Stamp
from planestock.models.design import design
from planestock.params.files import load
made = design(load("smoother"))
files = paper_files(made, Stamp(made.given.name, made.given.digest, "0.1.0"))
print(json.dumps({name: hashlib.sha256(content).hexdigest() for name, content in files.items()}))
"""
"""Writes the paper in a process of its own, whose sets are in another order, and prints what came out."""

HOSTILE = ('<b>&amp; "q" #let x = $y$ @z \\ `raw` *bold* _it_ [link] // c', "🪵 木 \u202e\x07\ud800", "W" * 300, "a b " * 75)


def sized(name: str, paper: str) -> list[tuple[float, float]]:
    boxes = [page.mediabox for page in reader(shipped_sheet(name, paper)).pages]
    return [(float(box.width) / POINTS_PER_MM, float(box.height) / POINTS_PER_MM) for box in boxes]


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(opened(pdf))


def stages(made: Design) -> dict[str, Stage]:
    return {stage.title: stage for stage in order_of_work(made)}


def said(made: Design) -> str:
    return " ".join(step for stage in order_of_work(made) for step in stage.steps)


@pytest.mark.parametrize("paper", MILLIMETRE_SIZES)
def test_pages_have_the_size_of_their_paper(paper: str) -> None:
    read, (short, long) = MILLIMETRE_SIZES[READ_ON[paper]], MILLIMETRE_SIZES[paper]
    found, sheets = sized("jack", paper), template_count("jack", paper)
    for size in found[:-sheets]:
        assert size == pytest.approx(read, abs=0.01)
    for width, height in found[-sheets:]:
        assert (width, height) == pytest.approx((long, short) if width > height else (short, long), abs=0.01)


def test_the_jack_s_sheet_has_thirteen_pages_cautions_first_then_the_order_of_work() -> None:
    found = pages(shipped_sheet("jack"))
    assert len(found) == 13
    first, second = (" ".join(page.get_textpage().get_text_range().split()) for page in found[:2])
    assert all(caution[:40] in first for caution in CAUTIONS)
    assert second.partition("shop sheet ")[2].startswith("Order of work")


def test_a_roll_is_cut_to_the_drawing() -> None:
    sizes = sized("jack", "roll")
    assert len([size for size in sizes if size[0] > size[1]]) == 1
    assert sizes[-1][0] > 420


def test_check_bars_read_100_mm_and_4_in_both_ways_on_every_template() -> None:
    with pdfplumber.open(opened(shipped_sheet("jack"))) as pdf:
        for page in pdf.pages[-template_count("jack", "A4") :]:
            level = [line["x1"] - line["x0"] for line in page.lines if line["top"] == line["bottom"]]
            upright = [line["bottom"] - line["top"] for line in page.lines if abs(line["x1"] - line["x0"]) < 1e-6]
            for lengths in (level, upright):
                assert min(abs(length - BAR) for length in lengths) < 0.01 * POINTS_PER_MM
            ticks = sorted(
                {round(line["x0"], 3) for line in page.lines if line["x0"] == line["x1"] and line["top"] > page.height - 60}
            )
            assert min(abs(b - a - 288.0) for a in ticks for b in ticks) < 0.02, "4 in is 288 points exactly"


@pytest.mark.parametrize("paper", PAPER_SYSTEMS)
@pytest.mark.parametrize("name", SETS)
def test_nothing_covers_anything_or_leaves_the_page_or_is_too_small(name: str, paper: str) -> None:
    for number, page in enumerate(pages(shipped_sheet(name, paper)), 1):
        width, height = page.get_size()
        found = [text for text in texts(page) if text.text]
        for index, one in enumerate(found):
            assert 0 < one.left < one.right < width, f"page {number}: {one}"
            assert 0 < one.low < one.high < height, f"page {number}: {one}"
            clash = [other.text for other in found[index + 1 :] if one.covers(other, TOUCH)]
            assert not clash, f"page {number}: {one.text!r} and {clash}"
        assert min(type_sizes(page)) >= SMALLEST, f"page {number}"


@pytest.mark.parametrize("name", SETS)
def test_a_sheet_is_small_and_says_whose_it_is(name: str) -> None:
    pdf, made = shipped_sheet(name), shipped_design(name)
    assert len(pdf) < 2_000_000
    meta = reader(pdf).metadata
    assert meta is not None
    assert meta.title == f"{made.given.name} - shop sheet"
    assert made.given.digest in str(meta.get("/Keywords"))
    assert made.given.digest[:12] in all_text(pdf)


def test_all_fonts_are_embedded() -> None:
    found: dict[str, bool] = {}
    for page in reader(shipped_sheet("fore", "Letter")).pages:
        found |= fonts_in(page["/Resources"])
    assert found
    assert all(found.values()), found


def fonts_in(of: Any) -> dict[str, bool]:
    """Return the fonts of resources, and of the forms in them, with whether their file is there."""
    resources, found = of.get_object(), {}
    for font in resources.get("/Font", {}).values():
        for inner in font.get_object().get("/DescendantFonts", [font]):
            described = inner.get_object()["/FontDescriptor"].get_object()
            found[str(described["/FontName"])] = bool({"/FontFile", "/FontFile2", "/FontFile3"} & set(described))
    for form in resources.get("/XObject", {}).values():
        if "/Resources" in form.get_object():
            found |= fonts_in(form.get_object()["/Resources"])
    return found


def test_the_same_set_gives_the_same_bytes_in_another_process() -> None:
    made = design(load("smoother"))
    here = {name: hashlib.sha256(content).hexdigest() for name, content in paper_files(made, stamp(made)).items()}
    there = subprocess.run(
        [sys.executable, "-c", ELSEWHERE],
        env={**os.environ, "PYTHONHASHSEED": "4711"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(there.stdout) == here
    assert SHOP_SHEET in here
    assert (
        len([name for name in here if name.endswith(".dxf")]) == len([name for name in here if name.endswith(".svg")]) == 10
    )


@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_breaks_or_changes_the_sheet(name: str) -> None:
    made, drawn = shipped_design("jack"), shipped_views("jack")
    pdf = shop_sheet(made, stamp(made, name), drawn)
    plain, hostile = pages(shipped_sheet("jack")), pages(pdf)
    assert len(hostile) == len(plain)
    for one, other in zip(plain[1:], hostile[1:], strict=True):
        assert body(one) == body(other)
    first = re.sub(r"\s", "", hostile[0].get_textpage().get_text_range().replace("\u200b", ""))
    assert re.sub(r"\s", "", settable(name)) in first
    width = hostile[0].get_size()[0]
    assert all(text.right < width for text in texts(hostile[0]))


def body(page: object) -> list[str]:
    """Return a page's texts, its running head left aside."""
    height = page.get_size()[1]  # type: ignore[attr-defined]
    return [text.text for text in texts(page) if text.high < height - 45 or page.get_size()[0] > height]  # type: ignore[attr-defined]


def test_letters_that_the_type_lacks_are_replaced_and_that_is_said() -> None:
    made = shipped_design("jack")
    pdf = shop_sheet(made, stamp(made, "木 plane 🪵"), shipped_views("jack"))
    first = pages(pdf)[0].get_textpage().get_text_range()
    assert f"{STAND_IN} plane {STAND_IN}" in first
    assert "stands for a letter" in " ".join(first.split())
    assert "stands for a letter" not in all_text(shipped_sheet("jack"))


def test_long_words_can_be_broken_and_short_ones_stay() -> None:
    assert breakable("an ordinary name") == "an ordinary name"
    assert max(len(piece) for piece in breakable("W" * 100).split("\u200b")) <= 24


def test_a_sheet_that_fails_its_checks_says_so_on_every_page() -> None:
    made = shipped_design("smoother")
    pdf = shop_sheet(made, stamp(made, failing=("cheek",)), shipped_views("smoother"))
    for number, page in enumerate(pages(pdf), 1):
        assert "fails its checks" in " ".join(page.get_textpage().get_text_range().split()), f"page {number}"
    assert "fails its checks" not in all_text(shipped_sheet("smoother"))


def test_failing_and_warned_checks_stand_on_the_cover_with_what_to_change() -> None:
    made = design(load("jack", ["throat.side_clearance=0.25", "work.least_cheek=12"]))
    cover = " ".join(pages(shop_sheet(made, stamp(made)))[0].get_textpage().get_text_range().split())
    found = [row for row in made.checks if row.verdict != "pass"]
    assert {row.verdict for row in found} == {"warn", "fail"}
    for row in found:
        assert row.asked.split(" (")[0][:30] in cover
        assert row.change[:25] in cover


def test_layout_table_gives_mark_and_error_that_make_the_length() -> None:
    for part in layout_table(shipped_design("jack")):
        for row in part["rows"]:
            for mm, mark, error in (row[1:4], row[4:7]):
                if mm:
                    off = float(mm) - float(value_of(mark)) * 25.4 - float(error.replace("−", "-"))
                    assert abs(off) <= 0.0101, "both figures are rounded to 0.01"


def test_layout_and_drill_tables_are_on_the_page_as_text() -> None:
    text = all_text(shipped_sheet("jack"))
    for words in (
        "corner D, bed meets seat",
        "casting screw",
        "tote bolt",
        "7/64 in",
        "100 : 100",
        "board feet",
        "118.00",
    ):
        assert words in text


def test_steps_are_about_what_the_body_has() -> None:
    bare = stages(plain_design())
    assert {"Centre strip", "Pad", "Slip"}.isdisjoint(bare)
    text = said(plain_design())
    for word in ("strip", "pad ", "slip", "tote", "knob", "cove", "recess 0"):
        assert word not in text.lower(), word
    assert "no dowels" in text


def test_strip_pad_and_slip_bring_their_steps_and_the_seat_is_cut_after_the_pad() -> None:
    found = list(stages(full_design("body.centre_strip=5", "body.pad=14", "body.slip=8")))
    assert [title for title in found if title in ("Centre strip", "Pad", "Slip")] == ["Centre strip", "Pad", "Slip"]
    assert found.index("Glue-up") < found.index("Pad") < found.index("Seat") < found.index("Frog")
    assert list(stages(full_design())).index("Seat") < list(stages(full_design())).index("Glue-up")


def test_chisels_that_no_longer_fit_are_named() -> None:
    step = " ".join(stages(full_design("shop.chisels=[3, 6, 12]"))["Throat"].steps)
    assert "up to 6 mm enter it; 12 mm no longer fits" in step
    step = " ".join(stages(full_design("shop.chisels=[10, 20]"))["Throat"].steps)
    assert "No chisel at hand enters the mouth" in step
    assert "names no chisels" in said(full_design("shop.chisels=[]"))


def test_sets_in_inches_are_told_inches_only() -> None:
    text = said(shipped_design("fore"))
    assert "Ø 1/4 in" in text
    assert "1.973 in" in text
    assert not re.search(r"\bmm\b", re.sub(r"\d+ mm \(0\.\d+ in\)", "a metric chisel", text))


def test_the_trial_tells_what_the_edge_must_do() -> None:
    made = shipped_design("jack")
    out = made.settled.window.out(made.settled.thickness)
    assert f"{out:.2f} mm below the sole" in said(made)


def test_the_holder_s_page_has_every_reading_of_the_tote() -> None:
    text = all_text(shipped_sheet("jack"))
    for path in ("tote.bolt_x", "tote.bolt_tilt", "tote.toe_screw_x", "knob.from_toe", "frog.bed_angle", "adjuster.pin_low"):
        assert path in text


def test_a_set_without_tote_and_knob_has_no_part_about_them() -> None:
    made = plain_design()
    text = all_text(shop_sheet(made, stamp(made)))
    assert "The tote" not in text
    assert "The knob" not in text
