"""The sets' folder: the one place on the disk that the app reads sets from and saves them to."""

from __future__ import annotations

import hashlib
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from planestock.exports.files.file_names import file_name
from planestock.exports.files.front_door import write_one
from planestock.params.files import text_of
from planestock.params.problems import InputProblem, refuse

MOST_LISTED = 500
"""Sets that the page lists; of a larger folder the first ones by name, and it says so. All can be saved into again."""

ENDING = ".toml"


class FileInTheWay(InputProblem):
    """A file may not be replaced unseen. seen: the mark of its text, by which a person agrees to replace just that."""

    def __init__(self, problem: InputProblem, seen: str) -> None:
        """Take over the words of a refusal."""
        super().__init__(problem.problems)
        self.seen = seen


@dataclass(frozen=True)
class SetsFolder:
    """A folder of parameter sets. A name from outside is only ever compared with what is there, never walked."""

    path: Path
    _turn: threading.Lock = field(default_factory=threading.Lock, compare=False)

    def names(self) -> tuple[str, ...]:
        """Return the names of the sets that lie in the folder itself; a link that leads out of it is none of them."""
        with self._looked_into():
            return tuple(name for name in sorted(self._entries()) if self._is_set(name))

    def holds(self, name: str) -> bool:
        """Tell whether a name is that of a set in the folder, by comparing it with what is there."""
        with self._looked_into():
            return name in self._entries() and self._is_set(name)

    @contextmanager
    def _looked_into(self) -> Iterator[None]:
        """Say in words what the system does not let us see of the folder."""
        try:
            yield
        except OSError as error:
            rule = "you must be allowed to read the sets there"
            remedy = "change its permissions, or start the app with --folder for another one"
            raise refuse(str(self.path), error.strerror, rule, remedy) from None

    def _entries(self) -> frozenset[str]:
        return frozenset(entry.name for entry in self.path.iterdir()) if self.path.is_dir() else frozenset()

    def _is_set(self, name: str) -> bool:
        entry = self.path / name
        if entry.suffix != ENDING or name.startswith(".") or not entry.is_file():
            return False
        return entry.resolve().parent == self.path.resolve()

    def read(self, name: str) -> str:
        """Return the text of a set of the folder. Raises InputProblem for any other name, and for what cannot be read."""
        if not self.holds(name):
            raise refuse(name, "no such set", "must be a set in the folder of sets", "choose one of the list")
        return text_of(str(self.path / name))

    def name_for(self, wanted: str) -> str:
        """Return the file name under which a set is saved, made of what a person wrote."""
        return file_name(wanted.strip().removesuffix(ENDING)) + ENDING

    def write(self, wanted: str, text: str, *, over: str | None = None) -> str:
        """Save a set and return its file name. over: mark of the file's text that may be replaced, None for a new file.

        One set is looked at and written at a time, so that of two that are saved at once under one name the second finds
        the first. Raises FileInTheWay where there is a file that the person has not seen as it is.
        """
        name = self.name_for(wanted)
        with self._turn:
            found = self.mark_of(name)
            if found is None and os.path.lexists(self.path / name):
                raise refuse(name, "not a plain file of this folder", "is in the way", "choose another name")
            if found is not None and found != over:
                rule = "is there already" if over is None else "was changed elsewhere since it was opened or seen here"
                raise FileInTheWay(refuse(name, "a file", rule, "choose another name, or replace it"), found)
            write_one(self.path / name, text.encode())
        return name

    def mark_of(self, name: str) -> str | None:
        """Return the mark of a saved set's text, None where there is none."""
        return mark(self.read(name)) if self.holds(name) else None


def mark(text: str) -> str:
    """Return a digest by which a text is known again."""
    return hashlib.sha256(text.encode()).hexdigest()
