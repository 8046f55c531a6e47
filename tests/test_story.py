"""The worked story in README.md: its commands are run, and every figure in it must be in what they print."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

import pytest

from planestock.exports import command_line

README = Path(__file__).resolve().parent.parent / "README.md"

CODES = {"check": 1, "rescue": 0, "build": 0}
"""How each command of the story ends: the check shows a body that fails."""

FEWEST_FIGURES = 12
"""Figures that the story's prose has at least; with fewer, the search for them would be broken."""


@dataclass(frozen=True)
class Story:
    """commands: as they are written; shown: lines of output that are quoted; prose: the rest."""

    commands: tuple[str, ...]
    shown: tuple[str, ...]
    prose: str


def story() -> Story:
    found = re.search(r"<!-- story -->\n(.*?)<!-- /story -->", README.read_text("utf-8"), re.DOTALL)
    assert found, "README.md has no <!-- story --> … <!-- /story -->"
    blocks = re.findall(r"```(\w+)\n(.*?)```", found[1], re.DOTALL)
    lines = [(kind, line) for kind, block in blocks for line in block.splitlines()]
    return Story(
        tuple(line for kind, line in lines if kind == "sh"),
        tuple(" ".join(line.split()) for kind, line in lines if kind == "text"),
        re.sub(r"```.*?```", "", found[1], flags=re.DOTALL),
    )


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Run the story's commands one after the other in an empty folder and return all they print, white space made single."""
    monkeypatch, said = pytest.MonkeyPatch(), []
    monkeypatch.chdir(tmp_path_factory.mktemp("story"))
    monkeypatch.setenv("COLUMNS", "80")
    for command in story().commands:
        program, *arguments = shlex.split(command)
        assert program == "planestock"
        said.append(_output(arguments))
    monkeypatch.undo()
    return " ".join(" ".join(said).split())


def _output(arguments: list[str]) -> str:
    import contextlib
    import io

    stream = io.StringIO()
    with contextlib.redirect_stdout(stream):
        code = command_line.main(arguments)
    assert code == CODES[arguments[0]], stream.getvalue()
    return stream.getvalue()


def test_the_story_runs_from_a_failing_check_over_the_rescue_to_a_built_body(printed: str) -> None:
    assert [command.split()[1] for command in story().commands] == ["check", "rescue", "build"]
    assert printed


def test_every_line_of_output_that_is_quoted_is_printed(printed: str) -> None:
    shown = story().shown
    assert len(shown) > 5
    assert [line for line in shown if line not in printed] == []


def test_every_figure_of_the_prose_is_printed(printed: str) -> None:
    prose = story().prose
    figures = re.findall(r"\d+\.\d\d(?= mm)", prose) + re.findall(r"\b(\d+) holes", prose)
    assert len(figures) >= FEWEST_FIGURES
    assert [figure for figure in figures if not re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.])", printed)] == []
    assert set(re.findall(r"\d+\.\d+", prose)) <= set(figures), "a figure without its unit is not tested"
