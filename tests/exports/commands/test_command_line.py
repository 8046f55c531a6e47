"""The command line: what each command prints and writes, its exit codes, and that it starts without the solid kernel."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from planestock.exports import building
from planestock.exports.building import WRITERS, Writer, marked, order_for
from planestock.exports.command_line import COMMANDS, main
from planestock.exports.commands.endings import HOW_TO_REPORT
from planestock.exports.files.file_names import file_name
from planestock.exports.files.stamp import Stamp
from planestock.models import design as designing
from planestock.models.solids.kernel import KernelProblem
from planestock.params.catalogue import catalogue
from planestock.params.files import load, plainly, shipped
from tests.support.full_set import full, full_design, plain

HEAVY = (
    "OCP",
    "cadquery",
    "ezdxf",
    "manifold3d",
    "numpy",
    "pydantic",
    "rich",
    "scipy",
    "tomlkit",
    "trimesh",
    "typst",
    "vtkmodules",
)
"""What `planestock --help` must not wait for."""
CAD = ("OCP", "cadquery", "manifold3d", "scipy", "trimesh", "vtkmodules")
"""What `check --numbers` must not wait for."""
FAILING = "throat.opening=0.9"
"""Makes mouth-passes-cut fail, and nothing that would stop the solids."""


class Ran:
    """One run of the command line in this process."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run a command in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PLANESTOCK_TRACEBACK", raising=False)
    monkeypatch.delenv("COLUMNS", raising=False)

    def running(*arguments: str) -> Ran:
        capsys.readouterr()
        code = main(arguments)
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return running


@pytest.fixture
def block(tmp_path: Path) -> str:
    """A file with the plain block: the least that can be built."""
    path = tmp_path / "block.toml"
    path.write_text(plainly(plain()), "utf-8")
    return "block.toml"


def tree(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in tree(folder)}


def loaded_by(*arguments: str) -> set[str]:
    """Run a command in a fresh interpreter and return which of the heavy libraries it loaded."""
    program = (
        "import sys\nfrom planestock.exports.command_line import main\n"
        f"main({list(arguments)!r})\nprint('loaded:', *[name for name in {HEAVY!r} if name in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return set(ran.stdout.rpartition("loaded:")[2].split())


def test_help_loads_nothing_heavy() -> None:
    assert loaded_by("--help") == set()


def test_checking_numbers_loads_no_cad() -> None:
    assert loaded_by("check", "jack", "--numbers") & set(CAD) == set()
    assert "rich" not in loaded_by("check", "jack", "--numbers", "--json")


def test_help_names_every_command_and_bare_planestock_is_help(run: Any) -> None:
    helped = run("--help")
    assert helped.code == 0
    assert helped.out == run().out
    for command in COMMANDS:
        assert f"\n  {command.__name__.strip('_')} " in helped.out
        assert run(command.__name__.strip("_"), "-h").code == 0


def test_the_version_is_the_packages(run: Any) -> None:
    assert run("--version").out.startswith("planestock 0.")


def test_check_says_what_to_cut_then_shows_key_numbers_and_on_request_every_check(run: Any) -> None:
    ran = run("check", "jack", "--numbers")
    assert (ran.code, ran.err) == (0, "")
    lines = [line.strip() for line in ran.out.splitlines()]
    assert lines[1].startswith("Cut the body 47.19 mm thick")
    first = next(index for index, line in enumerate(lines) if line.startswith("Thickness  "))
    firsts = [line.split("  ")[0] for line in lines[first : first + 6]]
    assert firsts == ["Thickness", "Window", "Edge out", "Edge back", "Wear left", "Mouth"]
    lines = [line.strip() for line in run("check", "jack", "--numbers", "--all").out.splitlines()]
    for row in run("check", "jack", "--numbers", "--json").json["checks"]:
        assert any(line.startswith(f"{row['verdict']}     {row['id']} ") for line in lines), row["id"]


def test_check_fits_eighty_columns_and_uses_no_colour_where_there_is_no_terminal(run: Any) -> None:
    out = run("check", "fore", "--numbers", "--set", "throat.opening=0.9 mm").out
    assert max(map(len, out.splitlines())) <= 80
    assert "\x1b" not in out


def test_a_failing_check_ends_with_1_and_says_what_to_change(run: Any) -> None:
    ran = run("check", "jack", "--numbers", "--set", FAILING)
    assert ran.code == 1
    told = " ".join(ran.out.split())
    assert (
        "FAIL mouth-passes-cut: The mouth stays open at the deepest cut 0.10 mm, asked ≥ 0.80 mm: 0.70 mm too little "
        "change: a shaving needs" in told
    )
    assert told.endswith("The solids were not built or checked.")


def test_a_warning_is_named_and_ends_with_0(run: Any) -> None:
    ran = run("check", "jack", "--numbers", "--set", "iron.bevel_angle=37")
    assert ran.code == 0
    assert "WARN clearance-angle" in ran.out
    assert "change: grind a smaller iron.bevel_angle" in ran.out


def test_check_in_json_is_one_object_on_stdout_alone(run: Any) -> None:
    ran = run("check", "jack", "--json", "--numbers", "--set", FAILING)
    assert (ran.code, ran.err) == (1, "")
    assert ran.json["verdict"] == "fail"
    assert ran.json["mouth"]["opening"] == 0.9
    assert ran.json["set"]["digest"] == load("jack", [FAILING]).digest


def test_check_with_solids_has_their_checks_and_masses(run: Any, block: str) -> None:
    ran = run("check", block, "--json")
    assert ran.json["mass"]["body"] > 100
    assert "solids-sound" in {row["id"] for row in ran.json["checks"]}


def test_build_writes_every_file_and_says_where(run: Any, tmp_path: Path) -> None:
    (tmp_path / "everything.toml").write_text(plainly(full("body.centre_strip=6", "body.pad=12", "body.slip=5")), "utf-8")
    ran = run("build", "everything.toml", "--allow-failing")
    parts = ("right-half", "left-half", "centre-strip", "pad", "slip")
    made = tmp_path / "out" / "Everything-at-once"
    expected = {
        "Everything-at-once.step", "Everything-at-once.glb", "parts.3mf", "report.json", "report.txt", "set.toml",
        *(f"parts/{part}.{kind}" for part in parts for kind in ("step", "stl")),
    }  # fmt: skip
    assert set(tree(made)) >= expected
    assert all(name in ran.out for name in expected)
    assert "into out/Everything-at-once:" in ran.out


def test_the_same_set_gives_the_same_bytes_in_another_folder_and_from_its_own_copy(
    run: Any, block: str, tmp_path: Path
) -> None:
    assert run("build", block, "-o", "one").code == 0
    assert run("build", block, "-o", "two/deeper").code == 0
    assert run("build", "one/set.toml", "-o", "three").code == 0
    assert contents(tmp_path / "one") == contents(tmp_path / "two" / "deeper") == contents(tmp_path / "three")


def test_no_file_carries_a_place_or_a_day(run: Any, block: str, tmp_path: Path) -> None:
    run("build", block, "-o", "made")
    for name, content in contents(tmp_path / "made").items():
        for word in (str(tmp_path), tmp_path.name, "block.toml", time.strftime("%Y-%m-%d")):
            assert word.encode() not in content, name


def test_nothing_is_written_while_a_check_fails(run: Any, block: str, tmp_path: Path) -> None:
    ran = run("build", block, "-o", "made", "--set", FAILING)
    assert ran.code == 1
    assert "FAIL mouth-passes-cut" in ran.out
    assert "nothing was written" in ran.err
    assert tree(tmp_path) == ["block.toml"]
    assert not (tmp_path / "made").exists()


def test_every_file_says_that_a_check_fails_when_it_is_allowed(run: Any, block: str, tmp_path: Path) -> None:
    ran = run("build", block, "-o", "made", "--set", FAILING, "--allow-failing")
    assert ran.code == 1
    files = contents(tmp_path / "made")
    assert json.loads(files.pop("report.json"))["verdict"] == "fail"
    assert len(files) > 7
    for name, content in files.items():
        said = readable(name, content)
        assert "FAILS ITS CHECKS" in said or "mouth-passes-cut" in said, name


def readable(name: str, content: bytes) -> str:
    """Return the text inside a file, unpacked where it is packed."""
    if name.endswith(".pdf"):
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    if name.endswith(".3mf"):
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            content = b"".join(archive.read(inner) for inner in archive.namelist())
    return content.decode("utf-8", "replace")


def test_build_of_numbers_alone_writes_what_needs_no_solids(run: Any, tmp_path: Path) -> None:
    assert run("build", "jack", "--numbers", "-o", "made").code == 0
    assert {"report.json", "report.txt", "set.toml"} <= set(tree(tmp_path / "made"))
    assert not any(name.endswith((".step", ".stl", ".glb", ".3mf")) for name in tree(tmp_path / "made"))


def test_build_in_json_names_its_files(run: Any, tmp_path: Path) -> None:
    ran = run("build", "jack", "--numbers", "--json", "-o", "made")
    assert ran.json["folder"] == "made"
    assert sorted(ran.json["files"]) == tree(tmp_path / "made")
    assert json.loads((tmp_path / "made" / "report.json").read_text("utf-8")).items() <= ran.json.items()


def test_the_set_as_used_keeps_comments_and_has_the_changes(run: Any, tmp_path: Path) -> None:
    run("build", "jack", "--numbers", "-o", "made", "--set", "throat.opening=1.9")
    text = (tmp_path / "made" / "set.toml").read_text("utf-8")
    digest = load("jack", ["throat.opening=1.9"]).digest
    assert "# A jack plane, invented for planestock" in text
    assert load(str(tmp_path / "made" / "set.toml")).digest == digest
    assert text.startswith("# planestock: the set exactly as used by planestock 0.")
    assert f"digest {digest[:12]}." in text.splitlines()[0]


def test_a_file_beside_those_of_a_build_is_pointed_out(run: Any, block: str, tmp_path: Path) -> None:
    run("build", block, "-o", "made")
    (tmp_path / "made" / "parts" / "pad.step").write_bytes(b"old")
    (tmp_path / "made" / "notes.txt").write_bytes(b"the maker's own")
    ran = run("build", block, "-o", "made")
    assert ran.code == 0
    assert ran.err.splitlines() == ["planestock: made/parts/pad.step is not of this build; it was left there"]


def test_a_set_can_come_through_a_pipe() -> None:
    program = "import sys; from planestock.exports.command_line import main; sys.exit(main())"
    ran = subprocess.run(
        [sys.executable, "-c", program, "check", "/dev/stdin", "--numbers", "--json"],
        input=shipped()["jack"].encode(), capture_output=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["set"]["digest"] == load("jack").digest


def test_new_writes_a_set_that_checks(run: Any, tmp_path: Path) -> None:
    ran = run("new", "Großvaters Rauhbank", "--from", "jointer")
    assert ran.code == 0
    assert tree(tmp_path) == ["Grossvaters-Rauhbank.toml"]
    assert load(str(tmp_path / "Grossvaters-Rauhbank.toml")).name == "Großvaters Rauhbank"
    assert run("check", "Grossvaters-Rauhbank.toml", "--numbers").code == 0


@pytest.mark.parametrize(
    ("name", "file", "called"),
    [("mine", "mine.toml", "mine"), ("mine.toml", "mine.toml", "mine"), ("a/b.toml", "a/b.toml", "b"),
     ("No. 5/8", "No-5-8.toml", "No. 5/8"),
     ("No. 5", "No-5.toml", "No. 5")],
)  # fmt: skip
def test_new_writes_the_path_that_is_named(run: Any, tmp_path: Path, name: str, file: str, called: str) -> None:
    assert run("new", name).code == 0
    assert tree(tmp_path) == [file]
    assert load(str(tmp_path / file)).name == called


def test_new_never_overwrites_unless_told(run: Any, tmp_path: Path) -> None:
    (tmp_path / "Mine.toml").write_text("precious", "utf-8")
    assert run("new", "Mine").code == 2
    assert (tmp_path / "Mine.toml").read_text("utf-8") == "precious"
    assert run("new", "Mine", "--overwrite").code == 0
    assert load(str(tmp_path / "Mine.toml")).name == "Mine"


def test_an_empty_new_set_says_what_to_measure(run: Any) -> None:
    run("new", "Mine", "--empty")
    ran = run("check", "Mine.toml", "--numbers")
    assert ran.code == 2
    assert "planestock: iron.width: is required and was not given. Caliper across the iron" in ran.err


def test_sets_lists_the_shipped_ones(run: Any) -> None:
    out = run("sets").out
    assert [line.split()[0] for line in out.splitlines()] == sorted(shipped())


def test_schema_is_json_and_knows_every_field(run: Any) -> None:
    schema = run("schema").json
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    names = {each.path.rpartition(".")[2] for each in catalogue()}
    known = {name for group in [schema, *schema["$defs"].values()] for name in group["properties"]}
    assert names <= known


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Invented jack", "Invented-jack"),
        ("  ../../etc/passwd ", "etc-passwd"),
        ("Großvaters Höbel Nr. 5", "Grossvaters-Hobel-Nr-5"),
        ("con", "plane-con"),
        ("木", "plane"),
        ("", "plane"),
        ("a" * 100, "a" * 60),
        ("a\nb\tc\0d", "a-b-c-d"),
    ],
)
def test_any_name_becomes_a_plain_file_name(text: str, name: str) -> None:
    assert file_name(text) == name


def test_a_kernel_problem_ends_with_3_in_one_line(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: object) -> None:
        raise KernelProblem("throat: the solid kernel failed (no result); change throat.breast_lean slightly")

    monkeypatch.setattr("planestock.models.solids.assembly.assemble", failing)
    ran = run("check", "jack")
    assert (ran.code, ran.out) == (3, "")
    first = "planestock: throat: the solid kernel failed (no result); change throat.breast_lean slightly"
    assert ran.err.splitlines() == [first, HOW_TO_REPORT]


def test_an_unforeseen_fault_ends_with_3_and_its_place_is_shown_only_on_request(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object) -> None:
        raise ZeroDivisionError("division by zero\nand more")

    monkeypatch.setattr(designing, "design", failing)
    ran = run("check", "jack", "--numbers")
    assert ran.code == 3
    assert ran.err.splitlines() == ["planestock: something broke: ZeroDivisionError: division by zero", HOW_TO_REPORT]
    monkeypatch.setenv("PLANESTOCK_TRACEBACK", "1")
    ran = run("check", "jack", "--numbers")
    assert "Traceback" in ran.err
    assert "in failing" in ran.err


def test_too_little_memory_ends_with_3(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(designing, "design", failing)
    assert run("check", "jack").err == "planestock: there is not enough memory for this body\n"


def test_the_keyboard_stops_a_command_without_a_traceback(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(designing, "design", stopped)
    ran = run("build", "jack")
    assert (ran.code, ran.out) == (130, "")
    assert ran.err == "planestock: stopped; no file was left half-written\n"


def piped(*arguments: str, **how: Any) -> subprocess.Popen[bytes]:
    program = "import sys; from planestock.exports.command_line import main; sys.exit(main())"
    return subprocess.Popen([sys.executable, "-c", program, *arguments], stderr=subprocess.PIPE, **how)


def test_a_reader_that_goes_away_is_no_fault() -> None:
    """The schema is larger than a pipe holds, so that writing it really fails."""
    reading, writing = os.pipe()
    os.close(reading)
    with piped("schema", stdout=writing) as ran:
        os.close(writing)
        assert ran.stderr is not None
        assert ran.stderr.read() == b""
    assert ran.returncode == 128 + signal.SIGPIPE


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_under_stdout_is_said_in_one_line() -> None:
    with Path("/dev/full").open("wb") as full_disk, piped("sets", stdout=full_disk) as ran:
        assert ran.stderr is not None
        said = ran.stderr.read().decode()
    assert ran.returncode == 3
    assert said == "planestock: No space left on device; free some space\n"


def test_a_terminal_that_lacks_letters_shows_question_marks() -> None:
    environment = os.environ | {"PYTHONIOENCODING": "ascii"}
    with piped("check", "jack", "--numbers", "--all", stdout=subprocess.PIPE, env=environment) as ran:
        assert ran.stdout is not None
        out = ran.stdout.read()
    assert ran.returncode == 0
    assert b"? 0.80 mm" in out


def test_writers_are_listed_once_and_do_not_overwrite_one_another(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len({writer.title for writer in WRITERS}) == len(WRITERS)
    order = order_for(full_design(), "", solids=False)
    twice = Writer("same", False, lambda _: {"report.txt": b""})
    monkeypatch.setattr(building, "WRITERS", (*WRITERS, twice))
    with pytest.raises(ValueError, match=r"two writers give a file report\.txt"):
        building.files_of(order)


def test_marks_on_a_set_are_replaced_and_not_repeated() -> None:
    first, second = Stamp("x", "1" * 64, "0.1.0"), Stamp("x", "2" * 64, "0.1.0", ("cheek",))
    text = "# my own comment\nname = 'x'\n"
    assert marked(marked(text, first), second) == marked(text, second)
    assert marked(text, second).endswith(text)
    assert "FAILS ITS CHECKS: cheek" in marked(text, second)
