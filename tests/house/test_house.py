"""The house rules that tools check; each failure shows the tool's own output."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BESIDE_PYTHON = Path(sys.executable).parent


@pytest.mark.parametrize(
    "command",
    [
        pytest.param([sys.executable, "-m", "ruff", "check"], id="lint"),
        pytest.param([sys.executable, "-m", "ruff", "format", "--check"], id="format"),
        pytest.param([sys.executable, "-m", "mypy"], id="types"),
        pytest.param([str(BESIDE_PYTHON / "lint-imports"), "--no-logo", "--no-cache"], id="imports"),
    ],
)
def test_the_tree_passes(command: list[str]) -> None:
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_ci_runs_the_test_command_that_the_readme_gives() -> None:
    start = "python3 -m venv .venv && "
    commands = [line for line in (ROOT / ".ci" / "run").read_text("utf-8").splitlines() if line.startswith(start)]
    assert len(commands) == 1
    assert commands[0] in (ROOT / "README.md").read_text("utf-8").splitlines()


def test_every_path_that_the_developers_page_names_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`((?:params|models|exports|tests)/[\w/.]*\w[\w/.]*)", text)) - {"exports/commands/NAME.py"}
    assert len(named) > 10
    assert sorted(path for path in named if not (ROOT / path).exists()) == []


def test_every_room_has_a_line_on_the_developers_page() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for folder in ("params", "models", "exports"):
        rooms = [path.parent.name for path in sorted((ROOT / folder).glob("*/__init__.py"))]
        assert rooms
        part = text[text.index(f"### {folder},") :].partition("\n##")[0]
        assert [room for room in rooms if f"`{room}/`" not in part] == []
