"""The one place that touches the disk: files are written whole, all of them or none."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Literal

from planestock.exports.files.renames import STAGING_PREFIX, UNFINISHED, Change, behind_links, carry_out, put_right
from planestock.exports.files.safe_names import fault, require_safe
from planestock.exports.files.written_list import LIST_FILE, WrittenList, digest_of, read_list
from planestock.params.problems import refuse

Same = Callable[[str, bytes, bytes], bool]
"""Tells from a name, an old and a new content whether nothing is lost when one replaces the other."""

LONGEST_WAIT = 60.0
"""Seconds to wait for another planestock that writes into the same folder; it takes a second or so."""

_NEXT_LOOK = 0.05
"""Seconds between two looks whether the other one is done."""

_ROOM = ("there must be room for all the files", "free some space there or choose another folder")
_LEAVE = ("you must be allowed to write there", "change its permissions or choose a folder of your own")
_IN_THE_WAY = ("a folder is needed where there is a file", "move that file or choose another folder")
_RULES = {
    errno.ENOSPC: _ROOM,
    errno.EDQUOT: _ROOM,
    errno.EFBIG: _ROOM,
    errno.EACCES: _LEAVE,
    errno.EPERM: _LEAVE,
    errno.EROFS: ("the disk must be writable", "choose a folder on another disk"),
    errno.ENOTDIR: _IN_THE_WAY,
    errno.EEXIST: _IN_THE_WAY,
    errno.EXDEV: (
        "a link must lead to a place on the same disk",
        "replace the link by a file, or write to the place it leads to",
    ),
    errno.ELOOP: ("a link must lead to a file", "remove the link or choose another name"),
    errno.ENOENT: ("a link must lead into a folder that is there", "make that folder or remove the link"),
    errno.ENAMETOOLONG: (
        "the system must accept the name's length",
        "choose a shorter name or another folder",
    ),
}
_OTHERWISE = ("the system must be able to write there", "look at that disk or choose another folder")


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder, all of them whole or none at all, and return their paths in the order given.

    files: content by name; a name is relative, with `/`, and may go down one folder. Missing folders are
    made. Other files are left alone. Who writes there at the same time is waited for, and what somebody who was stopped
    left unfinished there is put right first.
    A link stays a link: the file that it leads to gets the content. A file that is replaced hands its mode and owner on.
    On a failure the old files are as they were and nothing new stays behind.

    Raises InputProblem on an unsafe name, before anything is touched, and when the system refuses: no room,
    no permission, a file where a folder is needed or the other way round.
    """
    if not files:
        return []
    require_safe(files)
    with _refusals(folder), _made_folders(folder), _locked(folder):
        put_right(folder)
        _require_replaceable([folder / name for name in files])
        carry_out(folder, [Change(name, content) for name, content in files.items()])
    return [folder / name for name in files]


def write_one(path: Path, content: bytes) -> Path:
    """Write one file whole or not at all, as `write_all` does, and return its path."""
    with _refusals(path.parent):
        target = behind_links(path)
    write_all(target.parent, {target.name: content})
    return path


def write_private(path: Path, content: bytes) -> Path:
    """Write one small file whole or not at all, that nobody else may read, into a folder that is its owner's alone.

    The folder is made where it is missing. The disk is not waited for: this is for what is written at every stroke of the
    keys, and a stopped program loses nothing by it, only a machine that stops. Raises InputProblem as `write_all` does.
    """
    folder, fresh = path.parent, path.with_name(f"{path.name}.new")
    with _refusals(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        try:
            with open(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:  # noqa: PTH123 - a descriptor
                file.write(content)
            fresh.replace(path)
        except BaseException:
            with suppress(OSError):
                fresh.unlink()
            raise
    return path


@dataclass(frozen=True)
class Replaced:
    """What `replace_all` did beside writing. removed: files of another set that are gone, by name.

    changed: files of another set that were left where they are, since somebody changed them. kept: copies of somebody's
    files that had to give way, by the name they had. others: names in the list that still stand.
    """

    removed: tuple[str, ...]
    changed: tuple[str, ...]
    kept: Mapping[str, str]
    others: tuple[str, ...]


def replace_all(
    folder: Path, files: Mapping[str, bytes], of: str, *, stamp: str = "", same: Same = lambda _name, _old, _new: False
) -> Replaced:
    """Write files as `write_all` does, with their list, and remove what an earlier list has and this set does not stand for.

    of: what the files stand for (`whose`); files that stand for just that stay, and stay in the list. A file that is not as
    it was written is somebody's work: it is never removed, and where it must give way, a copy of it is kept beside.
    stamp: a line for people in the list. same: tells from a name, an old and a new content whether nothing is lost when one
    replaces the other.
    """
    require_safe([*files, LIST_FILE])
    with _refusals(folder), _made_folders(folder), _locked(folder):
        put_right(folder)
        _require_replaceable([folder / name for name in (*files, LIST_FILE)])
        before = _list_in(folder)
        gone = {name: _state(folder, name, digest) for name, digest in before.digests.items() if name not in files}
        stays = {name: before.digests[name] for name, state in gone.items() if state != "gone" and before.of == of}
        removed = tuple(name for name, state in gone.items() if state == "as written" and name not in stays)
        changed = tuple(name for name, state in gone.items() if state == "changed" and name not in stays)
        kept = _to_keep(folder, files, before, same)
        written = WrittenList(of, {**{name: digest_of(content) for name, content in files.items()}, **stays}, stamp)
        copies = [Change(copy, (folder / name).read_bytes(), folder / name) for name, copy in kept.items()]
        news = [Change(name, content) for name, content in {**files, LIST_FILE: written.content}.items()]
        carry_out(folder, [*copies, *news, *(Change(name, None) for name in removed)])
        _remove_empty(folder, removed)
    return Replaced(removed, changed, kept, tuple(stays))


def mend(folder: Path) -> list[str]:
    """Put right what was stopped while it wrote into a folder, and return what is to be told; nothing where all is well."""
    if not (folder / UNFINISHED).exists():
        return []
    with _refusals(folder), _locked(folder):
        return put_right(folder)


def _list_in(folder: Path) -> WrittenList:
    path = folder / LIST_FILE
    return read_list(path.read_bytes()) if path.is_file() else WrittenList()


def _state(folder: Path, name: str, digest: str) -> Literal["as written", "changed", "gone"]:
    """Tell what became of a listed file. One that a link leads to lies elsewhere: that is somebody's place."""
    path = folder / name
    if fault(name) or name == LIST_FILE or not path.is_file():
        return "gone"
    if path.is_symlink() or path.parent.is_symlink() or digest_of(path.read_bytes()) != digest:
        return "changed"
    return "as written"


def _to_keep(folder: Path, files: Mapping[str, bytes], before: WrittenList, same: Same) -> dict[str, str]:
    """Return the files that somebody made or changed and that are to be replaced, with free names for their copies."""
    kept: dict[str, str] = {}
    for name, content in files.items():
        path = folder / name
        if not path.is_file():
            continue
        old = path.read_bytes()
        if digest_of(old) != before.digests.get(name) and old != content and not same(name, old, content):
            kept[name] = _free_name(folder, name, taken={*files, *kept.values()})
    return kept


def _free_name(folder: Path, name: str, taken: set[str]) -> str:
    path = PurePosixPath(name)
    names = (str(path.with_name(f"{path.stem}.yours{number}{path.suffix}")) for number in ("", *range(2, 1_000_000)))
    return next(name for name in names if name not in taken and not os.path.lexists(folder / name))


def _remove_empty(folder: Path, removed: Iterable[str]) -> None:
    """Remove the folders inside that were emptied just now."""
    for place in dict.fromkeys(str(PurePosixPath(name).parent) for name in removed):
        if place != ".":
            with suppress(OSError):  # It still holds something.
                (folder / place).rmdir()


@contextmanager
def _refusals(folder: Path) -> Iterator[None]:
    """Turn a refusal of the system into an InputProblem that names the place, the rule and the remedy."""
    try:
        yield
    except OSError as error:
        place = error.filename2 or error.filename
        shown = folder if place is None or STAGING_PREFIX in str(place) or UNFINISHED in str(place) else place
        rule, remedy = _RULES.get(error.errno or 0, _OTHERWISE)
        raise refuse(str(shown), error.strerror or str(error), rule, remedy) from error


@contextmanager
def _made_folders(folder: Path) -> Iterator[None]:
    """Make a folder with its parents; on a failure remove those that were made."""
    made: list[Path] = []
    try:
        for place in (*reversed(folder.parents), folder):
            if not place.is_dir() and (place == folder or not place.exists()):
                place.mkdir()
                made.append(place)
        yield
    except BaseException:
        for place in reversed(made):
            with suppress(OSError):
                place.rmdir()
        raise


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Be the only planestock that writes into a folder; the system gives the lock free when a process dies.

    Where the system has no such locks, nothing holds two commands apart.
    """
    if sys.platform == "win32":
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        deadline = time.monotonic() + LONGEST_WAIT
        while not _lock_taken(descriptor):
            if time.monotonic() > deadline:
                raise refuse(str(folder), "another planestock is writing there", "one writes at a time", "try again later")
            time.sleep(_NEXT_LOOK)
        yield
    finally:
        os.close(descriptor)


def _lock_taken(descriptor: int) -> bool:
    import fcntl

    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # A disk over the network may know no locks of folders.
        return True
    return True


def _require_replaceable(paths: Iterable[Path]) -> None:
    """Refuse to put a file where there is a folder, a device or a pipe, or a file that must not be written to."""
    for path in paths:
        target = behind_links(path)
        if target.exists() and not target.is_file():
            raise refuse(str(target), "a folder", "a file is to be written there", "move it or choose another folder")
        if target.exists() and not os.access(target, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            raise OSError(errno.EACCES, os.strerror(errno.EACCES), str(target))
