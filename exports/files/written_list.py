"""The list that `build` leaves beside its files: what it wrote and the digest of each, so that it knows its own again.

The lines are those that `sha256sum -c` reads; the first two are comments that tell which set they stand for.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

LIST_FILE = "files.sha256"
"""Name of the list."""

_HEAD = re.compile(r"# (planestock \S+, set [0-9a-f]+)")
_LINE = re.compile(r"([0-9a-f]{64})  (.+)")


@dataclass(frozen=True)
class WrittenList:
    """What one build wrote. of: program and set that the files stand for, empty where unknown; digests: by file name.

    stamp: one line for people.
    """

    of: str = ""
    digests: Mapping[str, str] = field(default_factory=dict)
    stamp: str = ""

    @property
    def content(self) -> bytes:
        """The list as a file."""
        lines = [f"# {self.of}", f"# {self.stamp}", *(f"{digest}  {name}" for name, digest in self.digests.items())]
        return "".join(f"{line}\n" for line in lines).encode()


def whose(version: str, set_digest: str) -> str:
    """Return what a list says it stands for: the program's version and the set's digest."""
    return f"planestock {version}, set {set_digest}"


def digest_of(content: bytes) -> str:
    """Return the digest of a file's content, as hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def read_list(content: bytes) -> WrittenList:
    """Return what a list says. Lines that are none of a list are passed over: nothing is known of what they meant."""
    lines = content.decode("utf-8", "replace").splitlines()
    head = _HEAD.fullmatch(lines[0]) if lines else None
    found = [match for match in map(_LINE.fullmatch, lines) if match]
    return WrittenList(head[1] if head else "", {match[2]: match[1] for match in found})
