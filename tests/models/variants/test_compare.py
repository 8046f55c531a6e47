"""Variants side by side: what differs, what follows, and a page that nothing hostile can act on."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from planestock.exports.commands.compare import compare as compare_command
from planestock.exports.commands.compare import labelled_sets, split_changes
from planestock.exports.pages.compare import page
from planestock.exports.variants.compare_drawings import mouth_view, plan_view, side_frame, side_view
from planestock.exports.variants.compare_text import as_data, outcome_rows
from planestock.models.checks.rows import failing
from planestock.models.design import design
from planestock.models.solids import assembly
from planestock.models.solids.kernel import KernelProblem
from planestock.models.variants.compare import MOST, WOOD_CHECKS, Comparison, compare, differences, thinnest_wood
from planestock.params.files import load, shipped
from planestock.params.problems import InputProblem
from tests.support.full_set import full, full_design, plain, plain_design

FIRST = ("throat.opening=1.2 mm", "body.width=80")


@cache
def three() -> Comparison:
    """Two bodies and a set that is none, with their solids."""
    return compare([("as it is", full()), ("finer", full(*FIRST)), ("leaning", full("throat.breast_lean=64"))], solids=True)


def outcome(found: Comparison, key: str) -> tuple[float | None, ...]:
    return next(one.values for one in found.outcomes if one.key == key)


# What differs.


def test_only_what_differs_is_listed_in_the_order_of_the_fields() -> None:
    found = three()
    assert [(one.path, one.texts) for one in found.differences] == [
        ("body.width", ("76 mm", "80 mm", "76 mm")),
        ("throat.opening", ("2 mm", "1.2 mm", "2 mm")),
        ("throat.breast_lean", ("24 deg", "24 deg", "64 deg")),
    ]


def test_the_same_length_in_another_unit_is_no_difference_and_another_limit_is_one() -> None:
    one = full("iron.width=2 in")
    assert differences([one, full("iron.width=50.8 mm")]) == ()
    assert differences([one, full('iron.width="2 in ± 0.1 mm"')])[0].path == "iron.width"
    assert differences([full("name=Another", "note=and more"), full()]) == ()


def test_lists_and_what_is_left_out_are_told_field_by_field() -> None:
    found = differences([
        full("body.thickness=from window"), full("frog.screws.1.depth=10", "body.thickness=50 ± 0.1 mm"),
    ])  # fmt: skip
    assert [(one.path, one.texts) for one in found] == [
        ("frog.screws.1.depth", ("12 mm", "10 mm")),
        ("body.thickness", ("from window", "50 ± 0.1 mm")),
    ]
    shorter = differences([full(), full("casting.screws=[]")])
    assert {one.texts[1] for one in shorter if one.path.startswith("casting.screws.0.")} == {"–"}


def test_repeated_readings_are_shown_as_their_mean() -> None:
    (found,) = differences([load("jointer"), load("jointer", ["bench.edge_low=55.6 ± 0.05 mm"])])
    assert found.texts == ("55.613 ± 0.05 mm, mean of 3", "55.6 ± 0.05 mm")


# What follows.


def test_outcomes_are_those_of_each_design_alone() -> None:
    found = three()
    for index, changes in ((0, ()), (1, FIRST)):
        made = full_design(*changes)
        settled = made.settled
        expected = {
            "thickness": settled.thickness,
            "window.min": settled.window.low,
            "window.max": settled.window.high,
            "window.safe_min": settled.safe_low,
            "window.safe_max": settled.safe_high,
            "reach.out": settled.window.out(settled.thickness),
            "reach.in": settled.window.back(settled.thickness),
            "wear_left": settled.wear_left,
            "mouth.opening": made.given.throat.opening.value,
            "movement.side_clearance": made.seasons.driest.side_clearance,
            "mass": made.mass,
            "checks.fail": float(len(failing(made.checks))),
        }
        assert {key: outcome(found, key)[index] for key in expected} == pytest.approx(expected)
    spread = next(one.spread for one in found.outcomes if one.key == "window.max")
    assert spread is not None
    assert spread[0] == full_design().settled.high.expanded


def test_a_set_that_is_no_body_is_told_and_stops_nothing() -> None:
    found = three()
    assert found.variants[2].made is None
    assert "casting screw begins outside the wood" in found.variants[2].problem
    assert {one.values[2] for one in found.outcomes} == {None}
    assert found.variants[0].made is not None


def test_a_body_that_the_kernel_cannot_make_is_told_and_stops_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise KernelProblem("throat: the solid kernel failed (no such face); check the angles")

    monkeypatch.setattr(assembly, "assemble", fails)
    found = compare([("a", plain()), ("b", plain("throat.opening=1.9"))], solids=True)
    assert [variant.made for variant in found.variants] == [None, None]
    assert found.variants[0].problem.startswith("throat: the solid kernel failed")
    assert outcome(found, "mass") == (None, None)


def test_the_thinnest_wood_is_the_least_of_the_checks_that_measure_wood() -> None:
    least = thinnest_wood(full_design())
    assert least is not None
    values = {row.id: row.value for row in full_design().number_checks if row.id in WOOD_CHECKS and row.value is not None}
    assert least == (min(values.values()), min(values, key=lambda name: values[name]))
    assert thinnest_wood(plain_design()) is not None


def test_every_named_check_of_wood_exists() -> None:
    known = {row.id for row in full_design().number_checks}
    assert set(WOOD_CHECKS) <= known


def test_without_solids_there_is_no_mass_and_no_check_of_solids() -> None:
    found = compare([("a", plain()), ("b", plain("throat.opening=1.9"))], solids=False)
    assert outcome(found, "mass") == (None, None)
    assert "mass" not in {row.title.partition(",")[0].lower() for row in outcome_rows(found)}
    assert all(row.id != "iron-clear-out" for variant in found.variants for row in variant.rows)


def test_rows_differ_only_where_what_is_shown_differs() -> None:
    rows = {row.title: row for row in outcome_rows(three())}
    assert rows["Mouth, mm"].differs
    assert not rows["Thickness, mm"].differs
    assert rows["Mouth, mm"].values[2] == "–"


# The page.


class Reader(HTMLParser):
    """Counts elements and keeps attributes, the way a browser would see them."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def read(content: bytes) -> Reader:
    reader = Reader()
    reader.feed(content.decode("utf-8"))
    return reader


def test_the_page_is_the_same_bytes_each_time_and_loads_nothing() -> None:
    content = page(three(), "1.2.3")
    assert content == page(three(), "1.2.3")
    text = content.decode("utf-8")
    assert re.findall(r"(?:src|href)\s*=", text) == []
    assert "url(" not in text.replace("url(#wood", "")
    reader = read(content)
    assert "script" not in {name for name, _ in reader.elements}
    assert not any(name.startswith("on") or name == "style" for _, found in reader.elements for name in found)


def test_the_policy_lets_in_the_pages_own_style_and_nothing_else() -> None:
    text = page(three(), "1").decode("utf-8")
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    policies = [found["content"] for name, found in read(text.encode()).elements if name == "meta" and "http-equiv" in found]
    assert policies == [
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
    ]


HOSTILE = "</title><script>alert('x')</script><img src=x onerror=alert(1)>\u202e\x00"


def test_hostile_names_are_only_words() -> None:
    sets = [(HOSTILE, full("name=" + HOSTILE)), ("&amp;", full("throat.opening=1.9"))]
    reader = read(page(compare(sets, solids=False), "1"))
    assert {"script", "img"} & {name for name, _ in reader.elements} == set()
    assert "</title><script>alert('x')</script><img src=x onerror=alert(1)>" in "".join(reader.words)
    assert "\u202e" not in "".join(reader.words)
    assert "&amp;" in reader.words


def test_the_page_has_the_same_views_of_each_body_at_one_scale() -> None:
    text = page(three(), "1").decode("utf-8")
    pictures = re.findall(r"<svg.*?</svg>", text, re.DOTALL)
    boxes: dict[str, set[str]] = {}
    for drawn in pictures:
        root = ElementTree.fromstring(drawn)
        boxes.setdefault(root.get("class") or "", set()).add(" ".join((root.get("viewBox") or "").split()[2:]))
    assert len(pictures) == 6
    assert {name: len(found) for name, found in boxes.items()} == {"side": 1, "mouth": 1, "plan": 1}
    names = re.findall(r'<clipPath id="(\w+)"', text)
    assert len(names) == len(set(names)) == 4


def path_points(path: str) -> set[tuple[float, float]]:
    return {(float(x), -float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)(?=[LAZM])", path)}


@pytest.mark.parametrize("name", [*shipped(), "full"])
def test_views_are_drawn_from_the_layouts_points(name: str) -> None:
    made = full_design("body.slip=6", "body.pad=18") if name == "full" else design(load(name))
    at = made.layout
    frame = side_frame([made])
    side = ElementTree.fromstring(side_view(made, frame, "w"))
    wood = next(one for one in side.iter("path") if one.get("class") == "wood")
    drawn = path_points(wood.get("d") or "")
    for point in (at.mouth_front, at.bed_foot, at.wear_top, (0.0, 0.0), (at.length, 0.0)):
        assert min(abs(x - point[0]) + abs(z - point[1]) for x, z in drawn) < 0.011, point
    assert sum(one.get("class") == "band" for one in side.iter("rect")) == bool(at.slip) + bool(at.pad)
    plan = ElementTree.fromstring(plan_view(made, side_frame([made])))
    mouth = next(one for one in plan.iter("path") if one.get("class") == "mouth")
    xs = [x for x, _ in path_points(mouth.get("d") or "")]
    assert (min(xs), max(xs)) == pytest.approx((at.mouth_front[0], at.bed_foot[0]), abs=0.006)
    words = "".join(ElementTree.fromstring(mouth_view(made, "w")).itertext())
    assert f"{made.given.throat.opening.value:.2f}" in words


# The command.


def test_tables_fit_80_columns_for_many_variants(capsys: pytest.CaptureFixture[str]) -> None:
    assert compare_command([*shipped(), "jack"], numbers=True) == 0
    printed = capsys.readouterr().out
    assert max(map(len, printed.splitlines())) <= 80
    assert "casting.screws.0.length" in printed
    assert printed.count("Thickness, mm") == 2


def test_json_holds_the_numbers_of_each_variant(capsys: pytest.CaptureFixture[str]) -> None:
    code = compare_command(["jack"], ["throat.opening=0.8"], changes=["body.width=74"], as_json=True)
    told = json.loads(capsys.readouterr().out)
    first, second = design(load("jack", ["body.width=74"])), design(load("jack", ["body.width=74", "throat.opening=0.8"]))
    assert code == 1
    assert told["variants"][1]["failing"] == list(failing(second.checks))
    assert told["variants"][0]["digest"] == first.given.digest
    assert told["outcomes"]["mass"]["values"] == pytest.approx([first.mass, second.mass])
    assert told["differences"] == [{"path": "throat.opening", "title": "Mouth opening", "values": ["2.2 mm", "0.8 mm"]}]
    again = compare([("jack", first.given), ("throat.opening=0.8", second.given)], solids=True)
    assert told == json.loads(json.dumps(as_data(again)))


def test_the_page_is_written_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "both.html"
    assert compare_command(["jack", "smoother"], page=target, numbers=True) == 0
    assert read(target.read_bytes()).elements[0][0] == "html"
    assert "Wrote" in capsys.readouterr().err


def test_variants_are_split_at_semicolons_outside_quotes_and_brackets() -> None:
    text = ' throat.opening=0.8;body.width = 72 ; note="a; b";wood.dry={ temperature = 20; humidity = 3 };'
    assert split_changes(text) == [
        "throat.opening=0.8", "body.width = 72", 'note="a; b"', "wood.dry={ temperature = 20; humidity = 3 }",
    ]  # fmt: skip
    assert split_changes('note="unclosed; body.width=3') == ['note="unclosed', "body.width=3"]


def test_labels_are_file_names_or_where_two_are_alike_the_whole_source(tmp_path: Path) -> None:
    copy = tmp_path / "jack.toml"
    copy.write_text(shipped()["jack"], "utf-8")
    assert [label for label, _ in labelled_sets(["jack", "fore"], [], [])] == ["jack", "fore"]
    assert [label for label, _ in labelled_sets(["jack", str(copy)], [], [])] == ["jack", str(copy)]
    assert [label for label, _ in labelled_sets([str(copy)], ["throat.opening=1"], [])] == ["jack", "throat.opening=1"]


@pytest.mark.parametrize(
    ("sources", "options", "message"),
    [
        (["jack"], {}, "takes at least 2 variants"),
        (["jack", "fore"], {"variants": ["throat.opening=1"]}, "goes with one set"),
        (["jack"], {"variants": [" ; "]}, "holds no change"),
        (["jack"], {"variants": ["throat.oppening=1"]}, "did you mean throat.opening"),
        (["jack"], {"variants": ["throat.opening"]}, "must be path=value"),
        (["jack"], {"variants": ["throat.opening=1 deg"]}, "'deg' is not a unit of length"),
        (["jack", "jak"], {}, "did you mean jack"),
        (["jack", "fore"], {"page": "page.pdf"}, "ends in .html"),
        (["jack"] * (MOST + 1), {}, f"takes 2 to {MOST}"),
    ],
)
def test_wrong_input_is_refused_in_words_and_nothing_is_written(
    sources: list[str], options: dict[str, object], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if "page" in options:
        options = {**options, "page": tmp_path / str(options["page"])}
    with pytest.raises(InputProblem, match=re.escape(message)):
        compare_command(sources, numbers=True, **options)  # type: ignore[arg-type]
    assert list(tmp_path.iterdir()) == []
    assert capsys.readouterr().out == ""
