"""Wrong sets and wrong commands: exit code 2, one clear message with path, value, rule and remedy, nothing written."""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from planestock.exports.command_line import main
from planestock.exports.files import renames
from planestock.params.files import LARGEST_FILE, shipped

JACK = shipped()["jack"]


def jack(old: str, new: str) -> bytes:
    """Return the jack's text with one line changed; the line has to be there, exactly once."""
    found = re.findall(rf"^{re.escape(old)}$", JACK, re.MULTILINE)
    assert len(found) == 1, old
    return re.sub(rf"^{re.escape(old)}$", new.replace("\\", r"\\"), JACK, count=1, flags=re.MULTILINE).encode()


def more(text: str) -> bytes:
    """Return the jack's text with something added at its end."""
    return (JACK + text).encode()


def lacking(*sections: str) -> bytes:
    """Return the jack's text without whole sections."""
    kept = re.split(r"(?m)^(?=\[)", JACK)
    return "".join(part for part in kept if not part.startswith(tuple(f"[{name}]" for name in sections))).encode()


@dataclass(frozen=True)
class Wrong:
    """A wrong set or command. said: what the message must hold, in this order; lines: how many there are, 0 for any."""

    name: str
    said: tuple[str, ...]
    content: bytes | None = None
    changes: tuple[str, ...] = ()
    arguments: tuple[str, ...] = ()
    lines: int = 1
    prepare: Callable[[Path], object] = field(default=lambda _: None, compare=False)


HOW_WIDTH = "Caliper across the iron just behind its edge."
A_LENGTH = 'write it like 41.2, "41.20 ± 0.05 mm" or "1-5/8 in"'
WIDTH = 'width = "51.0 ± 0.05 mm"'

SETS = (
    # Fields that are not there, or there for nothing.
    Wrong("unknown field", ("iron.widht", "51", "is not a field", "did you mean iron.width?"),
          jack(WIDTH, f"{WIDTH}\nwidht = 51")),
    Wrong("unknown group", ("mouth", "not a field", "a set holds name, note, units"), more("\n[mouth]\nopening = 1\n")),
    Wrong("group with a slip of the pen", ("throut", "is not a field", "throat"), more("\n[throut]\nopening = 1\n")),
    Wrong("unknown field in a list", ("casting.screws.0.guage", "10", "not a field", "casting.screws.0.gauge"),
          jack("  { x = -80, y = 14, gauge = 10, length = 25.4 },",
               "  { x = -80, y = 14, gauge = 10, guage = 10, length = 25.4 },")),
    Wrong("missing field", ("iron.width", "required and was not given", HOW_WIDTH), jack(WIDTH, "")),
    Wrong("missing group", ("iron", "required and was not given", "add a section [iron]"), lacking("iron")),
    Wrong("missing field in a list", ("casting.screws.1.length", "required", "Length of the screw"),
          jack("  { x = 62, y = 16, gauge = 10, length = 25.4 },", "  { x = 62, y = 16, gauge = 10 },")),
    Wrong("neither road to the window", ("adjuster", "the window needs", "give [adjuster] or [bench]"),
          lacking("adjuster")),
    Wrong("name left out", ("name", "required", "Any name for this plane."),
          jack('name = "Invented jack"', "")),
    Wrong("empty set", ("name", "required"), b"", lines=7),
    # Values that are no readings.
    Wrong("word for a number", ("iron.width", "wide", "is not a length", A_LENGTH), jack(WIDTH, 'width = "wide"')),
    Wrong("empty text", ("iron.width", '""', "is not a length", A_LENGTH), jack(WIDTH, 'width = ""')),
    Wrong("unit of an angle", ("iron.width", "51 deg", "'deg' is not a unit of length", A_LENGTH),
          jack(WIDTH, 'width = "51 deg"')),
    Wrong("unknown unit", ("iron.width", "51 furlong", "is not a length", A_LENGTH),
          jack(WIDTH, 'width = "51 furlong"')),
    Wrong("length for an angle", ("iron.bevel_angle", "28 mm", "'mm' is not a unit of angle", "45 ± 0.3 deg"),
          jack("bevel_angle = 28", 'bevel_angle = "28 mm"')),
    Wrong("thirds of an inch", ("iron.width", "2-1/3 in", "2, 4, 8", "as on the rule"),
          jack(WIDTH, 'width = "2-1/3 in"')),
    Wrong("divided by nothing", ("iron.width", "1/0 in", "2, 4, 8", "as on the rule"), jack(WIDTH, 'width = "1/0 in"')),
    Wrong("mixed number too large", ("iron.width", "1-9/8 in", "less than one", "carry the whole"),
          jack(WIDTH, 'width = "1-9/8 in"')),
    Wrong("comma of two meanings", ("iron.width", "51,000 mm", "may mean two things", "write 51.000 or 51000"),
          jack(WIDTH, 'width = "51,000 mm"')),
    Wrong("signed limit", ("iron.width", "51 ± -1 mm", "has no sign", A_LENGTH), jack(WIDTH, 'width = "51 ± -1 mm"')),
    Wrong("not a number", ("iron.width", "nan", "must be a finite number", A_LENGTH), jack(WIDTH, "width = nan")),
    Wrong("infinite", ("iron.width", "inf", "must be a finite number", A_LENGTH), jack(WIDTH, "width = inf")),
    Wrong("infinite downwards", ("iron.width", "-inf", "must be a finite number", A_LENGTH),
          jack(WIDTH, "width = -inf")),
    Wrong("overflowing", ("iron.width", "inf", "must be a finite number", A_LENGTH), jack(WIDTH, "width = 1e999")),
    Wrong("huge", ("iron.width", "1e+300", "too large to be a reading", A_LENGTH), jack(WIDTH, "width = 1e300")),
    Wrong("huge whole number", ("iron.width", "thousands of digits", "too large", A_LENGTH),
          jack(WIDTH, f"width = 0x{'f' * 5000}")),
    Wrong("huge decimal number", ("too_long.toml", "digits", "is not TOML"), jack(WIDTH, f"width = {'9' * 5000}")),
    Wrong("long text", ("iron.width", "1111", "at most 64 characters", A_LENGTH),
          jack(WIDTH, f'width = "{"1" * 500}"')),
    Wrong("truth for a number", ("iron.width", "true", "a truth value", HOW_WIDTH), jack(WIDTH, "width = true")),
    Wrong("truth for a count", ("body.dowels.count", "true", "a truth value", "How many"),
          jack("dowels = { count = 4, diameter = 8, depth = 14 }",
               "dowels = { count = true, diameter = 8, depth = 14 }")),
    Wrong("list for a number", ("iron.width", "[51]", "2 to 100 repeated readings", A_LENGTH),
          jack(WIDTH, "width = [51]")),
    Wrong("group for a number", ("iron.width", "'mm': 51", "must be a length", A_LENGTH),
          jack(WIDTH, "width = { mm = 51 }")),
    Wrong("date for a number", ("iron.width", "datetime.date", "must be a length", A_LENGTH),
          jack(WIDTH, "width = 2024-05-01")),
    Wrong("number for a group", ("knob", "44", "must be a group of fields"),
          lacking("knob").replace(b"units", b"knob = 44\nunits")),
    Wrong("number for a list", ("shop.chisels", "6", "must be a list", "chisels at hand"),
          more("\n[shop]\nchisels = 6\n")),
    Wrong("number for a text", ("name", "7", "must be a text in quotes", "Any name"),
          jack('name = "Invented jack"', "name = 7")),
    Wrong("half a dowel", ("body.dowels.count", "2.5", "must be a whole number", "How many"),
          jack("dowels = { count = 4, diameter = 8, depth = 14 }", "dowels = { count = 2.5 }")),
    Wrong("unknown choice", ("body.edge", "ogee", "'round' or 'chamfer'", "How the outer top edges"),
          jack('edge = "round"', 'edge = "ogee"')),
    Wrong("unknown units", ("units", "cm", "'mm' or 'in'", "Unit of lengths"), jack('units = "mm"', 'units = "cm"')),
    Wrong("unknown species", ("wood.species", "beach", "no species of that name", "beech"),
          jack('species = "beech, american"', 'species = "beach"')),
    Wrong("unknown species of a part", ("wood.strip_species", "ebonite", "no species of that name", "use one of"),
          jack('species = "beech, american"', 'species = "beech, american"\nstrip_species = "ebonite"')),
    Wrong("repeats with unlike limits", ("iron.width", "[51, '51 ± 0.1 mm']", "carry the same ±", "give ± to all"),
          jack(WIDTH, 'width = [51, "51 ± 0.1 mm"]')),
    Wrong("name of nothing", ("name", '" "', "no letter", "give the plane a name"),
          jack('name = "Invented jack"', 'name = " "')),
    # Values outside their bounds.
    Wrong("negative", ("iron.width", "-51", "between 20 and 110 mm", HOW_WIDTH), jack(WIDTH, "width = -51")),
    Wrong("zero", ("throat.opening", "0", "between 0.05 and 8 mm", "From the iron's edge"),
          jack("opening = 2.2", "opening = 0")),
    Wrong("too small in inches", ("iron.width", "1/2 in", "between 0.7874 and 4.331 in", HOW_WIDTH),
          jack(WIDTH, 'width = "1/2 in"')),
    Wrong("one repeat outside", ("iron.width", "[51, 5]", "between 20 and 110 mm", HOW_WIDTH),
          jack(WIDTH, "width = [51, 5]")),
    Wrong("too many truings", ("work.truings", "51", "less than or equal to 50", "How many truings"),
          jack("deepest_cut = 0.8", "truings = 51")),
    Wrong("humidity not finite", ("wood.dry.humidity", "nan", "must be a finite number", "Of the air"),
          jack("dry = { temperature = 20, humidity = 30 }", "dry = { humidity = nan }")),
    # Values that contradict one another.
    Wrong("travel turned round", ("adjuster.pin_low", "32 mm", "must be less than adjuster.pin_high",
                "which end is which"),
          jack('pin_low = "22.0 ± 0.1 mm"', "pin_low = 32")),
    Wrong("one dowel", ("body.dowels.count", "1", "one dowel does not locate a half", "at least 2"),
          jack("dowels = { count = 4, diameter = 8, depth = 14 }", "dowels = { count = 1 }")),
    Wrong("hump below its own iron", ("cap_iron.hump_height", "1 mm", "less than cap_iron.thickness",
                "measure the hump"),
          jack("hump_height = 6.0", "hump_height = 1")),
    Wrong("toe wider than the body", ("body.toe_width", "90 mm", "more than body.width", "lower this"),
          jack("toe_width = 62", "toe_width = 90")),
    Wrong("two kinds of climate", ("wood.dry", "both", "not both", "wood.dry.humidity"),
          jack("dry = { temperature = 20, humidity = 30 }", "dry = { humidity = 30, moisture = 7 }")),
    Wrong("slot not measured", ("cap_iron.slot_to_edge", "needed together with [adjuster]", "measure it"),
          jack('slot_to_edge = "92.4 ± 0.1 mm"', "")),
    # Sets that cannot become a body.
    Wrong("knob in the throat", ("knob.from_toe", "x 110.0",
                "the knob bolt begins outside the wood or in the throat", "the knob: from the toe"),
          jack("from_toe = 44", "from_toe = 110")),
    Wrong("edge rounded too far", ("body.edge_size", "15 mm", "takes away the whole top of the cheek", "smaller"),
          jack("edge_size = 3", "edge_size = 15"), lines=0),
    Wrong("throat wider than the body", ("body.width", "mm", "a cheek of less than", "make the body wider"),
          changes=("iron.width=69",), lines=0),
    # Files that are no sets.
    Wrong("not TOML", ("not_toml.toml", "line 1", "is not TOML", "mend the line"), b"iron width 51\n"),
    Wrong("said twice", ("twice.toml", "line", "is not TOML"), more("\n[iron]\nwidth = 51\n")),
    Wrong("text without quotes", ("unquoted.toml", "line", "is not TOML", "texts stand in quotes"),
          jack(WIDTH, "width = 51 mm")),
    Wrong("not UTF-8", ("latin.toml", "is not UTF-8", "UTF-8 text", "save it as UTF-8"),
          JACK.encode("latin-1", "replace").replace(b"jack", b"j\xe4ck")),
    Wrong("UTF-16", ("wide.toml", "byte 0 is not UTF-8", "save it as UTF-8"), JACK.encode("utf-16")),
    Wrong("a picture", ("picture.toml", "is not UTF-8", "save it as UTF-8"), b"\x89PNG\r\n\x1a\n" + bytes(range(256))),
    Wrong("bytes of nothing", ("zeros.toml", "is not TOML", "mend the line"), b"\0" * 64),
    Wrong("deep nesting", ("deep.toml", "is not TOML", "mend the line"), b"a = " + b"[" * 20_000),
    Wrong("deep list", ("iron.width", "repeated readings", A_LENGTH), jack(WIDTH, f"width = {'[' * 60}51{']' * 60}")),
    Wrong("huge file", ("huge.toml", "larger than 1 MB", "small text file"), b"# " + b"x" * (LARGEST_FILE + 1)),
)  # fmt: skip


def named(wrong: Wrong) -> str:
    return next((said for said in wrong.said if said.endswith(".toml")), "set.toml")


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Run the command line in this process; return exit code, stdout, stderr."""
    code = main(arguments)
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def tree(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


def in_order(said: tuple[str, ...], message: str) -> bool:
    """Tell whether a message holds all of these, one after the other."""
    rest = message
    for one in said:
        _, found, rest = rest.partition(one)
        if not found:
            return False
    return True


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that the command is run in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PLANESTOCK_TRACEBACK", raising=False)
    return tmp_path


@pytest.mark.parametrize("wrong", SETS, ids=lambda wrong: wrong.name)
def test_a_wrong_set_is_refused_in_one_message_and_nothing_is_written(
    wrong: Wrong, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / named(wrong)).write_bytes(JACK.encode() if wrong.content is None else wrong.content)
    before = tree(here)
    changes = [part for change in wrong.changes for part in ("--set", change)]
    code, out, said = run(["build", named(wrong), *changes], capsys)
    assert (code, out) == (2, "")
    assert in_order(wrong.said, said), said
    assert "Traceback" not in said
    assert all(line.startswith("planestock: ") for line in said.splitlines())
    assert not wrong.lines or len(said.splitlines()) == wrong.lines
    assert tree(here) == before


COMMANDS = (
    Wrong("no such set", ("jakc", "no such file", "a set is a file or a shipped name", "did you mean jack?"),
          arguments=("build", "jakc")),
    Wrong("no such file", ("mine.toml", "no such file", "Shipped: fore, jack"), arguments=("build", "mine.toml")),
    Wrong("a folder", ("folder", "a folder", "a set is one TOML file", "name the file"), arguments=("build", "folder"),
          prepare=lambda here: (here / "folder").mkdir()),
    Wrong("a file in a file", ("a.toml/b.toml", "no such file", "Shipped"), arguments=("build", "a.toml/b.toml"),
          prepare=lambda here: (here / "a.toml").write_bytes(b"")),
    Wrong("an endless device", ("/dev/zero", "larger than 1 MB", "small text file"), arguments=("build", "/dev/zero")),
    Wrong("a file that cannot be read", ("/proc/self/mem", "Input/output error", "cannot be read", "permissions"),
          arguments=("build", "/proc/self/mem")),
    Wrong("a name too long for the system", ("xxx", "File name too long", "cannot be read"),
          arguments=("build", "x" * 5000 + ".toml")),
    Wrong("a name with a zero byte", ("a�b", "null byte", "cannot be read"), arguments=("build", "a\0b.toml")),
    Wrong("a name of nothing", ('""', "a folder", "a set is one TOML file"), arguments=("build", "")),
    Wrong("--set without =", ("--set", "iron.width", "must be path=value", "--set throat.opening=0.8"),
          arguments=("build", "jack", "--set", "iron.width")),
    Wrong("--set without a path", ("--set", "=5", "must be path=value"), arguments=("build", "jack", "--set", "=5")),
    Wrong("--set of nothing", ("--set", '""', "must be path=value"), arguments=("build", "jack", "--set", "")),
    Wrong("--set of an unknown path", ("iron.widht", "5", "is not a field", "did you mean iron.width?"),
          arguments=("build", "jack", "--set", "iron.widht=5")),
    Wrong("--set of an unknown group", ("throut.opening", "1", "is not a field", "throat.opening"),
          arguments=("build", "jack", "--set", "throut.opening=1")),
    Wrong("--set of a last name alone", ("opening", "1", "is not a field", "throat.opening"),
          arguments=("build", "jack", "--set", "opening=1")),
    Wrong("--set into a value", ("iron.width.x", "1", "is not a field", "iron.width is a single value"),
          arguments=("build", "jack", "--set", "iron.width.x=1")),
    Wrong("--set past the end of a list", ("casting.screws.9.length", "30", "'9' is not one of the 2 items",
                "numbered from 0"),
          arguments=("build", "jack", "--set", "casting.screws.9.length=30")),
    Wrong("--set before the start of a list", ("casting.screws.-1.length", "30", "is not a field",
                "casting.screws.0.length"),
          arguments=("build", "jack", "--set", "casting.screws.-1.length=30")),
    Wrong("--set at an endless position", ("casting.screws.999", "30", "is not one of the 2 items"),
          arguments=("build", "jack", "--set", f"casting.screws.{'9' * 5000}.length=30")),
    Wrong("--set of a word into a list", ("casting.screws.last.length", "30", "is not a field",
                "casting.screws.0.length"),
          arguments=("build", "jack", "--set", "casting.screws.last.length=30")),
    Wrong("--set in a list that is not there", ("shop.chisels.0", "6", "the set has none there; give the whole list"),
          arguments=("build", "jack", "--set", "shop.chisels.0=6")),
    Wrong("--set of a wrong value", ("iron.width", "5", "between 20 and 110 mm", HOW_WIDTH),
          arguments=("build", "jack", "--set", "iron.width=5")),
    Wrong("--set of a half-said screw", ("frog.screws.0.across", "required"),
          arguments=("build", "jack", "--set", "frog.screws.0={along = -16}"), lines=3),
    Wrong("--set of bytes that are no text", ("name", "�", "no text"),
          arguments=("build", "jack", "--set", "name=\udcff")),
    Wrong("--set of a number with a comment", ("iron.width", "51#3", "is not a length"),
          arguments=("build", "jack", "--set", "iron.width=51#3")),
    Wrong("unknown command", ("No such command 'biuld'", "planestock --help"), arguments=("biuld", "jack"), lines=2),
    Wrong("unknown option", ("No such option", "--fast", "planestock build --help"),
          arguments=("build", "jack", "--fast"), lines=2),
    Wrong("no set named", ("Missing argument 'SET'", "planestock build --help"), arguments=("build",), lines=2),
    Wrong("two sets named", ("unexpected extra argument", "smoother"),
          arguments=("build", "jack", "smoother"), lines=2),
    Wrong("an option without its value", ("--set", "requires an argument"),
          arguments=("build", "jack", "--set"), lines=2),
    Wrong("an output folder that is a file", ("out.txt", "File exists", "a folder is needed where there is a file",
                "choose another"),
          arguments=("build", "jack", "--numbers", "-o", "out.txt"),
          prepare=lambda here: (here / "out.txt").write_bytes(b"")),
    Wrong("an output folder inside a file", ("out.txt", "a folder is needed where there is a file"),
          arguments=("build", "jack", "--numbers", "-o", "out.txt/deeper"),
          prepare=lambda here: (here / "out.txt").write_bytes(b"")),
    Wrong("a folder where a file goes", ("report.txt", "a folder", "a file is to be written there", "move it"),
          arguments=("build", "jack", "--numbers", "-o", "."), prepare=lambda here: (here / "report.txt").mkdir()),
    Wrong("an output folder with a zero byte", ("--output", "null byte", "planestock build --help"), lines=2,
          arguments=("build", "jack", "--numbers", "-o", "a\0b")),
    Wrong("a new set in the place of another", ("Mine.toml", "a file", "is not replaced", "--overwrite"),
          arguments=("new", "Mine"),
          prepare=lambda here: (here / "Mine.toml").write_bytes(b"precious")),
    Wrong("a new set in the place of a folder", ("Mine.toml", "a folder", "a file is to be written there"),
          arguments=("new", "Mine", "--overwrite"),
          prepare=lambda here: (here / "Mine.toml").mkdir()),
    Wrong("a new set without a name", ("name", '""', "must not be empty", "Any name for this plane."),
          arguments=("new", "")),
    Wrong("a new set with an endless name", ("name", "xxx", "300 characters", "Any name"),
          arguments=("new", "x" * 301)),
    Wrong("a new set from nowhere", ("nowhere", "no such file", "Shipped"),
          arguments=("new", "Mine", "--from", "nowhere")),
    Wrong("a new set with a name for one system only", ("what?.toml", "must not hold", "choose a plain name"),
          arguments=("new", "Mine", "-o", "what?.toml")),
)  # fmt: skip


@pytest.mark.parametrize("wrong", COMMANDS, ids=lambda wrong: wrong.name)
def test_a_wrong_command_is_refused_in_one_message_and_nothing_is_written(
    wrong: Wrong, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong.prepare(here)
    before = tree(here)
    code, out, said = run(list(wrong.arguments), capsys)
    assert (code, out) == (2, ""), said
    assert in_order(wrong.said, said), said
    assert "Traceback" not in said
    assert len(said.splitlines()) == wrong.lines
    assert tree(here) == before


def test_there_are_enough_wrong_cases() -> None:
    assert len({wrong.name for wrong in (*SETS, *COMMANDS)}) == len(SETS) + len(COMMANDS) >= 60


@pytest.mark.parametrize(
    ("fault", "rule"),
    [
        (errno.ENOSPC, "there must be room for all the files; free some space there or choose another folder"),
        (errno.EACCES, "you must be allowed to write there"),
        (errno.EROFS, "the disk must be writable"),
    ],
)
def test_a_disk_that_refuses_leaves_no_file_and_no_folder(
    fault: int, rule: str, here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path, _: bytes) -> None:
        raise OSError(fault, os.strerror(fault), str(path))

    monkeypatch.setattr(renames, "write_synced", refuse)
    code, out, said = run(["build", "jack", "--numbers", "-o", "fresh/place"], capsys)
    assert (code, out) == (2, "")
    assert in_order(("fresh/place", os.strerror(fault), rule), said)
    assert tree(here) == []


def test_all_problems_of_a_set_are_said_at_once_and_a_flood_is_counted(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    unknown = "\n".join(f"no_field_{number} = 1" for number in range(30))
    (here / "many.toml").write_text(f"{unknown}\n{JACK}", "utf-8")
    code, _, said = run(["check", "many.toml"], capsys)
    assert code == 2
    lines = said.splitlines()
    assert len(lines) == 21
    assert lines[-1] == "planestock: and 10 more"


def test_a_set_may_begin_with_a_byte_order_mark(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "marked.toml").write_bytes(b"\xef\xbb\xbf" + JACK.encode())
    assert run(["check", "marked.toml", "--numbers"], capsys)[0] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["build", "jack", "--set", "iron.width=5"], "planestock: iron.width = 5: must lie between 20 and 110 mm. Caliper"),
        (["check", "no-such-set"], "planestock: no-such-set = no such file: "),
        (["chekc", "jack"], "planestock: No such command 'chekc'."),
    ],
)
def test_a_wrong_command_in_a_process_of_its_own_ends_with_2(arguments: list[str], said: str, here: Path) -> None:
    program = "import sys; from planestock.exports.command_line import main; sys.exit(main())"
    ran = subprocess.run([sys.executable, "-c", program, *arguments], capture_output=True, cwd=here, check=False)
    assert (ran.returncode, ran.stdout) == (2, b"")
    assert ran.stderr.decode().startswith(said)
    assert b"Traceback" not in ran.stderr
    assert tree(here) == []
