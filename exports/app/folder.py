"""The sets' folder: the one place on the disk that the app reads sets from and saves them to."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from planestock.exports.file_names import file_name
from planestock.exports.front_door import write_one
from planestock.params.files import text_of
from planestock.params.problems import refuse

MOST_FILES = 500
"""Sets that are listed; in a larger folder the first ones by name."""

ENDING = ".toml"


@dataclass(frozen=True)
class SetsFolder:
    """A folder of parameter sets. A name from outside is only ever compared with what is there, never walked."""

    path: Path

    def names(self) -> tuple[str, ...]:
        """Return the names of the sets that lie in the folder itself; a link that leads out of it is none of them."""
        if not self.path.is_dir():
            return ()
        root = self.path.resolve()
        found = (entry for entry in self.path.iterdir() if entry.suffix == ENDING and not entry.name.startswith("."))
        return tuple(sorted(entry.name for entry in found if entry.is_file() and entry.resolve().parent == root))[
            :MOST_FILES
        ]

    def read(self, name: str) -> str:
        """Return the text of a listed set. Raises InputProblem for any other name, and for what cannot be read."""
        if name not in self.names():
            raise refuse(name, "no such set", "must be a set in the folder of sets", "choose one of the list")
        return text_of(str(self.path / name))

    def name_for(self, wanted: str) -> str:
        """Return the file name under which a set is saved, made of what a person wrote."""
        return file_name(wanted.strip().removesuffix(ENDING)) + ENDING

    def write(self, wanted: str, text: str, *, over: str | None = None) -> str:
        """Save a set and return its file name. over: mark of the file's text that may be replaced, None for a new file.

        Raises InputProblem where there is a file that the person has not seen as it is.
        """
        name = self.name_for(wanted)
        target = self.path / name
        found = mark(self.read(name)) if name in self.names() else None
        if found is None and target.exists():
            raise refuse(name, "not a plain file of this folder", "is in the way", "choose another name")
        if found != over:
            rule = "is there already" if over is None else "was changed by another program since it was opened here"
            raise refuse(name, "a file", rule, "choose another name, or replace it")
        write_one(target, text.encode())
        return name

    def mark_of(self, name: str) -> str | None:
        """Return the mark of a saved set's text, None where there is none."""
        return mark(self.read(name)) if name in self.names() else None


def mark(text: str) -> str:
    """Return a digest by which a text is known again."""
    return hashlib.sha256(text.encode()).hexdigest()
