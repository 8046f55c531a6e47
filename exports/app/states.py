"""The variants that are open: each with its own id, its own steps back and forth, and its own body."""

from __future__ import annotations

import asyncio
import copy
import secrets
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from planestock.exports.app.evaluation import Evaluated
from planestock.exports.app.fields import shown_values
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.history import History
from planestock.exports.app.retyped import command
from planestock.params.files import parsed

Entry = dict[str, Any]

MOST_VARIANTS = 100
"""Variants that are kept; the one unused for longest goes first, and the page that still shows it opens it again."""

Status = Literal["none", "building", "ready", "failed"]


@dataclass(frozen=True)
class Source:
    """Where a variant came from. kind: shipped, file, given (on the command line), text or blank; text: as it was then.

    command: how the command line names it, empty where it cannot. read: files that drawings were read from as it was opened,
    by the path of the drawing.
    """

    kind: str
    name: str
    text: str
    command: str = ""
    read: Mapping[str, str] = field(default_factory=dict)


@dataclass
class Body:
    """The body of a variant. scene: the last good one, as JSON; of: the revision it shows; rows: its checks.

    status and said: how the making of the body for the revision `wanted` stands.
    """

    scene: bytes | None = None
    of: int = 0
    rows: list[Entry] = field(default_factory=list)
    rows_of: int = 0
    wanted: int = 0
    status: Status = "none"
    said: str = ""
    seconds: float = 0.0


@dataclass
class Variant:
    """One variant. revision: counts its changes; news: counts all that a page may want to show.

    once: the last change's mark; not_kept: why there is no draft of it on the disk, where there should be one.
    """

    source: Source
    history: History
    now: Evaluated
    saved_as: str = ""
    saved_text: str = ""
    id: str = field(default_factory=lambda: secrets.token_hex(16))
    revision: int = 1
    news: int = 1
    good: Entry | None = None
    good_of: int = 0
    once: str = ""
    not_kept: str = ""
    watchers: int = 0
    body: Body = field(default_factory=Body)
    lock: asyncio.Lock = field(default_factory=asyncio.Lock)
    bell: asyncio.Event = field(default_factory=asyncio.Event)

    def __post_init__(self) -> None:
        self._keep()

    @property
    def is_saved(self) -> bool:
        """Whether its file has the text as it stands."""
        return bool(self.saved_as) and self.now.text == self.saved_text

    @property
    def is_untouched(self) -> bool:
        """Whether it still is what it began with."""
        return self.now.text == self.source.text

    @property
    def is_unsaved(self) -> bool:
        """Whether it has changes that would be lost with it."""
        return not (self.is_saved or self.is_untouched)

    def became(self, now: Evaluated) -> None:
        """Take a new state as the present one."""
        self.now = now
        self.revision += 1
        self._keep()
        self.ring()

    def _keep(self) -> None:
        """Keep the numbers of the last set that had no mistake; they stay on the screen while one is mended."""
        if self.now.numbers is not None:
            self.good, self.good_of = self.now.numbers, self.revision
        elif self.body.status == "building":
            self.body.status = "ready" if self.body.scene else "none"

    def ring(self) -> None:
        """Tell everyone who waits that there is news."""
        self.news += 1
        self.bell.set()
        self.bell = asyncio.Event()

    async def wait_for_news(self, after: int, seconds: float) -> None:
        """Return when there is other news than what was seen, or when the time is over."""
        if self.news != after:  # less: the page knew this variant before the app was started anew
            return
        try:
            await asyncio.wait_for(self.bell.wait(), seconds)
        except TimeoutError:
            return

    def twin(self) -> Variant:
        """Return a copy with an id of its own, steps and body included."""
        body = copy.copy(self.body)
        if body.status == "building":
            body.status = "none"
        made = Variant(self.source, copy.deepcopy(self.history), self.now, self.saved_as, self.saved_text, body=body)
        made.revision, made.good, made.good_of = self.revision, self.good, self.good_of
        return made


class Variants:
    """All open variants by id."""

    def __init__(self) -> None:
        self._open: OrderedDict[str, Variant] = OrderedDict()

    def add(self, variant: Variant) -> Variant:
        """Keep a variant; where there are too many, let go of the one that was unused for longest."""
        self._open[variant.id] = variant
        while len(self._open) > MOST_VARIANTS:
            self._open.popitem(last=False)
        return variant

    def find(self, name: str) -> Variant | None:
        """Return a variant by id, None where there is none."""
        found = self._open.get(name)
        if found is not None:
            self._open.move_to_end(name)
        return found

    def close(self, name: str) -> None:
        """Let go of a variant."""
        self._open.pop(name, None)


NAMES_A_FILE = "_file"
"""Ends the name of a field that names the file of the drawing in the field beside it."""


def drawings_read(text: str, carried: str) -> dict[str, str]:
    """Return the files that a set's text names and that the same set with its drawings put in does not, by drawing."""
    named, left = (shown_values(parsed(one, "the set")) for one in (text, carried))
    return {path.removesuffix(NAMES_A_FILE): named[path] for path in named.keys() - left if path.endswith(NAMES_A_FILE)}


def described(variant: Variant, folder: SetsFolder) -> Entry:
    """Return all that a page shows of a variant, its body's solids apart."""
    now = variant.now
    return {
        "id": variant.id,
        "revision": variant.revision,
        "source": {"kind": variant.source.kind, "name": variant.source.name, "read": dict(variant.source.read)},
        "saved_as": variant.saved_as,
        "saved": variant.is_saved,
        "untouched": variant.is_untouched,
        "not_kept": variant.not_kept,
        "text": now.text,
        "values": dict(now.values),
        "groups": list(now.groups),
        "lists": dict(now.lists),
        "problems": list(now.problems),
        "numbers": variant.good,
        "numbers_now": now.numbers is not None,
        "undoes": variant.history.undoes,
        "redoes": variant.history.redoes,
        "commands": commands(variant, folder),
        **news(variant),
    }


def news(variant: Variant) -> Entry:
    """Return how the body of a variant stands, and the checks that came with it."""
    body = variant.body
    return {
        "news": variant.news,
        "revision": variant.revision,
        "body": {"of": body.of, "wanted": body.wanted, "status": body.status, "said": body.said, "seconds": body.seconds},
        "solid_rows": body.rows if body.rows_of == variant.good_of else None,
    }


def commands(variant: Variant, folder: SetsFolder) -> list[str]:
    """Return the command lines that do what is on the screen; none where the set has to be saved first."""
    if variant.saved_as:
        source, before = named(folder, variant.saved_as), variant.saved_text
    else:
        source, before = variant.source.command, variant.source.text
    if not source:
        return []
    lines = [command(task, source, before, variant.now.text) for task in ("check", "build")]
    return [line for line in lines if line is not None]


def named(folder: SetsFolder, name: str) -> str:
    """Return how the command line names a set of the folder."""
    return name if folder.path.resolve() == folder.path.cwd() else str(folder.path / name)
