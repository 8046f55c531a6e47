"""The one place that touches the disk: files are written whole, all of them or none."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from planestock.params.problems import InputProblem, Problem, refuse

MOST_FOLDERS = 1
"""Folders a file name may go down inside the output folder; nothing written here needs more."""
UNSAFE_LETTERS = frozenset('<>:"|?*\\')
"""Letters that mean something other than themselves in a file name on some system."""
RESERVED_NAMES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
"""Names that are devices on some system, whatever ending follows."""

_STAGING_PREFIX = ".planestock-"
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


@dataclass(frozen=True)
class _Move:
    """A new file on its way out of the staging folder, and the copy of the old one it replaces, if any."""

    fresh: Path
    target: Path
    old: Path | None


class _NotRestoredProblem(InputProblem):
    """Old files could not be put back, so their copies in the staging folder have to stay."""


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder, all of them whole or none at all, and return their paths in the order given.

    files: content by name; a name is relative, with `/`, and may go down one folder. Missing folders are
    made. All content, and copies of the files to be replaced, is first written to a hidden folder inside
    `folder`, so on the same disk; what follows are renames, which need no room. Other files are left alone.
    A link stays a link: the file that it leads to gets the content. A file that is replaced hands its mode and owner on.
    On a failure the old files are as they were and nothing new stays behind.

    Raises InputProblem on an unsafe name, before anything is touched, and when the system refuses: no room,
    no permission, a file where a folder is needed or the other way round.
    """
    if not files:
        return []
    _require_safe(files)
    named = [folder / name for name in files]
    with _refusals(folder), _made_folders([folder, *(path.parent for path in named)]):
        targets = [_behind_links(path) for path in named]
        _require_replaceable(targets)
        with _staging_folder(folder) as staging:
            moves = [_staged(staging, number, target) for number, target in enumerate(targets)]
            for move, content in zip(moves, files.values(), strict=True):
                if move.old:
                    _hand_on(move.target, move.fresh)
                _write_synced(move.fresh, content)
            _put_in_place(moves)
    _sync_folders({target.parent for target in targets})
    return named


def write_one(path: Path, content: bytes) -> Path:
    """Write one file whole or not at all, as `write_all` does, and return its path."""
    with _refusals(path.parent):
        target = _behind_links(path)
    write_all(target.parent, {target.name: content})
    return path


def _behind_links(path: Path) -> Path:
    """Return the file that a link leads to, or the path itself where it is no link."""
    if not path.is_symlink():
        return path
    try:
        return path.resolve()
    except RuntimeError as error:  # What Python 3.11 and 3.12 raise; later ones raise OSError.
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path)) from error


def _require_safe(names: Iterable[str]) -> None:
    """Refuse names that lead out of the folder, that some system cannot hold, or that are one name on some system."""
    for name in names:
        if fault := _fault(name):
            raise refuse("output file", name, fault, "choose a plain name such as body.step or prints/body.stl")
    folded = [name.casefold() for name in names]
    folders = {str(PurePosixPath(name).parent) for name in folded}
    for place, name in enumerate(folded):
        if name in folded[:place] or name in folders:
            raise refuse("output file", name, "no two files may have the same name", "rename one of them")


def _fault(name: str) -> str | None:
    """The rule a name breaks, or None."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or str(path) != name or name == ".":
        return "a name must lead straight down into the output folder"
    if len(path.parts) > MOST_FOLDERS + 1:
        return f"a name may go down {MOST_FOLDERS} folder at most"
    if not name.isprintable() or UNSAFE_LETTERS & set(name):
        return f"a name must not hold control characters or any of {' '.join(sorted(UNSAFE_LETTERS))}"
    if any(part != part.strip(" ").rstrip(".") for part in path.parts):
        return "a name must not begin or end with a space or end with a full stop"
    if any(part.partition(".")[0].casefold() in RESERVED_NAMES for part in path.parts):
        return "a name must not be that of a device on some system"
    return None


@contextmanager
def _refusals(folder: Path) -> Iterator[None]:
    """Turn a refusal of the system into an InputProblem that names the place, the rule and the remedy."""
    try:
        yield
    except OSError as error:
        place = error.filename2 or error.filename
        shown = folder if place is None or _STAGING_PREFIX in str(place) else place
        rule, remedy = _RULES.get(error.errno or 0, _OTHERWISE)
        raise refuse(str(shown), error.strerror or str(error), rule, remedy) from error


@contextmanager
def _made_folders(folders: Iterable[Path]) -> Iterator[None]:
    """Make folders with their parents; on a failure remove those that were made."""
    made: list[Path] = []
    try:
        for folder in dict.fromkeys(folders):
            missing = [place for place in folder.parents if not place.exists()]
            for place in [*reversed(missing), folder]:
                if not place.is_dir():
                    place.mkdir()
                    made.append(place)
        yield
    except BaseException:
        for place in reversed(made):
            with suppress(OSError):
                place.rmdir()
        raise


@contextmanager
def _staging_folder(folder: Path) -> Iterator[Path]:
    """A hidden folder inside `folder`, removed with all it holds, unless it holds the last copy of an old file."""
    staging = Path(tempfile.mkdtemp(prefix=_STAGING_PREFIX, dir=folder))
    try:
        yield staging
    except _NotRestoredProblem:
        raise
    except BaseException:
        shutil.rmtree(staging, ignore_errors=True)
        raise
    shutil.rmtree(staging, ignore_errors=True)


def _require_replaceable(targets: Iterable[Path]) -> None:
    """Refuse to put a file where there is a folder, a device or a pipe, or a file that must not be written to."""
    for target in targets:
        if target.exists() and not target.is_file():
            raise refuse(str(target), "a folder", "a file is to be written there", "move it or choose another folder")
        if target.exists() and not os.access(target, os.W_OK, effective_ids=os.access in os.supports_effective_ids):
            raise OSError(errno.EACCES, os.strerror(errno.EACCES), str(target))


def _staged(staging: Path, number: int, target: Path) -> _Move:
    """Plan one move, and copy the old file, if there is one, beside the new one."""
    old = None
    if os.path.lexists(target):
        old = staging / f"{number}.old"
        _hand_on(target, old)
        shutil.copy2(target, old, follow_symlinks=False)
    return _Move(staging / f"{number}.new", target, old)


def _write_synced(path: Path, content: bytes) -> None:
    """Write one file and wait until the disk has it: a rename must never come before what it names."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _hand_on(old: Path, fresh: Path) -> None:
    """Make a file with the owner and the mode of the one it replaces, before it has content that others could read."""
    fresh.touch()
    found = old.stat()
    with suppress(OSError, AttributeError):  # Only the superuser may give files away.
        os.chown(fresh, found.st_uid, found.st_gid)
    fresh.chmod(stat.S_IMODE(found.st_mode))


def _put_in_place(moves: Iterable[_Move]) -> None:
    """Rename all new files into place; on a failure put back what was there."""
    done: list[_Move] = []
    try:
        for move in moves:
            move.fresh.replace(move.target)
            done.append(move)
    except BaseException as error:
        lost = [move for move in reversed(done) if not _restored(move)]
        if lost:
            raise _NotRestoredProblem(map(_lost_problem, lost)) from error
        raise


def _restored(move: _Move) -> bool:
    try:
        if move.old:
            move.old.replace(move.target)
        else:
            move.target.unlink()
    except OSError:
        return False
    return True


def _lost_problem(move: _Move) -> Problem:
    remedy = f"copy it back from {move.old}" if move.old else "delete it"
    return Problem(str(move.target), "the new file", "writing failed half-way, and it could not be undone here", remedy)


def _sync_folders(folders: Iterable[Path]) -> None:
    """Ask the disk to keep the renames; where folders cannot be synced, the system does it in its own time."""
    for folder in folders:
        with suppress(OSError):
            descriptor = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(descriptor)
            finally:
                os.close(descriptor)
