"""Commands that are killed while they write, two that write at once, and files of an earlier build."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from planestock.exports.command_line import main
from planestock.exports.files import front_door, renames
from planestock.exports.files.front_door import Replaced, mend, replace_all, write_all, write_one
from planestock.exports.files.written_list import LIST_FILE, digest_of, read_list, whose
from planestock.params.problems import InputProblem
from tests.exports.files.test_front_door import fails_at, full_disk, laid_out, names_in, tree

FIRST = {"body.step": b"first body", "prints/gauge.3mf": b"first gauge", "set.toml": b"first set"}
SECOND = {"body.step": b"second body", "cnc/left.step": b"second left", "set.toml": b"second set"}
STRANGERS = {"notes.txt": b"mine", "prints/photo.jpg": b"mine too"}

CALLS = ("mkdir", "rmdir", "rename", "replace", "unlink", "fsync", "link", "chmod")
"""Calls of the system that change a folder, before each of which a process is killed."""


def of(number: int) -> str:
    return whose("1.0", f"{number:064x}")


def build(folder: Path, files: dict[str, bytes]) -> Replaced:
    return replace_all(folder, files, of(1 if files is FIRST else 2))


def result(folder: Path, *builds: dict[str, bytes]) -> dict[str, bytes]:
    """What builds, one after the other, leave in a folder, beside the strangers' files."""
    laid_out(folder, STRANGERS)
    for files in builds:
        build(folder, files)
    return tree(folder)


def killed_at(turn: int, step: Callable[[], object], name: signal.Signals = signal.SIGKILL) -> bool:
    """Run a step in a process of its own that is killed before its call number `turn`. Return False where it got through."""
    child = os.fork()
    if child == 0:
        calls = iter(range(1, 100_000))

        def deadly(real: Callable[..., object]) -> Callable[..., object]:
            def call(*given: object, **named: object) -> object:
                if next(calls) == turn:
                    os.kill(os.getpid(), name)
                return real(*given, **named)

            return call

        code = 1
        with suppress(BaseException):
            for each in CALLS:
                setattr(os, each, deadly(getattr(os, each)))
            step()
            code = 0
        os._exit(code)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, status
    return os.WIFSIGNALED(status)


def every_turn(folder: Path, step: Callable[[Path], object]) -> Iterator[tuple[int, Path]]:
    """Yield folders built once, in which the step was killed at its first call, at its second, and so on."""
    for turn in range(1, 1000):
        place = folder / f"killed at {turn}"
        result(place, FIRST)
        if not killed_at(turn, lambda place=place: step(place)):  # type: ignore[misc]
            assert turn > 20, "hardly any call was seen: the test is blind"
            return
        yield turn, place
    raise AssertionError("it never got through")


def test_wherever_a_build_is_killed_the_folder_is_whole_or_marked_and_the_next_command_mends_it(tmp_path: Path) -> None:
    first, second = result(tmp_path / "a", FIRST), result(tmp_path / "b", FIRST, SECOND)
    marked = 0
    for turn, place in every_turn(tmp_path, lambda folder: build(folder, SECOND)):
        seen = {name: content for name, content in tree(place).items() if not name.startswith(".planestock-")}
        whole = {name: content for name, content in seen.items() if content != b"<folder>"} in (first, second)
        assert whole or (place / renames.UNFINISHED / renames.JOURNAL).is_file(), turn
        marked += not whole
        assert STRANGERS.items() <= seen.items(), turn
        mend(place)
        assert not (place / renames.UNFINISHED).exists()
        write_one(place / "more.txt", b"more")
        assert tree(place) in ({**first, "more.txt": b"more"}, {**second, "more.txt": b"more"}), turn
        build(place, SECOND)
        assert tree(place) == {**second, "more.txt": b"more"}, turn
    assert marked > 5


def test_wherever_the_mending_is_killed_the_next_one_mends_it(tmp_path: Path) -> None:
    def stopped(folder: Path) -> None:
        """A build that is stopped just before its last renaming."""
        real = Path.rename

        def rename(path: Path, target: Path) -> Path:
            if path.name == renames.UNFINISHED:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(path, target)

        Path.rename = rename  # type: ignore[method-assign, assignment]
        build(folder, SECOND)

    first = result(tmp_path / "a", FIRST)
    for turn in range(1, 1000):
        place = tmp_path / f"killed at {turn}"
        result(place, FIRST)
        assert killed_at(0, lambda place=place: stopped(place))  # type: ignore[misc]
        assert tree(place) != first
        through = not killed_at(turn, lambda place=place: mend(place))  # type: ignore[misc]
        mend(place)
        write_one(place / "more.txt", b"more")
        assert tree(place) == {**first, "more.txt": b"more"}, turn
        if through:
            assert turn > 8
            return


def test_a_build_that_is_stopped_by_an_error_is_taken_back_wherever_it_strikes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = result(tmp_path / "a", FIRST)
    for call in ("mkdir", "replace", "rename"):
        for turn in (1, 2, 3, 4):
            place = tmp_path / f"{call} {turn}"
            result(place, FIRST)
            with monkeypatch.context() as patch:
                patch.setattr(os, call, fails_at(turn, getattr(os, call), full_disk()))
                with suppress(InputProblem):
                    build(place, SECOND)
                    continue
            assert tree(place) == first, (call, turn)


def test_what_somebody_changed_after_the_kill_is_left_and_told(tmp_path: Path) -> None:
    result(tmp_path, FIRST)
    assert killed_at(0, lambda: stopped_between(tmp_path))
    (tmp_path / "set.toml").write_bytes(b"edited by hand")
    told = mend(tmp_path)
    assert told == [
        f"{tmp_path}: an earlier command was stopped while it wrote there; the files from before it were put back",
        f"{tmp_path / 'set.toml'} was changed since; it was left as it is",
    ]
    assert (tmp_path / "set.toml").read_bytes() == b"edited by hand"
    assert (tmp_path / "body.step").read_bytes() == b"first body"


def stopped_between(folder: Path) -> None:
    """Build, and be killed when the last file is in place."""
    real = renames._sync

    def sync(folders: object) -> None:
        if (folder / renames.UNFINISHED).exists() and (folder / LIST_FILE).read_bytes().count(b"cnc"):
            os.kill(os.getpid(), signal.SIGKILL)
        real(folders)  # type: ignore[arg-type]

    renames._sync = sync
    build(folder, SECOND)


def test_hidden_folders_of_strangers_stay(tmp_path: Path) -> None:
    laid_out(tmp_path, {".planestock-mine/diary.txt": b"mine", ".planestock-dead/0.new": b"rest"})
    write_one(tmp_path / "a.txt", b"a")
    assert tree(tmp_path) == {".planestock-mine/diary.txt": b"mine", "a.txt": b"a"}


@pytest.mark.parametrize(
    "journal",
    [
        None,
        b"",
        b"[]",
        b"[" * 100_000,
        b'{"moves": [{"name": "../stranger.txt", "fresh": null, "replaces": true}], "folders": []}',
        b'{"moves": [{"name": 5, "fresh": null, "replaces": true}], "folders": []}',
        b'{"moves": [], "folders": ["../stranger"]}',
    ],
)
def test_a_marked_folder_without_a_sound_journal_is_refused(tmp_path: Path, journal: bytes | None) -> None:
    out = laid_out(tmp_path / "out", {f"{renames.UNFINISHED}/0.old": b"old"})
    (tmp_path / "stranger").mkdir()
    if journal is not None:
        (out / renames.UNFINISHED / renames.JOURNAL).write_bytes(journal)
    before = tree(tmp_path)
    with pytest.raises(InputProblem, match="must be planestock's own; move it elsewhere"):
        write_all(out, FIRST)
    assert tree(tmp_path) == before


def test_two_who_write_at_once_wait_for_each_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    result(tmp_path, FIRST)
    waited: list[float] = []
    holder = front_door._locked(tmp_path)
    holder.__enter__()

    def sleep(seconds: float) -> None:
        waited.append(seconds)
        if len(waited) == 3:
            holder.__exit__(None, None, None)

    monkeypatch.setattr(time, "sleep", sleep)
    build(tmp_path, SECOND)
    assert len(waited) == 3
    assert tree(tmp_path) == result(tmp_path / "other", FIRST, SECOND) | {}


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(front_door, "LONGEST_WAIT", -1.0)
    with (
        front_door._locked(tmp_path),
        pytest.raises(InputProblem, match="another planestock is writing there: one writes at a time; try again later"),
    ):
        write_one(tmp_path / "a.txt", b"a")
    assert tree(tmp_path) == {}


# Files of an earlier build


def test_files_of_another_set_are_removed_and_strangers_stay(tmp_path: Path) -> None:
    laid_out(tmp_path, STRANGERS)
    build(tmp_path, FIRST)
    done = build(tmp_path, SECOND)
    assert done == Replaced(removed=("prints/gauge.3mf",), changed=(), kept={}, others=())
    assert {name: content for name, content in tree(tmp_path).items() if name != LIST_FILE} == {**SECOND, **STRANGERS}


def test_a_folder_that_held_nothing_else_goes_with_its_files(tmp_path: Path) -> None:
    build(tmp_path, FIRST)
    build(tmp_path, SECOND)
    assert not (tmp_path / "prints").exists()


def test_files_that_still_stand_stay_and_stay_in_the_list(tmp_path: Path) -> None:
    build(tmp_path, FIRST)
    done = replace_all(tmp_path, {"set.toml": b"first set"}, of(1))
    assert done == Replaced((), (), {}, ("body.step", "prints/gauge.3mf"))
    listed = read_list((tmp_path / LIST_FILE).read_bytes())
    assert listed.digests == {name: digest_of(content) for name, content in FIRST.items()}
    assert build(tmp_path, SECOND).removed == ("prints/gauge.3mf",)


def test_a_file_that_was_changed_is_kept_and_told(tmp_path: Path) -> None:
    build(tmp_path, FIRST)
    laid_out(tmp_path, {"prints/gauge.3mf": b"painted", "body.step": b"filed by hand"})
    (tmp_path / "body.step").chmod(0o600)
    done = build(tmp_path, SECOND)
    assert done == Replaced((), ("prints/gauge.3mf",), {"body.step": "body.yours.step"}, ())
    assert (tmp_path / "prints/gauge.3mf").read_bytes() == b"painted"
    assert (tmp_path / "body.yours.step").read_bytes() == b"filed by hand"
    assert (tmp_path / "body.yours.step").stat().st_mode & 0o777 == 0o600
    assert (tmp_path / "body.step").read_bytes() == b"second body"
    laid_out(tmp_path, {"body.step": b"filed again"})
    assert build(tmp_path, FIRST).kept == {"body.step": "body.yours2.step", "prints/gauge.3mf": "prints/gauge.yours.3mf"}


def test_a_list_leads_nowhere_else(tmp_path: Path) -> None:
    out = laid_out(tmp_path / "out", {"real/inside.txt": b"far", "plain.txt": b"x"})
    laid_out(tmp_path, {"outside.txt": b"x", "far/inside.txt": b"far"})
    (out / "linked").symlink_to(tmp_path / "far")
    (out / "link.txt").symlink_to(tmp_path / "outside.txt")
    names = ["../outside.txt", str(tmp_path / "outside.txt"), "link.txt", "linked/inside.txt", LIST_FILE, "real", "gone.txt"]
    lines = [f"{digest_of(b'x')}  {name}" for name in names] + [f"{digest_of(b'far')}  linked/inside.txt", "\udcff nonsense"]
    (out / LIST_FILE).write_text("\n".join(lines), "utf-8", "surrogateescape")
    done = build(out, FIRST)
    assert (done.removed, done.changed) == ((), ("link.txt", "linked/inside.txt"))
    assert {name: tree(tmp_path)[name] for name in ("outside.txt", "far/inside.txt", "out/real/inside.txt")} == {
        "outside.txt": b"x", "far/inside.txt": b"far", "out/real/inside.txt": b"far",
    }  # fmt: skip


def test_the_list_is_one_that_a_tool_of_the_system_checks(tmp_path: Path) -> None:
    build(tmp_path, FIRST)
    ran = subprocess.run(["sha256sum", "-c", LIST_FILE], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout.splitlines()) == (0, [f"{name}: OK" for name in FIRST])


# The commands


def test_a_build_of_another_set_removes_the_old_prints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    laid_out(tmp_path / "o", {"prints/mine.txt": b"mine"})
    build_numbers("jack")
    old = digest_of(b"old jig")
    laid_out(tmp_path / "o", {"prints/jig.3mf": b"old jig"})
    with (tmp_path / "o" / LIST_FILE).open("a") as listed:
        listed.write(f"{old}  prints/jig.3mf\n")
    capsys.readouterr()
    build_numbers("jack")
    assert "prints" not in capsys.readouterr().err, "the same set: its print stands"
    build_numbers("fore")
    said = capsys.readouterr().err.splitlines()
    assert said == ["planestock: removed from o what an earlier build of another set had written: prints/jig.3mf"]
    assert names_in(tmp_path / "o" / "prints") == ["mine.txt"]


def build_numbers(source: str, *more: str) -> int:
    return main(["build", source, "--numbers", "-o", "o", *more])


def test_a_set_in_the_folder_that_is_built_into_is_never_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    build_numbers("jack")
    text = (tmp_path / "o" / "set.toml").read_text("utf-8").replace("opening = 2.0", "opening = 2.1")
    (tmp_path / "o" / "set.toml").write_text(text + "# my note\n", "utf-8")
    capsys.readouterr()
    build_numbers("o/set.toml")
    assert "is kept as" not in capsys.readouterr().err, "the text is in the new file"
    (tmp_path / "o" / "set.toml").write_text(text, "utf-8")
    build_numbers("fore")
    said = capsys.readouterr().err
    assert "planestock: o/set.toml was not as planestock had written it; it is kept as o/set.yours.toml\n" in said
    assert (tmp_path / "o" / "set.yours.toml").read_text("utf-8") == text


@pytest.mark.parametrize("name", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_command_that_is_asked_to_end_takes_back_and_clears_up(tmp_path: Path, name: signal.Signals) -> None:
    first = result(tmp_path, FIRST)
    program = f"""
import os, signal, sys, typer
from pathlib import Path
from planestock.exports.commands.endings import ended
from planestock.exports.files.front_door import replace_all
calls = iter(range(1000))
real = Path.replace
def replace(path, target):
    if next(calls) == 2:
        os.kill(os.getpid(), {name.value})
    return real(path, target)
Path.replace = replace
signal.signal({name.value}, signal.default_int_handler if {name.value} == signal.SIGINT else signal.SIG_DFL)
application = typer.Typer()
application.command()(lambda: replace_all(Path({str(tmp_path)!r}), {SECOND!r}, {of(2)!r}) and 0)
sys.exit(ended(lambda: application(args=[], standalone_mode=False)))
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stderr) == (128 + name, "planestock: stopped; no file was left half-written\n")
    assert tree(tmp_path) == first


WRITES_ON = """
import itertools, sys
from pathlib import Path
from planestock.exports.files.front_door import replace_all
from planestock.exports.files.written_list import whose
from tests.exports.files.test_stopped import MANY, of
print("ready", flush=True)
for number in itertools.count(1):
    replace_all(Path(sys.argv[1]), MANY[number % 2], of(number % 2))
"""

MANY = [
    {f"{'prints/' * (n % 2)}{kind}{n}.bin": bytes([n, side]) * 20_000 for n in range(24)} for side, kind in enumerate("ab")
]
"""Two builds that have no file in common."""


@pytest.mark.long
@pytest.mark.parametrize("name", [signal.SIGKILL, signal.SIGTERM])
def test_killed_at_any_time_two_hundred_times(tmp_path: Path, name: signal.Signals) -> None:
    draw = random.Random(20)
    out = laid_out(tmp_path / "out", {"notes.txt": b"mine"})
    wholes = []
    for side in (0, 1):
        laid_out(tmp_path / str(side), {"notes.txt": b"mine"})
        replace_all(tmp_path / str(side), MANY[side], of(side))
        wholes.append(tree(tmp_path / str(side)))
    replace_all(out, MANY[0], of(0))
    marked = 0
    for turn in range(200):
        with subprocess.Popen([sys.executable, "-c", WRITES_ON, str(out)], stdout=subprocess.PIPE) as writing:
            assert writing.stdout is not None
            writing.stdout.readline()
            time.sleep(draw.uniform(0, 0.15))
            writing.send_signal(name)
        is_marked = (out / renames.UNFINISHED).exists()
        marked += is_marked
        seen = {key: content for key, content in tree(out).items() if not key.startswith(".planestock-")}
        assert is_marked or {key: found for key, found in seen.items() if found != b"<folder>"} in wholes, turn
        write_one(out / "notes.txt", b"mine")
        assert {key: found for key, found in tree(out).items() if found != b"<folder>"} in wholes, turn
    assert marked > 10
