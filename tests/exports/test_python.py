"""The front door for Python: the README example, the same files and answers as the commands, and no kernel before solids."""

from __future__ import annotations

import contextlib
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from planestock.exports import command_line, python
from planestock.exports.files.plain_data import as_json
from planestock.exports.python import (
    ChecksFail,
    InputProblem,
    build,
    compare,
    design,
    load,
    reading,
    report,
    salvage,
    sweep,
    write,
)
from planestock.params.files import plainly
from tests.support.full_set import plain, plain_design

README = Path(__file__).resolve().parents[2] / "README.md"
CAD = ("OCP", "cadquery", "manifold3d", "scipy", "trimesh", "vtkmodules")
"""What numbers must not wait for."""
FAILING = "throat.opening=0.9"
"""Makes mouth-passes-cut fail, and nothing that would stop the solids."""


def command(*arguments: str) -> str:
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        command_line.main(arguments)
    return said.getvalue()


def example() -> tuple[str, str]:
    """The README's example and what it says that it prints."""
    found = re.search(r"<!-- python -->\n(.*?)<!-- /python -->", README.read_text("utf-8"), re.DOTALL)
    assert found, "README.md has no <!-- python --> … <!-- /python -->"
    blocks = dict(re.findall(r"```(\w+)\n(.*?)```", found[1], re.DOTALL))
    return blocks["python"], blocks["text"]


def test_the_readmes_example_prints_and_writes_what_it_says(tmp_path: Path) -> None:
    code, printed = example()
    ran = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (ran.stdout, ran.stderr) == (printed, "")
    assert (tmp_path / "out" / "thick-iron" / "shop-sheet.pdf").is_file()


def test_every_name_is_there_is_documented_and_there_are_a_dozen() -> None:
    assert len(python.__all__) == 12
    assert [name for name in python.__all__ if not (getattr(python, name).__doc__ or "").strip()] == []


def test_numbers_load_no_solid_kernel() -> None:
    code = (
        "import json, sys\n"
        "from planestock.exports.python import *\n"
        "given = load('jack')\n"
        "report(design(given), solids=False), salvage(given, reading('44.1 ± 0.1 mm'))\n"
        "compare([('a', given), ('b', given)], solids=False), sweep(given, 'throat.opening=1 to 2 mm in 3')\n"
        f"print(json.dumps([name for name in {CAD!r} if name in sys.modules]))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert json.loads(ran.stdout) == []


def test_the_same_files_as_the_command_writes(tmp_path: Path) -> None:
    (tmp_path / "block.toml").write_text(plainly(plain()), "utf-8")
    assert command("build", str(tmp_path / "block.toml"), "-o", str(tmp_path / "command"))
    paths = write(design(load(str(tmp_path / "block.toml"))), tmp_path / "door")
    names = {path.name for path in (tmp_path / "command").rglob("*") if path.is_file()}
    assert {path.name for path in (tmp_path / "door").rglob("*") if path.is_file()} == names
    assert len(paths) == len(names) - 1, "all but the list of files itself"
    for path in paths:
        assert path.read_bytes() == (tmp_path / "command" / path.relative_to(tmp_path / "door")).read_bytes(), path.name


def test_build_returns_what_write_writes(tmp_path: Path) -> None:
    made = plain_design()
    files = build(made)
    assert {path.relative_to(tmp_path).as_posix(): path.read_bytes() for path in write(made, tmp_path)} == files


def test_nothing_is_made_while_a_check_fails_unless_that_is_allowed(tmp_path: Path) -> None:
    made = design(load("jack", [FAILING]))
    with pytest.raises(ChecksFail, match="mouth-passes-cut") as refused:
        write(made, tmp_path / "out")
    assert "mouth-passes-cut" in refused.value.failing
    assert not (tmp_path / "out").exists()
    assert b"FAILS ITS CHECKS: " in build(made, allow_failing=True)["set.toml"]


def test_the_same_answers_as_the_commands_give() -> None:
    given = load("jack")
    assert as_json(report(design(given), solids=False), ascii_only=True) == command("check", "jack", "--numbers", "--json")
    told = json.loads(command("salvage", "jack", "--thickness", "44.1 ± 0.1 mm", "--json"))
    best = salvage(given, reading("44.1 ± 0.1 mm")).recommended
    assert best is not None
    assert told["recommended"] == best.plan.name
    swept = json.loads(command("sweep", "jack", "--vary", "cap_iron.setback=0.4 to 1.2 mm in 3", "--json"))
    wear = sweep(given, "cap_iron.setback=0.4 to 1.2 mm in 3").outcomes["wear_left"]
    np.testing.assert_allclose(swept["columns"]["wear_left"], wear, atol=1e-9)  # as_json rounds to nine decimals
    sides = json.loads(command("compare", "jack", "fore", "--numbers", "--json"))
    beside = compare([("jack", given), ("fore", load("fore"))], solids=False)
    assert [one["label"] for one in sides["variants"]] == [one.label for one in beside.variants]
    assert list(sides["outcomes"]) == [one.key for one in beside.outcomes]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (lambda: load("jakc"), "jakc"),
        (lambda: load("jack", ["throat.opening=-1"]), "throat.opening"),
        (lambda: reading("three"), "reading = three"),
        (lambda: sweep(load("jack"), "throat.opening=3 to 1 mm in 6"), "throat.opening"),
    ],
    ids=["set", "value", "reading", "range"],
)
def test_input_that_cannot_be_used_is_refused_with_its_place(wrong: object, said: str) -> None:
    assert callable(wrong)
    with pytest.raises(InputProblem, match=said):
        wrong()
