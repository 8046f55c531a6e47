"""Drafts: every set with changes that are saved nowhere, kept on the disk until it is saved or the person lets it go.

They lie in a folder of the user's state that nobody else may look into. A draft is written before the change that made it is
answered, so that a page never knows more than the disk.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from planestock.exports.app.documents import LARGEST_SET
from planestock.exports.app.evaluation import evaluate
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.history import History, Step
from planestock.exports.app.states import Source, Variant
from planestock.exports.files.front_door import write_private
from planestock.params.files import parsed
from planestock.params.problems import InputProblem

Entry = dict[str, Any]

MOST_DRAFTS = 200
"""Drafts that are kept; where there are more, the oldest go. Some megabytes at most, and years of unsaved afternoons."""

ID = re.compile(r"[0-9a-f]{32}")
"""What the id of a variant looks like; a draft is asked for by it, and no other name becomes a file's."""

LARGEST_DRAFT = 2_000_000
"""Bytes of a draft's file: three texts of a set, each letter escaped."""

ENDING = ".json"


class Draft(BaseModel):
    """A variant as it is kept. source and saved_text: what it is compared with; folder: where saved_as lies."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: str = Field(pattern="^[0-9a-f]{32}$")
    text: str = Field(max_length=LARGEST_SET)
    kind: str
    name: str
    command: str
    source: str = Field(max_length=LARGEST_SET)
    folder: str
    saved_as: str
    saved_text: str
    once: str


@dataclass(frozen=True)
class Drafts:
    """The folder of drafts; None where none are kept."""

    path: Path | None

    def keep(self, variant: Variant, folder: SetsFolder) -> None:
        """Keep a variant's text where it has unsaved changes, else let its draft go; a failure is told on the variant."""
        variant.not_kept = ""
        if self.path is None:
            return
        try:
            if variant.is_unsaved:
                write_private(self._file(variant.id), _draft(variant, folder).model_dump_json().encode())
                self._make_room()
            else:
                self.drop(variant.id)
        except InputProblem as refused:
            variant.not_kept = f"not kept on the disk either: {refused.problems[0].rule}"

    def drop(self, name: str) -> None:
        """Let a draft go, if there is one."""
        if self.path is not None and ID.fullmatch(name):
            with suppress(OSError):
                self._file(name).unlink()

    def find(self, name: str) -> Draft | None:
        """Return a draft by the id of its variant; None where there is none, or none that can be read."""
        if self.path is None or not ID.fullmatch(name):
            return None
        try:
            with self._file(name).open("rb") as stream:
                found = Draft.model_validate_json(stream.read(LARGEST_DRAFT))
        except (OSError, ValidationError):
            return None
        return found if found.id == name else None

    def listed(self) -> list[Entry]:
        """Return what a page shows of each draft, the newest first."""
        found = [(self.find(path.stem), path) for path in self._newest_first()]
        return [_shown(draft, path) for draft, path in found if draft is not None]

    def _file(self, name: str) -> Path:
        assert self.path is not None
        return self.path / f"{name}{ENDING}"

    def _newest_first(self) -> list[Path]:
        if self.path is None or not self.path.is_dir():
            return []
        times = []
        for path in self.path.glob(f"*{ENDING}"):
            with suppress(OSError):  # Another app of the same person may just have let it go.
                times.append((path.stat().st_mtime, path))
        return [path for _, path in sorted(times, reverse=True)]

    def _make_room(self) -> None:
        for path in self._newest_first()[MOST_DRAFTS:]:
            path.unlink(missing_ok=True)


def _draft(variant: Variant, folder: SetsFolder) -> Draft:
    source = variant.source
    return Draft(
        id=variant.id, text=variant.now.text, kind=source.kind, name=source.name, command=source.command, source=source.text,
        folder=str(folder.path), saved_as=variant.saved_as, saved_text=variant.saved_text, once=variant.once,
    )  # fmt: skip


def taken_up(draft: Draft, folder: SetsFolder) -> Variant:
    """Return the variant that was kept, under its old id; one step back leads to what it began with.

    Where the app now has another folder, it is not taken for the file of that name there.
    """
    source = Source(draft.kind, draft.name, draft.source, draft.command)
    before = [Step(draft.source, "opened")] if draft.source else []
    history = History([*before, Step(draft.text, "the changes that were not saved")], len(before))
    variant = Variant(source, history, evaluate(draft.text), id=draft.id, once=draft.once)
    if draft.folder == str(folder.path):
        variant.saved_as, variant.saved_text = draft.saved_as, draft.saved_text
    return variant


def _shown(draft: Draft, path: Path) -> Entry:
    """Return a draft's id, the name of its plane, what it began with, and when it was last changed."""
    try:
        name = str(parsed(draft.text, "the draft").get("name", ""))
        when = f"{datetime.fromtimestamp(path.stat().st_mtime).astimezone():%Y-%m-%d %H:%M}"
    except (InputProblem, OSError):
        name, when = "", ""
    return {"id": draft.id, "name": name or draft.name, "of": draft.saved_as or draft.name, "when": when}
