"""What every written file carries about where it comes from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from importlib.metadata import version
from typing import TYPE_CHECKING

from planestock.models.checks.rows import Row, failing

if TYPE_CHECKING:
    from planestock.models.design import Design


SET_MARK = "# planestock:"
"""Begins the lines that are put on top of `SET_FILE`; they are replaced, not repeated, when it is built again."""


@dataclass(frozen=True)
class Stamp:
    """Identity of a design, put into every file so that it can be made again.

    name: the set's name as the user wrote it (any text). digest: hexadecimal digest of the set's values.
    version: the program's version. failing: ids of failing checks; not empty only when they were allowed by name.
    """

    name: str
    digest: str
    version: str
    failing: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """One line of text: name, digest, version, and a plain warning while a check fails."""
        warning = f"; FAILS ITS CHECKS: {', '.join(self.failing)}" if self.failing else ""
        return f"{self.name} ({self.digest[:12]}), planestock {self.version}{warning}"


def program_version() -> str:
    """Return the version of planestock that is installed."""
    return version("planestock")


def stamp_of(made: Design, rows: Iterable[Row]) -> Stamp:
    """Return what every file of this design carries."""
    return Stamp(made.given.name, made.given.digest, program_version(), failing(tuple(rows)))


def overall(rows: Iterable[Row]) -> str:
    """Return the worst verdict: fail before warn before pass."""
    found = {row.verdict for row in rows}
    return next((verdict for verdict in ("fail", "warn") if verdict in found), "pass")
