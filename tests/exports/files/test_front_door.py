from __future__ import annotations

import errno
import os
import resource
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planestock.exports.files.front_door import write_all, write_one
from planestock.params.problems import InputProblem

FILES = {"body.step": b"step" * 1000, "prints/left.stl": b"left", "prints/right.stl": b"right", "empty.txt": b""}
OLD = {"body.step": b"old body", "prints/right.stl": b"old right", "notes.txt": b"mine"}


def tree(folder: Path) -> dict[str, bytes]:
    """All files below a folder, hidden ones and empty folders too."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else b"<folder>"
        for path in sorted(folder.rglob("*"))
        if path.is_file() or not any(path.iterdir())
    }


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def laid_out(folder: Path, files: dict[str, bytes]) -> Path:
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def fails_at(turn: int, real: Callable[..., object], error: BaseException) -> Callable[..., object]:
    """A stand-in for a call of the system that does its work, until the given turn, when it raises instead."""
    calls = iter(range(1, 1000))

    def call(*given: object) -> object:
        if next(calls) == turn:
            raise error
        return real(*given)

    return call


def full_disk() -> OSError:
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_files_arrive_whole_in_a_new_folder_and_its_subfolder(tmp_path: Path) -> None:
    out = tmp_path / "out" / "try plane"
    written = write_all(out, FILES)
    assert written == [out / name for name in FILES]
    assert tree(out) == FILES


def test_files_of_an_earlier_run_are_replaced_and_others_left_alone(tmp_path: Path) -> None:
    out = laid_out(tmp_path / "out", OLD)
    write_all(out, FILES)
    assert tree(out) == {**FILES, "notes.txt": b"mine"}


def test_writing_twice_leaves_the_same_tree(tmp_path: Path) -> None:
    write_all(tmp_path, FILES)
    write_all(tmp_path, FILES)
    assert tree(tmp_path) == FILES


def test_new_files_have_the_permissions_any_new_file_has(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    (written,) = write_all(tmp_path / "out", {"body.step": b"x"})
    assert stat.S_IMODE(written.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)


def test_a_link_stays_a_link_and_the_file_it_leads_to_gets_the_content(tmp_path: Path) -> None:
    elsewhere = laid_out(tmp_path / "elsewhere", {"body.step": b"old"})
    out = tmp_path / "out"
    out.mkdir()
    (out / "body.step").symlink_to(elsewhere / "body.step")
    (out / "through.step").symlink_to("body.step")
    (out / "dangling.stl").symlink_to(elsewhere / "new.stl")
    write_all(out, {"body.step": b"new", "dangling.stl": b"mesh"})
    assert tree(elsewhere) == {"body.step": b"new", "new.stl": b"mesh"}
    assert write_one(out / "through.step", b"newer") == out / "through.step"
    assert tree(elsewhere) == {"body.step": b"newer", "new.stl": b"mesh"}
    assert all((out / name).is_symlink() for name in ("body.step", "through.step", "dangling.stl"))
    assert names_in(out) == ["body.step", "dangling.stl", "through.step"]


def test_a_failure_leaves_what_a_link_leads_to_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "set.toml").write_bytes(b"old")
    out = laid_out(tmp_path / "out", {"b.txt": b"b"})
    (out / "a.txt").symlink_to(tmp_path / "set.toml")
    monkeypatch.setattr(Path, "replace", fails_at(2, Path.replace, OSError(errno.EIO, "broken")))
    with pytest.raises(InputProblem):
        write_all(out, {"a.txt": b"new", "b.txt": b"new"})
    assert tree(tmp_path) == {"out/a.txt": b"old", "out/b.txt": b"b", "set.toml": b"old"}
    assert (out / "a.txt").is_symlink()


def test_a_link_that_leads_nowhere_is_refused(tmp_path: Path) -> None:
    (tmp_path / "circle.txt").symlink_to("circle.txt")
    (tmp_path / "lost.txt").symlink_to(tmp_path / "no such folder" / "a.txt")
    with pytest.raises(InputProblem, match="a link must lead to a file"):
        write_one(tmp_path / "circle.txt", b"x")
    for name in ("circle.txt", "lost.txt"):
        with pytest.raises(InputProblem, match="a link must lead"):
            write_all(tmp_path, {"a.txt": b"a", name: b"x"})
    assert names_in(tmp_path) == ["circle.txt", "lost.txt"]


def test_a_link_to_another_disk_is_written_through(tmp_path: Path) -> None:
    with tempfile.TemporaryDirectory(dir="/dev/shm") as other:
        if Path(other).stat().st_dev == tmp_path.stat().st_dev:
            pytest.skip("one disk here")
        far = Path(other, "set.toml")
        far.write_bytes(b"old")
        (tmp_path / "set.toml").symlink_to(far)
        write_one(tmp_path / "set.toml", b"new")
        assert far.read_bytes() == b"new"
        with pytest.raises(InputProblem, match="on the same disk"):
            write_all(tmp_path, {"a.txt": b"a", "set.toml": b"newer"})
        assert (names_in(tmp_path), far.read_bytes()) == (["set.toml"], b"new")


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o666])
def test_a_file_that_is_replaced_keeps_its_mode(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "set.toml"
    path.write_bytes(b"old")
    path.chmod(mode)
    write_one(path, b"new")
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"new", mode)


@pytest.mark.skipif(os.geteuid() != 0, reason="only the superuser may give files away")
def test_a_file_that_is_replaced_keeps_its_owner(tmp_path: Path) -> None:
    path = tmp_path / "set.toml"
    path.write_bytes(b"old")
    os.chown(path, 65534, 65534)
    write_one(path, b"new")
    assert (path.stat().st_uid, path.stat().st_gid) == (65534, 65534)


def test_a_file_that_must_not_be_written_to_is_refused() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        (folder / "set.toml").write_bytes(b"old")
        (folder / "set.toml").chmod(0o444)
        with someone_without_privileges(), pytest.raises(InputProblem, match="you must be allowed to write"):
            write_one(folder / "set.toml", b"new")
        assert tree(folder) == {"set.toml": b"old"}


def test_nothing_to_write_writes_nothing(tmp_path: Path) -> None:
    assert write_all(tmp_path / "out", {}) == []
    assert tree(tmp_path) == {}


def test_one_file_is_written_as_many_are(tmp_path: Path) -> None:
    path = tmp_path / "new" / "report.html"
    assert write_one(path, b"page") == path
    assert tree(tmp_path) == {"new/report.html": b"page"}


def test_a_relative_folder_is_taken_from_where_the_user_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_all(Path("out"), {"a.txt": b"a"})
    write_one(Path("b.txt"), b"b")
    assert tree(tmp_path) == {"out/a.txt": b"a", "b.txt": b"b"}


@pytest.mark.parametrize("turn", [1, 2, 3, 4])
def test_a_full_disk_at_any_file_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, turn: int
) -> None:
    out = laid_out(tmp_path / "out", OLD)
    monkeypatch.setattr(os, "fsync", fails_at(turn, os.fsync, full_disk()))
    with pytest.raises(InputProblem) as caught:
        write_all(out, FILES)
    assert tree(tmp_path) == {f"out/{name}": content for name, content in OLD.items()}
    (problem,) = caught.value.problems
    assert problem.path == str(out)
    assert problem.value == os.strerror(errno.ENOSPC)
    assert problem.rule == "there must be room for all the files"
    assert "free some space" in problem.remedy


@pytest.mark.parametrize("turn", [1, 2, 3, 4])
def test_a_full_disk_leaves_no_folder_that_was_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, turn: int) -> None:
    (tmp_path / "kept").mkdir()
    monkeypatch.setattr(os, "fsync", fails_at(turn, os.fsync, full_disk()))
    with pytest.raises(InputProblem):
        write_all(tmp_path / "kept" / "new" / "newer", FILES)
    assert tree(tmp_path) == {"kept": b"<folder>"}


def test_a_file_the_system_cuts_short_leaves_everything_as_it_was(tmp_path: Path) -> None:
    # A real refusal in the middle of a file: the system is told to allow none above 2000 bytes.
    out = laid_out(tmp_path / "out", OLD)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, hard))
    try:
        with pytest.raises(InputProblem, match="there must be room"):
            write_all(out, {"prints/right.stl": b"new", "body.step": b"x" * 4000})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert tree(out) == OLD


@pytest.mark.parametrize("turn", [1, 2, 3, 4])
@pytest.mark.parametrize("error", [OSError(errno.EIO, "broken"), KeyboardInterrupt()])
def test_a_failure_while_renaming_puts_the_old_files_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, turn: int, error: BaseException
) -> None:
    out = laid_out(tmp_path / "out", OLD)
    before = {path: path.stat().st_mtime_ns for path in out.rglob("*.st*")}
    monkeypatch.setattr(Path, "replace", fails_at(turn, Path.replace, error))
    with pytest.raises(InputProblem if isinstance(error, OSError) else KeyboardInterrupt):
        write_all(out, FILES)
    assert tree(out) == OLD
    assert {path: path.stat().st_mtime_ns for path in before} == before


def test_if_an_old_file_cannot_be_put_back_its_copy_is_kept_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = laid_out(tmp_path / "out", {"body.step": b"old body"})
    real = Path.replace
    broken = OSError(errno.EIO, "broken")

    def replace(fresh: Path, target: Path) -> Path:
        if target.name == "second.stl" or fresh.suffix == ".old":
            raise broken
        return real(fresh, target)

    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises(InputProblem) as caught:
        write_all(out, {"body.step": b"new", "second.stl": b"new"})
    (problem,) = caught.value.problems
    assert problem.path == str(out / "body.step")
    kept = Path(problem.remedy.removeprefix("copy it back from "))
    assert kept.read_bytes() == b"old body"


def test_a_file_where_the_folder_should_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"a file")
    for folder in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(InputProblem, match="a folder is needed where there is a file") as caught:
            write_all(folder, FILES)
        assert caught.value.problems[0].path.startswith(str(tmp_path / "out"))
    assert tree(tmp_path) == {"out": b"a file"}


def test_a_file_where_the_subfolder_should_be_is_refused(tmp_path: Path) -> None:
    out = laid_out(tmp_path / "out", {"prints": b"a file", "body.step": b"old"})
    with pytest.raises(InputProblem, match="a folder is needed where there is a file") as caught:
        write_all(out, FILES)
    assert caught.value.problems[0].path == str(out / "prints")
    assert tree(out) == {"prints": b"a file", "body.step": b"old"}


def test_a_folder_where_a_file_should_be_is_refused(tmp_path: Path) -> None:
    out = laid_out(tmp_path / "out", {"body.step/inside.txt": b"mine", "prints/left.stl": b"old"})
    with pytest.raises(InputProblem, match="a file is to be written there") as caught:
        write_all(out, FILES)
    assert caught.value.problems[0].path == str(out / "body.step")
    assert tree(out) == {"body.step/inside.txt": b"mine", "prints/left.stl": b"old"}


def test_a_pipe_is_not_replaced_by_a_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "body.step")
    with pytest.raises(InputProblem, match="a file is to be written there"):
        write_all(tmp_path, FILES)
    assert stat.S_ISFIFO((tmp_path / "body.step").stat().st_mode)


@pytest.mark.parametrize("code", [errno.EACCES, errno.EROFS])
def test_a_folder_that_cannot_be_written_to_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    # The system's answer is played, because tests may run as a user whom no permission stops.
    def mkdtemp(prefix: str, dir: Path) -> str:  # noqa: A002
        raise OSError(code, os.strerror(code), str(dir / prefix))

    monkeypatch.setattr(tempfile, "mkdtemp", mkdtemp)
    with pytest.raises(InputProblem) as caught:
        write_all(tmp_path / "out", FILES)
    (problem,) = caught.value.problems
    assert problem.path == str(tmp_path / "out")
    assert problem.value == os.strerror(code)
    assert "choose a folder" in problem.remedy
    assert tree(tmp_path) == {}


@contextmanager
def someone_without_privileges() -> Iterator[None]:
    """The superuser, whom no permission stops, becomes nobody for a while; anyone else stays who they are."""
    superuser = os.geteuid() == 0
    if superuser:
        os.seteuid(65534)
    try:
        yield
    finally:
        if superuser:
            os.seteuid(0)


def test_a_read_only_folder_is_refused_by_the_system_itself() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        for out in (folder, folder / "out"):
            with someone_without_privileges(), pytest.raises(InputProblem, match="you must be allowed to write"):
                write_all(out, FILES)
        assert tree(folder) == {}
        folder.chmod(0o755)


def test_a_name_too_long_for_the_system_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputProblem, match="choose a shorter name"):
        write_all(tmp_path / "out", {"a.txt": b"a", "x" * 300: b"x"})
    assert tree(tmp_path) == {}


@pytest.mark.parametrize(
    ("name", "rule"),
    [
        ("../body.step", "straight down"),
        ("prints/../../body.step", "straight down"),
        ("/etc/body.step", "straight down"),
        ("prints/", "straight down"),
        ("./body.step", "straight down"),
        ("prints//left.stl", "straight down"),
        ("", "straight down"),
        (".", "straight down"),
        ("..", "straight down"),
        ("a/b/c.stl", "1 folder"),
        ("..\\body.step", "any of"),
        ("C:body.step", "any of"),
        ("body.step:stream", "any of"),
        ("bo\ndy.step", "control"),
        ("bo\0dy.step", "control"),
        ("body.step ", "space"),
        ("body.", "full stop"),
        ("prints./left.stl", "full stop"),
        ("nul", "device"),
        ("Con.step", "device"),
    ],
)
def test_an_unsafe_name_is_refused_before_anything_is_touched(tmp_path: Path, name: str, rule: str) -> None:
    with pytest.raises(InputProblem, match=rule):
        write_all(tmp_path / "out", {"fine.txt": b"fine", name: b"not"})
    assert tree(tmp_path) == {}


@pytest.mark.parametrize("names", [("Body.step", "body.STEP"), ("prints", "prints/left.stl"), ("PRINTS/left.stl", "prints")])
def test_names_that_are_one_on_some_system_are_refused(tmp_path: Path, names: tuple[str, str]) -> None:
    with pytest.raises(InputProblem, match="no two files"):
        write_all(tmp_path / "out", dict.fromkeys(names, b""))
    assert tree(tmp_path) == {}


@given(name=st.text(max_size=30) | st.from_regex(r"[./a\\:-]{1,12}", fullmatch=True))
def test_whatever_the_name_nothing_is_written_outside_the_folder(
    tmp_path_factory: pytest.TempPathFactory, name: str
) -> None:
    top = tmp_path_factory.mktemp("top")
    out = top / "middle" / "out"
    try:
        (written,) = write_all(out, {name: b"x"})
    except InputProblem:
        assert tree(top) == {}
    else:
        assert written.read_bytes() == b"x"
        assert written.resolve().is_relative_to(out)
        assert len(tree(top)) == 1
