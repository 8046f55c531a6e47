"""Many renames as one step: what is stopped between them, by whatever, is taken back by the next one who writes there.

All content is first written into a hidden staging folder, with a journal of the renames and copies of the files they
replace. The staging folder then gets a name that everybody sees, `UNFINISHED`: from now on the folder is marked. The
renames follow, and the staging folder's second renaming, back to a hidden name, is the moment at which the new files
stand. A marked folder is put right by taking the renames back; taking them back twice does no harm.
"""

from __future__ import annotations

import errno
import json
import os
import re
import secrets
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from planestock.exports.files.safe_names import fault
from planestock.exports.files.written_list import digest_of
from planestock.params.problems import InputProblem, Problem, refuse

STAGING_PREFIX = ".planestock-"
"""Begins the name of a staging folder whose renames have not begun, or are done."""

UNFINISHED = "planestock-unfinished"
"""Name of the staging folder while its renames are under way."""

JOURNAL = "journal.json"
NOTE = "READ-ME.txt"
_NOTE = """\
planestock was stopped while it wrote into the folder around this one, so that new and old files lie there side by side.
The next planestock command that writes there puts the old files back. Leave this folder where it is until then.
"""
_OWN_NAME = re.compile(rf"\d+\.(new|old)|{re.escape(JOURNAL)}|{re.escape(NOTE)}")


@dataclass(frozen=True)
class Change:
    """One file that comes, is replaced or goes. name: safe, and relative to the folder; content: None for a file that goes.

    like: a file whose mode a new file gets.
    """

    name: str
    content: bytes | None
    like: Path | None = None


@dataclass(frozen=True)
class _Move:
    """One line of the journal. fresh: digest of the new content, None for a file that goes.

    replaces: whether there was a file before.
    """

    name: str
    fresh: str | None
    replaces: bool


class NotRestoredProblem(InputProblem):
    """Old files could not be put back, so their copies in the staging folder have to stay."""


def carry_out(folder: Path, changes: Sequence[Change]) -> None:
    """Make all changes or none. Raises OSError where the system refuses, NotRestoredProblem where it also refuses to undo.

    `folder` is there, locked and put right; links in it lead to files on the same disk.
    """
    staging = Path(tempfile.mkdtemp(prefix=STAGING_PREFIX, dir=folder))
    try:
        made = _missing(folder, changes)
        moves = [_staged(folder, staging, number, change) for number, change in enumerate(changes)]
        if len(moves) == 1 and moves[0].fresh is not None and not made:
            _carried_out(folder, staging, 0, moves[0])
        else:
            _journaled(folder, staging, moves, made)
    except NotRestoredProblem:
        raise
    except BaseException:
        shutil.rmtree(staging, ignore_errors=True)
        raise
    _sync(_places(folder, moves))
    shutil.rmtree(staging, ignore_errors=True)


def _journaled(folder: Path, staging: Path, moves: Sequence[_Move], made: Sequence[str]) -> None:
    """Make the folders and carry out the moves between the staging folder's two renamings, or take them back."""
    marked = folder / UNFINISHED
    journal = {"moves": [asdict(move) for move in moves], "folders": made}
    write_synced(staging / JOURNAL, json.dumps(journal, indent=1).encode())
    write_synced(staging / NOTE, _NOTE.encode())
    _sync([staging])
    try:
        staging.rename(marked)
        _sync([folder])
        for place in made:
            (folder / place).mkdir()
        for number, move in enumerate(moves):
            _carried_out(folder, marked, number, move)
        _sync(_places(folder, moves))
        marked.rename(staging)
    except BaseException as error:
        if marked.is_dir():
            _take_back(folder, staging, error)
        raise


def put_right(folder: Path) -> list[str]:
    """Take back what was stopped in `folder` (there and locked), clear what it left, and return what is to be told.

    Raises InputProblem where it cannot be taken back, and OSError where the system refuses.
    """
    told: list[str] = []
    marked = folder / UNFINISHED
    if os.path.lexists(marked):
        aside = folder / f"{STAGING_PREFIX}{secrets.token_hex(4)}"
        told = [f"{folder}: an earlier command was stopped while it wrote there; the files from before it were put back"]
        told += [f"{path} was changed since; it was left as it is" for path in _take_back(folder, aside, None)]
        _sync([folder])
    for left in folder.glob(f"{STAGING_PREFIX}*"):
        if left.is_dir() and not left.is_symlink() and all(_OWN_NAME.fullmatch(path.name) for path in left.iterdir()):
            shutil.rmtree(left, ignore_errors=True)
    return told


def write_synced(path: Path, content: bytes) -> None:
    """Write one file and wait until the disk has it: a rename must never come before what it names."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def behind_links(path: Path) -> Path:
    """Return the file that a link leads to, or the path itself where it is no link."""
    if not path.is_symlink():
        return path
    try:
        return path.resolve()
    except RuntimeError as error:  # What Python 3.11 and 3.12 raise; later ones raise OSError.
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path)) from error


def _missing(folder: Path, changes: Iterable[Change]) -> list[str]:
    """Return the folders inside `folder` that have to be made."""
    places = dict.fromkeys(str(Path(change.name).parent) for change in changes if change.content is not None)
    return [place for place in places if not (folder / place).is_dir()]


def _places(folder: Path, moves: Iterable[_Move]) -> dict[Path, None]:
    """Return the folders in which files came or went."""
    return dict.fromkeys([folder, *(behind_links(folder / move.name).parent for move in moves)])


def _staged(folder: Path, staging: Path, number: int, change: Change) -> _Move:
    """Write the new content, and copy the old file, if there is one and it does not go, beside it."""
    target = behind_links(folder / change.name)
    replaces = os.path.lexists(target)
    if change.content is None:
        return _Move(change.name, None, replaces)
    if replaces:
        _hand_on(target, staging / f"{number}.old")
        shutil.copy2(target, staging / f"{number}.old")
    like = target if replaces else change.like
    if like is not None:
        _hand_on(like, staging / f"{number}.new")
    write_synced(staging / f"{number}.new", change.content)
    return _Move(change.name, digest_of(change.content), replaces)


def _hand_on(old: Path, fresh: Path) -> None:
    """Make a file with the owner and the mode of another one, before it has content that others could read."""
    fresh.touch(0o600)
    found = old.stat()
    with suppress(OSError, AttributeError):  # Only the superuser may give files away.
        os.chown(fresh, found.st_uid, found.st_gid)
    fresh.chmod(stat.S_IMODE(found.st_mode))


def _carried_out(folder: Path, staging: Path, number: int, move: _Move) -> None:
    target = behind_links(folder / move.name)
    if move.fresh is not None:
        (staging / f"{number}.new").replace(target)
    elif move.replaces:
        target.replace(staging / f"{number}.old")


def _take_back(folder: Path, aside: Path, reason: BaseException | None) -> list[Path]:
    """Take all renames back, give the staging folder the hidden name `aside`, and return files that others changed since.

    Raises NotRestoredProblem where the system refuses; the mark then stays.
    """
    marked = folder / UNFINISHED
    moves, made = _journal(marked)
    changed: list[Path] = []
    lost: list[Problem] = []
    for number, move in reversed(list(enumerate(moves))):
        target = folder / move.name
        try:
            if not _taken_back(marked, number, move, behind_links(target)):
                changed.append(target)
        except OSError:
            remedy = f"copy it back from {marked / f'{number}.old'}" if move.replaces else "delete it"
            rule = "writing failed half-way, and it could not be undone here"
            lost.append(Problem(str(target), "the new file", rule, remedy))
    if lost:
        raise NotRestoredProblem(lost) from reason
    for place in reversed(made):
        with suppress(OSError):  # Somebody may have put something into it.
            (folder / place).rmdir()
    _sync(_places(folder, moves))
    marked.rename(aside)
    return changed


def _taken_back(marked: Path, number: int, move: _Move, target: Path) -> bool:
    """Take one rename back if it was made. Return False where somebody changed the file since, which is then left alone."""
    fresh, old = marked / f"{number}.new", marked / f"{number}.old"
    if move.fresh is None:
        if old.exists() and not os.path.lexists(target):
            old.replace(target)
        return True
    if fresh.exists() or (move.replaces and not old.exists()) or not (move.replaces or os.path.lexists(target)):
        return True
    if os.path.lexists(target) and digest_of(target.read_bytes()) != move.fresh:
        return False
    if move.replaces:
        old.replace(target)
    else:
        target.unlink()
    return True


def _journal(marked: Path) -> tuple[list[_Move], list[str]]:
    """Read what was under way. Raises InputProblem where there is no journal of ours: it must never lead elsewhere."""
    try:
        found = json.loads((marked / JOURNAL).read_bytes())
        moves = [_Move(**move) for move in found["moves"]]
        made = [str(place) for place in found["folders"]]
        unsafe = [name for name in (*made, *(move.name for move in moves)) if fault(name)]
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise _not_ours(marked) from error
    if unsafe:
        raise _not_ours(marked)
    return moves, made


def _not_ours(marked: Path) -> InputProblem:
    return refuse(str(marked), "a folder without a sound journal", "must be planestock's own", "move it elsewhere")


def _sync(folders: Iterable[Path]) -> None:
    """Ask the disk to keep the renames; where folders cannot be synced, the system does it in its own time."""
    for folder in folders:
        with suppress(OSError), _opened(folder) as descriptor:
            os.fsync(descriptor)


@contextmanager
def _opened(folder: Path) -> Iterator[int]:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        yield descriptor
    finally:
        os.close(descriptor)
