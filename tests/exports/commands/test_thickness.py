"""`planestock thickness`: an answer from two readings, by options or by questions at a terminal."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from planestock.exports.command_line import main
from planestock.exports.commands.thickness_options import PATHS, option_of
from planestock.exports.wording.cautions import IN_SHORT
from planestock.params.catalogue import declared
from planestock.params.files import load, parsed, shipped
from planestock.params.first_stage import BENCH, CHOICES, PINS
from tests.exports.commands.test_command_line import CAD, loaded_by

TWO = ("--edge-low", "48.7", "--edge-high", "44.1")


class Ran:
    """One run of the command in this process."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, " ".join(out.split()), " ".join(err.split())
        self.raw = out


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run the command in an empty folder, without a terminal."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))

    def running(*arguments: str, command: str = "thickness") -> Ran:
        capsys.readouterr()
        code = main([command, *arguments])
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return running


def written(path: str) -> str:
    """A reading of the jack as its set has it."""
    reading = load("jack").reading_at(path)
    assert reading is not None
    return reading.text


def options(name: str) -> list[str]:
    """What has to be typed to give this command what a shipped set says."""
    given = load(name)
    found = []
    for path in (*BENCH, *PINS, *CHOICES):
        reading = given.reading_at(path)
        if reading is not None:
            found += [option_of(path), str(reading.written)]
    instrument = given.instrument.model_dump(mode="json", exclude_none=True)
    tools = {tool: instrument["angle" if tool == "protractor" else "length"] for tool in
             ("caliper", "micrometer", "depth_gauge", "rule", "radius_gauge", "protractor")}  # fmt: skip
    for tool, limit in (tools | instrument).items():
        found += ["--set", f"instrument.{tool}={limit}"]
    for path, value in given.wood.model_dump(mode="json", exclude_none=True).items():
        inner = value.items() if isinstance(value, dict) else ()
        found += [part for name, one in inner for part in ("--set", f"wood.{path}.{name}={one}")]
        found += [] if isinstance(value, dict) else ["--set", f"wood.{path}={value}"]
    return found


@pytest.mark.parametrize("name", shipped())
def test_it_gives_the_numbers_that_check_gives_of_a_shipped_set(run: Any, name: str) -> None:
    given = load(name)
    checked = json.loads(run(name, "--numbers", "--json", command="check").raw)
    told = json.loads(run(*options(name), "--units", given.units, "--json").raw)
    one_wood = given.body.pad.exact == given.body.slip.exact == 0
    for key, value in told["window"].items():
        if one_wood or not key.startswith("safe"):
            assert value == checked["window"][key], key
    for key, value in told["uncertainty"].items():
        assert value == checked["uncertainty"][key], key
    if one_wood and checked["thickness_chosen"]:
        assert (told["thickness"], told["allowances"]) == (checked["thickness"], checked["allowances"])


def test_two_depths_say_what_to_cut_what_is_sure_and_what_a_mistake_does(run: Any) -> None:
    ran = run(*TWO)
    assert ran.code == 0
    assert ran.out.startswith(
        "Cut the body 47.64 mm thick from seat plane to sole (47.5 mm full on the rule); 44.98 to 47.64 mm"
    )
    assert "Too thick above 48.20 mm the edge does not come out 0.50 mm" in ran.out
    assert "Too thin below 44.40 mm the edge does not go back 0.30 mm" in ran.out
    assert "Take edge below seat, adjuster out (bench.edge_low) again to ± 0.05 mm" in ran.out
    assert "± 0.1 mm, depth gauge (bench.edge_low, bench.edge_high)" in ran.out
    assert "beech, american, flat-sawn" in ran.out
    assert "our own choice; say yours with --species" in ran.out
    assert IN_SHORT in ran.out
    assert max(map(len, ran.raw.splitlines())) <= 80


def test_a_wood_that_is_named_is_nobody_elses_choice(run: Any) -> None:
    ran = run(*TWO, "--species", "pear", "--cut", "quarter")
    assert "pear, quarter-sawn" in ran.out
    assert "our own choice" not in ran.out


def test_play_that_was_not_read_is_assumed_and_said(run: Any) -> None:
    ran = run(*(part for path in PINS[:-1] for part in (option_of(path), written(path))))
    assert ran.code == 0
    assert "The adjuster play (adjuster.play) was not measured" in ran.out


def test_inches_are_read_and_written(run: Any) -> None:
    ran = run("--units", "in", "--edge-low", "1-15/16", "--edge-high", "1.74")
    assert ran.code == 0
    assert "Window 1.752 to 1.918 in (44.50 to 48.71 mm)" in ran.out


def test_two_roads_are_compared_and_a_contradiction_ends_with_1(run: Any) -> None:
    by_pin = [part for path in PINS for part in (option_of(path), written(path))]
    assert "Readings and bench method agree" in run(*by_pin, "--edge-low", "48.95", "--edge-high", "44.2").out
    ran = run(*by_pin, "--edge-low", "46.2", "--edge-high", "42.1")
    assert ran.code == 1
    assert ran.out.startswith("Do not cut yet: a check fails.")
    assert "FAIL two-methods-agree" in ran.out
    assert "contradict each other" in ran.out
    assert " Sure " not in ran.out


def test_where_no_thickness_is_sure_it_says_what_would_make_room(run: Any) -> None:
    ran = run("--edge-low", "46", "--edge-high", "44.9")
    assert ran.code == 1
    assert ran.out.startswith("Do not cut yet: with these readings no thickness is sure to work.")
    assert "change: measure edge below seat, adjuster out (bench.edge_low) again" in ran.out
    assert json.loads(run("--edge-low", "46", "--edge-high", "44.9", "--json").raw)["thickness"] is None


def test_without_a_terminal_nothing_is_waited_for_and_the_options_are_named(run: Any) -> None:
    nothing = run()
    assert (nothing.code, nothing.out) == (2, "")
    assert all(option_of(path) in nothing.err for path in (*BENCH, *PINS) if path != "adjuster.play")
    one = run("--edge-low", "48.7")
    assert one.code == 2
    assert one.err.startswith(
        "planestock: --edge-high: is needed beside what was read, and was not given. From the casting's"
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--edge-low", "x", "--edge-high", "44"), "--edge-low = x: is not a length"),
        (("--edge-low", "44", "--edge-high", "48"), "--edge-high = 48 mm: must be less than bench.edge_low = 44 mm"),
        (("--pin-low", "-70"), "--pin-low = -70: must lie between −60 and 200 mm"),
        ((*TWO, "--species", "wood"), "--species = wood: no species of that name"),
        ((*TWO, "--set", "body.length=300"), "body.length = 300: does not move the thickness"),
        ((*TWO, "--units", "cm"), "see planestock thickness --help"),
        ((*TWO, "--edge", "3"), "see planestock thickness --help"),
    ],
)
def test_what_cannot_be_used_is_named_by_its_option(run: Any, arguments: tuple[str, ...], said: str) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err


def test_every_option_has_its_fields_own_words_and_a_name_of_its_own(run: Any) -> None:
    helped = run("--help").out.replace("- ", "-")
    assert len({option_of(path) for path in PATHS}) == len(PATHS)
    for path in PATHS:
        field = declared(path)
        assert field is not None
        assert f" {option_of(path)} " in helped
        assert (field.description or "")[1:].replace("- ", "-") in helped


def test_a_set_is_begun_with_these_readings_and_none_of_another_plane(run: Any, tmp_path: Path) -> None:
    ran = run(*TWO, "--species", "pear", "--write", "mine.toml")
    assert ran.code == 0
    begun = parsed((tmp_path / "mine.toml").read_text("utf-8"), "mine.toml")
    assert begun["name"] == "mine"
    assert begun["bench"] == {"edge_low": 48.7, "edge_high": 44.1}
    assert begun["wood"]["species"] == "pear"
    assert "adjuster" not in begun
    assert not set(begun["iron"]) | set(begun["cap_iron"])
    checked = run("mine.toml", "--numbers", command="check")
    assert checked.code == 2
    assert "iron.width: is required" in checked.err
    assert "bench." not in checked.err
    assert run(*TWO, "--write", "mine.toml").code == 2
    assert run(*TWO, "--write", "mine.toml", "--overwrite").code == 0


def test_a_begun_set_that_is_filled_in_gives_the_same_window(run: Any, tmp_path: Path) -> None:
    told = json.loads(run(*TWO, "--json", "--write", "mine.toml").raw)
    jack = load("jack").model_dump(mode="json", exclude_none=True)
    begun = parsed((tmp_path / "mine.toml").read_text("utf-8"), "mine.toml")
    for group in ("iron", "cap_iron", "frog", "casting"):
        begun[group] = jack[group] | begun.get(group, {})
    from planestock.models.window.thickness import settle
    from planestock.params.parsing import parameter_set

    settled = settle(parameter_set(begun))
    assert settled.safe_high == pytest.approx(told["thickness"], abs=1e-9)
    assert settled.low.expanded == pytest.approx(told["window"]["u_min"], abs=1e-9)


def test_it_loads_neither_cad_nor_scipy() -> None:
    assert loaded_by("thickness", *TWO) & set(CAD) == set()
    assert "rich" not in loaded_by("thickness", *TWO, "--json")


def at_a_terminal(typed: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the command with a terminal for its questions, and a pipe for its answer."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    os.write(ours, typed.encode())
    program = f"import sys\nfrom planestock.exports.command_line import main\nsys.exit(main({['thickness', *arguments]!r}))"
    try:
        command = [sys.executable, "-c", program]
        ran = subprocess.run(
            command, stdin=theirs, stderr=theirs, stdout=subprocess.PIPE, text=True, timeout=60, check=False
        )
        asked = os.read(ours, 100_000).decode()
    finally:
        os.close(theirs)
        os.close(ours)
    return subprocess.CompletedProcess(ran.args, ran.returncode, " ".join(ran.stdout.split()), asked)


def test_at_a_terminal_what_is_missing_is_asked_with_a_picture() -> None:
    ran = at_a_terminal("4\n1\n48.7\nx\n44.1\n")
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.startswith("Cut the body 47.64 mm thick")
    assert "depth rod" in ran.stderr
    assert "bench.edge_high = x: is not a length" in ran.stderr


def test_at_a_terminal_a_play_that_was_not_read_is_passed_over() -> None:
    ran = at_a_terminal("29\n92.4\n1\n2.1\n45\n\n", "--pin-low", "22")
    assert ran.returncode == 0, ran.stderr
    assert "was not measured" in ran.stdout
    assert "adjuster pin" in ran.stderr
    assert "Pin, low end" not in ran.stderr
    assert "may be left out" not in ran.stderr
    assert max(map(len, ran.stderr.splitlines())) <= 80


def test_nothing_is_asked_for_machines() -> None:
    ran = at_a_terminal("", "--edge-low", "48.7", "--json")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "--edge-high" in ran.stderr
