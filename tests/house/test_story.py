"""The worked stories in README.md: their commands are run, and every figure in them must be in what they print."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from planestock.exports import command_line
from tests.support import invent_photograph, invent_scan

README = Path(__file__).resolve().parents[2] / "README.md"

FEWEST_FIGURES = 6
"""Figures that a story's prose has at least; with fewer, the search for them would be broken."""

Maker = Callable[[], None]


def invented(maker: Maker, *arguments: str) -> Maker:
    """What makes a file that a story begins with, as its command line does."""

    def make() -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "argv", ["maker", *arguments])
            maker()

    return make


PHOTOGRAPH = invented(invent_photograph.main, "casting.jpg")
SCAN = invented(invent_scan.main, "waisted/set.toml", "casting.stl", "frog.bed_angle=44.3 deg")

Step = tuple[str, int, Maker | None]

STORIES: dict[str, tuple[Step, ...]] = {
    "two readings": (("thickness", 0, None),),
    "iron": (("check", 1, None), ("salvage", 0, None), ("build", 0, None)),
    "metal": (
        ("trace", 0, PHOTOGRAPH),
        ("check", 0, None),
        ("build", 0, None),
        ("fit", 1, SCAN),
        ("compare", 0, None),
        ("build", 0, None),
    ),
}
"""The commands of each story, how each ends, and what is made before it: the check shows a body that fails, the fit a
reading that is wrong."""


@dataclass(frozen=True)
class Story:
    """commands: as they are written; shown: lines of output that are quoted; prose: the rest, commands in it left out."""

    commands: tuple[str, ...]
    shown: tuple[str, ...]
    prose: str


def story(name: str) -> Story:
    found = re.search(rf"<!-- story: {name} -->\n(.*?)<!-- /story -->", README.read_text("utf-8"), re.DOTALL)
    assert found, f"README.md has no <!-- story: {name} --> … <!-- /story -->"
    blocks = re.findall(r"```(\w+)\n(.*?)```", found[1], re.DOTALL)
    lines = [(kind, line) for kind, block in blocks for line in block.splitlines()]
    return Story(
        tuple(line for kind, line in lines if kind == "sh"),
        tuple(" ".join(line.split()) for kind, line in lines if kind == "text"),
        re.sub(r"```.*?```|`[^`]*`", "", found[1], flags=re.DOTALL),
    )


@pytest.fixture(scope="module", params=STORIES)
def told(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Story, str]:
    """A story, and all that its commands print, run one after the other in an empty folder; white space made single."""
    tale, said = story(request.param), []
    steps = STORIES[request.param]
    assert [command.split()[:2] for command in tale.commands] == [["planestock", name] for name, _, _ in steps]
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path_factory.mktemp("story"))
        patch.setenv("COLUMNS", "80")
        for command, (_, code, maker) in zip(tale.commands, steps, strict=True):
            if maker is not None:
                maker()
            said.append(output(shlex.split(command)[1:], code))
    return tale, " ".join(" ".join(said).split())


def output(arguments: list[str], code: int) -> str:
    stream = io.StringIO()
    with contextlib.redirect_stdout(stream):
        ended = command_line.main(arguments)
    assert ended == code, stream.getvalue()
    return stream.getvalue()


def test_every_line_of_output_that_is_quoted_is_printed(told: tuple[Story, str]) -> None:
    tale, printed = told
    assert len(tale.shown) > 5
    assert [line for line in tale.shown if line not in printed] == []


def test_every_figure_of_the_prose_is_printed(told: tuple[Story, str]) -> None:
    tale, printed = told
    figures = re.findall(r"\d+\.\d\d(?= mm)", tale.prose) + re.findall(r"\b(\d+) holes", tale.prose)
    assert len(figures) >= FEWEST_FIGURES
    assert [figure for figure in figures if not re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.])", printed)] == []
    assert set(re.findall(r"\d+\.\d+", tale.prose)) <= set(figures), "a figure without its unit is not tested"


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README.read_text("utf-8"))
    assert len(pictures) > 5
    assert [name for name in pictures if not (README.parent / name).is_file()] == []
