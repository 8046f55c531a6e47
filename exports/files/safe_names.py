"""Names of files that are written: they lead down into the output folder, and every system can hold them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import PurePosixPath

from planestock.params.problems import refuse

MOST_FOLDERS = 1
"""Folders a file name may go down inside the output folder; nothing written here needs more."""
UNSAFE_LETTERS = frozenset('<>:"|?*\\')
"""Letters that mean something other than themselves in a file name on some system."""
RESERVED_NAMES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
"""Names that are devices on some system, whatever ending follows."""


def require_safe(names: Iterable[str]) -> None:
    """Refuse names that lead out of the folder, that some system cannot hold, or that are one name on some system."""
    for name in names:
        if broken := fault(name):
            raise refuse("output file", name, broken, "choose a plain name such as body.step or prints/body.stl")
    folded = [name.casefold() for name in names]
    folders = {str(PurePosixPath(name).parent) for name in folded}
    for place, name in enumerate(folded):
        if name in folded[:place] or name in folders:
            raise refuse("output file", name, "no two files may have the same name", "rename one of them")


def fault(name: str) -> str | None:
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
