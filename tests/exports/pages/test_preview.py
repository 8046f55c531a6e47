"""The page that can be mailed, read back by an HTML parser; what a browser makes of it is in test_viewer_browser.py."""

from __future__ import annotations

import hashlib
import json
import re
import webbrowser
from base64 import b64encode
from functools import cache
from pathlib import Path

import lxml.html
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planestock.exports.commands.view import view
from planestock.exports.drawing.gauge import SIDE, WIDTH, gauge, in_words
from planestock.exports.files.markup import json_block, tag, text
from planestock.exports.files.stamp import stamp_of
from planestock.exports.files.writer_rules import WriterFailed, one_line
from planestock.exports.pages import viewer_files
from planestock.exports.pages.preview import preview
from planestock.exports.pages.viewer_files import bundled
from planestock.exports.wording.cautions import CAUTIONS
from planestock.exports.wording.numbers import measured
from planestock.exports.wording.set_values import value_groups
from planestock.models.design import Design, design
from planestock.models.window.thickness import settle
from planestock.params.files import changed, load, raw, shipped
from planestock.params.parsing import parameter_set
from tests.support.full_set import FULL, full, plain, plain_values

MOST_BYTES = 1_200_000
HOSTILE = '</script><script>alert(1)</script><img src=x onerror=alert(2)>" onload="alert(3) <!-- ]]> \u202e & \u2028'


@cache
def made(name: str) -> Design:
    return design(load(name))


def page_of(one: Design) -> bytes:
    return preview(one, stamp_of(one, one.checks))


@cache
def page(name: str) -> bytes:
    return page_of(made(name))


@cache
def hostile() -> tuple[Design, lxml.html.HtmlElement]:
    one = design(parameter_set({**FULL, "name": HOSTILE, "note": HOSTILE}))
    return one, lxml.html.document_fromstring(page_of(one).decode())


def read(content: bytes) -> lxml.html.HtmlElement:
    return lxml.html.document_fromstring(content.decode())


@pytest.mark.parametrize("name", sorted(shipped()))
def test_a_page_is_one_file_below_its_limit_and_asks_for_nothing_else(name: str) -> None:
    assert len(page(name)) < MOST_BYTES
    tree = read(page(name))
    assert tree.xpath("//@src | //@href | //link | //iframe | //object | //embed | //form") == []
    assert not re.search(r"@import|url\(", "".join(tree.xpath("//style/text()")))
    addresses = set(re.findall(r"https?://[\w./-]+", page(name).decode()))
    assert addresses <= {"http://www.w3.org/1999/xhtml", "http://www.w3.org/2000/svg"}  # names of languages, not places


def test_the_same_set_gives_the_same_bytes() -> None:
    assert page_of(design(load("jack"))) == page("jack")


def test_only_this_script_and_this_style_are_allowed() -> None:
    tree = read(page("jack"))
    allowed = tree.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    script = tree.xpath("//script[not(@type)]/text()")
    style = tree.xpath("//style/text()")
    assert len(script) == len(style) == 1
    assert "unsafe" not in allowed
    assert allowed.startswith("default-src 'none';")
    for source in (script[0], style[0]):
        digest = b64encode(hashlib.sha256(source.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in allowed
    assert tree.xpath("//@style") == []


def test_what_can_be_read_needs_no_script() -> None:
    tree, one = read(page("fore")), made("fore")
    shown = " ".join(tree.xpath("//main")[0].text_content().split())
    assert f"{one.settled.thickness:.2f} mm" in shown
    assert f"{one.settled.window.low:.2f} to {one.settled.window.high:.2f} mm" in shown
    for row in one.checks:
        assert one_line(row.asked) in shown
    verdicts = [cell.text_content() for cell in tree.xpath("//table[@class='checks']//tr/td[1]")]
    assert sorted(verdicts) == sorted(row.verdict for row in one.checks)
    assert [item.text_content() for item in tree.xpath("//ul[@class='cautions']/li")] == list(CAUTIONS)
    assert one.given.digest in tree.xpath("//footer")[0].text_content()


def test_failing_checks_stand_first_and_say_what_to_change() -> None:
    one = design(full("throat.opening=0.3"))
    tree = read(page_of(one))
    wrong = [row for row in one.checks if row.verdict == "fail"]
    assert wrong
    rows = tree.xpath("//table[@class='checks']/tbody/tr")
    assert {row.get("class") for row in rows[: len(wrong)]} == {"verdict-fail"}
    assert all(row.change in tree.text_content() for row in wrong)
    assert "FAILS ITS CHECKS" in tree.xpath("//header")[0].text_content()


def test_a_hostile_name_stays_text() -> None:
    one, tree = hostile()
    assert len(tree.xpath("//script")) == 2
    assert tree.xpath("//img") == []
    attributes = {name for element in tree.iter() if isinstance(element.tag, str) for name in element.attrib}
    assert not {name for name in attributes if name.startswith("on")}
    assert tree.xpath("//h1")[0].text_content() == one_line(HOSTILE).replace("\u202e", "")
    scene = json.loads(tree.xpath("//script[@id='scene']/text()")[0])
    assert scene["name"] == one_line(one.given.name)


@settings(max_examples=200)
@example(HOSTILE)
@example("<!--<script>")
@given(st.text(max_size=80))
def test_any_text_comes_back_as_it_was_and_makes_no_element(plain_text: str) -> None:
    shown = lxml.html.fragment_fromstring(tag("p", text(plain_text), title=one_line(plain_text)))
    assert len(shown) == 0
    assert set(shown.attrib) == {"title"}
    written = json_block("x", plain_text)
    assert written.count("<") == 2
    assert json.loads(lxml.html.fragment_fromstring(written).text or "null") == plain_text


@pytest.mark.parametrize("name", sorted(shipped()))
def test_the_values_shown_make_the_set_again(name: str) -> None:
    texts = {value.path: value.text for group in value_groups(load(name)) for value in group.values}
    # In a set in inches a default that is declared in mm stands in brackets behind its inches, as exactly as it is meant.
    shown = {path: re.sub(r".* in \((.*)\)$", r"\1", text) for path, text in texts.items()}
    changes = [f"{path}={written}" for path, written in shown.items() if ", mean of" not in written]
    assert plain_values(load(name, changes)) == plain_values(load(name))


def test_every_value_that_was_given_is_shown() -> None:
    shown = {value.path for group in value_groups(load("jack")) for value in group.values}

    def paths(values: object, path: str = "") -> set[str]:
        if isinstance(values, dict):
            return set().union(*(paths(inner, f"{path}.{key}" if path else key) for key, inner in values.items()))
        if isinstance(values, list):
            return set().union(*(paths(inner, f"{path}.{number}") for number, inner in enumerate(values)))
        return {path}

    assert paths(raw("jack")) - {"name", "note"} <= shown


def test_the_gauge_is_to_scale() -> None:
    settled = settle(plain())
    drawn = lxml.html.fragment_fromstring(gauge(settled))
    (band, *safe) = [(float(one.get("x")), float(one.get("width"))) for one in drawn.xpath(".//rect")]
    width = WIDTH - 2 * SIDE
    per_mm = width / settled.window.width
    assert band == pytest.approx((SIDE, width), abs=0.01)
    assert safe[0] == pytest.approx(
        (SIDE + (settled.safe_low - settled.window.low) * per_mm, (settled.safe_high - settled.safe_low) * per_mm), abs=0.01
    )
    mark = drawn.xpath(".//line[@class='chosen']")[0]
    assert float(mark.get("x1")) == pytest.approx(SIDE + (settled.thickness - settled.window.low) * per_mm, abs=0.01)
    assert in_words(settled) in drawn.text_content()


@pytest.mark.parametrize("thickness", [30, 90])
def test_the_gauge_holds_a_thickness_far_outside_its_window(thickness: float) -> None:
    drawn = lxml.html.fragment_fromstring(gauge(settle(plain(f"body.thickness={thickness}"))))
    places = [float(value) for one in drawn.iter() for key, value in one.attrib.items() if key in ("x", "x1", "x2")]
    assert min(places) >= 0
    assert max(places) <= WIDTH


def test_a_closed_window_has_no_band() -> None:
    closed = settle(plain("work.deepest_cut=4", "work.withdraw=4"))
    assert closed.window.width < 0
    assert lxml.html.fragment_fromstring(gauge(closed)).xpath(".//rect") == []
    assert "No thickness is sure" in in_words(closed)


@pytest.mark.parametrize(
    ("value", "unit", "written"),
    [
        (None, "mm", "–"),
        (-0.104, "mm", "−0.10 mm"),
        (-1e-13, "mm³", "0.00 mm³"),
        (4.0, "", "4"),
        (0.798, "", "0.80"),
        (0.002, "", "0.002"),
        (0.0002, "", "2 × 10⁻⁴"),
        (1e-9, "", "1 × 10⁻⁹"),
        (17.0, "deg", "17°"),
    ],
)
def test_numbers_are_written_as_people_write_them(value: float | None, unit: str, written: str) -> None:
    assert measured(value, unit) == written


def test_without_its_bundle_the_viewer_says_how_it_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(viewer_files, "FOLDER", "no_such_folder")
    with pytest.raises(WriterFailed, match=r"missing from this installation.*pip"):
        bundled("preview.js")


def test_the_script_carries_its_licence_and_makes_no_code_from_text() -> None:
    script = bundled("preview.js")
    assert script.startswith("/*! The MIT License")
    assert "Permission is hereby granted" in script
    assert not re.search(r"\beval\(|new Function\b|<script|innerHTML", script)


def test_view_writes_the_page_and_opens_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    opened: list[str] = []

    def opening(address: str) -> bool:
        opened.append(address)
        return True

    monkeypatch.setattr(webbrowser, "open", opening)
    assert view("jack", output=tmp_path) == 0
    assert (tmp_path / "preview.html").read_bytes() == page("jack")
    assert opened == [(tmp_path / "preview.html").resolve().as_uri()]
    assert capsys.readouterr().out == f"{tmp_path / 'preview.html'}\n"


def test_view_shows_a_failing_body_too_and_ends_with_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(webbrowser, "open", lambda _: False)
    assert view("jack", output=tmp_path, changes=["throat.opening=0.3"]) == 1
    assert "FAILS ITS CHECKS" in (tmp_path / "preview.html").read_text("utf-8")
    assert "no browser was found" in capsys.readouterr().err


def test_changed_values_are_the_ones_shown() -> None:
    given_set = parameter_set(changed(raw("jack"), ["throat.opening=0.9"]))
    shown = {value.path: value.text for group in value_groups(given_set) for value in group.values}
    assert shown["throat.opening"] == "0.9 mm"


def test_view_writes_the_page_into_a_folder_or_into_the_file_that_is_named(tmp_path: Path) -> None:
    assert view("jack", tmp_path / "there", no_open=True) == 0
    assert view("jack", tmp_path / "mail.html", no_open=True) == 0
    assert (tmp_path / "mail.html").read_bytes() == (tmp_path / "there" / "preview.html").read_bytes()
