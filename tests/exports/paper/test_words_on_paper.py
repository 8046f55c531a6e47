"""Sentences, tables and drawings of paper over drawn sets: units, signs, plurals, sensible figures, the layout's numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings

from planestock.exports.drawing.model import Words
from planestock.exports.drawing.views import flat_views
from planestock.exports.machining.sheet import sheet_data as setup_data
from planestock.exports.paper.sheet_holder import holders
from planestock.exports.paper.sheet_tables import angle_table, drill_table, layout_table, width_table
from planestock.exports.paper.sheet_templates import printer_off, printing_rules
from planestock.exports.wording.order_of_work import order_of_work
from planestock.exports.wording.said import Said
from planestock.models.design import Design
from planestock.models.machining.all_setups import plan_of_work
from planestock.params.problems import InputProblem
from tests.exports.paper.test_holes_on_paper import LEAST_BUILT, STAMP, designs
from tests.models.solids.test_every_set import NO_DEADLINE
from tests.support.drawn_sets import starting_sets
from tests.support.full_set import full_design
from tests.support.said_lengths import LENGTH, is_said

FEW, MANY = 30, 1500
"""Sets in the ordinary and in the long run."""

ONE_OF_MANY = re.compile(r"(?<![\d./−-])1 (?!is\b|as\b|less\b|this\b)[a-z]+(?: line)?s\b")
"""A plural after one."""

PLAIN_MINUS = re.compile(r"(?:^|[\s(±])-\d")
BELOW_NOUGHT = re.compile(rf"−[^ ]+ (?:mm|in)(?: full| shy)? (?:deep|thick|wide|high|long|below|above|radius)|{LENGTH} −")
"""A size or a distance with a direction of its own that is told as less than nothing."""

TOO_FINE = re.compile(r"\d+\.\d{3,} mm|\d+\.\d{4,} in")
NO_NUMBER = re.compile(r"\b(?:nan|inf|None|nothing:)\b|e[-+]\d\d")
RAW_PATH = re.compile(r"\b[a-z]+(?:_[a-z]+)*\.(?:[a-z]+(?:_[a-z]+)*)(?:\.\d+)?\b|\b[a-z]+_[a-z]+\b")
NUMBER = re.compile(r"(?<![\w./-])(?:No\. )?−?\d+(?:\.\d+)?(?:-\d+)?(?:/\d+)?(?![\w./])")
UNITS = re.compile(
    r"(?: to −?[\d.]+)?(?: (?:mm|in|cm²|in²|kN|lbf|N/mm²|psi|%|holes?|glue lines?|clamps?)(?![a-z])|°)|"
    r"(?:, [\d.]+)* (?:and|or) "
)
METRIC_CHISEL = re.compile(r"\d+(?:\.\d+)? mm \([\d.]+ in\)")


def sentences(made: Design) -> Iterator[str]:
    """Yield every sentence of paper that is read as one."""
    said = Said(made.given.units)
    yield from (step for stage in order_of_work(made) for step in stage.steps)
    yield from printing_rules(made.layout.length, said)
    yield from (part["note"] for part in holders(made))


def cells(made: Design) -> Iterator[str]:
    """Yield every text that stands in a table or on a drawing."""
    tables = [*(row for part in layout_table(made) for row in part["rows"]), *width_table(made), *drill_table(made),
              *angle_table(made), *printer_off(made.layout.length, Said(made.given.units))]  # fmt: skip
    yield from (cell for row in tables for cell in row)
    yield from (item.text for view in flat_views(made) for item in view.items if isinstance(item, Words))


def strings(data: Any) -> Iterator[str]:
    """Yield every text within plain data, pictures left aside."""
    if isinstance(data, dict):
        for name, inner in data.items():
            if name not in ("svg", "digest", "version", "name", "title", "running", "failing"):
                yield from strings(inner)
    elif isinstance(data, list):
        for inner in data:
            yield from strings(inner)
    elif isinstance(data, str):
        yield data


def setup_texts(made: Design) -> list[str]:
    try:
        work = plan_of_work(made.given, made.settled, made.layout)
    except InputProblem:
        return []
    return list(strings(setup_data(made, work, STAMP)))


def assert_sound(text: str) -> None:
    """Hold what any text on paper is held to."""
    for rule in (ONE_OF_MANY, PLAIN_MINUS, BELOW_NOUGHT, TOO_FINE, NO_NUMBER):
        found = rule.search(text)
        assert not found, f"{found[0]!r} in {text!r}"
    assert "  " not in text
    assert text == text.strip()


def assert_sentence(text: str, units: str) -> None:
    """Hold what a sentence is held to besides: it ends, has no raw path, and every number has its unit, the set's own."""
    assert text.endswith("."), text
    assert "; The" not in text, text
    path = RAW_PATH.search(text.replace("e.g.", ""))
    assert not path, f"{path[0]!r} in {text!r}"
    if units == "in":
        assert not re.search(r"\bmm\b", METRIC_CHISEL.sub("", text).replace("100 mm", "")), text
    for number in NUMBER.finditer(re.sub(r"digest, \w+", "digest", text)):
        if not number[0].startswith("No."):
            assert UNITS.match(text_after(text, number)) or number[0] in ("100", "4"), f"{number[0]!r} in {text!r}"


def text_after(text: str, number: re.Match[str]) -> str:
    return re.sub(r"digest, \w+", "digest", text)[number.end() :]


def assert_agrees(made: Design) -> None:
    """Compare the figures that cannot be seen in a table with the layout."""
    at, settled = made.layout, made.settled
    steps = {stage.title: " ".join(stage.steps) for stage in order_of_work(made)}
    seat = re.search(rf"from the sole: ({LENGTH}) everywhere|({LENGTH}) above the sole everywhere", steps["Seat"])
    assert seat, steps["Seat"]
    assert is_said(seat[1] or seat[2], at.thickness)
    stock = re.search(rf"halves to ({LENGTH}) high and ({LENGTH}) long", steps["Stock"])
    assert stock, steps["Stock"]
    assert is_said(stock[1], at.height - at.pad - at.slip)
    assert is_said(stock[2], at.length)
    out, back = settled.window.high - settled.thickness, settled.thickness - settled.window.low
    out, back = out + made.given.work.deepest_cut.value, back + made.given.work.withdraw.value
    assert_edge(made, steps["Dry trial"], out, -back)
    if at.pad or at.slip:
        trial = steps["Trial before anything is final"]
        edges = re.findall(rf"stands ({LENGTH}) (below|above)", trial)
        assert_edges(edges, out, -back)


def assert_edge(made: Design, trial: str, out: float, back: float) -> None:
    """Where the metal lies on the open half, the edge stands that much from the half's underside; worked out anew."""
    at = made.layout
    edges = re.findall(rf"stands ({LENGTH}) (below|above)", trial)
    if not (at.pad or at.slip):
        assert_edges(edges, out, back)
        return
    carried = re.search(rf"on packing ({LENGTH}) thick", trial)
    raised = re.search(rf"on the top, ({LENGTH}) higher", trial)
    top_of_half, seat = at.height - at.pad, at.thickness
    if carried:
        assert is_said(carried[1], seat - top_of_half)
    if raised:
        assert is_said(raised[1], top_of_half - seat)
    # The edge lies `out` below the sole when the casting is on its seat, and the sole `slip` below the half's underside.
    lies = max(seat, top_of_half) - seat
    assert_edges(edges, at.slip + out - lies, at.slip + back - lies)


def assert_edges(edges: list[tuple[str, str]], out: float, back: float) -> None:
    assert len(edges) == 2
    for (length, side), wanted in zip(edges, (out, back), strict=True):
        assert is_said(length, abs(wanted)), (length, side, wanted)
        assert abs(wanted) < 0.006 or side == ("below" if wanted > 0 else "above")


def run(examples: int) -> int:
    seen = [0]

    @settings(NO_DEADLINE, max_examples=examples)
    @given(designs(starting_sets()))
    def is_sound(made: Design | None) -> None:
        if made is None:
            return
        seen[0] += 1
        for text in sentences(made):
            assert_sound(text)
            assert_sentence(text, made.given.units)
        for text in (*cells(made), *setup_texts(made)):
            assert_sound(text)
        assert_agrees(made)

    is_sound()
    return seen[0]


def test_words_of_paper_are_sound_and_agree_with_the_layout() -> None:
    assert run(FEW) >= LEAST_BUILT * FEW


@pytest.mark.long
def test_words_of_paper_are_sound_for_many_sets() -> None:
    assert run(MANY) >= LEAST_BUILT * MANY


@pytest.mark.parametrize(
    "text",
    ["after 1 truings", "-0.18 mm thinner", "−0.18 mm deep", "bit 3.175 mm", "stop collar 11.9062 mm", "nan mm",
     "two  spaces", "0.12345 in"],
)  # fmt: skip
def test_unsound_words_are_found(text: str) -> None:
    with pytest.raises(AssertionError):
        assert_sound(text)


@pytest.mark.parametrize(
    "text", ["Sink it 4 deep.", "See frog.screws.1 there.", "No end", "It is 4 mm deep; The end.", "Of a bed_angle."]
)
def test_sentences_that_lack_something_are_found(text: str) -> None:
    with pytest.raises(AssertionError):
        assert_sentence(text.replace("4 deep", "5 deep"), "mm")


@pytest.mark.parametrize(
    "extra", [(), ("body.pad=14",), ("body.slip=8",), ("body.pad=14", "body.slip=8"), ("casting.let_in=0", "body.pad=6")]
)
def test_the_dry_trial_comes_before_any_glue_and_says_where_the_edge_stands(extra: tuple[str, ...]) -> None:
    made = full_design(*extra)
    titles = [stage.title for stage in order_of_work(made)]
    assert titles.index("Dry trial") < titles.index("Glue-up")
    assert titles.index("Bed") < titles.index("Dry trial")
    assert_agrees(made)
