"""Whatever tells somebody to cut says what can hurt, too: on the screen, on paper, in pages and in files for machines."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from planestock.exports import command_line
from planestock.exports.building import files_of, order_for
from planestock.exports.wording import cautions
from planestock.exports.worksheet.form import worksheet_pdf
from planestock.params.files import text_of
from tests.support.app_support import app, stand_in
from tests.support.paper_support import shipped_design

HAND = (cautions.SHARP, cautions.MACHINES, cautions.PROTECTION, cautions.DUST, cautions.LEAD, cautions.AUTHORITY)


def plain(text: str) -> str:
    """A text without its line breaks, bullets and hyphenation, so that it can be searched for a sentence."""
    return " ".join(text.replace("\u00ad", "").replace("\ufffe", "").split())


@cache
def built() -> dict[str, bytes]:
    made = shipped_design("jack")
    return files_of(order_for(made, text_of("jack"), solids=True, extras=frozenset({"prints", "router"})))


def words_of(name: str) -> str:
    content = built()[name]
    if not name.endswith(".pdf"):
        return plain(content.decode())
    document = pypdfium2.PdfDocument(content)
    return plain(" ".join(sheet.get_textpage().get_text_bounded() for sheet in document))


def missing(text: str, wanted: tuple[str, ...]) -> list[str]:
    """Cautions that a text lacks; white space is not compared, as paper breaks lines and words where it likes."""
    packed = "".join(text.split()).replace("-", "").replace("’", "'")
    return [one for one in wanted if "".join(one.split()).replace("-", "") not in packed]


@pytest.mark.parametrize("name", ["report.txt", "report.json", "shop-sheet.pdf", "preview.html"])
def test_every_file_for_the_bench_carries_the_cautions_of_handwork(name: str) -> None:
    assert missing(words_of(name).replace("&#x27;", "'"), HAND) == []


def test_the_hand_over_carries_those_of_a_router_on_paper_and_for_machines() -> None:
    sheets = [name for name in built() if name.startswith("cnc/") and name.endswith((".pdf", ".json"))]
    assert {Path(name).suffix for name in sheets} == {".pdf", ".json"}
    for name in sheets:
        assert missing(words_of(name), cautions.AT_THE_ROUTER) == [], name


def test_what_goes_with_prints_says_how_jigs_can_hurt() -> None:
    lists = [name for name in built() if name.startswith("prints/prints.")]
    assert {Path(name).suffix for name in lists} == {".txt", ".json"}
    for name in lists:
        assert missing(words_of(name), ("It is no guard and no vice",)) == [], name


@pytest.mark.parametrize("command", [["check", "jack", "--numbers"], ["salvage", "jack", "--thickness", "44.1"]])
def test_commands_that_say_what_to_cut_say_what_can_hurt(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    command_line.main(command)
    said = plain(capsys.readouterr().out)
    wanted = (cautions.IN_SHORT,) if command[0] == "check" else HAND
    assert missing(said, wanted) == []
    command_line.main([*command, "--json"])
    told = json.loads(capsys.readouterr().out)["cautions"]
    assert set(HAND) <= set(told)


def test_the_app_begins_with_them(tmp_path: Path) -> None:
    with app(tmp_path, command=stand_in()) as client:
        assert set(HAND) <= set(client.get("/api/start").json()["cautions"])


def test_the_worksheet_carries_them() -> None:
    document = pypdfium2.PdfDocument(worksheet_pdf(None, "0.1.0"))
    words = plain(" ".join(sheet.get_textpage().get_text_bounded() for sheet in document))
    assert missing(words, HAND) == []
